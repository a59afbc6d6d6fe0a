"""How many lots of each array go together in one seat: what shares bays, lanes, watts and money.

Bays, drives and ports are counted by the number of drives alone: for each array how many ways there
are to take so many of them, and how many of these go together. Where even the most that may come
keeps a limit on watts or money, it is passed over, and where the least does not, there is nothing
to count. What is left is compared lot by lot: two arrays and one limit in sorted order, so that
only what is within a rounding of it, or within what accessories may add, is weighed exactly;
anything else one by one.
"""

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from quotelib.catalogue.parts import Accessory
from quotelib.choose.integers import Whole, floored, scaled
from quotelib.choose.lots import Lots
from quotelib.choose.picked import ranges
from quotelib.choose.plans import Numbers
from quotelib.choose.seats import Seat
from quotelib.choose.sets import Flags, Index
from quotelib.choose.together import Limits, late
from quotelib.estimate.checks import FloatArray
from quotelib.pricing.totals import price

if TYPE_CHECKING:
    from quotelib.choose.tally import Tally

_AT_ONCE = 400_000
_MOST = 2**62
_HAIR = 1e-9


class _Line(NamedTuple):
    """A limit on a sum over the arrays.

    `shares` is what each lot adds; up to `surely` it is kept, and above `never` it is not.
    """

    shares: list[FloatArray]
    surely: float
    never: float

    @property
    def kept(self) -> bool:
        """Tell whether even the largest sum keeps it."""
        return sum(float(one.max(initial=0)) for one in self.shares) <= self.surely


