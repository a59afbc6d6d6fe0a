"""The contract's rules: what goes in the box, what stops it, how many bytes it holds."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from .reading import Accessory, Chassis, Controller, Drive, Option, Prices, Service

STOP_CODES = (
    "level_not_offered",
    "member_count",
    "bays_full",
    "bay_width",
    "bay_interface",
    "drive_link",
    "too_many_drives",
    "no_socket",
    "no_slot",
    "board_elsewhere",
    "power",
    *("option_elsewhere", "sockets_full", "memory_full", "supplies_full"),
    "service_elsewhere",
)
STRIP_BYTES = 256 * 1024
Services = tuple[tuple[Service, int], ...]
Options = tuple[tuple[Option, int], ...]


@dataclass(frozen=True)
class Build:
    """One candidate; `members` excludes the `spares`. Each option comes with how many of it."""

    chassis: Chassis
    controller: Controller
    drive: Drive
    level: str
    spans: int
    members: int
    spares: int
    options: Options = ()
    redundant_supply: bool = False

    @property
    def drives(self) -> int:
        """Members and hot spares together."""
        return self.members + self.spares


def lba_count(capacity_gb: int, block_bytes: int) -> int:
    """Blocks of a drive by SFF-8447: the linear formula to 8000 GB, round numbers above."""
    if capacity_gb <= 8000:
        if block_bytes == 512:
            return 97_696_368 + 1_953_504 * (capacity_gb - 50)
        return 12_212_046 + 244_188 * (capacity_gb - 50)
    multiple = 2**21 if block_bytes == 512 else 2**18
    return -(-capacity_gb * 10**9 // (block_bytes * multiple)) * multiple


def member_bytes(drive: Drive, controller: Controller) -> int:
    """Bytes of one drive left for the array."""
    drive_bytes = lba_count(drive.capacity_gb, drive.block_bytes) * drive.block_bytes
    return (drive_bytes - controller.reserve_mib * 2**20) // STRIP_BYTES * STRIP_BYTES


def data_members(level: str, members: int, spans: int) -> int:
    """Members' worth of data, by the table of levels."""
    return {
        "0": members,
        "1": 1,
        "5": members - 1,
        "6": members - 2,
        "10": members // 2,
        "50": members - spans,
        "60": members - 2 * spans,
        "none": members,
    }[level]


def survives_any(level: str) -> int:
    """Failures survived whichever drives fail, by the table of levels."""
    return {"0": 0, "1": 1, "5": 1, "6": 2, "10": 1, "50": 1, "60": 2, "none": 0}[level]


def usable_bytes(build: Build) -> int:
    """Bytes the customer can use."""
    return data_members(build.level, build.members, build.spans) * member_bytes(
        build.drive, build.controller
    )


def member_count_fits(level: str, members: int, spans: int) -> bool:
    """Whether the level can be made of so many members in so many spans."""
    if level in ("50", "60"):
        smallest_span = 3 if level == "50" else 4
        return spans >= 2 and members % spans == 0 and members // spans >= smallest_span
    if spans != 1:
        return False
    if level == "1":
        return members == 2
    if level == "10":
        return members >= 4 and members % 2 == 0
    return members >= {"0": 2, "5": 3, "6": 4, "none": 1}[level]


def level_offered(level: str, controller: Controller) -> bool:
    """Whether the controller can do the level."""
    if level == "none":
        return controller.kind in ("pass_through", "chipset")
    return level in controller.levels


def needs_adapter(drive: Drive, chassis: Chassis) -> bool:
    """Whether a small drive would sit in a large bay."""
    return drive.width_in == Decimal("2.5") and chassis.bay_width_in == Decimal("3.5")


def accessories_of(
    prices: Prices,
    chassis: Chassis,
    controller: Controller,
    drive: Drive,
    owned: frozenset[str],
    options: Options = (),
) -> list[Accessory]:
    """List what the build needs beside its parts, each once."""
    # A board controller comes with its chassis, so who owns the one owns the other.
    controller_owned = "controller" in owned or (
        controller.mounting == "board" and "chassis" in owned
    )
    shipped = {option.sku for option, _ in options}
    if "chassis" not in owned:
        shipped.add(chassis.sku)
    if not controller_owned:
        shipped.add(controller.sku)
    if "drive" not in owned:
        shipped.add(drive.sku)
    found = []
    for accessory in prices.accessories:
        if accessory.kind == "adapter":
            if needs_adapter(drive, chassis) and drive.sku in accessory.needed_by:
                found.append(accessory)
        elif shipped & set(accessory.needed_by):
            found.append(accessory)
    return found


def quantity(accessory: Accessory, drives: int) -> int:
    """How many of an accessory one build holds."""
    return drives if accessory.per == "drive" else 1


def watts(build: Build, accessories: list[Accessory]) -> Decimal:
    """Watts of the whole build with every drive active."""
    return (
        build.chassis.watts
        + build.drives * build.drive.watts
        + build.controller.watts
        + sum(count * option.watts for option, count in build.options)
        + sum(quantity(a, build.drives) * a.watts for a in accessories)
    )


def mass_g(build: Build, accessories: list[Accessory]) -> Decimal:
    """Grams of the whole build as it stands, owned parts too."""
    return (
        build.chassis.mass_g
        + build.drives * build.drive.mass_g
        + build.controller.mass_g
        + sum(count * option.mass_g for option, count in build.options)
        + sum(quantity(a, build.drives) * a.mass_g for a in accessories)
    )


