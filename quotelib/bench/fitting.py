"""How do the parts go in: steps for every part, small parts and drives, from the placement.

The order of work is common practice, no source; makers' manuals come first.
"""

from collections.abc import Iterator

from quotelib.bench import staying
from quotelib.bench.hazards import EDGES, HELD, LITHIUM, STATIC, Hazards, Step
from quotelib.bench.plan import of_array, of_controller, where_words
from quotelib.build.build import Build
from quotelib.build.placement import AccessoryPlace, Placement
from quotelib.build.seats import BRACKET_WORDS, Seat
from quotelib.text import bays, plural, sentence

_FEEDS = "label every inlet with its feed. Feeds are the work of those licensed, as local codes say"
_LAST = ("supply bay", "paperwork")
_HOW: dict[str, tuple[str, str, Hazards]] = {
    "processor socket": (
        "Set {} into the processor sockets",
        "By their marks, touching no contact; paste, heat sink and torque as the maker's manual "
        "says.",
        STATIC | EDGES,
    ),
    "memory slot": (
        "Press {} into the memory slots",
        "Those that the maker's manual fills first, equally many for each processor, until every "
        "latch closes.",
        STATIC | EDGES,
    ),
    "": ("Fit {}", "As the maker's manual says.", STATIC | EDGES),
    "supply bay": (
        "Push {} into the supply bays",
        f"Until each locks, without a cord; {_FEEDS}.",
        {"supply": "Mains: no cord yet; supply units stay closed.", **EDGES},
    ),
    "paperwork": ("Put {} with the paperwork", "Nothing is fitted.", {}),
}
"""How a part without a seat goes in, by what it takes, and what can hurt; in this order."""


def fit_parts(build: Build, places: Placement) -> Iterator[Step]:
    """Fit every part where it goes: what cards would cover first, supplies last."""
    seated = {seat.sku for seat in places.seats}
    loose = [piece for piece in build.parts if piece.part.sku not in seated]
    order = list(_HOW)
    loose.sort(key=lambda piece: order.index(piece.part.takes))
    steps = [
        Step(title.format(f"{piece.count} × {piece.part.sku}"), words, hurts)
        for piece in loose
        for title, words, hurts in (_HOW[piece.part.takes],)
    ]
    last = sum(piece.part.takes in _LAST for piece in loose)
    yield from steps[: len(steps) - last]
    yield from staying.old_controllers(build)
    for seat in places.seats:
        yield from _seat(seat, build, places)
    yield from _small_parts(build, places)
    yield from steps[len(steps) - last :]


def _seat(seat: Seat, build: Build, places: Placement) -> Iterator[Step]:
    if not all(build.is_fitted(piece) for piece in build.parts if piece.part.sku == seat.sku):
        yield from _cache(seat, build, places)
    elif seat.takes == "board":
        yield from (_on_board(seat, build, places), *_cache(seat, build, places))
    elif seat.takes == "socket":
        # On the mat, where its connectors are in reach.
        yield from (*_cache(seat, build, places), *_in_socket(seat))
    else:
        yield from _in_slot(seat, build, places)


def _on_board(seat: Seat, build: Build, places: Placement) -> Step:
    if seat.role != "controller":
        words = "It is part of it: nothing to fit."
        return Step(f"Find {seat.sku} on the board", words, EDGES | STATIC)
    whose = of_controller(build, places, seat.sku)
    words = f"It is on the board; the backplane's leads{whose} must be seated on its drive ports."
    return Step(f"Check the leads of {seat.sku}", words, EDGES | STATIC)


def _in_socket(seat: Seat) -> Iterator[Step]:
    words = f"Hold it over mezzanine socket {seat.number}; the board edge first."
    yield Step(f"Seat the board edge of {seat.sku}", words, STATIC | EDGES)
    yield Step("Press it onto the connector", "Straight down, until it sits flat.", STATIC)
    yield Step("Fit its screws", "Evenly, without force.", EDGES)


def _in_slot(seat: Seat, build: Build, places: Placement) -> Iterator[Step]:
    """Do everything at the card that cannot be reached once its riser is back."""
    assert seat.bracket is not None
    bracket = f"{BRACKET_WORDS[seat.bracket]} bracket ({seat.bracket_mm:g} mm)"
    slot = f"slot {seat.number}"
    yield Step("Take out the riser", f"That which holds {slot}, where the chassis has one.", EDGES)
    words = "Keep it, where there is one." if build.chassis_owned else "Keep it."
    yield Step(f"Remove the blank of {slot}", words, EDGES)
    if seat.swap_bracket:
        title, words = f"Fit the {bracket} to {seat.sku}", "Keep the other."
    else:
        title, words = f"Check the bracket of {seat.sku}", f"It has the {bracket}; is it tight?"
    yield Step(title, words, STATIC | EDGES)
    yield from _cache(seat, build, places)
    words = "Straight, to the stop; then fasten its bracket."
    yield Step(f"Seat {seat.sku} in {slot}", words, STATIC | EDGES)
    for cable in (item for item in places.accessories if item.kind == "cable"):
        if seat.sku in cable.for_parts:
            words = "Until it locks, while it is in reach."
            yield Step(f"Plug {cable.sku} into {seat.sku}", words, STATIC | EDGES)
    yield Step("Refit the riser", "Fasten it, where it was taken out.", EDGES)


