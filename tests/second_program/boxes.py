"""What is in one server: its arrays, options and accessories, their watts, grams and work."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from .levels import data_members, member_bytes
from .reading import Accessory, Chassis, Controller, Drive, Option, Part, Prices, Service

Options = tuple[tuple[Option, int], ...]


@dataclass(frozen=True)
class Array:
    """One array as it will be; `members` excludes the `spares`.

    Of its drives `have` are there already, members first: of the kind `old_drive` where that is
    another, else of the kind it is made of.
    """

    controller: Controller
    drive: Drive
    level: str
    spans: int
    members: int
    spares: int = 0
    controller_owned: bool = False
    have: int = 0
    action: str = "new"
    old_drive: Drive | None = None
    old_controller: Controller | None = None

    @property
    def drives(self) -> int:
        """Members and hot spares together."""
        return self.members + self.spares

    @property
    def there(self) -> int:
        """Drives that are there already and stay."""
        return min(self.have, self.drives)

    @property
    def bought(self) -> int:
        """Drives we sell."""
        return self.drives - self.there

    @property
    def put_in(self) -> int:
        """Drives that somebody puts in: of an array that stays only those bought."""
        return self.drives if self.action == "new" else self.bought

    def kinds(self) -> list[tuple[Drive, int, bool]]:
        """List the kinds of drive: how many, and whether they are ours."""
        kinds = [(self.old_drive or self.drive, self.there, False), (self.drive, self.bought, True)]
        return [kind for kind in kinds if kind[1]]

    @property
    def usable_bytes(self) -> int:
        """Bytes the customer can use; the smaller kind says what a member holds."""
        kinds = [self.drive]
        if self.old_drive is not None and self.there:
            kinds.append(self.old_drive)
        each = min(member_bytes(drive, self.controller) for drive in kinds)
        return data_members(self.level, self.members, self.spans) * each


@dataclass(frozen=True)
class Box:
    """One server of an enquiry, `options` each with how many of it in row order."""

    chassis: Chassis
    arrays: tuple[Array, ...]
    options: Options = ()
    redundant_supply: bool = False
    chassis_owned: bool = False

    @cached_property
    def controllers(self) -> tuple[Controller, ...]:
        """Every controller once, in the order of the arrays."""
        return tuple({array.controller.sku: array.controller for array in self.arrays}.values())

    @property
    def drives(self) -> int:
        """All drives, hot spares too."""
        return sum(array.drives for array in self.arrays)

    def on(self, controller: Controller) -> list[Array]:
        """List the arrays on a controller."""
        return [array for array in self.arrays if array.controller.sku == controller.sku]

    def controller_owned(self, controller: Controller) -> bool:
        """Whether the piece is the customer's: any of its arrays says so, or the board is."""
        if controller.mounting == "board" and self.chassis_owned:
            return True
        return any(array.controller_owned for array in self.on(controller))

    def pieces(self, kind: str) -> int:
        """How many options of a kind there are that are no cards."""
        return sum(n for option, n in self.options if option.kind == kind and not option.card)

    def parts(self) -> list[tuple[Part, int, bool]]:
        """List chassis, controllers, drives and options: how many, and whether they are ours."""
        found: list[tuple[Part, int, bool]] = [(self.chassis, 1, not self.chassis_owned)]
        for controller in self.controllers:
            found.append((controller, 1, not self.controller_owned(controller)))
        for array in self.arrays:
            found += array.kinds()
        return found + [(option, count, True) for option, count in self.options]


def needs_adapter(drive: Drive, chassis: Chassis) -> bool:
    """Whether a small drive would sit in a large bay."""
    return drive.width_in == Decimal("2.5") and chassis.bay_width_in == Decimal("3.5")


