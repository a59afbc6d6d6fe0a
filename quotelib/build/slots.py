"""Which card goes into which slot: the assignment that suits all cards of a server together."""

import math
from collections.abc import Iterable
from functools import lru_cache
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from quotelib.build.build import Build
from quotelib.build.speed import pcie_mb_s
from quotelib.catalogue.free_slots import SlotsWanted
from quotelib.catalogue.parts import Card, Part, Slot

_NUMBERS = 256
"""Above any slot number."""


def takes(slot: Slot, card: Card, processors: int) -> bool:
    """Tell whether a card goes into a slot and works there; 0 processors: not known how many."""
    own, length = card.connector_lanes, slot.connector_lanes
    fits = own is None or length is None or own <= length
    works = not processors or slot.needs_processors <= processors
    return fits and works and slot.height in card.brackets


def lost(slot: Slot, card: Card) -> tuple[int, int]:
    """Count the card's own lanes, and its own generations, that a slot does not give it."""
    lanes, gen = card.lanes or 0, card.gen or 0
    return max(lanes - slot.lanes, 0), max(gen - slot.gen, 0)


def in_slots(build: Build) -> list[tuple[Part, Slot]] | None:
    """Seat every card of a build, in the order of its parts.

    None where they do not all find slots together.
    """
    parts, cards = _cards(build)
    slots = assign(build.chassis.slots, cards, processors(build))
    return None if slots is None else list(zip(parts, slots, strict=True))


def _cards(build: Build) -> tuple[list[Part], tuple[Card, ...]]:
    parts = [piece.part for piece in build.taking("slot") for _ in range(piece.count)]
    return parts, tuple(card for part in parts if (card := part.as_card))


def processors(build: Build) -> int:
    """Count the processors that a slot may need; 0: not known how many.

    Those among the options. A chassis of the customer's may have more in it: where the cards find
    no slots without them, their number is not known.
    """
    named = build.number("processor socket")
    if named and build.chassis_owned and not assign(build.chassis.slots, _cards(build)[1], named):
        return 0
    return named


@lru_cache(maxsize=65536)
def assign(
    slots: tuple[Slot, ...], cards: tuple[Card, ...], processors: int = 0
) -> tuple[Slot, ...] | None:
    """Give each card a slot.

    Of all assignments that fit, the one that loses the fewest of the cards' own lanes, then the
    fewest of their generations, takes the fewest full-height slots, then the fewest lanes, then
    the lowest number for the first card, for the second, and so on.

    Returns
    -------
    tuple of Slot or None
        One a card, in their order; None where they do not all find one.
    """
    if len(cards) > len(slots):
        return None
    costs = [
        [_cost(s, c, len(cards)) if takes(s, c, processors) else math.inf for s in slots]
        for c in cards
    ]
    if math.perm(len(slots), len(cards)) > _FEW:
        return _together(slots, np.array(costs, dtype=float))
    ways = permutations(range(len(slots)), len(cards))
    weighed = (
        (
            sum(row[at] for row, at in zip(costs, way, strict=True)),
            [slots[at].slot for at in way],
            way,
        )
        for way in ways
    )
    least, _, way = min(weighed)
    return None if least == math.inf else tuple(slots[at] for at in way)


_FEW = 500
"""As many ways are tried one by one, sooner than scipy is imported."""


def _cost(slot: Slot, card: Card, cards: int) -> int:
    """Weigh a slot for one of several cards, so that sums compare as lists of sums do.

    Each figure is worth more than all cards together can lose of the next. With the slot's number
    behind it this stays a whole number that a double holds, for 256 cards and slots.
    """
    (lanes, gens), full = lost(slot, card), slot.height == "full"
    most_gens, most_lanes = 6 * cards + 1, 16 * cards + 1
    return ((lanes * most_gens + gens) * (cards + 1) + full) * most_lanes + slot.lanes


def _together(slots: tuple[Slot, ...], costs: NDArray[np.float64]) -> tuple[Slot, ...] | None:
    """Find the least sum; among equal ones the lowest number for card after card."""
    # Takes a third of a second to import, and few servers have so many cards or slots.
    from scipy.optimize import linear_sum_assignment

    numbers = np.array([slot.slot for slot in slots], dtype=float)
    left, chosen = np.arange(len(slots)), []
    for card in range(len(costs)):
        weights = costs[card:, left] * _NUMBERS
        weights[0] += numbers[left]
        try:
            _, taken = linear_sum_assignment(weights)
        except ValueError:
            return None  # no assignment has a finite sum
        chosen.append(slots[left[taken[0]]])
        left = np.delete(left, taken[0])
    return tuple(chosen)


def free_slots(build: Build) -> tuple[Slot, ...]:
    """Give the slots that stay free in a build that fits."""
    taken = {slot.slot for _, slot in in_slots(build) or ()}
    return tuple(slot for slot in build.chassis.slots if slot.slot not in taken)


def left_words(build: Build) -> str:
    """Name the chassis, and which of its free slots are longer than their link."""
    long = (slot for slot in free_slots(build) if (slot.connector_lanes or 0) > slot.lanes)
    said = (
        f"slot {slot.slot} is {slot.connector_lanes} lanes long, {slot.lanes} of them connected"
        for slot in long
    )
    return "; ".join([build.chassis.sku, *said])


def stay_free(slots: tuple[Slot, ...], wanted: Iterable[SlotsWanted]) -> bool:
    """Tell whether each of the slots wanted can be another one of those that are free."""

    def length(slot: Slot) -> int:
        return slot.connector_lanes or slot.lanes

    left = sorted(slots, key=length)
    # Full ones first, as they can be nothing else, and each the shortest that will do: whatever
    # else serves the next serves it as well as that one, so no other way finds more.
    for want in sorted(wanted, key=lambda want: (want.height == "low", -want.lanes)):
        for _ in range(want.count):
            fits = (s for s in left if want.height in ("low", s.height) and length(s) >= want.lanes)
            slot = next(fits, None)
            if slot is None:
                return False
            left.remove(slot)
    return True


def agreed(part: Part, slot: Slot | None) -> tuple[int | None, int | None]:
    """Give generation and lanes that a part and its slot agree on; None: not known.

    Without a slot, those of the part's own link.
    """
    gen, lanes = getattr(part, "host_gen", None), getattr(part, "host_lanes", None)
    if part.as_card is not None:
        gen, lanes = part.as_card.gen, part.as_card.lanes
    if slot is not None:
        gen, lanes = gen and min(gen, slot.gen), lanes and min(lanes, slot.lanes)
    return gen, lanes


def host_link_mb_s(build: Build, part: Part) -> float | None:
    """Payload rate of a part's link in MB/s, as agreed with its place in a build that fits.

    None: not known.
    """
    slots = (slot for card, slot in in_slots(build) or () if card.sku == part.sku)
    return pcie_mb_s(*agreed(part, next(slots, None)))
