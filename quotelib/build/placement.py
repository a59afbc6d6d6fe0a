"""What goes where: the place of each part, every bay, every accessory, and what stays free."""

from collections.abc import Iterator
from dataclasses import replace

from quotelib.build import fit
from quotelib.build.bays import Bay, BayUse, fill
from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.seats import BRACKET_WORDS, Seat, SlotFacts, seats, slot_facts
from quotelib.build.slots import free_slots, host_link_mb_s
from quotelib.build.speed import Speed, lanes_words, speed
from quotelib.catalogue.parts import Accessory, Chassis
from quotelib.facts import Frozen, Measure
from quotelib.text import bays as bays_words
from quotelib.text import both, count, gb_s, plural
from quotelib.units import plain


class AccessoryPlace(Frozen):
    """Where an accessory goes.

    Parameters
    ----------
    for_parts, for_roles : tuple of str
        Skus of the parts that call for it, or with which it is there, and their roles.
    bays : tuple of int
        The bays whose drives get one each; empty where it is not one a drive.
    """

    sku: str
    description: str
    kind: str
    quantity: int
    for_parts: tuple[str, ...]
    for_roles: tuple[str, ...]
    bays: tuple[int, ...]
    where: str


class FreeForLater(Frozen):
    """What stays free for the customer's later plans.

    Parameters
    ----------
    drives_more : int
        How many more drives, as in the last array, its controller and the supply take.
    draw_w, supply_w, watts : Decimal
        Draw with every drive active, what the supply gives, and what is left of it.
    """

    slots: tuple[SlotFacts, ...]
    mezzanine_sockets: int
    bays: tuple[int, ...]
    drives_more: int
    draw_w: Measure
    supply_w: Measure
    watts: Measure
    words: str


class Placement(Frozen):
    """Where everything of a build goes.

    Parameters
    ----------
    seats : tuple of Seat
        Of every part that takes a place, in the order of the build.
    bays : tuple of Bay
        All bays in order: drives that are there already, then arrays one after the other, members
        span by span from bay 1 on, empty ones, hot spares last.
    """

    chassis: str
    chassis_owned: bool
    seats: tuple[Seat, ...]
    bays: tuple[Bay, ...]
    accessories: tuple[AccessoryPlace, ...]
    free: FreeForLater

    def seat_of(self, sku: str) -> Seat:
        """Give the seat of a part."""
        return next(seat for seat in self.seats if seat.sku == sku)

    def bays_of(
        self, array: int, use: BayUse | None = None, span: int | None = None
    ) -> tuple[int, ...]:
        """Give the bays of an array, with one use and of one span where they are given."""
        return tuple(
            b.bay
            for b in self.bays
            if b.array == array and use in (None, b.use) and span in (None, b.span)
        )

    @property
    def filled(self) -> tuple[int, ...]:
        """Give the bays with a drive in them."""
        return tuple(bay.bay for bay in self.bays if bay.use != "empty")


def place(build: Build) -> Placement:
    """Say exactly where everything of a build goes.

    Raises
    ------
    ValueError
        The build has a ``stop`` finding; the message says which.
    """
    if found := fit.stops(build):
        raise ValueError("it cannot be built: " + "; ".join(f.words for f in found))
    seated = tuple(seats(build))
    filled = tuple(fill(build))
    return Placement(
        chassis=build.chassis.sku,
        chassis_owned=build.chassis_owned,
        seats=seated,
        bays=filled,
        accessories=tuple(_accessory(a, build, seated, filled) for a in build.accessories),
        free=_free_for_later(build, seated, tuple(b.bay for b in filled if b.use == "empty")),
    )


def speeds(build: Build) -> tuple[Speed, ...]:
    """Set the drives of each array against links, controller and its place."""
    backplane = build.chassis.backplane
    return tuple(
        speed(array, backplane, host_link_mb_s(build, array.controller)) for array in build.arrays
    )


def speed_capped(build: Build, places: Placement) -> Iterator[Finding]:
    """Note that a slot, a link or the controller caps the drives."""
    for array, found in zip(build.arrays, speeds(build), strict=True):
        if not found.capped or found.tightest_mb_s is None or found.tightest is None:
            continue
        seated = places.seat_of(array.controller.sku)
        what = {
            "drive links": "the drives' own links",
            "device lanes": lanes_words(array, build.chassis.backplane),
            "controller": f"{seated.sku} itself",
            "host link": f"the link of {seated.sku} ({seated.where})",
        }[found.tightest]
        said = f"the {found.members} member drives are rated for {gb_s(found.rated_mb_s)} together"
        said += f", {what} for {gb_s(found.tightest_mb_s)}"
        yield finding("speed_capped", said, "long sequential transfers stop there")


