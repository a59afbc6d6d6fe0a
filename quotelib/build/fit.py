"""Does it fit: every physical and logical rule, one small function a rule.

A rule looks at a build and yields findings that say what is wrong and what to change.
`PART_RULES` look at parts and places only, whatever the layouts; `ROOM_RULES` at the number of
drives too, and what they stop they stop for any more; `STAYING_RULES` at arrays that are there
already; `LAYOUT_RULES` at all of it.
"""

from collections.abc import Callable, Iterable, Iterator

from quotelib.build.actions import cannot_grow, cannot_replace, drive_mismatch, no_import
from quotelib.build.build import Build, needs_adapter
from quotelib.build.findings import Finding, finding
from quotelib.build.slots import in_slots, processors, takes
from quotelib.catalogue.parts import PLACES, Option, Slot
from quotelib.levels import LEVELS
from quotelib.text import both, count, either, plural
from quotelib.units import plain

Rule = Callable[[Build], Iterator[Finding]]


def bay_width(build: Build) -> Iterator[Finding]:
    """Check that drives go into the bays, with an adapter where they are smaller.

    Those of an array that stays have whatever they need.
    """
    chassis, wide = build.chassis, build.chassis.bay_width_in
    adapters = [item for item in build.accessories if item.kind == "adapter"]
    for array in build.arrays:
        drive = array.drive
        what, change = f"{drive.sku} is {drive.width_in} inches wide", ""
        if drive.width_in != wide and not needs_adapter(chassis, array):
            what += f", the bays of {chassis.sku} are {wide} inches"
            change = f"choose a {wide}-inch drive or a {drive.width_in}-inch chassis"
        elif (
            drive.width_in != wide
            and array.fitted_drives
            and not any(drive.sku in a.needed_by for a in adapters)
        ):
            what += f" and no adapter is sold that takes it into the 3.5-inch bays of {chassis.sku}"
            change = "choose a 3.5-inch drive or a 2.5-inch chassis"
        if change:
            yield finding("bay_width", what, change)


def bay_interface(build: Build) -> Iterator[Finding]:
    """Check that the backplane is wired for the drives' interface."""
    offered = either(build.chassis.bay_interfaces)
    for drive in (array.drive for array in build.arrays):
        kind = drive.interface
        if kind not in build.chassis.bay_interfaces:
            what = f"the bays of {build.chassis.sku} take {offered}, {drive.sku} is {kind}"
            change = f"choose a drive with {offered} or a chassis with {kind} bays"
            yield finding("bay_interface", what, change)


def drive_link(build: Build) -> Iterator[Finding]:
    """Check that the controllers have links of the drives' interfaces."""
    for array in build.arrays:
        controller, interface = array.controller, array.drive.interface
        rates = (controller.sata_gbit_s, controller.sas_gbit_s, controller.nvme_gen)
        links = [name for name, rate in zip(("sata", "sas", "nvme"), rates, strict=True) if rate]
        if interface not in links:
            what = f"{controller.sku} has no {interface} link, which {array.drive.sku} needs"
            change = f"choose a drive with {either(links)} or a controller with {interface}"
            yield finding("drive_link", what, change)


def no_socket(build: Build) -> Iterator[Finding]:
    """Check that what is made for a mezzanine socket finds one."""
    chassis, sockets = build.chassis.sku, build.chassis.mezzanine_sockets
    has = count(sockets, "socket") if sockets else "none"
    for piece in build.taking("socket")[sockets:]:
        what = f"{piece.part.sku} needs a mezzanine socket and {chassis} has {has}"
        yield finding("no_socket", what, "choose a card version or a chassis with a socket")