def freight_mass_g(build: Build, accessories: list[Accessory], owned: frozenset[str]) -> Decimal:
    """Grams of what we ship."""
    grams = mass_g(build, accessories)
    if "chassis" in owned:
        grams -= build.chassis.mass_g
    if "drive" in owned:
        grams -= build.drives * build.drive.mass_g
    if "controller" in owned or (build.controller.mounting == "board" and "chassis" in owned):
        grams -= build.controller.mass_g
    return grams


def free_slots(build: Build) -> int:
    """Slots that the cards leave free."""
    return len(build.chassis.slot_heights) - len(cards(build.controller, build.options))


def service_count(service: Service, build: Build) -> int:
    """How often one build calls for a service; its one array is made new, or there is none."""
    actions = service.actions
    if actions and "new" not in actions:
        return 0
    counts = {
        "build": 1,
        "quote": 1,
        "drive": build.drives,
        "controller": 0 if build.controller.mounting == "board" else 1,
        "array": 0 if build.level == "none" else 1,
    }
    return counts[service.per]


def service_stops(build: Build, services: Services) -> set[str]:
    """`stop` finding where a service was chosen that would be charged zero times."""
    idle = any(not service_count(service, build) for service, _ in services)
    return {"service_elsewhere"} if idle else set()


def cards(controller: Controller, options: Options) -> list[tuple[str, ...]]:
    """List the brackets of every card, one entry a card."""
    found = [controller.brackets] if controller.mounting == "card" else []
    for option, count in options:
        found += [option.brackets] * count if option.card else []
    return found


def all_seated(wanted: list[tuple[str, ...]], heights: tuple[str, ...]) -> bool:
    """Whether every card finds a slot of its own, of a height it has a bracket for."""
    if not wanted:
        return True
    first, *rest = wanted
    return any(
        all_seated(rest, heights[:place] + heights[place + 1 :])
        for place, height in enumerate(heights)
        if height in first
    )


def pieces(options: Options, kind: str) -> int:
    """How many options of a kind there are that are no cards."""
    return sum(count for option, count in options if option.kind == kind and not option.card)


def supplies(build: Build) -> list[Decimal]:
    """What each supply gives: those of the chassis, then those added."""
    own = [build.chassis.supply_w] * build.chassis.supplies
    for option, count in build.options:
        own += [option.supply_w] * count if option.kind == "supply" else []
    return own


def option_stops(chassis: Chassis, options: Options) -> set[str]:
    """`stop` findings of the options in a chassis; room it does not state stops nothing."""
    codes = set()
    if any(option.fits and chassis.sku not in option.fits for option, _ in options):
        codes.add("option_elsewhere")
    sockets, slots = chassis.processor_sockets, chassis.memory_slots
    if sockets is not None and pieces(options, "processor") > sockets:
        codes.add("sockets_full")
    if slots is not None and pieces(options, "memory") > slots:
        codes.add("memory_full")
    if chassis.supplies + pieces(options, "supply") > chassis.supply_bays:
        codes.add("supplies_full")
    return codes


def parts_stops(
    prices: Prices, chassis: Chassis, controller: Controller, drive: Drive, options: Options = ()
) -> set[str]:
    """`stop` findings of three parts together, however many drives at whatever level."""
    codes = option_stops(chassis, options)
    if needs_adapter(drive, chassis):
        if not any(a.kind == "adapter" and drive.sku in a.needed_by for a in prices.accessories):
            codes.add("bay_width")
    elif drive.width_in != chassis.bay_width_in:
        codes.add("bay_width")
    if drive.interface not in chassis.bay_interfaces:
        codes.add("bay_interface")
    if drive.interface not in controller.links:
        codes.add("drive_link")
    if controller.mounting == "board" and chassis.board_controller != controller.sku:
        codes.add("board_elsewhere")
    if controller.mounting == "mezzanine" and chassis.mezzanine_sockets < 1:
        codes.add("no_socket")
    if not all_seated(cards(controller, options), chassis.slot_heights):
        codes.add("no_slot")
    return codes


def layout_stops(build: Build, accessories: list[Accessory]) -> set[str]:
    """`stop` findings that depend on the level or on the number of drives."""
    codes = set()
    if not level_offered(build.level, build.controller):
        codes.add("level_not_offered")
    if not member_count_fits(build.level, build.members, build.spans):
        codes.add("member_count")
    if build.drives > build.chassis.bays:
        codes.add("bays_full")
    if build.drives > build.controller.max_drives:
        codes.add("too_many_drives")
    each = supplies(build)
    unequal, too_few = len(set(each)) > 1, len(each) < (2 if build.redundant_supply else 1)
    if unequal or too_few or watts(build, accessories) > sum(each[build.redundant_supply :]):
        codes.add("power")
    return codes


def stops(prices: Prices, build: Build, owned: frozenset[str], services: Services = ()) -> set[str]:
    """Every `stop` finding of one build."""
    parts = (build.chassis, build.controller, build.drive)
    accessories = accessories_of(prices, *parts, owned, build.options)
    codes = parts_stops(prices, *parts, build.options) | layout_stops(build, accessories)
    return codes | service_stops(build, services)


def advice(build: Build, accessories: list[Accessory], owned: frozenset[str]) -> set[str]:
    """`advise` findings, but for the one that needs an estimate."""
    codes = {"erases_data"} if "drive" in owned else set()
    if build.level in ("0", "none"):
        codes.add("no_redundancy")
    protected = build.controller.cache_protection != "none" or any(
        a.kind == "cache_protection" for a in accessories
    )
    if build.controller.cache_mib > 0 and not protected:
        codes.add("cache_unprotected")
    processors = pieces(build.options, "processor")
    if processors and pieces(build.options, "memory") % processors:
        codes.add("memory_uneven")
    return codes