def _accessory(
    item: Accessory, build: Build, seated: tuple[Seat, ...], bays: tuple[Bay, ...]
) -> AccessoryPlace:
    served = build.served(item) if item.per == 1 else {}
    filled = tuple(
        b.bay
        for b in bays
        if b.array is not None and b.array in served
        # Some of an array's drives only: those bought.
        if not b.owned or served[b.array] == build.arrays[b.array].drives
    )
    parts = {piece.part.sku: piece.part for piece in build.pieces()}
    calling = tuple(sku for sku in parts if sku in (*item.needed_by, *item.together_with))
    seat = next((s for s in seated if s.sku in calling), None)
    return AccessoryPlace(
        sku=item.sku,
        description=item.description,
        kind=item.kind,
        quantity=build.quantity(item),
        for_parts=calling,
        for_roles=tuple(parts[sku].role for sku in calling),
        bays=filled,
        where=_where(item.kind, build.chassis, seat, calling, filled),
    )


def _where(
    kind: str,
    chassis: Chassis,
    seat: Seat | None,
    calling: tuple[str, ...],
    filled: tuple[int, ...],
) -> str:
    at_bays = f", {bays_words(filled)}" if filled else ""
    if kind == "carrier" and filled:
        return f"on each drive before it goes in{at_bays}"
    if kind == "adapter":
        return f"between the 2.5-inch drive and the 3.5-inch bay{at_bays}"
    if kind == "rail" and not filled:
        return f"in the rack, on both sides of {chassis.sku}"
    if seat is not None:
        home = f"{seat.sku}, {seat.where}"
        if kind == "cable":
            return f"from {home}, to the backplane{at_bays or f', bays 1 to {chassis.bays}'}"
        if kind == "cache_protection":
            return f"on the controller, {home}"
        if kind == "bracket" and seat.bracket is not None:
            fitting = f"the {BRACKET_WORDS[seat.bracket]} one"
            return f"on the card {seat.sku}: fit {fitting}, for slot {seat.number}"
    return f"with {both(calling)}{at_bays}"


def _free_for_later(build: Build, seated: tuple[Seat, ...], empty: tuple[int, ...]) -> FreeForLater:
    """Say what stays free beside the parts and drives of a build, given its empty bays."""
    chassis, watts = build.chassis, build.supply_w - build.watts
    slots = tuple(map(slot_facts, free_slots(build)))
    sockets = chassis.mezzanine_sockets - sum(seat.takes == "socket" for seat in seated)
    more = _drives_more(build, len(empty))
    said = ["no slot"]
    if slots:
        each = ", ".join(f"{s.slot} ({s.words})" for s in slots)
        said = [f"{plural(len(slots), 'slot')} {each}"]
    if sockets:
        said.append(count(sockets, "mezzanine socket"))
    for place, room in chassis.room.items():
        if build.taking(place) and room is not None:
            left = room - build.number(place)
            said.append(f"{left or 'no'} {plural(left, place)}")
    # What is in the bays of the customer's chassis, where none of its arrays is in question?
    if build.arrays or not build.chassis_owned:
        said.append(bays_words(empty) if empty else "no bay")
    if build.arrays and more < len(empty):
        said[-1] += f" (controller and supply take {more or 'no'} more of these drives)"
    said.append(f"{plain(watts)} W of the supply's {plain(build.supply_w)} W")
    return FreeForLater(
        slots=slots,
        mezzanine_sockets=sockets,
        bays=empty,
        drives_more=more,
        draw_w=build.watts,
        supply_w=build.supply_w,
        watts=watts,
        words=f"Free: {'; '.join(said)}.",
    )


def _drives_more(build: Build, empty: int) -> int:
    """Count how many more drives as in the last array find bay, port and power."""
    if not build.arrays:
        return 0
    *others, last = build.arrays

    def has_room(more: int) -> bool:
        layout = replace(last.layout, spares=last.layout.spares + more)
        larger = replace(build, arrays=(*others, replace(last, layout=layout)))
        return not fit.asked(fit.ROOM_RULES, larger)

    return next(filter(has_room, range(empty, 0, -1)), 0)
