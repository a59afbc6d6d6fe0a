"""What is a build: one chassis, one controller, equal drives, one layout, accessories."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from quotelib.build.levels import LEVELS, Level
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.estimate import capacity

DEFAULT_STRIP_KIB = 256
OWNABLE = ("chassis", "controller", "drive")


@dataclass(frozen=True, slots=True)
class Layout:
    """How the drives form an array.

    Parameters
    ----------
    level : str
        A name from the level table.
    members : int
        Member drives, hot spares not counted.
    spans : int
        1 for every level that is not spanned.
    spares : int
        Hot spares.
    strip_kib : int
        Strip size in kibibytes.
    """

    level: str
    members: int
    spans: int = 1
    spares: int = 0
    strip_kib: int = DEFAULT_STRIP_KIB

    @property
    def rule(self) -> Level:
        """Give the level's row of the table."""
        return LEVELS[self.level]

    @property
    def drives(self) -> int:
        """Count members and hot spares."""
        return self.members + self.spares

    @property
    def data_members(self) -> int:
        """Count the members' worth of data."""
        return self.rule.data_members(self.members, self.spans)

    @property
    def words(self) -> str:
        """Say it: ``RAID 50 over 6 drives in 2 spans of 3, 1 hot spare``."""
        rule = self.rule
        text = (
            f"{rule.label} over {self.members} drives"
            if rule.is_array
            else (f"{self.members} {'drive' if self.members == 1 else 'drives'} passed through")
        )
        if rule.spanned:
            text += f" in {self.spans} spans of {self.members // self.spans}"
        if self.spares:
            text += f", {self.spares} hot {'spare' if self.spares == 1 else 'spares'}"
        return text


@dataclass(frozen=True)
class Parts:
    """The parts of a build before it has a layout.

    Parameters
    ----------
    chassis, controller, drive : Chassis, Controller, Drive
    owned : frozenset of str
        Which of ``chassis``, ``controller``, ``drive`` the customer has already.
    accessories : tuple of Accessory
        Each of those that this combination needs.
    """

    chassis: Chassis
    controller: Controller
    drive: Drive
    owned: frozenset[str] = frozenset()
    accessories: tuple[Accessory, ...] = ()

    @property
    def needs_adapter(self) -> bool:
        """Tell whether a small drive goes into a larger bay."""
        return self.drive.width_in == "2.5" and self.chassis.bay_width_in == "3.5"

    @property
    def has_adapter(self) -> bool:
        """Tell whether an adapter that lists the drive is among the accessories."""
        return any(a.kind == "adapter" and self.drive.sku in a.needed_by for a in self.accessories)

    @property
    def slots_free(self) -> int:
        """Count the slots that stay free."""
        return len(self.chassis.slots) - (self.controller.mounting == "card")

    @property
    def cache_is_protected(self) -> bool:
        """Tell whether cached writes survive a loss of power."""
        return self.controller.cache_protection != "none" or any(
            a.kind == "cache_protection" for a in self.accessories
        )


def owned_roles(controller: Controller, owned: frozenset[str]) -> frozenset[str]:
    """Tell which parts are not ours to deliver: a board controller goes with its chassis."""
    if controller.mounting == "board" and "chassis" in owned:
        return owned | {"controller"}
    return owned


def accessories_for(
    price_list: PriceList,
    chassis: Chassis,
    controller: Controller,
    drive: Drive,
    owned: frozenset[str] = frozenset(),
) -> tuple[Accessory, ...]:
    """List the accessories that a combination of parts needs.

    An accessory comes with every part that is ours to deliver and in its ``needed_by``. An
    adapter comes where a 2.5-inch drive goes into a 3.5-inch bay, also for owned drives.

    Parameters
    ----------
    price_list : PriceList
    chassis, controller, drive : Chassis, Controller, Drive
    owned : frozenset of str
        Which of the three the customer has already.

    Returns
    -------
    tuple of Accessory
        In the order of the price list.
    """
    parts: dict[str, Part] = {"chassis": chassis, "controller": controller, "drive": drive}
    every = {part.sku for part in parts.values()}
    theirs = owned_roles(controller, owned)
    ours = {part.sku for role, part in parts.items() if role not in theirs}
    narrow = drive.width_in == "2.5" and chassis.bay_width_in == "3.5"
    return tuple(
        a
        for a in price_list.accessories.values()
        if (
            narrow and not every.isdisjoint(a.needed_by)
            if a.kind == "adapter"
            else not ours.isdisjoint(a.needed_by)
        )
    )


@dataclass(frozen=True)
class Build:
    """Parts with a layout: everything that is decided about one server.

    Parameters
    ----------
    parts : Parts
    layout : Layout
    """

    parts: Parts
    layout: Layout

    @property
    def chassis(self) -> Chassis:
        """Give the chassis."""
        return self.parts.chassis

    @property
    def controller(self) -> Controller:
        """Give the storage controller."""
        return self.parts.controller

    @property
    def drive(self) -> Drive:
        """Give the drive, of which there are equal ones."""
        return self.parts.drive

    def quantity(self, item: Accessory) -> int:
        """Count an accessory in this build."""
        return self.layout.drives if item.per == "drive" else 1

    @property
    def drive_bytes(self) -> int:
        """Count the bytes of one drive."""
        return capacity.drive_bytes(self.drive.capacity_gb, int(self.drive.block_bytes))

    @property
    def member_bytes(self) -> int:
        """Count the bytes of one member that the array can use."""
        return capacity.member_bytes(
            self.drive_bytes, self.controller.reserve_mib, self.layout.strip_kib
        )

    @property
    def usable_bytes(self) -> int:
        """Count the bytes the customer's system sees."""
        return capacity.usable_bytes(self.layout.data_members, self.member_bytes)

    @property
    def watts(self) -> Decimal:
        """Add up the draw: base, active drives, controller, accessories."""
        return (
            self.chassis.base_w
            + self.layout.drives * self.drive.active_w
            + self.controller.watts
            + sum((self.quantity(a) * a.watts for a in self.parts.accessories), Decimal(0))
        )

    def mass_g(self, *, shipped_only: bool = False) -> Decimal:
        """Add up the mass in grams.

        Parameters
        ----------
        shipped_only : bool
            Leave out what the customer owns. A board controller goes with its chassis.

        Returns
        -------
        Decimal
        """
        masses = {
            "chassis": self.chassis.mass_g,
            "controller": self.controller.mass_g,
            "drive": self.layout.drives * self.drive.mass_g,
        }
        left_out = owned_roles(self.controller, self.parts.owned) if shipped_only else frozenset()
        return sum(
            (
                *(mass for role, mass in masses.items() if role not in left_out),
                *(self.quantity(a) * a.mass_g for a in self.parts.accessories),
            ),
            Decimal(0),
        )


def combine(
    price_list: PriceList,
    chassis: Chassis,
    controller: Controller,
    drive: Drive,
    owned: Iterable[str] = (),
) -> Parts:
    """Put parts together with the accessories they need."""
    having = frozenset(owned)
    return Parts(
        chassis,
        controller,
        drive,
        having,
        accessories_for(price_list, chassis, controller, drive, having),
    )
