"""Which server of several arrays gives the most of something, for no more than so much.

Of a server of several arrays *fastest* is by the operations a second of all its arrays together,
each under its own workload and with its fair share of what they share, as its page says of each;
*least risk* by the chance that any of them loses data; *most capacity* by the bytes of all.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, estimates, rank
from quotelib.choose.estimated import Estimated
from quotelib.choose.leading import Strength
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Flags
from quotelib.choose.stream import Frame, Half
from quotelib.choose.wanted import Ways, above, below
from quotelib.choose.whole import NEVER, Search
from quotelib.enquiry.request import ServerAsked
from quotelib.estimate.checks import FloatArray
from quotelib.predict.inputs import behind

MOST_JUDGED = 1_500_000
"""Arrays that are estimated for it; ours, for time: some seconds."""
MOST_TOGETHER = 4_000_000
"""Ways to make the first arrays together that are laid out at once; ours, for memory."""
_HAIR = 1e-12

Value = Callable[[int, Numbers, Ways], FloatArray]
"""What each way to make an array gives: of its place, what its estimates rest on, and the ways."""


class TooMany(Exception):  # noqa: N818 - nothing is wrong with them
    """There are more arrays than are estimated."""


def filled(candidate: Candidate, prices: PriceList, asked: ServerAsked) -> Candidate:
    """Fill in operations a second of all arrays together and the chance that any loses data."""
    there = [behind(candidate.build, array) for array in candidate.build.arrays]
    found = [
        estimates([one], prices, row.load(prices))[0]
        for one, row in zip(there, asked.arrays, strict=True)
    ]
    speeds = [one.host_iops for one in found]
    losses = [one.loss_pct for one in found]
    candidate.host_iops = None if None in speeds else sum(one or 0 for one in speeds)
    candidate.loss_pct = None
    if None not in losses:
        kept = math.prod(1 - (one or 0) / 100 for one in losses)
        candidate.loss_pct = 100 * (1 - kept)
    return candidate


@dataclass(frozen=True)
class _Part:
    """One array in a frame: what each way costs at least, its drives, and what it gives."""

    ways: Ways
    advised: Flags
    drives: Numbers
    gives: FloatArray

    def half(self, at: int) -> Half:
        return Strongest.half(self.ways, self.advised, at)


class Strongest(Search):
    """The servers that meet what was asked and cost no more than so much, by what they give.

    A chassis with its controllers is passed over where what its arrays give at most, with all that
    they may cost together and all bays they may take, is less than what was found. Of those that
    give the same the first in the order of the choice is given.

    Raises
    ------
    TooMany
        From `of`.
    """

    def __init__(
        self, prices: PriceList, asked: ServerAsked, *, sound: bool, most: Decimal = NEVER
    ) -> None:
        super().__init__(prices, asked, sound=sound, most=most)
        self._most = most
        self._frames: list[tuple[Frame, int, tuple[int, ...]]] = []
        self._judged = 0
        self._ways: dict[tuple[object, ...], tuple[Ways, Flags, Numbers]] = {}
        self.run()

    def _fill(self, frame: Frame, box: int, taken: tuple[int, ...]) -> None:
        self._frames.append((frame, box, taken))

    def strongest(self, kind: Strength) -> Candidate | None:
        """Give the server that leads; None: there is none, or nothing is known of any."""
        values: dict[str, Value] = {
            "fastest": lambda at, keys, _: self.wanted[at].table.estimated.speed(keys)[0],
            "least_risk": lambda at, keys, _: kept_log(
                self.wanted[at].table.estimated.risk(keys)[0]
            ),
        }
        return self.of(values.get(kind, self._bytes))

    def _estimated(self, at: int) -> Estimated:
        return self.wanted[at].table.estimated

    def _bytes(self, at: int, _: Numbers, ways: Ways) -> FloatArray:
        table = self.wanted[at].table
        sizes = table.sizes[table.at[1][ways.rows], table.at[2][ways.rows]]
        return np.asarray(table.plans.data[ways.plans] * sizes, dtype=float)

    def of(self, value: Value) -> Candidate | None:
        """Give the server whose arrays together give the most, as a sum."""
        found = []
        for frame, box, taken in self._frames:
            parts = [self._part(frame, at, box, one, value) for at, one in enumerate(taken)]
            if all(len(part.ways) for part in parts):
                bound = self._bound(frame, parts)
                if bound > -np.inf:
                    found.append((bound, frame, parts))
        found.sort(key=lambda one: -one[0])
        self._found: Candidate | None = None
        self._floor = self._top = -math.inf
        self._order: tuple[object, ...] = ()
        self._dearest = math.inf
        for bound, frame, parts in found:
            if bound < self._floor:
                break
            for total, cost, halves in self._leading(frame, parts):
                self._take(frame, total, cost, halves)
        if self._found is None:
            return None
        return filled(self._found, self.prices, self.asked)

    def _take(self, frame: Frame, total: float, cost: float, halves: list[Half]) -> None:
        """Keep a server that gives more than the one kept, or as much and comes before it."""
        had = self._found
        if had is not None and total <= self._top and cost > self._dearest:
            return  # it gives no more and costs more
        made = self._confirmed(frame, halves)
        if made is None:
            return
        order = (*rank(made, self.asked.base.accept), frame.package.key)
        if had is None or total > _more(self._top) or order < self._order:
            self._top = total if had is None else max(total, self._top)
            self._floor, self._found, self._order = _less(self._top), made, order
            self._dearest = above((made.net_of_builds or Decimal(0)) + self.shares.unit)

    def _confirmed(self, frame: Frame, halves: list[Half]) -> Candidate | None:
        """Make a server, and give it where rules, price and demands confirm it."""
        self.best, self._rank, limit = None, None, self._limit
        self._try(frame, halves)
        found, self.best, self._rank, self._limit = self.best, None, None, limit
        if found is None or (found.net_of_builds or Decimal(0)) > self._most:
            return None
        return found

    @staticmethod
    def half(ways: Ways, advised: Flags, at: int) -> Half:
        """Give one of some ways as the search of whole servers takes it."""
        plan = int(ways.plans[at])
        return Half(float(ways.cost[at]), int(ways.rows[at]), plan, bool(advised[at]))

    def _part(self, frame: Frame, at: int, box: int, controller: int, value: Value) -> _Part:
        ways, advised, keys = self._known(frame, at, box, controller)
        gives = value(at, keys, ways)
        known = ~np.isnan(gives)
        drives = self.wanted[at].table.plans.drives[ways.plans]
        return _Part(ways.take(known), advised[known], drives[known], gives[known])

    def _known(
        self, frame: Frame, at: int, box: int, controller: int
    ) -> tuple[Ways, Flags, Numbers]:
        """Give the ways to make an array in a frame that do what it was asked."""
        stream = self._stream(frame, at, box, controller)
        key = (id(stream),)
        if key not in self._ways:
            ways = stream.ways
            self._judged += len(ways)
            if self._judged > MOST_JUDGED:
                raise TooMany
            met, advised = stream.judged(ways)
            left = ways.take(met)
            self._ways[key] = left, advised[met], stream.keys(left)
        return self._ways[key]

    def _room(self, frame: Frame, parts: list[_Part]) -> list[int]:
        """Give the most drives each may have beside the others."""
        fewest = [int(part.drives.min()) for part in parts]
        return [frame.build.chassis.bays - sum(fewest) + own for own in fewest]

    def _bound(self, frame: Frame, parts: list[_Part]) -> float:
        """Bound from above what the arrays of a frame give together."""
        cost = below(frame.cost)
        least = [float(part.ways.cost.min()) for part in parts]
        if cost + sum(least) > self._limit:
            return -math.inf
        total = 0.0
        room = self._room(frame, parts)
        for at, part in enumerate(parts):
            others = cost + sum(least) - least[at]
            some = (part.drives <= room[at]) & (part.ways.cost <= self._limit - others)
            if not some.any():
                return -math.inf
            total += float(part.gives[some].max())
        return total

    def _leading(
        self, frame: Frame, parts: list[_Part]
    ) -> Iterator[tuple[float, float, list[Half]]]:
        """List arrays that may go together and give no less than what is kept.

        With what they give and what they cost at least; from the most on, but for one array each.
        """
        cost, bays = below(frame.cost), frame.build.chassis.bays
        if not parts:
            return
        *first, last = parts
        heads = _heads(first, float(last.gives.max()), self._floor)
        paid, used, given, at = heads
        by_cost = np.argsort(last.ways.cost, kind="stable")
        prices = last.ways.cost[by_cost]
        best = np.full((bays + 1, len(prices) + 1), -np.inf)
        best[last.drives[by_cost], np.arange(1, len(prices) + 1)] = last.gives[by_cost]
        best = np.maximum.accumulate(np.maximum.accumulate(best, axis=0), axis=1)
        room = bays - used
        affordable = np.searchsorted(prices, self._limit - cost - paid, side="right")
        most = np.where(room >= 0, given + best[np.maximum(room, 0), affordable], -np.inf)
        order = np.argsort(-last.gives, kind="stable")
        for head in np.argsort(-most, kind="stable").tolist():
            if most[head] < self._floor or most[head] == -np.inf:
                return
            fits = (last.drives <= room[head]) & (last.ways.cost <= self._limit - cost - paid[head])
            halves = [part.half(int(one[head])) for part, one in zip(first, at, strict=True)]
            for one in order[fits[order]].tolist():
                total = float(given[head] + last.gives[one])
                if total < self._floor:
                    break
                together = cost + float(paid[head]) + float(last.ways.cost[one])
                yield total, together, [*halves, last.half(one)]


def _heads(
    parts: list[_Part], more: float, floor: float
) -> tuple[FloatArray, Numbers, FloatArray, list[Numbers]]:
    """Lay out all ways to make some arrays together that may give so much: cost, drives, gain."""
    paid, given = np.zeros(1), np.zeros(1)
    used: Numbers = np.zeros(1, dtype=np.int64)
    at: list[Numbers] = []
    for number, part in enumerate(parts):
        if len(paid) * len(part.ways) > MOST_TOGETHER:
            raise TooMany
        rest = more + sum(float(one.gives.max()) for one in parts[number + 1 :])
        gives = (given[:, None] + part.gives[None]).reshape(-1)
        left = np.flatnonzero(gives + rest >= floor)
        before, here = np.divmod(left, len(part.ways))
        paid = paid[before] + part.ways.cost[here]
        used, given = used[before] + part.drives[here], gives[left]
        at = [*(one[before] for one in at), here]
    return paid, used, given, at


def kept_log(loss_pct: FloatArray) -> FloatArray:
    """Give what can be added up where chances of keeping all data are multiplied."""
    with np.errstate(divide="ignore"):
        return np.log1p(-loss_pct / 100)


def _less(total: float) -> float:
    """Give a hair less than a sum: sums of the same in another order differ by their last digit."""
    return total - abs(total) * _HAIR


def _more(total: float) -> float:
    return total + abs(total) * _HAIR
