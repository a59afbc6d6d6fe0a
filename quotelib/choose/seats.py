"""Which controllers go together into which chassis, before any drive is in it.

A seat is a chassis, what is added for cores and memory, and a controller for each array. Whether
its cards find slots and sockets, and what links they get there, hangs on what kind of card each is
and not on which: the rules are asked once for each combination of kinds.
"""

from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property
from itertools import product

from quotelib.build import fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.slots import host_link_mb_s
from quotelib.catalogue.parts import Chassis, Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import anything_listed, table_of
from quotelib.choose.candidate import Candidate
from quotelib.choose.enumeration import options_named
from quotelib.choose.packages import Package, packages
from quotelib.choose.scales import Scales
from quotelib.choose.table import Table
from quotelib.enquiry.column import Asked
from quotelib.enquiry.request import ServerAsked
from quotelib.predict.inputs import answers_writes

OF_PARTS = ("free_slots", "cores", "memory_gb")
"""Columns of demands that a server without drives meets or misses."""


class Seat:
    """A chassis with a package and a controller for each array.

    Parameters
    ----------
    box : int
        Place of the chassis.
    at : tuple of int
        Of each array, the place of its controller in its table.
    links : tuple of (float or None)
        Payload rate of the host link behind each array; None: not known.
    """

    def __init__(
        self, seats: "Seats", box: int, package: Package, at: tuple[int, ...],
        links: tuple[float | None, ...],
    ) -> None:  # fmt: skip
        self._seats, self.box, self.package, self.at, self.links = seats, box, package, at, links
        tables = seats.tables
        self.controllers = tuple(
            table.listed.controllers[one] for table, one in zip(tables, at, strict=True)
        )
        self.chassis = seats.boxes[box]

    @cached_property
    def build(self) -> Build:
        """Make the server without its drives."""
        return self._seats.made(self.chassis, self.package, self.controllers)

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Give the arrays that each controller runs."""
        found: dict[str, list[int]] = {}
        for place, one in enumerate(self.controllers):
            found.setdefault(one.sku, []).append(place)
        return tuple(map(tuple, found.values()))

    def hangs(self, array: int) -> tuple[float | None, int]:
        """Give the link behind an array, and how many arrays share its controller."""
        sku = self.controllers[array].sku
        return self.links[array], sum(one.sku == sku for one in self.controllers)

    def protected(self, array: int) -> bool:
        """Tell whether writes of an array are answered from the controller's cache."""
        one = self.controllers[array]
        return bool(one.cache_mib) and answers_writes(self.build, one)

    @cached_property
    def watts(self) -> Decimal:
        """Give what it draws without drives."""
        return self.build.watts

    @cached_property
    def carries(self) -> Decimal:
        """Give what its supplies carry; below nothing where they do not go together."""
        each = self.build.supplies_w
        if len(set(each)) > 1 or len(each) <= self.build.redundant_supply:
            return Decimal(-1)
        return self.build.supply_w


class Seats:
    """All seats of a server that is asked for, on which no rule about parts has anything to say."""

    def __init__(self, prices: PriceList, asked: ServerAsked) -> None:
        self.prices, self.asked = prices, asked
        base = asked.base
        self.scales = Scales(prices, base)
        self.boxes = tuple(
            one for one in prices.chassis.values()
            if one.sku == base.chassis or (base.chassis is None and base.sold(one))
        )  # fmt: skip
        skus = tuple(box.sku for box in self.boxes)
        listed = bool(skus) and all(anything_listed(prices, row) for row in asked.arrays)
        rows = asked.arrays if listed else ()
        self.tables: tuple[Table, ...] = tuple(table_of(prices, row, skus) for row in rows)
        self.any = listed
        self._kinds: dict[str, tuple[object, ...]] = {}
        self._there = [self._controllers_there(table) for table in self.tables]

    @staticmethod
    def _controllers_there(table: Table) -> dict[int, list[int]]:
        found: dict[int, set[int]] = {}
        box, controller, _ = table.at
        for b, c in zip(box.tolist(), controller.tolist(), strict=True):
            found.setdefault(b, set()).add(c)
        return {b: sorted(those) for b, those in found.items()}

    def owned(self, controller: Controller) -> bool:
        """Tell whether a controller is the customer's."""
        rows = self.asked.arrays
        return any("controller" in r.owned and r.controller == controller.sku for r in rows)

    def made(
        self, chassis: Chassis, package: Package, controllers: tuple[Controller, ...]
    ) -> Build:
        """Make a server without drives, with what its parts need."""
        base = self.asked.base
        return assemble(
            self.prices, chassis, "chassis" in base.owned, self._parts(package, controllers), (),
            bool(base.value("redundant_supply")),
        )  # fmt: skip

    def _parts(self, package: Package, controllers: tuple[Controller, ...]) -> tuple[Placed, ...]:
        return (
            *(Placed(c, owned=self.owned(c)) for c in {c.sku: c for c in controllers}.values()),
            *options_named(self.prices, self.asked.base),
            *(Placed(option, number) for option, number in package.pieces),
        )

    def packages(self, box: int) -> list[Package]:
        """List what may be added to a chassis for cores and memory."""
        return list(packages(self.prices, self.asked.base, self.boxes[box]))

    def of(self, box: int) -> Iterator[Seat]:
        """List the seats in a chassis."""
        if not self.any:
            return
        chassis, base = self.boxes[box], self.asked.base
        there = [those.get(box, []) for those in self._there]
        for package in self.packages(box):
            known: dict[object, tuple[float | None, ...] | None] = {}
            for at in product(*there):
                ones = tuple(
                    table.listed.controllers[one]
                    for table, one in zip(self.tables, at, strict=True)
                )
                kinds = tuple(dict.fromkeys((one.sku, *self._kind(one)) for one in ones))
                same = tuple(kind[1:] for kind in kinds)
                if same not in known:
                    parts = self._parts(package, ones)
                    whose = "chassis" in base.owned
                    build = Build(
                        chassis, whose, parts, (), (), bool(base.value("redundant_supply"))
                    )
                    known[same] = None if fit.asked(fit.PART_RULES, build) else tuple(
                        host_link_mb_s(build, one) for one in {c.sku: c for c in ones}.values()
                    )  # fmt: skip
                links = known[same]
                if links is not None:
                    of = dict(zip((kind[0] for kind in kinds), links, strict=True))
                    yield Seat(self, box, package, at, tuple(of[one.sku] for one in ones))

    def _kind(self, one: Controller) -> tuple[object, ...]:
        if one.sku not in self._kinds:
            link = one.host_gen, one.host_lanes
            self._kinds[one.sku] = one.takes, one.as_card, *link, self.owned(one)
        return self._kinds[one.sku]

    @cached_property
    def entangled(self) -> bool:
        """Tell whether drives of one array may change what another array may be or do.

        Where protection of a cache, or an adapter, comes with drives.
        """
        drives = self.prices.drives
        return (
            any(
                bool(item.together_with)
                if item.kind == "adapter"
                else item.kind == "cache_protection"
                and (
                    item.per != "build"
                    or bool(item.interfaces)
                    or any(sku in drives for sku in (*item.needed_by, *item.together_with))
                )
                for item in self.prices.accessories.values()
            )
            and len(self.tables) > 1
        )

    def serves(self, seat: Seat, demands: list[Asked]) -> bool:
        """Tell whether a seat meets demands of parts alone."""
        if not demands:
            return True
        empty = Candidate(seat.build, 0)
        return all(demand.met(empty) for demand in demands)
