"""Does it fit: every physical and logical rule, one small function a rule.

A rule looks at a build and returns nothing, or a finding that says what is wrong and what to
change. `PART_RULES` look at the parts only, so that the search asks them once for each
combination; `LAYOUT_RULES` look at the layout too.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from typing import Literal

from quotelib.build.build import Build, Parts
from quotelib.build.levels import LEVELS
from quotelib.errors import any_of
from quotelib.units import plain

Severity = Literal["stop", "advise", "note"]

LIFTING_CONSTANT_KG = 23
"""Load constant of the NIOSH revised lifting equation (Waters et al., 1993); from memory."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule has to say about a build.

    Parameters
    ----------
    code : str
        Name of the rule.
    severity : str
        ``stop`` (cannot be built), ``advise`` (we would not) or ``note``.
    message : str
        What is so, and what to change.
    """

    code: str
    severity: Severity
    message: str


CODES: dict[str, Severity] = {
    "level_not_offered": "stop",
    "member_count": "stop",
    "bays_full": "stop",
    "bay_width": "stop",
    "bay_interface": "stop",
    "drive_link": "stop",
    "too_many_drives": "stop",
    "no_socket": "stop",
    "no_slot": "stop",
    "board_elsewhere": "stop",
    "power": "stop",
    "no_redundancy": "advise",
    "loss_over_limit": "advise",
    "cache_unprotected": "advise",
    "erases_data": "advise",
    "only_slot_used": "note",
    "speed_capped": "note",
    "heavy": "note",
    "sata_on_sas": "note",
    "not_a_backup": "note",
}
"""Every finding there is, by code, with its severity."""


def finding(code: str, message: str) -> Finding:
    """Make a finding; its severity follows from its code."""
    return Finding(code, CODES[code], message)


def bay_width(parts: Parts) -> Finding | None:
    """Check that the drive goes into the bay, with an adapter where it is smaller."""
    drive, chassis = parts.drive, parts.chassis
    if drive.width_in == chassis.bay_width_in or (parts.needs_adapter and parts.has_adapter):
        return None
    if parts.needs_adapter:
        return finding(
            "bay_width",
            f"{drive.sku} is 2.5 inches wide and no adapter is sold that takes it into the "
            f"3.5-inch bays of {chassis.sku}; choose a 3.5-inch drive or a 2.5-inch chassis",
        )
    return finding(
        "bay_width",
        f"{drive.sku} is 3.5 inches wide, the bays of {chassis.sku} are 2.5 inches; choose a "
        "2.5-inch drive or a 3.5-inch chassis",
    )


def bay_interface(parts: Parts) -> Finding | None:
    """Check that the backplane is wired for the drive's interface."""
    wanted, offered = parts.drive.interface, parts.chassis.bay_interfaces
    if wanted in offered:
        return None
    return finding(
        "bay_interface",
        f"the bays of {parts.chassis.sku} take {any_of(offered)}, {parts.drive.sku} is {wanted}; "
        f"choose a drive with {any_of(offered)} or a chassis with {wanted} bays",
    )


def drive_link(parts: Parts) -> Finding | None:
    """Check that the controller has a link of the drive's interface."""
    controller, interface = parts.controller, parts.drive.interface
    links = {
        "sata": controller.sata_gbit_s,
        "sas": controller.sas_gbit_s,
        "nvme": controller.nvme_gen,
    }
    if links[interface] is not None:
        return None
    has = any_of(name for name, link in links.items() if link is not None)
    return finding(
        "drive_link",
        f"{controller.sku} has no {interface} link, which {parts.drive.sku} needs; choose a drive "
        f"with {has} or a controller with {interface}",
    )


def no_socket(parts: Parts) -> Finding | None:
    """Check that a mezzanine controller finds its socket."""
    if parts.controller.mounting != "mezzanine" or parts.chassis.mezzanine_sockets:
        return None
    return finding(
        "no_socket",
        f"{parts.controller.sku} needs a mezzanine socket and {parts.chassis.sku} has none; choose "
        "a card version or a chassis with a socket",
    )


def no_slot(parts: Parts) -> Finding | None:
    """Check that a card finds a slot of a height it has a bracket for."""
    controller, slots = parts.controller, parts.chassis.slots
    if controller.mounting != "card" or any(s.height in controller.brackets for s in slots):
        return None
    have = (
        f"has only {any_of(sorted({s.height for s in slots}))}-height slots"
        if slots
        else ("has no slot")
    )
    return finding(
        "no_slot",
        f"{controller.sku} is a card with a {any_of(controller.brackets)}-height bracket and "
        f"{parts.chassis.sku} {have}; choose a chassis with such a slot, a card with another "
        "bracket or a mezzanine version",
    )


