"""How do the parts go in: steps for every part, small parts and drives, from the placement.

The order of work is common practice, no source; makers' manuals come first.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from quotelib.bench.plan import of_array, of_controller, where_words
from quotelib.bench.shown import Hazard
from quotelib.build.build import Build
from quotelib.build.placement import AccessoryPlace, Placement
from quotelib.build.seats import BRACKET_WORDS, Seat
from quotelib.text import bays, plural, sentence

Hazards = dict[Hazard, str]
"""What can hurt at a step, each with a note where the usual words will not do."""
STATIC: Hazards = {"static": ""}
EDGES: Hazards = {"edges": ""}
_LITHIUM: Hazards = {"lithium": ""}
_HELD: Hazards = {"static": "Static and shock: strap on, hold drives by the sides."}
_FEEDS = "label every inlet with its feed. Feeds are the work of those licensed, as local codes say"
_HOW: dict[str, tuple[str, Hazards]] = {
    "": ("Fit {} as the maker's manual says.", STATIC | EDGES),
    "processor socket": (
        "Set {} into the processor sockets by their marks, touching no contact; paste, heat sink "
        "and torque as the maker's manual says.",
        STATIC | EDGES,
    ),
    "memory slot": (
        "Press {} into the memory slots that the maker's manual fills first, equally many for each "
        "processor, until every latch closes.",
        STATIC | EDGES,
    ),
    "supply bay": (
        f"Push {{}} into the supply bays until each locks, without a cord; {_FEEDS}.",
        {"supply": "Mains: no cord yet; supply units stay closed.", **EDGES},
    ),
    "paperwork": ("Put {} with the paperwork; nothing is fitted.", {}),
}
"""How a part without a seat goes in, by what it takes, and what can hurt."""


@dataclass(frozen=True, slots=True)
class Step:
    """A step without its number."""

    title: str
    words: str
    hazards: Hazards = field(default_factory=dict)


def fit_parts(build: Build, places: Placement) -> Iterator[Step]:
    """Fit every part where it goes: board, mezzanine socket, slot, or as its manual says."""
    for seat in places.seats:
        if seat.takes == "board":
            yield _on_board(seat, build, places)
        else:
            yield from _in_socket(seat) if seat.takes == "socket" else _in_slot(seat, places)
    seated = {seat.sku for seat in places.seats}
    for piece in build.parts:
        if piece.part.sku not in seated:
            how, hurts = _HOW[piece.part.takes]
            words = how.format(f"{piece.count} × {piece.part.sku}")
            yield Step(sentence(piece.part.role), words, hurts)


def _on_board(seat: Seat, build: Build, places: Placement) -> Step:
    words = f"{seat.sku} is part of the board: nothing to fit."
    if seat.role == "controller":
        whose = of_controller(build, places, seat.sku)
        words += f" Check that the backplane's leads{whose} are seated on the board's drive ports."
    return Step(sentence(seat.role), words, EDGES | STATIC)


def _in_socket(seat: Seat) -> Iterator[Step]:
    title, socket = sentence(seat.role), f"mezzanine socket {seat.number}"
    words = f"Hold {seat.sku} over {socket} and seat its board edge first."
    yield Step(f"{title}, board edge", words, STATIC | EDGES)
    words = "Press it straight down onto the connector until it sits flat."
    yield Step(f"{title}, connector", words, STATIC)
    yield Step(f"{title}, screws", "Fit its screws, evenly, without force.", EDGES)


def _in_slot(seat: Seat, places: Placement) -> Iterator[Step]:
    assert seat.bracket is not None
    bracket = f"{BRACKET_WORDS[seat.bracket]} bracket ({seat.bracket_mm:g} mm)"
    one = sum(other.takes == "slot" for other in places.seats) == 1
    slot, card = f"slot {seat.number}", "the card" if one else seat.sku
    words = f"Take out the riser that holds {slot}, where the chassis has one."
    yield Step("Riser", words, EDGES)
    yield Step("Slot blank", f"Remove the blank of {slot} and keep it.", EDGES)
    words = f"{sentence(card) if one else card} has the {bracket}; check that it is tight."
    if seat.swap_bracket:
        words = f"Fit the {bracket} to {card}; keep the other with the paperwork."
    yield Step("Bracket", words, STATIC | EDGES)
    words = f"Seat {seat.sku} fully in {slot}, straight and to the stop, then fasten its bracket."
    yield Step(sentence(seat.role), words, STATIC | EDGES)
    yield Step("Riser back", "Refit the riser and fasten it, where it was taken out.", EDGES)


def fit_small_parts(build: Build, places: Placement) -> Iterator[Step]:
    """Fit cache protection, cables, adapters and carriers."""
    by_kind: dict[str, list[AccessoryPlace]] = {}
    for item in places.accessories:
        by_kind.setdefault(item.kind, []).append(item)
    for item in by_kind.get("cache_protection", []):
        where = where_words(item, build, places)
        words = f"Fit {item.sku} {where}; fasten it and plug its lead in."
        yield Step("Cache protection", words, _LITHIUM | STATIC)
    for piece, controller in build.controllers():
        there = controller.cache_protection != "none"
        if there and not build.with_controller("cache_protection", controller):
            whose = "the customer's " if piece.owned else ""
            words = f"{whose}cache protection of {controller.sku} is whole, fastened and plugged in"
            yield Step("Cache protection", f"Check that {words}.", _LITHIUM | STATIC)
    for item in by_kind.get("cable", []):
        words = f"Run {item.sku}: {where_words(item, build, places)}. Both ends must lock;"
        yield Step("Cable", f"{words} keep it off fans, edges and hot parts.", EDGES)
    yield from _own_cables(build, places)
    for item in by_kind.get("adapter", []):
        words = f"Put each 2.5-inch drive into an {item.sku}, {bays(item.bays)}."
        yield Step("Adapter", words if item.bays else f"Fit {item.sku} {item.where}.", STATIC)
    yield from _carriers(by_kind.get("carrier", []), places)


def _own_cables(build: Build, places: Placement) -> Iterator[Step]:
    """Connect the controllers that no cable on the pick list is for."""
    whose = "the chassis'" if not any(p.owned for p in build.pieces()) else "the customer's"
    for _, controller in build.controllers():
        if controller.takes != "board" and not build.with_controller("cable", controller):
            held = of_controller(build, places, controller.sku)
            words = (
                f"Connect {controller.sku} to the backplane{held} with {whose} own cables (none is "
                "on the pick list). Both ends must lock; keep them off fans, edges and hot parts."
            )
            yield Step("Cable", words, EDGES)


def _carriers(carriers: list[AccessoryPlace], places: Placement) -> Iterator[Step]:
    for item in carriers:
        words = f"Put each drive into a {item.sku} and label it with its bay: {bays(item.bays)}."
        words = words if item.bays else f"Fit {item.sku} {item.where}."
        yield Step("Carrier", words, STATIC | EDGES)
    with_one = {bay for item in carriers for bay in item.bays or places.filled}
    if bare := [bay for bay in places.filled if bay not in with_one]:
        some = f" for {bays(bare)}" if with_one else ""
        words = (
            f"Put each drive{some} into the carrier that came with the chassis and label it with "
            "its bay (none is on the pick list)."
        )
        yield Step("Carrier", words, STATIC | EDGES)


def fit_drives(build: Build, places: Placement) -> Iterator[Step]:
    """Fit drives by bay, array by array, members before spares."""
    for index, array in enumerate(build.arrays):
        layout, sku, whose = array.layout, array.drive.sku, of_array(build, index)
        groups = [("Member drives", places.bays_of(index, "member"))]
        if layout.rule.spanned:
            groups = [
                (f"Drives of span {span}", places.bays_of(index, "member", span))
                for span in range(1, layout.spans + 1)
            ]
        elif not layout.rule.is_array:
            groups = [("Drives", places.bays_of(index, "passed_through"))]
        for title, held in groups:
            words = f"Push {sku} into {bays(held)} until each locks, in order."
            yield Step(f"{title}{whose}", words, _HELD)
        if spares := places.bays_of(index, "spare"):
            each = "it" if len(spares) == 1 else "each"
            words = f"Push {sku} into {bays(spares)} and label {each} as spare."
            yield Step(f"{plural(len(spares), 'Hot spare')}{whose}", words, _HELD)
    if empty := places.free.bays:
        stay = "stays" if len(empty) == 1 else "stay"
        words = f"{sentence(bays(empty))} {stay} empty: put blanks in,"
        yield Step("Empty bays", f"{words} so that the air goes where it should.")
