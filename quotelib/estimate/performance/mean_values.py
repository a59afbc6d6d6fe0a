"""Mean values of closed queueing networks with one class of customers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.queueing import Network, Ordering

_FULL = 1 - 1e-9


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
    busy_s: FloatArray  # how long a customer keeps one copy busy, with the queue there is


def solution(
    network: Network, throughput: FloatArray, queue: FloatArray, busy: FloatArray | None = None
) -> Solution:
    """Lay out throughput (M,), queues and busy times (K, M) by the shape the networks came in."""
    busy = network.demands if busy is None else busy
    with np.errstate(invalid="ignore", divide="ignore"):
        residence = queue * network.copies / throughput
    stations = (*network.shape, len(queue))
    return Solution(
        throughput_per_s=throughput.reshape(network.shape),
        response_s=np.asarray(residence.sum(axis=0)).reshape(network.shape),
        residence_s=residence.T.reshape(stations),
        queue=queue.T.reshape(stations),
        utilisation=(throughput * busy).T.reshape(stations),
        busy_s=busy.T.reshape(stations),
    )


@dataclass(frozen=True)
class _Shadow:
    """Background work, and where customers wait for it; shapes (K, M), (K, M) and (M,)."""

    behind: FloatArray
    under: FloatArray  # 1 for stations that have both, else 0
    most: FloatArray  # of these the most background work for a customer

    @classmethod
    def of(cls, demand: FloatArray, ordering: Ordering | None, behind: FloatArray) -> "_Shadow":
        alone = demand if ordering is None else demand + ordering.demands
        under = np.where((alone > 0) & (behind > 0), 1.0, 0.0)
        return cls(behind, np.asarray(under), np.asarray((behind * under).max(axis=0)))

    def first(self, count: int) -> "_Shadow":
        return _Shadow(self.behind[:, :count], self.under[:, :count], self.most[:count])

    def throughput(self, n: int, taken: FloatArray, think: FloatArray) -> FloatArray:
        """Solve ``n = X (A + R / (1 - X b))`` for X, with R where background work goes on."""
        slowed = (taken * self.under).sum(axis=0)
        free = taken.sum(axis=0) - slowed + think
        both = free + slowed + n * self.most
        return np.asarray(2 * n / (both + np.sqrt(both**2 - 4 * free * self.most * n)))

    def slowed(self, through: FloatArray) -> FloatArray:
        """Give customers at a station for each second it would take them without: (K, M)."""
        return np.asarray(through / (1 - through * self.most * self.under))


def mean_value_analysis(network: Network) -> Solution:
    """Solve closed networks, exactly where they are plain product-form ones.

    Response at a station = demand x (1 + its queue with one customer fewer); throughput =
    customers / (think + responses); queue = throughput x response. Source: Reiser and Lavenberg,
    J. ACM 27(2), 1980.

    Where service times spread less, who is being served when a customer comes has less left: the
    response is demand x (1 + queue - utilisation x (1 - spread^2) / 2), by the residual life of
    renewal theory, as Reiser (A queueing network analysis of computer communication networks with
    window flow control, IEEE Trans. Comm. 27(8), 1979; from memory) has it for constant ones.

    With an `Ordering` the demand is that for as many as a customer finds there and itself, which
    for one station is exact and for several takes the mean for the distribution. Background work
    takes its share of a station's time, 1 / (1 - its utilisation) longer for those who wait (a
    shadow server: Lazowska et al. 1984, section 11.3, from memory), and the throughput stays below
    the rate at which a station can do both: beyond, customers wait outside until it has caught up.
    Who a station without such work cannot pass on waits at it, and is among those it chooses from.
    """
    # Networks with more customers keep going longer.
    order = np.argsort(-network.customers, kind="stable")
    copies = np.ascontiguousarray(network.copies[:, order])
    demand = np.ascontiguousarray(network.demands[:, order])
    ordering = None if network.ordering is None else network.ordering.take(order)
    behind = None if network.background is None else network.background[:, order]
    rest = network.think[order]
    steps = network.customers[order]
    queue = np.zeros_like(demand)
    throughput = np.zeros_like(rest)
    busy = demand.copy()
    weighted = demand * copies
    plain = ordering is None and behind is None and network.spread == 1.0
    less = (1 - network.spread**2) / 2
    shadow = None if behind is None else _Shadow.of(demand, ordering, behind)
    choosing = _choosing(ordering, behind)
    active, cut = len(steps), 0
    for n in range(1, int(steps[0]) + 1):
        while steps[active - 1] < n:
            active = int(np.searchsorted(-steps, -n, side="right"))
        if active != cut:
            cut, first = active, np.s_[..., :active]
            q, alone, copied, together = (x[first] for x in (queue, demand, copies, weighted))
            passed, outside = throughput[first], rest[first]
            some = None if ordering is None else ordering.first(active)
            cast = None if shadow is None else shadow.first(active)
            may_hold = None if choosing is None else choosing[first]
        q += 1.0
        if plain:
            np.divide(n, np.einsum("km,km->m", together, q) + outside, out=passed)
            q *= alone
            q *= passed
            continue
        each = alone if some is None else alone + some.seconds(q)
        if less:
            # Nothing was busy before the first.
            q -= np.minimum(passed * each, 1.0) * less
        q *= each
        taken = copied * q
        if cast is None:
            through = n / (taken.sum(axis=0) + outside)
        else:
            through = cast.throughput(n, taken, outside)
            each = each + cast.behind
        # A hair below, so that what is left for the others is never nothing.
        most = _FULL / each.max(axis=0)
        held = None if may_hold is None else (through > most) & may_hold
        np.minimum(through, most, out=passed)
        busy[first] = each
        q *= passed if cast is None else cast.slowed(passed)
        if held is not None and held.any():
            q += _held_up(q, each, copied, held, n - passed * outside, cast)
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    return solution(network, throughput[back], queue[:, back], busy[:, back])


def _choosing(ordering: Ordering | None, behind: FloatArray | None) -> NDArray[np.bool_] | None:
    """Tell in which networks a station chooses among those that wait there; None: in none."""
    if ordering is None:
        return None
    there = ordering.demands > 0
    found = (there if behind is None else there & (behind == 0)).any(axis=0)
    return np.asarray(found) if found.any() else None


def _held_up(
    queue: FloatArray,
    busy: FloatArray,
    copies: FloatArray,
    held: NDArray[np.bool_],
    inside: FloatArray,
    cast: _Shadow | None,
) -> FloatArray:
    """Give who waits at the fullest station besides, where it is held to what it can do.

    Without them it would choose among fewer than there are. Where work that nobody waits for fills
    it they wait outside.
    """
    at = np.where(copies > 0, busy, 0.0).argmax(axis=0), np.arange(len(held))
    missing = np.maximum(inside - (copies * queue).sum(axis=0), 0.0)
    waits = held if cast is None else held & (cast.behind[at] == 0)
    more = np.zeros_like(queue)
    more[at] = np.where(waits, missing / np.where(waits, copies[at], 1.0), 0.0)
    return more
