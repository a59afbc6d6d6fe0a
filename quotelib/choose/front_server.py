"""Which servers of several arrays does no other one beat; see `front.front` for one array."""

from decimal import Decimal

import numpy as np

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, rank
from quotelib.choose.sets import Flags, Index
from quotelib.choose.strongest import Strongest, TooMany, filled, kept_log
from quotelib.choose.whole import NEVER
from quotelib.enquiry.request import ServerAsked
from quotelib.estimate.checks import FloatArray

MOST_COMBINED = 5_000_000
"""Ways to put arrays together that are compared; ours, for time and memory."""
_AT_ONCE = 2048


def front_of_server(
    prices: PriceList, asked: ServerAsked, *, sound: bool, most: Decimal | None
) -> tuple[Candidate, ...]:
    """Give the servers that no other one beats, from the cheapest on.

    By net, operations of all arrays together, the chance that any loses data, and capacity of all.
    Servers are looked at in the order of what they cost at least. One is made and priced where none
    that was made before does as much for surely no more; what is left is compared exactly.

    Raises
    ------
    TooMany
    """
    return _Front(prices, asked, sound=sound, most=NEVER if most is None else most).left()


class _Front(Strongest):
    def __init__(
        self, prices: PriceList, asked: ServerAsked, *, sound: bool, most: Decimal
    ) -> None:
        super().__init__(prices, asked, sound=sound, most=most)
        self._points = np.empty((0, 3))
        self._nets = np.empty(0)
        self._made: list[tuple[Candidate, tuple[object, ...]]] = []

    def left(self) -> tuple[Candidate, ...]:
        """Give them."""
        cost, given, where = self._combined()
        order = np.argsort(cost, kind="stable")
        unit = float(self.shares.unit)
        for start in range(0, len(order), _AT_ONCE):
            some = order[start : start + _AT_ONCE]
            least = cost[some] - unit * (1 + 1e-9)
            for at in some[~self._outdone(given[some], least)].tolist():
                one = np.array([at])
                if not self._outdone(given[one], cost[one] - unit * (1 + 1e-9))[0]:
                    self._take_in(given[at], where[at])
        return self._compared()

    def _combined(self) -> tuple[FloatArray, FloatArray, Index]:
        """Lay out all ways to put arrays together: cost at least, what they give, and which."""
        costs, gifts, places, total = [], [], [], 0
        for number, (frame, box, taken) in enumerate(self._frames):
            known = [self._known(frame, at, box, one) for at, one in enumerate(taken)]
            paid, given = np.zeros(1), np.zeros((1, 3))
            used: Index = np.zeros(1, dtype=np.intp)
            where: Index = np.full((1, 1), number, dtype=np.intp)
            for at, (ways, _, keys) in enumerate(known):
                total += len(paid) * len(ways)
                if total > MOST_COMBINED:
                    raise TooMany
                table = self.wanted[at].table
                columns = (
                    table.estimated.speed(keys)[0], kept_log(table.estimated.risk(keys)[0]),
                    self._bytes(at, keys, ways),
                )  # fmt: skip
                gives = np.stack([np.where(np.isnan(c), -np.inf, c) for c in columns], axis=1)
                drives = table.plans.drives[ways.plans]
                before = np.repeat(np.arange(len(paid)), len(ways))
                here = np.tile(np.arange(len(ways)), len(paid))
                paid, used = paid[before] + ways.cost[here], used[before] + drives[here]
                given = given[before] + gives[here]
                where = np.concatenate([where[before], here[:, None]], axis=1)
                fits = (used <= frame.build.chassis.bays) & (
                    paid + float(frame.cost) <= self._limit
                )
                paid, used, given, where = paid[fits], used[fits], given[fits], where[fits]
            if taken:
                given[:, :2] = _shown_alike(given[:, :2])
                costs.append(paid + float(frame.cost) * (1 - 1e-12))
                gifts.append(given)
                places.append(where)
        if not costs:
            return np.empty(0), np.empty((0, 3)), np.empty((0, 1), dtype=np.intp)
        return np.concatenate(costs), np.concatenate(gifts), np.concatenate(places)

    def _outdone(self, given: FloatArray, least: FloatArray) -> Flags:
        """Tell which servers one that was made surely beats: what they cost at least is more."""
        found = np.zeros(len(given), dtype=bool)
        for point, net in zip(self._points, self._nets, strict=True):
            found |= (net < least) & (point >= given).all(axis=1)
        return found

    def _take_in(self, given: FloatArray, where: Index) -> None:
        frame, box, taken = self._frames[int(where[0])]
        halves = []
        for at, (one, place) in enumerate(zip(taken, where[1:].tolist(), strict=True)):
            ways, advised, _ = self._known(frame, at, box, one)
            halves.append(self.half(ways, advised, place))
        made = self._confirmed(frame, halves)
        if made is None:
            return
        self._points = np.concatenate([self._points, given[None]])
        self._nets = np.append(self._nets, float(made.net_of_builds or 0))
        order = (*rank(made, self.asked.base.accept), frame.package.key)
        self._made.append((made, order))

    def _compared(self) -> tuple[Candidate, ...]:
        """Compare what was made; of several alike the first in the order of the choice is left."""
        left = []
        exact = [made.net_of_builds or Decimal(0) for made, _ in self._made]
        for at, (made, order) in enumerate(self._made):
            as_much = (self._points >= self._points[at]).all(axis=1)
            more = (self._points > self._points[at]).any(axis=1)
            beaten = any(
                exact[other] < exact[at]
                or (exact[other] == exact[at] and (more[other] or self._made[other][1] < order))
                for other in np.flatnonzero(as_much).tolist()
                if other != at
            )
            if not beaten:
                left.append((exact[at], order, made))
        left.sort(key=lambda one: one[:2])
        return tuple(filled(made, self.prices, self.asked) for _, _, made in left)


def _shown_alike(values: FloatArray) -> FloatArray:
    """Round to twelve digits: sums of the same in another order differ by their last."""
    known = np.isfinite(values) & (values != 0)
    size = np.floor(np.log10(np.abs(np.where(known, values, 1.0))))
    unit = 10.0 ** (size - 11)
    return np.where(known, np.round(np.where(known, values, 0.0) / unit) * unit, values)
