"""Where does everything go, at a glance: each place with what it holds, and every bay.

Arrays and places are called shortly on a sheet, and named only where there are several.
"""

from collections.abc import Iterator

from quotelib.bench.shown import PlanBay
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.placement import AccessoryPlace, Placement
from quotelib.build.seats import BRACKET_WORDS, Seat, slot_facts
from quotelib.facts import Fact
from quotelib.text import bays, both, sentence

_USE = {
    "member": "member",
    "spare": "hot spare",
    "passed_through": "passed through",
    "empty": "empty",
}


def array_name(build: Build, index: int) -> str:
    """Call an array: ``array data``; blank where it is the only one."""
    if len(build.arrays) == 1:
        return ""
    return f"array {build.arrays[index].name or index + 1}"


def of_array(build: Build, index: int) -> str:
    """Say whose something is: `` of array data``; blank where there is one array."""
    name = array_name(build, index)
    return f" of {name}" if name else ""


def of_controller(build: Build, places: Placement, *skus: str) -> str:
    """Say which bays hang on controllers: `` for bays 1 to 2``; blank where there is only one."""
    if len(list(build.controllers())) < 2:
        return ""
    served = (at for at, array in enumerate(build.arrays) if array.controller.sku in skus)
    return f" for {bays(sorted(bay for at in served for bay in places.bays_of(at)))}"


def where_words(item: AccessoryPlace, build: Build, places: Placement) -> str:
    """Say where in fewer words than the placement: a sheet has the rest beside it."""
    if item.kind == "adapter":
        return f"between drive and bay, {bays(item.bays)}" if item.bays else item.where
    if item.bays:
        return f"one a drive, {bays(item.bays)}"
    if item.kind == "rail":
        return "the rack, not the bench"
    if "controller" not in item.for_roles:
        return item.where
    one = len(places.seats) == 1
    seated = [seat.sku for seat in places.seats if seat.sku in item.for_parts]
    cards = [seat.sku for seat in places.seats if seat.bracket and seat.sku in item.for_parts]
    whose = of_controller(build, places, *seated)
    return {
        "cable": f"{'controller' if one else both(seated)} to backplane{whose}",
        "cache_protection": f"on {'the controller' if one else both(seated)}",
        "bracket": f"on {'the card' if one else both(cards or seated)}",
    }.get(item.kind, item.where)


def plan(build: Build, places: Placement) -> Iterator[Fact]:
    """Name each place and what goes there, free ones too; the bays together come last."""
    taken = {(seat.takes, seat.number): seat for seat in places.seats}
    for seat in places.seats:
        if seat.takes == "board":
            yield Fact(label="Board", value=_held(seat, places))
    for number in range(1, build.chassis.mezzanine_sockets + 1):
        there = taken.get(("socket", number))
        value = _held(there, places) if there else "stays free"
        yield Fact(label=f"Mezzanine socket {number}", value=value)
    for slot in build.chassis.slots:
        there = taken.get(("slot", slot.slot))
        value = _held(there, places) if there else f"stays free ({slot_facts(slot).words})"
        yield Fact(label=f"Slot {slot.slot}", value=value)
    if not build.chassis.slots:
        yield Fact(label="Slots", value="this chassis has none")
    for place, room in build.chassis.room.items():
        if held := build.listed(place):
            free = "" if room is None else f"; {room - build.number(place)} stay free"
            yield Fact(label=sentence(f"{place}s"), value=held + free)
    if leads := list(_leads(build, places)):
        yield Fact(label="Backplane", value="; ".join(leads))
    if build.arrays:
        drives = "; ".join(_drives(array, at, places) for at, array in enumerate(build.arrays))
        yield Fact(label=f"Bays 1 to {len(places.bays)}", value=drives)


def _held(seat: Seat, places: Placement) -> str:
    words = f"{seat.sku} (the customer's)" if seat.owned else seat.sku
    if seat.takes == "board":
        words += ", part of it"
    if seat.bracket is not None:
        words += f", {BRACKET_WORDS[seat.bracket]} bracket"
    with_it = [
        f"{item.sku} {'on it' if item.kind == 'cache_protection' else 'with it'}"
        for item in places.accessories
        if seat.sku in item.for_parts and item.kind not in {"cable", "adapter"}
    ]
    return "; ".join([words, *filter(None, [seat.link_words]), *with_it])


def _leads(build: Build, places: Placement) -> Iterator[str]:
    for _, controller in build.controllers():
        cables = [item.sku for item in build.with_controller("cable", controller)]
        whose = of_controller(build, places, controller.sku)
        yield f"{both(cables) if cables else 'leads'} from {controller.sku}{whose}"


def _drives(array: Array, index: int, places: Placement) -> str:
    words = f"{array.drives} × {array.drive.sku}"
    if array.have_drives:
        some = "" if not array.bought_drives else f"{array.have_drives} of them "
        words += f" ({some}the customer's)"
    held = set(places.bays_of(index))
    each = [item.sku for item in places.accessories if held.intersection(item.bays)]
    return f"{words}, each in {both(each)}" if each else words


def plan_bays(build: Build, places: Placement) -> Iterator[PlanBay]:
    """Say of every bay what it holds."""
    for bay in places.bays:
        use = _USE[bay.use]
        if bay.use == "empty" and build.chassis_owned and not build.arrays:
            use = "as it is"
        words = [use, "" if bay.array is None else array_name(build, bay.array)]
        if bay.array is not None and bay.span and build.arrays[bay.array].layout.spans > 1:
            words.append(f"span {bay.span}")
        yield PlanBay(bay=bay.bay, use=bay.use, words=", ".join(filter(None, words)))
