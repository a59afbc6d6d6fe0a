"""Which card goes into which slot: the assignment that suits all cards of a server together."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations

from quotelib.build.build import Build
from quotelib.build.speed import drives_mb_s, pcie_mb_s
from quotelib.catalogue.parts import Card, Controller, Part, Slot


@dataclass(frozen=True, slots=True)
class Wish:
    """A card that looks for a slot.

    Parameters
    ----------
    wants_mb_s : float
        What its slot has to carry so as not to hold it back: what a storage controller's drives
        give together; of any other card, what its own link carries.
    """

    card: Card
    wants_mb_s: float

    def rate_mb_s(self, slot: Slot) -> float:
        """Give what the card and a slot agree on; infinite where it is not known.

        What the card leaves open counts as the slot's own: a ceiling, not a promise.
        """
        gen, lanes = self.card.gen or slot.gen, self.card.lanes or slot.lanes
        found = pcie_mb_s(min(gen, slot.gen), min(lanes, slot.lanes))
        return float("inf") if found is None else found

    def enough(self, slot: Slot) -> bool:
        """Tell whether a slot does not hold the card back."""
        return self.rate_mb_s(slot) >= self.wants_mb_s

    def takes(self, slot: Slot) -> bool:
        """Tell whether the card has a bracket for a slot."""
        return slot.height in self.card.brackets

    def cost(self, slot: Slot) -> tuple[float, ...]:
        """Say how little a slot suits: held back first, then how good a slot it takes away."""
        enough = self.enough(slot)
        rate = 0.0 if enough else -self.rate_mb_s(slot)
        return (not enough, rate, slot.height != "low", slot.lanes, slot.gen, slot.slot)


def wish_of(build: Build, part: Part) -> Wish | None:
    """Say what a part of a build wants of a slot; None where it takes none."""
    card = part.as_card
    if card is None:
        return None
    if isinstance(part, Controller):
        return Wish(card, sum(drives_mb_s(array) for array in build.arrays_on(part)))
    return Wish(card, pcie_mb_s(card.gen, card.lanes) or 0.0)


def in_slots(build: Build) -> list[tuple[Part, Slot]] | None:
    """Seat every card of a build, in the order of its parts.

    None where they do not all find slots of their heights together.
    """
    asked: list[tuple[Part, Wish]] = []
    for piece in build.taking("slot"):
        if wish := wish_of(build, piece.part):
            asked += [(piece.part, wish)] * piece.count
    slots = assign(build.chassis.slots, tuple(wish for _, wish in asked))
    if slots is None:
        return None
    return [(part, slot) for (part, _), slot in zip(asked, slots, strict=True)]


@lru_cache(maxsize=65536)
def assign(slots: tuple[Slot, ...], asked: tuple[Wish, ...]) -> tuple[Slot, ...] | None:
    """Give each card a slot.

    Of all assignments that fit, the one in which the fewest cards are held back, and those the
    least; then the lowest slots, the fewest lanes, the lowest generations and numbers. What is
    good for all together is the sum over the cards, compared in that order.

    Returns
    -------
    tuple of Slot or None
        One a card, in their order; None where they do not all find one.
    """

    def cost(chosen: tuple[Slot, ...]) -> tuple[float, ...]:
        each = [wish.cost(slot) for wish, slot in zip(asked, chosen, strict=True)]
        return tuple(map(sum, zip(*each, strict=True)))

    fitting = (
        chosen
        for chosen in permutations(slots, len(asked))
        if all(wish.takes(slot) for wish, slot in zip(asked, chosen, strict=True))
    )
    return min(fitting, key=cost, default=None)


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