def no_slot(build: Build) -> Iterator[Finding]:
    """Check that the cards all find slots that are high and long enough and work there."""
    slots, chassis = build.chassis.slots, build.chassis.sku
    there, stuck = processors(build), False
    for piece in build.taking("slot"):
        card = piece.part.as_card
        if card is None or any(takes(slot, card, there) for slot in slots):
            continue
        stuck = True
        high = [slot for slot in slots if slot.height in card.brackets]
        if high:
            each = both(_unfit(slot, card.connector_lanes) for slot in high)
            what = f"no slot of {chassis} takes {piece.part.sku}: {each}"
            change = "choose another chassis, a shorter card or more processors"
            yield finding("no_slot", what, change)
            continue
        heights = either(sorted({slot.height for slot in slots}))
        have = f"has only {heights}-height slots" if slots else "has no slot"
        bracket = f"a card with a {either(card.brackets)}-height bracket"
        yield finding(
            "no_slot",
            f"{piece.part.sku} is {bracket} and {chassis} {have}",
            "choose a chassis with such a slot, a card with another bracket or a mezzanine version",
        )
    if not stuck and in_slots(build) is None:
        cards = both(piece.part.sku for piece in build.taking("slot") for _ in range(piece.count))
        has = f"{chassis} has {count(len(slots), 'slot')}, too few that suit {cards} together"
        change = "choose a chassis with more slots, fewer cards or a mezzanine version"
        yield finding("no_slot", has, change)


def _unfit(slot: Slot, lanes: int | None) -> str:
    """Say why a slot that is high enough does not take a card of so many lanes' length."""
    if lanes and slot.connector_lanes and lanes > slot.connector_lanes:
        return f"slot {slot.slot} is {slot.connector_lanes} lanes long, the card {lanes}"
    return f"slot {slot.slot} needs {slot.needs_processors} processors"


def board_elsewhere(build: Build) -> Iterator[Finding]:
    """Check that a board controller is used in the chassis it is part of."""
    chassis, own = build.chassis.sku, build.chassis.board_controller
    for sku in (piece.part.sku for piece in build.taking("board")):
        if own != sku:
            what = f"{sku} is part of another chassis' board, not of {chassis}"
            change = f"use {own}, which is on its board, or choose" if own else "choose"
            yield finding("board_elsewhere", what, f"{change} a mezzanine or card controller")


def level_not_offered(build: Build) -> Iterator[Finding]:
    """Check that the controllers make the levels."""
    for array in build.arrays:
        controller, level = array.controller, array.layout.rule
        if level.is_array and level.name not in controller.levels:
            offers = f"offers RAID {either(controller.levels)}"
            what = f"{controller.sku} {offers if controller.levels else 'makes no array'}"
            change = "choose another level or another controller"
            yield finding("level_not_offered", f"{what}, not {level.label}", change)
        elif not level.is_array and controller.kind == "raid":
            yield finding(
                "level_not_offered",
                f"{controller.sku} is an array controller",
                "to pass drives through without an array choose a pass_through or chipset "
                "controller, or choose a level",
            )


def member_count(build: Build) -> Iterator[Finding]:
    """Check that the levels can be made of so many members and spans."""
    for layout in (array.layout for array in build.arrays):
        level, members, spans = layout.rule, layout.members, layout.spans
        if level.takes(members, spans):
            continue
        possible = level.spans_for(members)
        changes = []
        if possible:
            noun = "span" if possible[-1] == 1 else "spans"
            changes.append(f"{either(map(str, possible))} {noun}")
        if level.spanned or not possible:
            changes.append(count(level.nearest_members(members, spans), "member"))
        # Several spans of a level that has none were asked for; otherwise they may be our guess.
        meant = spans > 1 and not level.spanned
        others = [
            other.label
            for other in LEVELS.values()
            if other.is_array and other is not level
            if (other.takes(members, spans) if meant else other.spans_for(members))
        ]
        given = count(members, "member")
        instead = f", or choose {either(others)} for {given}" if others else ""
        if level.spanned or spans != 1:
            given += f" in {count(spans, 'span')}"
        one_span = " in one span" if meant else ""
        what = level.label if level.is_array else "passing drives through"
        what += f" takes {level.takes_words}{one_span}, not {given}"
        yield finding("member_count", what, f"use {either(changes)}{instead}")


def bays_full(build: Build) -> Iterator[Finding]:
    """Check that every drive has a bay."""
    drives, bays = build.drives, build.chassis.bays
    if drives > bays:
        spares = sum(array.layout.spares for array in build.arrays)
        among = f" ({spares} of them spares)" if spares else ""
        what = f"{drives} drives{among} do not go into the {bays} bays of {build.chassis.sku}"
        yield finding("bays_full", what, "choose a larger chassis, larger drives or fewer of them")


