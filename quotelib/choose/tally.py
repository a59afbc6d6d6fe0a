"""How many servers of several arrays are there: counted seat by seat, exactly.

What a seat with some lots of each array shares, and how many of these go together, is in `sharing`;
here is what is known beforehand: what is done, what a chassis draws at the most, what parts cost.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import combinations

import numpy as np

from quotelib.build.build import Build
from quotelib.catalogue.parts import Accessory, Controller
from quotelib.catalogue.work import Service
from quotelib.choose.lots import Array, Lots
from quotelib.choose.seats import Seat, Seats
from quotelib.choose.sets import Flags, Index
from quotelib.choose.shares import Shares
from quotelib.choose.sharing import Sharing
from quotelib.choose.together import Case, Limits
from quotelib.choose.wanted import Wanted
from quotelib.estimate.checks import FloatArray
from quotelib.pricing.lines import PriceBook

_A_SEAT, _A_CASE, _AN_ESTIMATE = 400, 1_200, 4
"""What it takes to look at a seat, to make one server of a case, and to estimate an array, against
weighing one server."""


class Spent(Exception):  # noqa: N818 - nothing is wrong
    """As much was weighed as is worth while."""


class Tally:
    """Counts servers; gives up after weighing so many (`work`)."""

    def __init__(self, seats: Seats, work: int) -> None:
        self.seats, self.work = seats, work
        self.arrays = [
            Array(seats, place, lambda number: self.spend(_AN_ESTIMATE * number))
            for place in range(len(seats.tables))
        ]
        base, prices = seats.asked.base, seats.prices
        self._shares = Shares(prices, base)
        skus = tuple(box.sku for box in seats.boxes)
        rows = seats.asked.arrays if seats.tables else ()
        self._wanted = [Wanted(prices, row, self._shares, False, skus) for row in rows]
        self._chosen = [prices.services[sku] for sku in dict.fromkeys(base.deal.services)]
        self._skus = {sku: at for at, sku in enumerate(prices.drives)}
        self._actions = frozenset(row.action for row in rows)
        self._cases: dict[object, Case] = {}
        self._supplies: dict[object, tuple[Decimal, int]] = {}

    def spend(self, work: int) -> None:
        """Note what was looked at.

        Raises
        ------
        Spent
        """
        self.work -= work
        if self.work < 0:
            raise Spent

    def count(self, seat: Seat, lots: Sequence[Lots], limits: Limits) -> int:
        """Count the servers of a seat that fit and keep the limits, of lots of each array.

        Raises
        ------
        Spent
        """
        self.spend(_A_SEAT)
        self._cases.clear()
        return sum(
            sign * Sharing(self, seat, some, limits).count()
            for sign, some in self._done(seat, lots)
            if all(map(len, some))
        )

    def _done(self, seat: Seat, lots: Sequence[Lots]) -> Iterator[tuple[int, list[Lots]]]:
        """Leave out servers on which a chosen service would never be done.

        Counted are all, less those on which one of them is idle, plus those on which two are, and
        so on: a service is idle where no array brings it.
        """
        bringing = []
        for service in self._chosen:
            flags = self._brings(service, seat, lots)
            if flags is None:
                return
            if flags:
                bringing.append(flags)
        yield 1, list(lots)
        for number in range(1, len(bringing) + 1):
            for some in combinations(bringing, number):
                kept = []
                for place, one in enumerate(lots):
                    left = np.ones(len(one), dtype=bool)
                    for flags in some:
                        left &= ~flags[place]
                    kept.append(one.take(left))
                yield (-1) ** number, kept

    def _brings(
        self, service: Service, seat: Seat, lots: Sequence[Lots]
    ) -> list[Flags] | None:  # fmt: skip
        """Tell of each lot whether a service is done for it; none: it is done anyway.

        None where it is never done in a server like this; see `pricing.lines.times`.
        """
        wanted = service.actions or ("new",)
        owned = "chassis" in self.seats.asked.base.owned
        actions = set(self._actions) | ({"new"} if not owned else set())
        whole = service.per in ("build", "controller", "quote")
        if (actions or {"keep"}).isdisjoint(wanted) and not (not service.actions and whole):
            return None
        if service.per in ("build", "quote"):
            return []
        flags = []
        for place, (array, one) in enumerate(zip(self.arrays, lots, strict=True)):
            done: Flags = np.full(len(one), array.row.action in wanted)
            if service.per == "array":
                done &= one.made > 0
            elif service.per == "drive":
                done &= array.number_fitted(one) > 0
            else:
                fitted = self._fits(seat, place, one)
                if fitted is None:
                    return []
                done = fitted
            flags.append(done)
        return flags if flags else None

    def _fits(self, seat: Seat, place: int, lots: Lots) -> Flags | None:
        """Tell whether an array has its controller put in; None: some controller is anyway."""
        seats, controller = self.seats, seat.controllers[place]
        ours = [
            one for one in seat.controllers
            if one.takes != "board"
            and not (seats.owned(one) and "chassis" in seats.asked.base.owned)
        ]  # fmt: skip
        if ours:
            return None
        row = self.arrays[place].row
        if controller.takes == "board":
            return np.zeros(len(lots), dtype=bool)
        if row.action == "new":
            return np.ones(len(lots), dtype=bool)
        before = row.value("from_controller")
        return (lots.made > 0) & (before is not None and before != controller.sku)

    def cost(self, place: int, lots: Lots) -> FloatArray:
        """Bound from below what lots add to the net."""
        return self._wanted[place].cost(lots.rows, lots.drives, lots.made)

    def known(self, build: Build) -> float:
        """Give what a server without drives costs."""
        return float(self._shares.of(build, self._actions))

    @property
    def book(self) -> PriceBook:
        """Give the unit prices."""
        return self._shares.book

    @property
    def done_with_controllers(self) -> float:
        """Give what is done with one controller at the most."""
        services = self.seats.prices.services.values()
        often = [(s, self._deal_times(s)) for s in services if s.per == "controller"]
        book, line = self._shares.book, self._shares.line
        return float(sum(n * book.unit(s)[0] * line for s, n in often))

    def _deal_times(self, service: Service) -> int:
        chosen = self.seats.asked.base.deal.services
        return chosen.count(service.sku) if service.when == "chosen" else 1

    @property
    def unit(self) -> float:
        """Give what rounding may add to a net, or take off it."""
        return float(self._shares.unit)

    def priced(self, item: Accessory) -> float:
        """Give what one accessory adds to the net."""
        price, _ = self._shares.book.unit(item)
        return float(price * self._shares.line + item.mass_g * self._shares.gram)

    def drive_at(self, place: int, lots: Lots) -> Index:
        """Give the drive of each lot, by its place in the price list."""
        table = self.arrays[place].table
        at = np.array([self._skus[drive.sku] for drive in table.listed.drives])
        return at[table.at[2][lots.rows]]

    def carries(self, seat: Seat) -> Decimal:
        """Give what the supplies carry, which is the same for all seats of a chassis and package.

        Below nothing where they do not go together.
        """
        return self._power(seat)[0]

    def never_short(self, seat: Seat, watts: int) -> bool:
        """Tell whether no server in a chassis draws more, whatever else is in it."""
        return self._power(seat)[1] <= watts

    def _power(self, seat: Seat) -> tuple[Decimal, int]:
        key = (seat.box, seat.package)
        if key not in self._supplies:
            self._supplies[key] = seat.carries, self._most_drawn(seat)
        return self._supplies[key]

    def _most_drawn(self, seat: Seat) -> int:
        """Bound from above what a server in the chassis of a seat draws."""
        watts, bays = self.seats.scales.watts, seat.chassis.bays
        options = (p for p in seat.build.parts if not isinstance(p.part, Controller))
        total = watts(seat.chassis) + sum(p.count * watts(p.part) for p in options)
        drives = [0]
        for array in self.arrays:
            those = array.table.listed
            total += max(map(watts, those.controllers), default=0)
            drives += [watts(drive) for drive in those.drives]
            drives += [watts(those.drive_before)] if those.drive_before else []
        for item in self.seats.prices.accessories.values():
            often = 1 if item.per == "build" else -(-bays // int(item.per))
            total += often * watts(item)
        return total + bays * max(drives)

    def case(self, seat: Seat, key: tuple[int, ...], sample: Sequence[Lots]) -> Case:
        """Give what arrays of some kinds come to together."""
        if key not in self._cases:
            self.spend(_A_CASE)
            self._cases[key] = Case(self.seats, self.arrays, seat, sample)
        return self._cases[key]