def _counted(accessory: Accessory, box: Box, ours: set[str]) -> list[tuple[Drive, int]] | None:
    """List the drives over which an accessory counts; None: it is not called for.

    The text says "over the bought drives where a drive brings it in, over all drives
    otherwise". Read as: the bought drives of those that name it; where no bought drive names
    it all drives on the controllers that do, or of the server where another part does.
    """
    named = [array for array in box.arrays if array.drive.sku in accessory.needed_by]
    if accessory.kind == "adapter":
        # Also for drives of the customer's, unless they sit in their bays already.
        small = [array for array in named if needs_adapter(array.drive, box.chassis)]
        return [(array.drive, array.put_in) for array in small if array.put_in] or None
    bought = [(array.drive, array.bought) for array in named if array.bought]
    if bought or not ours & set(accessory.needed_by):
        return bought or None
    calling = ours & set(accessory.needed_by)
    controllers = {controller.sku for controller in box.controllers}
    everywhere = bool(calling - controllers)
    counted = [a for a in box.arrays if everywhere or a.controller.sku in calling]
    return [(drive, count) for array in counted for drive, count, _ in array.kinds()]


def accessories_of(prices: Prices, box: Box) -> list[tuple[Accessory, int]]:
    """List what a server needs beside its parts, each once with how many of it."""
    there = {part.sku for part, _, _ in box.parts()}
    ours = {part.sku for part, _, is_ours in box.parts() if is_ours}
    found = []
    for accessory in prices.accessories:
        counted = _counted(accessory, box, ours)
        if counted is None or (accessory.only_with and not there & set(accessory.only_with)):
            continue
        if accessory.interfaces:
            counted = [one for one in counted if one[0].interface in accessory.interfaces]
            if not counted:
                continue
        drives = sum(count for _, count in counted)
        if accessory.per == "build":
            found.append((accessory, 1))
        elif drives:
            each = 1 if accessory.per == "drive" else int(accessory.per)
            found.append((accessory, -(-drives // each)))
    return found


def watts(box: Box, accessories: list[tuple[Accessory, int]]) -> Decimal:
    """Watts of the whole server with every drive active."""
    parts = sum((count * part.watts for part, count, _ in box.parts()), Decimal(0))
    return parts + sum(count * accessory.watts for accessory, count in accessories)


def mass_g(box: Box, accessories: list[tuple[Accessory, int]], *, shipped: bool) -> Decimal:
    """Grams of the whole server as it stands, or of what we ship of it."""
    parts = sum(
        (count * part.mass_g for part, count, ours in box.parts() if ours or not shipped),
        Decimal(0),
    )
    return parts + sum(count * accessory.mass_g for accessory, count in accessories)


def actions_of(box: Box) -> set[str]:
    """What is done to a server: the actions of its arrays, and ``new`` where it is ours."""
    found = {array.action for array in box.arrays}
    return found if box.chassis_owned and found else found | {_to_chassis(box)}


def _to_chassis(box: Box) -> str:
    return "keep" if box.chassis_owned else "new"


def _put_in(box: Box, controller: Controller) -> bool:
    """Whether a controller is put in: not where it stays in the customer's own chassis."""
    if controller.mounting == "board":
        return False
    stays = box.chassis_owned and box.controller_owned(controller)
    return not stays or any(_brought_to(array) for array in box.on(controller))


def _brought_to(array: Array) -> bool:
    """Whether an array comes to its controller: a new one, or one that another made."""
    if array.action == "new":
        return True
    old = array.old_controller
    return array.level != "none" and old is not None and old.sku != array.controller.sku


def service_count(service: Service, box: Box) -> int:
    """How often one server calls for a service."""
    wanted = set(service.actions or ("new",))
    arrays = [array for array in box.arrays if array.action in wanted]
    if service.per == "drive":
        return sum(array.put_in for array in arrays)
    if service.per == "array":
        return sum(array.level != "none" for array in arrays)
    if not wanted & actions_of(box) and not (service.chosen and not service.actions):
        return 0
    if service.per == "controller":
        return sum(_put_in(box, controller) for controller in box.controllers)
    return 1


def protected(box: Box, controller: Controller, accessories: list[tuple[Accessory, int]]) -> bool:
    """Whether a controller's cache has nothing to fear: its own way, or a module it brings in."""
    if controller.cache_mib == 0 or controller.cache_protection != "none":
        return True
    return not box.controller_owned(controller) and any(
        accessory.kind == "cache_protection" and controller.sku in accessory.needed_by
        for accessory, _ in accessories
    )