def too_many_drives(build: Build) -> Iterator[Finding]:
    """Check that the controllers run so many drives."""
    for _, controller in build.controllers():
        drives = sum(array.drives for array in build.arrays_on(controller))
        if drives > controller.max_drives:
            what = f"{controller.sku} runs at most {controller.max_drives} drives, not {drives}"
            change = "choose a larger controller, larger drives or fewer of them"
            yield finding("too_many_drives", what, change)


def ports_short(build: Build) -> Iterator[Finding]:
    """Check that each drive on a direct backplane has lanes of its own to the controller."""
    if build.chassis.backplane != "direct":
        return
    for _, controller in build.controllers():
        arrays = build.arrays_on(controller)
        lanes = sum(
            a.drives * (a.drive.lanes if a.drive.interface == "nvme" else 1) for a in arrays
        )
        if controller.ports is not None and lanes > controller.ports:
            what = f"{controller.sku} has {count(controller.ports, 'port')}, its drives on the "
            what += f"direct backplane of {build.chassis.sku} need {lanes}"
            change = "choose a controller with more ports, an expander backplane or fewer drives"
            yield finding("ports_short", what, change)


def power(build: Build) -> Iterator[Finding]:
    """Check that the supplies, equal ones only, carry the build with every drive active."""
    needed, each, add = build.watts, build.supplies_w, ""
    if sizes := list(dict.fromkeys(each))[1:]:
        other = either(f"{plain(watts)} W" for watts in sizes)
        what = f"supplies that share a load must be equal, not {plain(each[0])} W and {other}"
        yield finding("power", what, f"choose supplies of {plain(each[0])} W or another chassis")
    elif needed > build.supply_w or len(each) <= build.redundant_supply:
        gives = "supply" if len(each) == 1 else f"{len(each)} supplies"
        gives += f" of {build.chassis.sku} {'gives' if len(each) == 1 else 'give'} "
        gives += f"{plain(build.supply_w)} W"
        if build.redundant_supply:
            gives, add = f"{gives} with one less", "add a supply, "
        what = f"the build draws {plain(needed)} W with all drives active, the {gives}"
        change = "choose fewer or more frugal drives or a chassis with a larger supply"
        yield finding("power", what, f"{add}{change}")


def option_elsewhere(build: Build) -> Iterator[Finding]:
    """Check that options made for some chassis are used in one of them."""
    chassis = build.chassis.sku
    for option in (piece.part for piece in build.parts if isinstance(piece.part, Option)):
        if option.fits and chassis not in option.fits:
            what = f"{option.sku} is made for {either(option.fits)}, not for {chassis}"
            yield finding("option_elsewhere", what, "choose such a chassis or another option")


def places_full(build: Build) -> Iterator[Finding]:
    """Check that processors, memory and supplies find places; unknown room stops nothing."""
    for code, place in zip(("sockets_full", "memory_full", "supplies_full"), PLACES, strict=True):
        room = build.chassis.room[place]
        if room is not None and build.number(place) > room:
            has = f"{build.chassis.sku} has {room or 'no'} free {plural(room, place)}"
            what = f"{has}, too few for {build.listed(place)}"
            yield finding(code, what, "choose fewer of them or a chassis with more")


PART_RULES: tuple[Rule, ...] = (
    bay_width, bay_interface, drive_link, drive_mismatch, no_socket, no_slot, board_elsewhere,
    option_elsewhere, places_full,
)  # fmt: skip
ROOM_RULES: tuple[Rule, ...] = (bays_full, too_many_drives, ports_short, power)
STAYING_RULES: tuple[Rule, ...] = (no_import, cannot_grow, cannot_replace)
LAYOUT_RULES: tuple[Rule, ...] = (level_not_offered, member_count, *STAYING_RULES, *ROOM_RULES)


def asked(rules: Iterable[Rule], build: Build) -> list[Finding]:
    """Ask some rules; give everything they find."""
    return [found for rule in rules for found in rule(build)]


def stops(build: Build) -> list[Finding]:
    """Find everything that keeps a build from being built."""
    return asked((*PART_RULES, *LAYOUT_RULES), build)