def _cache(seat: Seat, build: Build, places: Placement) -> Iterator[Step]:
    """Fit the cache protection of one controller, or check what is there already."""
    for item in places.accessories:
        if item.kind == "cache_protection" and seat.sku in item.for_parts:
            where = where_words(item, build, places)
            words = "Fasten it, plug it in."
            yield Step(f"Fit {item.sku} {where}", words, LITHIUM | STATIC)
    for piece, controller in build.controllers():
        there = controller.sku == seat.sku and controller.cache_protection != "none"
        if there and not build.with_controller("cache_protection", controller):
            whose = "the customer's " if piece.owned else ""
            words = "It must be whole, fastened and plugged in."
            title = f"Check {whose}cache protection of {controller.sku}"
            yield Step(title, words, LITHIUM | STATIC)


def _small_parts(build: Build, places: Placement) -> Iterator[Step]:
    """Fit cables, and cache protection that goes with no one controller."""
    seated = {seat.sku for seat in places.seats}
    for item in places.accessories:
        if item.kind == "cache_protection" and seated.isdisjoint(item.for_parts):
            words = "Fasten it and plug its lead in."
            yield Step(f"Fit {item.sku} {item.where}", words, LITHIUM | STATIC)
    for item in places.accessories:
        if item.kind == "cable":
            words = f"{sentence(where_words(item, build, places))}. Both ends must lock; keep it "
            yield Step(f"Run {item.sku}", f"{words}off fans, edges and hot parts.", EDGES)
    yield from _own_cables(build, places)


def _own_cables(build: Build, places: Placement) -> Iterator[Step]:
    """Connect the controllers that no cable on the pick list is for."""
    whose = "the chassis'" if not any(p.owned for p in build.pieces()) else "the customer's"
    for piece, controller in build.controllers():
        none = controller.takes != "board" and not build.with_controller("cable", controller)
        if none and build.is_fitted(piece):
            held = of_controller(build, places, controller.sku)
            words = (
                f"With {whose} own cables (none is on the pick list). Both ends must lock; keep "
                "them off fans, edges and hot parts."
            )
            yield Step(f"Connect {controller.sku} to the backplane{held}", words, EDGES)


def fit_drives(build: Build, places: Placement) -> Iterator[Step]:
    """Fit drives into adapters and carriers, and by bay, array by array, members first."""
    for item in (item for item in places.accessories if item.kind == "adapter"):
        title = f"Put each 2.5-inch drive into an {item.sku}"
        yield Step(title, f"{sentence(bays(item.bays) if item.bays else item.where)}.", STATIC)
    yield from _carriers([i for i in places.accessories if i.kind == "carrier"], build, places)
    for index, array in enumerate(build.arrays):
        if array.action != "new":
            yield from staying.put_back(build, places, index)
            continue
        layout, sku, whose = array.layout, array.drive.sku, of_array(build, index)
        groups = [("the member drives", places.bays_of(index, "member"))]
        if layout.rule.spanned:
            groups = [
                (f"the drives of span {span}", places.bays_of(index, "member", span))
                for span in range(1, layout.spans + 1)
            ]
        elif not layout.rule.is_array:
            groups = [("the drives", places.bays_of(index, "passed_through"))]
        for drives, held in groups:
            words = f"{sku} into {bays(held)}, until each locks."
            yield Step(f"Push in {drives}{whose}", words, HELD)
        if spares := places.bays_of(index, "spare"):
            words = f"{sku} into {bays(spares)}, labelled as spare."
            yield Step(f"Push in the {plural(len(spares), 'hot spare')}{whose}", words, HELD)
    if (empty := places.free.bays) and (build.arrays or not build.chassis_owned):
        words = f"{sentence(bays(empty))}, so that the air goes where it should."
        yield Step("Put blanks into the empty bays", words)


def _carriers(carriers: list[AccessoryPlace], build: Build, places: Placement) -> Iterator[Step]:
    for item in carriers:
        title, words = f"Put each drive into a {item.sku}", f"Label it: {bays(item.bays)}."
        if not item.bays:
            title, words = f"Fit {item.sku}", f"{sentence(item.where)}."
        yield Step(title, words, STATIC | EDGES)
    with_one = {bay for item in carriers for bay in item.bays or places.filled}
    # What stays is in carriers of its own already.
    staying_bays = {
        b.bay
        for b in places.bays
        if b.owned and b.array is not None and build.arrays[b.array].action != "new"
    }
    if bare := [bay for bay in places.filled if bay not in with_one | staying_bays]:
        some = f" for {bays(bare)}" if with_one else ""
        words = "That which came with the chassis (none is on the pick list); label it."
        yield Step(f"Put each drive{some} into its carrier", words, STATIC | EDGES)
