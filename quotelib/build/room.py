"""What stays free for the customer's later plans: slots, sockets, bays, power."""

from decimal import Decimal

from quotelib.build.build import Build
from quotelib.build.seats import Seat, SlotFacts, slot_facts
from quotelib.facts import Frozen, Measure
from quotelib.text import count, plural, runs
from quotelib.units import plain


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


def free_for_later(build: Build, seated: tuple[Seat, ...], empty: tuple[int, ...]) -> FreeForLater:
    """Say what stays free beside the parts and drives of a build, given its empty bays."""
    chassis, watts = build.chassis, build.chassis.supply_w - build.watts
    taken = {seat.number for seat in seated if seat.takes == "slot"}
    slots = tuple(slot_facts(s) for s in chassis.slots if s.slot not in taken)
    sockets = chassis.mezzanine_sockets - sum(seat.takes == "socket" for seat in seated)
    more = _drives_more(build, len(empty))
    said = ["no slot"]
    if slots:
        each = ", ".join(f"{s.slot} ({s.words})" for s in slots)
        said = [f"{plural(len(slots), 'slot')} {each}"]
    if sockets:
        said.append(count(sockets, "mezzanine socket"))
    said.append(f"{plural(len(empty), 'bay')} {runs(empty)}" if empty else "no bay")
    if more < len(empty):
        said[-1] += f" (controller and supply take {more or 'no'} more of these drives)"
    said.append(f"{plain(watts)} W of the supply's {plain(chassis.supply_w)} W")
    return FreeForLater(
        slots=slots,
        mezzanine_sockets=sockets,
        bays=empty,
        drives_more=more,
        draw_w=build.watts,
        supply_w=chassis.supply_w,
        watts=watts,
        words=f"Free: {'; '.join(said)}.",
    )


def _drives_more(build: Build, empty: int) -> int:
    """Count how many more drives as in the last array find bay, port and power."""
    if not build.arrays:
        return 0
    last = build.arrays[-1]
    on_it = sum(array.drives for array in build.arrays_on(last.controller))
    more = min(empty, last.controller.max_drives - on_it)
    each_w = last.drive.active_w + sum(
        (a.watts for a in build.accessories if a.per == "drive" and last in build.served(a)),
        Decimal(0),
    )
    spare_w = build.chassis.supply_w - build.watts
    return min(more, int(spare_w // each_w)) if each_w else more