def board_elsewhere(parts: Parts) -> Finding | None:
    """Check that a board controller is used in the chassis it is part of."""
    controller, chassis = parts.controller, parts.chassis
    if controller.mounting != "board" or chassis.board_controller == controller.sku:
        return None
    own = (
        f"use {chassis.board_controller}, which is on its board, or choose"
        if (chassis.board_controller)
        else "choose"
    )
    return finding(
        "board_elsewhere",
        f"{controller.sku} is part of another chassis' board, not of {chassis.sku}; {own} a "
        "mezzanine or card controller",
    )


def level_not_offered(build: Build) -> Finding | None:
    """Check that the controller makes the level."""
    controller, level = build.controller, build.layout.rule
    if level.is_array:
        if level.name in controller.levels:
            return None
        if controller.levels:
            has = f"offers RAID {any_of(controller.levels)}"
        else:
            has = "makes no array"
        return finding(
            "level_not_offered",
            f"{controller.sku} {has}, not RAID {level.name}; choose another level or another "
            "controller",
        )
    if controller.kind in {"pass_through", "chipset"}:
        return None
    return finding(
        "level_not_offered",
        f"{controller.sku} is an array controller; to pass drives through without an array choose "
        "a pass_through or chipset controller, or choose a level",
    )


def member_count(build: Build) -> Finding | None:
    """Check that the level can be made of so many members and spans."""
    layout, level = build.layout, build.layout.rule
    members, spans = layout.members, layout.spans
    if level.takes(members, spans):
        return None
    possible = level.spans_for(members)
    changes = [f"{any_of(map(str, possible))} {_plural(possible[-1], 'span')}"] if possible else []
    if level.spanned or not possible:
        nearest = nearest_members(level.name, members, spans)
        changes.append(f"{nearest} {_plural(nearest, 'member')}")
    # Several spans of a level that has none were asked for; otherwise they may be our guess.
    meant = spans > 1 and not level.spanned
    others = [
        other.label
        for other in LEVELS.values()
        if other.is_array and other is not level
        if (other.takes(members, spans) if meant else other.spans_for(members))
    ]
    given = f"{members} {_plural(members, 'member')}"
    instead = f", or choose {any_of(others)} for {given}" if others else ""
    if level.spanned or spans != 1:
        given += f" in {spans} {_plural(spans, 'span')}"
    one_span = " in one span" if meant else ""
    what = level.label if level.is_array else "passing drives through"
    return finding(
        "member_count",
        f"{what} takes {level.takes_words}{one_span}, not {given}; use {any_of(changes)}{instead}",
    )


def _plural(count: int, word: str) -> str:
    return word if count == 1 else f"{word}s"


def nearest_members(level_name: str, members: int, spans: int) -> int:
    """Give the nearest member count, upwards first, that a level takes."""
    level = LEVELS[level_name]
    wanted: int | None = spans if level.spanned and spans > 1 else None

    def possible(count: int) -> bool:
        found = level.spans_for(count)
        return bool(found) if wanted is None else wanted in found

    upwards = range(members, members + max(spans, 2) * level.min_per_span + 2)
    downwards = range(members - 1, 0, -1)
    return next(filter(possible, (*upwards, *downwards)), level.min_per_span)


def bays_full(build: Build) -> Finding | None:
    """Check that every drive has a bay."""
    drives, bays = build.layout.drives, build.chassis.bays
    if drives <= bays:
        return None
    spares = f" ({build.layout.spares} of them spares)" if build.layout.spares else ""
    return finding(
        "bays_full",
        f"{drives} drives{spares} do not go into the {bays} bays of {build.chassis.sku}; choose a "
        "larger chassis, larger drives or fewer of them",
    )


def too_many_drives(build: Build) -> Finding | None:
    """Check that the controller runs so many drives."""
    drives, most = build.layout.drives, build.controller.max_drives
    if drives <= most:
        return None
    return finding(
        "too_many_drives",
        f"{build.controller.sku} runs at most {most} drives, not {drives}; choose a larger "
        "controller, larger drives or fewer of them",
    )


def power(build: Build) -> Finding | None:
    """Check that the supply carries the build with every drive active."""
    needed, supply = build.watts, build.chassis.supply_w
    if needed <= supply:
        return None
    return finding(
        "power",
        f"the build draws {plain(needed)} W with all drives active, the supply of "
        f"{build.chassis.sku} gives {plain(supply)} W; choose fewer or more frugal drives or a "
        "chassis with a larger supply",
    )


