"""Closed queueing networks with one class of customers: exactly, and their bounds and knee.

Bounds and knee after Lazowska, Zahorjan, Graham and Sevcik, Quantitative System Performance, 1984.
N are the customers, Z is the think time, D the total demand, D_max the largest and D_ave the mean.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require


@dataclass(frozen=True)
class Solution:
    """Solution of a closed network with one class of customers."""

    # Shape (...): customers a second, and their time at the stations, without the think time.
    throughput_per_s: FloatArray
    response_s: FloatArray
    # Shape (..., K): share of the response at each station, all its copies together; then of one
    # copy of each the mean customers, waiting or served, and the share of time it is busy.
    residence_s: FloatArray
    queue: FloatArray
    utilisation: FloatArray


@dataclass(frozen=True)
class Network:
    """M closed networks of K stations, checked and laid out for the recursion."""

    demands: FloatArray  # seconds, shape (K, M)
    copies: FloatArray  # multiplicity, shape (K, M)
    customers: FloatArray  # in circulation, shape (M,)
    think: FloatArray  # seconds outside the stations, shape (M,)
    shape: tuple[int, ...]  # broadcast shape the M networks came in

    @property
    def total_demand(self) -> FloatArray:
        """Seconds one customer needs at all stations together."""
        return np.asarray((self.demands * self.copies).sum(axis=0))

    @property
    def largest_demand(self) -> FloatArray:
        """Seconds one customer needs at the busiest station."""
        return np.asarray(np.where(self.copies > 0, self.demands, 0.0).max(axis=0))


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


def solution(network: Network, throughput: FloatArray, queue: FloatArray) -> Solution:
    """Lay out throughput (M,) and queues (K, M) by the shape the networks came in."""
    with np.errstate(invalid="ignore", divide="ignore"):
        residence = queue * network.copies / throughput
    stations = (*network.shape, len(queue))
    return Solution(
        throughput_per_s=throughput.reshape(network.shape),
        response_s=np.asarray(residence.sum(axis=0)).reshape(network.shape),
        residence_s=residence.T.reshape(stations),
        queue=queue.T.reshape(stations),
        utilisation=(throughput * network.demands).T.reshape(stations),
    )


def mean_value_analysis(network: Network) -> Solution:
    """Solve closed networks exactly.

    Response at a station = demand x (1 + its queue with one customer fewer); throughput =
    customers / (think + responses); queue = throughput x response. Exact for product-form
    networks. Source: Reiser and Lavenberg, J. ACM 27(2), 1980.
    """
    # Networks with more customers keep going longer.
    order = np.argsort(-network.customers, kind="stable")
    weighted = np.ascontiguousarray((network.demands * network.copies)[:, order])
    demand = np.ascontiguousarray(network.demands[:, order])
    rest = network.think[order]
    steps = network.customers[order]
    queue = np.zeros_like(demand)
    throughput = np.zeros_like(rest)
    active = len(steps)
    for n in range(1, int(steps[0]) + 1):
        while steps[active - 1] < n:
            active = int(np.searchsorted(-steps, -n, side="right"))
        q = queue[:, :active]
        q += 1.0
        np.divide(
            n,
            np.einsum("km,km->m", weighted[:, :active], q) + rest[:active],
            out=throughput[:active],
        )
        q *= demand[:, :active]
        q *= throughput[:active]
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    return solution(network, throughput[back], queue[:, back])


@dataclass(frozen=True)
class Bounds:
    """Customers a second; the response that belongs to either is customers / it - think time."""

    low_per_s: FloatArray
    high_per_s: FloatArray


def asymptotic_bounds(network: Network) -> Bounds:
    """Bound closed networks by their largest and their total demand (section 5.2).

    N / (N D + Z) <= X <= min(1 / D_max, N / (D + Z)), for any distribution of service times.
    """
    people, think, total = network.customers, network.think, network.total_demand
    with np.errstate(divide="ignore"):
        high = np.minimum(1 / network.largest_demand, people / (total + think))
    low = np.asarray(people / (people * total + think))
    return Bounds(low.reshape(network.shape), high.reshape(network.shape))


def balanced_bounds(network: Network) -> Bounds:
    """Bound closed networks by networks whose stations are all alike (section 5.4).

    N / (D + Z + (N-1) D_max / (1 + Z / (N D))) <= X <=
    min(1 / D_max, N / (D + Z + (N-1) D_ave / (1 + Z / D))). They need a product-form network, and
    whole multiplicities to be proven.
    """
    people, think, total = network.customers, network.think, network.total_demand
    largest = network.largest_demand
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(total > 0, total / network.copies.sum(axis=0), total)
        slow = np.where(total > 0, (people - 1) * largest / (1 + think / (people * total)), total)
        fast = np.where(total > 0, (people - 1) * mean / (1 + think / total), total)
        high = np.minimum(1 / largest, people / (total + think + fast))
    low = np.asarray(people / (total + think + slow))
    return Bounds(low.reshape(network.shape), high.reshape(network.shape))


def knee_customers(network: Network) -> FloatArray:
    """Load beyond which more customers mostly add waiting: N* (section 5.2), shape (...).

    (D + Z) / D_max, where the two asymptotes of the throughput cross; infinite without any station
    that takes time. How many customers the networks have does not matter.
    """
    with np.errstate(divide="ignore"):
        knee = (network.total_demand + network.think) / network.largest_demand
    return np.asarray(knee).reshape(network.shape)
