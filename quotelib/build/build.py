"""What is a build: a chassis, a list of placed parts, a list of arrays, and what they need."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from quotelib.build.layout import ALL_OF_THEM, Array, Layout
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Option, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Action
from quotelib.text import both


@dataclass(frozen=True, slots=True)
class Placed:
    """Some equal parts of one server, and whether the customer has them already."""

    part: Part
    count: int = 1
    owned: bool = False

    @property
    def ours(self) -> bool:
        """Tell what we deliver by itself: what is part of a board comes with its chassis."""
        return not self.owned and self.part.takes != "board"


@dataclass(frozen=True)
class Build:
    """Everything that is decided about one server.

    Parameters
    ----------
    parts : tuple of Placed
        What goes into it beside drives: each storage controller once, in the order of the
        arrays, then cards and whatever else takes a place.
    arrays : tuple of Array
        At least one where there are drives.
    accessories : tuple of Accessory
        Each of those that this combination needs, in the order of the price list.
    redundant_supply : bool
        Whether it has to carry its load with one supply less.
    """

    chassis: Chassis
    chassis_owned: bool
    parts: tuple[Placed, ...]
    arrays: tuple[Array, ...]
    accessories: tuple[Accessory, ...] = ()
    redundant_supply: bool = False

    @property
    def drives(self) -> int:
        """Count the drives of all arrays."""
        return sum(array.drives for array in self.arrays)

    @cached_property
    def usable_bytes(self) -> int:
        """Count the bytes the customer's system sees of all arrays."""
        return sum(array.usable_bytes for array in self.arrays)

    def with_layouts(self, *layouts: Layout) -> "Build":
        """Give the same parts with other layouts, one an array; drives stay whose they are."""
        # Not dataclasses.replace: this is done for each build that is tried.
        arrays = tuple(
            Array(
                a.drive, a.controller, new, a.their_drives, a.action, a.name,
                a.controller_before, a.drive_before,
            )
            for a, new in zip(self.arrays, layouts, strict=True)
        )  # fmt: skip
        whose = self.chassis, self.chassis_owned, self.parts
        build = Build(*whose, arrays, self.accessories, self.redundant_supply)
        if not any(0 < a.their_drives < ALL_OF_THEM for a in arrays):
            return build
        # How many are bought is another number with each layout, and may be none.
        return replace(build, accessories=tuple(filter(build.needs, self.accessories)))

    def controllers(self) -> Iterator[tuple[Placed, Controller]]:
        """List the storage controllers among the parts."""
        for piece in self.parts:
            if isinstance(piece.part, Controller):
                yield piece, piece.part

    def arrays_on(self, controller: Part) -> tuple[Array, ...]:
        """Give the arrays that a controller runs."""
        return tuple(array for array in self.arrays if array.controller.sku == controller.sku)

    def taking(self, place: str) -> tuple[Placed, ...]:
        """Give the parts that take one kind of place."""
        return tuple(piece for piece in self.parts if piece.part.takes == place)

    def number(self, place: str) -> int:
        """Count the parts that take one kind of place."""
        return sum(piece.count for piece in self.taking(place))

    def listed(self, *places: str) -> str:
        """List the parts that take some kinds of place: ``2 × CPU and 8 × MEM``."""
        return both(f"{p.count} × {p.part.sku}" for place in places for p in self.taking(place))

    def total(self, column: str) -> int:
        """Add up a column over the options: ``cores``, ``memory_gb``."""
        options = ((p.count, p.part) for p in self.parts if isinstance(p.part, Option))
        return sum(number * int(getattr(option, column)) for number, option in options)

    def lead_days(self, builds: int) -> int:
        """Give the longest lead time among parts whose stock does not cover so many builds."""
        short = (p.part for p in self.lead_pieces if p.part.stock < p.count * builds)
        return max((part.lead_days for part in short), default=0)

    @property
    def actions(self) -> frozenset[Action]:
        """Say what is done with it: with its arrays, and ``new`` where its chassis is ours.

        The customer's chassis without an array in question stays as it is: ``keep``.
        """
        found: set[Action] = {array.action for array in self.arrays}
        if not self.chassis_owned:
            found.add("new")
        return frozenset(found or {"keep"})

    @property
    def makes_arrays(self) -> bool:
        """Tell whether an array is made, or new drives are passed through."""
        return any(array.action == "new" for array in self.arrays)

    @property
    def keeps_arrays(self) -> bool:
        """Tell whether an array stays that is there: as it is, grown, or on other drives."""
        return any(array.action != "new" for array in self.arrays)

    @property
    def only_keeps_arrays(self) -> bool:
        """Tell whether it has arrays and all of them stay: nothing may be written to any drive."""
        return self.keeps_arrays and not self.makes_arrays

    def takes_over(self, array: Array) -> bool:
        """Tell whether an array that stays comes to a controller that may not have made it."""
        if array.action == "new" or not array.layout.rule.is_array:
            return False
        before, now = array.controller_before, array.controller
        owned = any(piece.owned for piece, there in self.controllers() if there.sku == now.sku)
        return not owned or (before is not None and before.sku != now.sku)

    def is_fitted(self, piece: Placed) -> bool:
        """Tell whether a controller is put in: the customer's own runs arrays that stay already."""
        of_it = [array for array in self.arrays if array.controller.sku == piece.part.sku]
        brings = any(array.action == "new" or self.takes_over(array) for array in of_it)
        return not (piece.owned and self.chassis_owned) or brings

    @property
    def slots_free(self) -> int:
        """Count the slots that stay free."""
        return len(self.chassis.slots) - self.number("slot")

    @property
    def supplies_w(self) -> tuple[Decimal, ...]:
        """List what each supply gives, the chassis' own first."""
        added = ((p.count, p.part) for p in self.parts if isinstance(p.part, Option))
        each = [Decimal(o.supply_w) for n, o in added if o.takes == "supply bay" for _ in range(n)]
        return (*[self.chassis.supply_w] * self.chassis.supplies, *each)

    @property
    def supply_w(self) -> Decimal:
        """Give what the supplies carry; one less, where it has to do with one less."""
        return sum(self.supplies_w[self.redundant_supply :], Decimal(0))

    def with_controller(self, kind: str, controller: Controller) -> tuple[Accessory, ...]:
        """Give the accessories of a kind that go with a controller, not with another one only."""
        sku, of_kind = controller.sku, (item for item in self.accessories if item.kind == kind)
        others = {other.sku for _, other in self.controllers() if other.sku != sku}
        named = ((item, {*item.needed_by, *item.together_with}) for item in of_kind)
        return tuple(item for item, skus in named if sku in skus or others.isdisjoint(skus))

    def is_protected(self, controller: Controller) -> bool:
        """Tell whether a controller's cached writes survive a loss of power."""
        added = self.with_controller("cache_protection", controller)
        return controller.cache_protection != "none" or bool(added)

    def _calling(self, item: Accessory) -> set[str]:
        """Name the chassis and parts, drives apart, that call for an accessory.

        They have to be ours, but for an adapter.
        """
        every = item.kind == "adapter"
        found = {p.part.sku for p in self.parts if every or not p.owned}
        if every or not self.chassis_owned:
            found.add(self.chassis.sku)
        return found.intersection(item.needed_by)

    def served(self, item: Accessory) -> dict[int, int]:
        """Count the drives that an accessory goes with, by the place of their array from 0.

        The bought ones of the kinds that call for it; where none of them does, those on the
        controllers that do, or all of the server where the chassis or another part does. An adapter
        goes with every narrow drive of a kind that calls for it and is put in, whoever owns it.
        """
        calling, adapter = self._calling(item), item.kind == "adapter"
        everywhere = calling.difference(controller.sku for _, controller in self.controllers())
        named = [
            (array.fitted_drives if adapter else array.bought_drives)
            * (array.drive.sku in item.needed_by)
            for array in self.arrays
        ]
        found: dict[int, int] = {}
        for place, array in enumerate(self.arrays):
            drives = named[place]
            if not any(named) and (everywhere or array.controller.sku in calling):
                drives = array.drives
            if item.interfaces and array.drive.interface not in item.interfaces:
                continue
            if drives and (not adapter or needs_adapter(self.chassis, array)):
                found[place] = drives
        return found

    def needs(self, item: Accessory) -> bool:
        """Tell whether an accessory of the price list comes with a build like this."""
        if item.together_with:
            kinds = (drive for array in self.arrays for drive, *_ in array.kinds())
            parts = (self.chassis, *(piece.part for piece in self.parts), *kinds)
            if not any(part.sku in item.together_with for part in parts):
                return False
        by_drives = item.per != "build" or item.kind == "adapter" or item.interfaces
        return bool(self.served(item)) or (not by_drives and bool(self._calling(item)))

    def quantity(self, item: Accessory) -> int:
        """Count an accessory that this build needs."""
        return 1 if item.per == "build" else -(-sum(self.served(item).values()) // item.per)

    def pieces(self) -> Iterator[Placed]:
        """List every part of the server: chassis, parts, drives array by array, accessories."""
        yield Placed(self.chassis, 1, self.chassis_owned)
        yield from self.parts
        for array in self.arrays:
            yield from (Placed(drive, count, owned) for drive, count, owned in array.kinds())
        for item in self.accessories:
            yield Placed(item, self.quantity(item))

    @property
    def watts(self) -> Decimal:
        """Add up the draw of all parts with every drive active."""
        return sum((p.count * p.part.draws_w for p in self.pieces()), Decimal(0))

    def mass_g(self, *, shipped_only: bool = False) -> Decimal:
        """Add up the mass in grams, of all parts or of those that the customer does not own."""
        weighed = (p for p in self.pieces() if not (shipped_only and p.owned))
        return sum((p.count * p.part.mass_g for p in weighed), Decimal(0))

    @cached_property
    def lead_pieces(self) -> tuple[Placed, ...]:
        """Give what has to be delivered, equal parts counted together."""
        found: dict[str, Placed] = {}
        for piece in self.pieces():
            if piece.ours:
                same = found.get(piece.part.sku)
                found[piece.part.sku] = (
                    replace(piece, count=piece.count + same.count) if same else piece
                )
        return tuple(found.values())


def needs_adapter(chassis: Chassis, array: Array) -> bool:
    """Tell whether small drives go into larger bays."""
    return array.drive.width_in == "2.5" and chassis.bay_width_in == "3.5"


def assemble(
    price_list: PriceList,
    chassis: Chassis,
    chassis_owned: bool,
    parts: tuple[Placed, ...],
    arrays: tuple[Array, ...],
    redundant_supply: bool = False,
) -> Build:
    """Put parts together with the accessories they need.

    An accessory comes where a part that is ours to deliver is in its ``needed_by``. An adapter
    comes where a 2.5-inch drive goes into a 3.5-inch bay, also for owned drives. A board
    controller goes with its chassis, whoever owns that.
    """
    parts = tuple(
        replace(p, owned=p.owned or (p.part.takes == "board" and chassis_owned)) for p in parts
    )
    bare = Build(chassis, chassis_owned, parts, arrays, (), redundant_supply)
    wanted = tuple(item for item in price_list.accessories.values() if bare.needs(item))
    return replace(bare, accessories=wanted)
