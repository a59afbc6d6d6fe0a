"""Closed queueing networks with one class of customers: what they are, their bounds and knee.

Bounds and knee after Lazowska, Zahorjan, Graham and Sevcik, Quantitative System Performance, 1984.
N are the customers, Z is the think time, D the total demand, D_max the largest.

Three things beyond the textbook, all off unless asked for. Service times may spread less than
exponential ones do. A station may work faster the more wait at it: part of its demand shrinks as a
power of how many there are (`Ordering`). And it may have background work that no customer waits
for, so much for each customer that passes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.checks import FloatArray, number, require


@dataclass(frozen=True)
class Ordering:
    """What a station gains by choosing among those that wait: a part of its demand shrinks.

    Parameters
    ----------
    demands : ndarray, shape (K, M)
        Seconds that one customer alone needs besides `Network.demands`.
    exponent : ndarray, shape (M,)
        With n at the station that part is ``demands * n ** -exponent``; 0 to below 1.
    deepest : ndarray, shape (M,)
        More than so many it does not choose among; at least 1.
    """

    demands: FloatArray
    exponent: FloatArray
    deepest: FloatArray

    def seconds(self, there: FloatArray) -> FloatArray:
        """Give that part with so many at each station, shape (K, M)."""
        many = np.minimum(np.maximum(there, 1.0), self.deepest)
        return np.asarray(self.demands * many**-self.exponent)

    def first(self, count: int) -> "Ordering":
        """Keep the first networks."""
        return Ordering(self.demands[:, :count], self.exponent[:count], self.deepest[:count])

    def take(self, order: NDArray[np.intp]) -> "Ordering":
        """Give some networks, in the order of the indices."""
        return Ordering(self.demands[:, order], self.exponent[order], self.deepest[order])


@dataclass(frozen=True)
class Network:
    """M closed networks of K stations, checked and laid out for the recursion."""

    demands: FloatArray  # seconds, shape (K, M)
    copies: FloatArray  # multiplicity, shape (K, M)
    customers: FloatArray  # in circulation, shape (M,)
    think: FloatArray  # seconds outside the stations, shape (M,)
    shape: tuple[int, ...]  # broadcast shape the M networks came in
    spread: float = 1.0  # standard deviation of a service time over its mean
    ordering: Ordering | None = None
    background: FloatArray | None = None  # seconds of work a customer leaves behind, shape (K, M)

    def busy(self, there: FloatArray) -> FloatArray:
        """Seconds a customer keeps one copy of each station busy with so many there: (K, M)."""
        seconds = self.demands if self.background is None else self.demands + self.background
        if self.ordering is not None:
            seconds = seconds + self.ordering.seconds(there)
        return np.where(self.copies > 0, seconds, 0.0)

    @property
    def total_demand(self) -> FloatArray:
        """Seconds one customer alone needs at all stations together."""
        alone = self.demands if self.ordering is None else self.demands + self.ordering.demands
        return np.asarray((alone * self.copies).sum(axis=0))

    @property
    def largest_demand(self) -> FloatArray:
        """Seconds one customer alone keeps the busiest station busy."""
        return np.asarray(self.busy(np.ones_like(self.demands)).max(axis=0))


def closed_network(
    demands_s: ArrayLike,
    customers: ArrayLike,
    think_time_s: ArrayLike = 0.0,
    multiplicity: ArrayLike = 1.0,
) -> Network:
    """Describe closed networks with one class of customers.

    Parameters
    ----------
    demands_s : array_like of float, shape (..., K)
        Visits x service time of each station, at least zero.
    customers : array_like of int, shape (...)
        Customers in circulation, at least 1; they must be known.
    think_time_s : array_like of float, shape (...)
        Delay outside the stations, at least zero.
    multiplicity : array_like of float, shape (..., K) or scalar
        How many identical stations with this demand each entry stands for, at least zero; they
        are solved as one. Need not be whole: m copies enter the network's generating function as
        (1 - demand z)^-m.

    Raises
    ------
    ValueError
        Also where there is no station at all, or nothing takes time.
    """
    demands = number("service demand in s", demands_s, at_least=0)
    if demands.ndim == 0 or demands.shape[-1] == 0:
        raise ValueError("service demands need one entry a station along the last axis")
    people = number("customers", customers, at_least=1, whole=True)
    require(~np.isnan(people), "customers must be known to solve a closed network")
    think = number("think time in s", think_time_s, at_least=0)
    copies = number("multiplicity of a station", multiplicity, at_least=0)
    # A multiplicity without a station axis would line up with the wrong axis.
    stations = np.broadcast_shapes(demands.shape, copies.shape)
    shape = np.broadcast_shapes(stations[:-1], people.shape, think.shape)
    full = (*shape, stations[-1])

    def by_station(array: FloatArray) -> FloatArray:
        return np.ascontiguousarray(np.broadcast_to(array, full).reshape(-1, full[-1]).T)

    network = Network(
        by_station(demands),
        by_station(copies),
        np.broadcast_to(people, shape).ravel(),
        np.broadcast_to(think, shape).ravel(),
        shape,
    )
    empty = (network.total_demand + network.think) <= 0
    require(~empty, "a network needs a station or a think time that takes time")
    return network


@dataclass(frozen=True)
class Bounds:
    """Customers a second; the response that belongs to either is customers / it - think time."""

    low_per_s: FloatArray
    high_per_s: FloatArray


def asymptotic_bounds(network: Network) -> Bounds:
    """Bound closed networks by their largest and their total demand (section 5.2).

    N / (N D + Z) <= X <= min(1 / D_max, N / (D + Z)), for any distribution of service times.

    With an `Ordering`, D_max is that of a station whose copies share all customers evenly. It still
    bounds: the rate at which a copy works is a concave function of how many there are (it is n / D
    up to one), so that no uneven share gives more; derived here. Customers wait for nobody's
    background work in the low bound.
    """
    people, think, total = network.customers, network.think, network.total_demand
    with np.errstate(divide="ignore", invalid="ignore"):
        largest = network.busy(people / network.copies).max(axis=0)
        high = np.minimum(1 / largest, people / (total + think))
    low = np.asarray(people / (people * total + think))
    return Bounds(low.reshape(network.shape), high.reshape(network.shape))


def knee_customers(network: Network) -> FloatArray:
    """Load beyond which more customers mostly add waiting: N* (section 5.2), shape (...).

    (D + Z) / D_max, where the two asymptotes of the throughput cross; infinite without any station
    that takes time. How many customers the networks have does not matter.
    """
    with np.errstate(divide="ignore"):
        knee = (network.total_demand + network.think) / network.largest_demand
    return np.asarray(knee).reshape(network.shape)