class Sharing:
    """Lots of each array in one seat."""

    def __init__(self, tally: "Tally", seat: Seat, lots: Sequence[Lots], limits: Limits) -> None:
        self._tally, self._seat, self._limits = tally, seat, limits
        self._scales = tally.seats.scales
        self._builds = tally.seats.asked.base.builds
        self._lots = list(lots)
        carried = tally.carries(seat)
        carried = carried if limits.watts is None else min(carried, limits.watts)
        self._watts = floored(carried, self._scales.watt_places)

    def count(self) -> int:
        """Count them."""
        if not self._lots:
            return int(self._empty())
        lines, weighed = [], False
        if self._limits.days is not None:
            timely = self._in_time(self._limits.days)
            if timely is None:
                return 0
            weighed = timely
        if not all(map(len, self._lots)):
            return 0
        for make in (self._drawn, self._paid):
            if make == self._drawn and self._tally.never_short(self._seat, self._watts):
                continue
            line = make()
            if line is None or line.kept:
                continue
            if self._prune(line):
                return 0
            lines.append(make)
        if not lines and not weighed:
            return self._by_number()
        if len(lines) == 1 and not weighed and len(self._lots) == 2:
            line = lines[0]()
            return 0 if line is None else self._in_order(line)
        return self._one_by_one()

    def _empty(self) -> bool:
        """Tell whether a server without arrays fits and keeps the limits."""
        tally, seat, limits = self._tally, self._seat, self._limits
        if seat.watts > Decimal(self._watts).scaleb(-self._scales.watt_places):
            return False
        priced = price(seat.build, tally.book, tally.seats.asked.base.deal)
        net = scaled(priced.net - priced.once_total, self._scales.places)
        if limits.net is not None and net > limits.net:
            return False
        return limits.days is None or seat.build.lead_days(self._builds) <= limits.days

    # Limits

    def _in_time(self, days: int) -> bool | None:
        """Leave out lots that come too late; None: all do. Whether some may do so together."""
        tally, builds = self._tally, self._builds
        pieces = self._seat.build.lead_pieces
        if any(late(p.part, days) and p.part.stock < p.count * builds for p in pieces):
            return None
        seen: set[int] = set()
        together = any(late(item, days) for item in self._extra(of_price=False))
        for place, array in enumerate(tally.arrays):
            lots, those = self._lots[place], array.table.listed.drives
            cap = np.array([d.stock // builds if late(d, days) else 10**9 for d in those])
            most, bought = cap[array.table.at[2][lots.rows]], array.number_bought(lots)
            left = bought <= most
            self._lots[place] = lots = lots.take(left)
            some = (most[left] < 10**9) & (bought[left] > 0)
            here = set(np.unique(tally.drive_at(place, lots)[some]).tolist())
            together = together or bool(here & seen)
            seen |= here
        return together

    def _extra(self, *, of_price: bool) -> dict[Accessory, int]:
        """List the accessories that no share holds, with the most there can be of each.

        A share holds what comes once with the parts of a seat, and of prices what comes for each
        drive whatever other arrays there are.
        """
        seat, tally = self._seat, self._tally
        prices = tally.seats.prices
        there = {seat.chassis.sku, *(p.part.sku for p in seat.build.parts)}
        those = set(seat.build.accessories)
        found = {}
        for item in prices.accessories.values():
            named = set(item.needed_by)
            drives = {sku for sku in named if sku in prices.drives}
            if not drives and named.isdisjoint(there):
                continue
            if item.per == "build":
                if item not in those:
                    found[item] = 1
                continue
            plain = item.per == 1 and not item.together_with
            by_parts = plain and not drives and not item.interfaces and item.kind != "adapter"
            if of_price and (by_parts or (plain and drives == named)):
                continue
            found[item] = -(-seat.chassis.bays // int(item.per))
        return found

    def _drawn(self) -> _Line | None:
        """Give the limit on watts."""
        each = [
            np.asarray(array.own(lots)[2], dtype=float)
            for array, lots in zip(self._tally.arrays, self._lots, strict=True)
        ]
        base = float(self._seat.watts) * 10**self._scales.watt_places
        more = sum(
            number * self._scales.watts(item)
            for item, number in self._extra(of_price=False).items()
        )
        hair = _HAIR * (abs(self._watts) + 1)
        return _Line(each, self._watts - base - more - hair, self._watts - base + hair)

    def _paid(self) -> _Line | None:
        """Give the limit on the net; None: there is none."""
        tally, limit = self._tally, self._limits.net
        if limit is None:
            return None
        most, base = limit / 10**self._scales.places, tally.known(self._seat.build)
        each = [tally.cost(place, lots) for place, lots in enumerate(self._lots)]
        extra = self._extra(of_price=True).items()
        more = sum(number * tally.priced(item) for item, number in extra)
        if any(piece.owned for piece, _ in self._seat.build.controllers()):
            # What is done with a controller that is there hangs on its arrays.
            more += len(each) * float(tally.done_with_controllers)
        hair, unit = _HAIR * (most + 1), tally.unit
        return _Line(each, most - base - more - unit - hair, most - base + unit + hair)

    def _prune(self, line: _Line) -> bool:
        """Leave out lots that keep a limit with no others; tell whether nothing is left."""
        least = [float(one.min()) for one in line.shares]
        for place, one in enumerate(line.shares):
            others = sum(least) - least[place]
            self._lots[place] = self._lots[place].take(one <= line.never - others)
        return not all(map(len, self._lots))

    # Counting

    def _ports(self, group: Sequence[int]) -> int | None:
        """Give the lanes that arrays on one controller have together; None: any."""
        ports = self._seat.controllers[group[0]].ports
        return ports if self._seat.chassis.backplane == "direct" and len(group) > 1 else None

    def _by_number(self) -> int:
        """Count by the number of drives alone."""
        bays = self._seat.chassis.bays
        whole = math.prod(int(lots.by_number.sum()) for lots in self._lots)
        kind = np.int64 if whole < _MOST else object
        total = np.zeros(bays + 1, dtype=kind)
        total[0] = 1
        *most, last = self._seat.groups
        for group in most:
            of_group = self._of_group(group, bays, kind)
            more = np.zeros_like(total)
            for number in np.flatnonzero(of_group).tolist():
                more[number:] += total[: len(total) - number] * of_group[number]
            total = more
        of_group = self._of_group(last, bays, kind).cumsum()
        left = np.minimum(bays - np.arange(bays + 1), len(of_group) - 1)
        return int((total * of_group[left]).sum())

    def _of_group(self, group: Sequence[int], bays: int, kind: type) -> Whole:
        """Count the ways in which arrays of one controller take so many drives."""
        most = min(bays, self._seat.controllers[group[0]].max_drives)
        if len(group) == 1:
            return self._lots[group[0]].by_number[: most + 1].astype(kind)
        ports = self._ports(group)
        room: Whole = np.zeros((most + 1, (ports or 0) + 1), dtype=kind)
        room[0, 0] = 1
        for place in group:
            room = self._added(room, place, ports is not None)
        return np.asarray(room.sum(axis=1))

    def _added(self, room: Whole, place: int, by_lanes: bool) -> Whole:
        """Add an array to so many drives, and lanes, of a controller."""
        lots = self._lots[place]
        if not by_lanes:
            more = np.zeros_like(room)
            for number in np.flatnonzero(lots.by_number[: len(room)]).tolist():
                more[number:] += room[: len(room) - number] * int(lots.by_number[number])
            return more
        lanes = self._tally.arrays[place].lanes[lots.rows]
        more = np.zeros_like(room)
        for each in np.unique(lanes).astype(int).tolist():
            here = lanes == each
            ways = np.zeros(len(room), dtype=np.int64)
            some = here & (lots.drives < len(room))
            np.add.at(ways, lots.drives[some], lots.ways[some])
            for number in np.flatnonzero(ways).tolist():
                down, across = room.shape[0] - number, room.shape[1] - number * each
                if across > 0:
                    more[number:, number * each :] += room[:down, :across] * int(ways[number])
        return more

    def _in_order(self, line: _Line) -> int:
        """Count pairs of lots under one limit."""
        one, other = self._lots
        order = np.argsort(line.shares[1], kind="stable")
        other = other.take(order)
        self._lots[1], shares = other, line.shares[1][order]
        least = np.searchsorted(shares, line.surely - line.shares[0], side="right")
        most = np.searchsorted(shares, line.never - line.shares[0], side="right")
        total = 0
        together = len(self._seat.groups) == 1
        ports = self._ports((0, 1)) if together else None
        room: Numbers = np.full(len(one), self._seat.chassis.bays) - one.drives
        if together:
            room = np.minimum(room, self._seat.controllers[0].max_drives - one.drives)
        lanes = self._tally.arrays[1].lanes[other.rows] if ports is not None else None
        for each in [0] if lanes is None else np.unique(lanes).tolist():
            here = np.ones(len(other), dtype=bool) if lanes is None else lanes == each
            upto = room
            if ports is not None:
                used = self._tally.arrays[0].lanes[one.rows] * one.drives
                upto = np.minimum(room, (ports - used) // each)
            table = np.zeros((self._seat.chassis.bays + 1, len(other) + 1), dtype=np.int64)
            at = np.flatnonzero(here)
            table[other.drives[at], at + 1] = other.ways[at]
            table = table.cumsum(axis=0).cumsum(axis=1)
            some = upto >= 1
            self._tally.spend(table.size // 8)
            found = table[np.minimum(upto[some], len(table) - 1), least[some]]
            total += int((found.astype(object) * one.ways[some]).sum()) if len(found) else 0
        close = np.flatnonzero(most > least)
        for part in _chunks(close, (most - least)[close]):
            first, second = ranges(part, least[part], most[part])
            total += self._weigh([first, second])
        return total

    def _one_by_one(self) -> int:
        """Count by weighing each."""
        sizes = [len(lots) for lots in self._lots]
        rest = int(np.prod(sizes[1:], dtype=object))
        step, total = max(_AT_ONCE // max(rest, 1), 1), 0
        if rest > 20 * _AT_ONCE:
            self._tally.spend(rest * sizes[0])
        for start in range(0, sizes[0], step):
            first = np.arange(start, min(start + step, sizes[0]))
            grids = np.meshgrid(first, *(np.arange(n) for n in sizes[1:]), indexing="ij")
            total += self._weigh([grid.reshape(-1) for grid in grids])
        return total

    def _weigh(self, at: list[Index]) -> int:
        """Count the servers of some lots of each array that fit and keep all limits."""
        self._tally.spend(len(at[0]))
        room = self._has_room(at)
        at = [one[room] for one in at]
        if not len(at[0]):
            return 0
        kept = self._keeps(at)
        ways = np.ones(int(kept.sum()), dtype=object)
        for lots, one in zip(self._lots, at, strict=True):
            ways = ways * lots.ways[one[kept]]
        return int(ways.sum()) if len(ways) else 0

    def _has_room(self, at: list[Index]) -> Flags:
        drives = [lots.drives[one] for lots, one in zip(self._lots, at, strict=True)]
        found = sum(drives) <= self._seat.chassis.bays
        for group in self._seat.groups:
            on = sum(drives[place] for place in group)
            found &= on <= self._seat.controllers[group[0]].max_drives
            ports = self._ports(group)
            if ports is not None:
                lanes = (
                    self._tally.arrays[p].lanes[self._lots[p].rows[at[p]]] * drives[p]
                    for p in group
                )
                found &= sum(lanes) <= ports
        return np.asarray(found)

    def _keeps(self, at: list[Index]) -> Flags:
        tally, scales, limits = self._tally, self._scales, self._limits
        found = np.zeros(len(at[0]), dtype=bool)
        codes = self._codes(at)
        distinct, back = np.unique(codes, return_inverse=True)
        own = [a.own(lots) for a, lots in zip(tally.arrays, self._lots, strict=True)]
        for number, code in enumerate(distinct.tolist()):
            here = np.flatnonzero(back.reshape(-1) == number)
            some = [one[here] for one in at]
            sample = [lots.take(one[:1]) for lots, one in zip(self._lots, some, strict=True)]
            case = tally.case(self._seat, (code,), sample)
            drives = [lots.drives[one] for lots, one in zip(self._lots, some, strict=True)]
            price, mass, watts = case.brings(scales, drives)
            for each, one in zip(own, some, strict=True):
                price, mass, watts = (
                    price + each[0][one], mass + each[1][one], watts + each[2][one],
                )  # fmt: skip
            met = np.asarray(watts <= self._watts, dtype=bool)
            if limits.net is not None:
                met &= np.asarray(scales.net(price, mass) <= limits.net, dtype=bool)
            if limits.days is not None:
                met &= case.timely(limits.days, self._builds, drives)
                met &= self._in_stock(limits.days, some)
            found[here] = met
        return found

    def _codes(self, at: list[Index]) -> Numbers:
        """Number servers by the kinds of their drives: those alike have the same accessories."""
        codes = np.zeros(len(at[0]), dtype=np.int64)
        for array, lots, one in zip(self._tally.arrays, self._lots, at, strict=True):
            table, rows = array.table, lots.rows[one]
            code = table.listed.kinds[table.at[2][rows]] * len(table.regimes) + table.regime[rows]
            # What is done with a controller that is there may hang on whether drives form an array.
            code = code * 2 + lots.made[one] * (array.row.action != "new")
            many = 2 * len(table.regimes) * (len(table.listed.samples) + 1)
            codes = codes * many + code
        return codes

    def _in_stock(self, days: int, at: list[Index]) -> Flags:
        """Tell where the drives of all arrays together are here in time."""
        tally, found = self._tally, np.ones(len(at[0]), dtype=bool)
        drives = list(tally.seats.prices.drives.values())
        cap = np.array([d.stock // self._builds if late(d, days) else 10**9 for d in drives])
        which = [tally.drive_at(p, lots)[at[p]] for p, lots in enumerate(self._lots)]
        bought = [a.number_bought(lots)[one] for a, lots, one in zip(
            tally.arrays, self._lots, at, strict=True)]  # fmt: skip
        for mine, own in zip(which, bought, strict=True):
            total = sum(n * (w == mine) for w, n in zip(which, bought, strict=True))
            found &= (total <= cap[mine]) | (own == 0)
        return found


def _chunks(at: Index, lengths: Numbers) -> Iterator[Index]:
    """Split some so that their lengths together stay moderate."""
    if len(at):
        parts = np.cumsum(lengths) // _AT_ONCE
        yield from (at[parts == one] for one in np.unique(parts))