def erases_data(build: Build) -> Finding | None:
    """Advise against writing over drives the customer has until somebody has said they may.

    Drives passed through count too: the bench's test load writes to them.
    """
    if "drive" not in build.parts.owned:
        return None
    drives, sku = build.layout.drives, build.drive.sku
    return finding(
        "erases_data",
        f"building this erases whatever is on the customer's {drives} {_plural(drives, 'drive')} "
        f"{sku}: must that data stay? If it must, do not build this; if a tested copy exists "
        "elsewhere or nothing on them is needed, accept it",
    )


def no_redundancy(build: Build) -> Finding | None:
    """Advise against an array that survives no failure."""
    level = build.layout.rule
    if level.name not in {"0", "none"}:
        return None
    what = "an array without redundancy" if level.is_array else "no array"
    return finding(
        "no_redundancy",
        f"this is {what}: the failure of any one drive loses data; choose RAID 1, 5, 6 or 10, or "
        "accept the risk",
    )


def cache_unprotected(build: Build) -> Finding | None:
    """Advise against a write-back cache that forgets on loss of power."""
    if not build.controller.cache_mib or build.parts.cache_is_protected:
        return None
    return finding(
        "cache_unprotected",
        f"the write-back cache of {build.controller.sku} has no protection: a loss of power loses "
        "writes it had confirmed; choose a controller with battery or flash protection, or accept "
        "the risk and run it write-through",
    )


def heavy(build: Build) -> Finding | None:
    """Note a mass over the lifting constant."""
    mass_kg = build.mass_g() / 1000
    if mass_kg <= LIFTING_CONSTANT_KG:
        return None
    shown = mass_kg.quantize(Decimal("0.1"), rounding=ROUND_UP)  # 23.04 is above 23: not "23"
    return finding(
        "heavy",
        f"the build weighs {plain(shown)} kg, above the {LIFTING_CONSTANT_KG} kg that "
        "the NIOSH lifting equation takes as one person's limit under ideal conditions; lift it "
        "with two people or a lift, as local rules say",
    )


def sata_on_sas(build: Build) -> Finding | None:
    """Note SATA drives on a SAS controller."""
    controller = build.controller
    if build.drive.interface != "sata" or controller.sas_gbit_s is None:
        return None
    return finding(
        "sata_on_sas",
        f"the SATA drives run at the SATA rate ({controller.sata_gbit_s} Gbit/s) on "
        f"{controller.sku}, not at its SAS rate ({controller.sas_gbit_s} Gbit/s)",
    )


def not_a_backup(build: Build) -> Finding | None:
    """Note, always, what an array is not."""
    what = "An array" if build.layout.rule.is_array else "A set of drives"
    return finding(
        "not_a_backup",
        f"{what} is not a backup: it does not protect against deletion, malware, fire, theft or a "
        "fault of the controller. Keep copies elsewhere and test restoring them.",
    )


PART_RULES: tuple[Callable[[Parts], Finding | None], ...] = (
    bay_width,
    bay_interface,
    drive_link,
    no_socket,
    no_slot,
    board_elsewhere,
)
ROOM_RULES: tuple[Callable[[Build], Finding | None], ...] = (bays_full, too_many_drives, power)
"""Rules that ask for the number of drives alone: what they stop, they stop for any more too."""
LAYOUT_RULES: tuple[Callable[[Build], Finding | None], ...] = (
    level_not_offered,
    member_count,
    *ROOM_RULES,
)
ADVICE_RULES: tuple[Callable[[Build], Finding | None], ...] = (
    erases_data,
    no_redundancy,
    cache_unprotected,
)
NOTE_RULES: tuple[Callable[[Build], Finding | None], ...] = (heavy, sata_on_sas, not_a_backup)


def part_stops(parts: Parts) -> list[Finding]:
    """Find why these parts cannot be put together, whatever the layout."""
    return [found for rule in PART_RULES if (found := rule(parts))]


def layout_stops(build: Build) -> list[Finding]:
    """Find why these parts, which go together, cannot be laid out like this."""
    return [found for rule in LAYOUT_RULES if (found := rule(build))]


def stops(build: Build) -> list[Finding]:
    """Find everything that keeps a build from being built."""
    return [*part_stops(build.parts), *layout_stops(build)]


def advice(build: Build) -> list[Finding]:
    """Find why we would not build it, though it can be built."""
    return [found for rule in ADVICE_RULES if (found := rule(build))]


def notes(build: Build) -> list[Finding]:
    """Find what is worth knowing about it."""
    return [found for rule in NOTE_RULES if (found := rule(build))]
