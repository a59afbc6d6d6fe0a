"""Where does each part go: the board, a mezzanine socket, or which slot, and why there."""

from collections.abc import Iterator, Sequence
from typing import Literal

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.slots import agreed, in_slots, lost, processors, takes
from quotelib.build.speed import (
    behind_mb_s,
    device_mb_s,
    drives_mb_s,
    lanes_words,
    pcie_mb_s,
)
from quotelib.catalogue.parts import Card, Controller, Part, Slot
from quotelib.facts import Frozen
from quotelib.text import both, count, gb_s, sentence

BRACKET_MM = {"low": 79.2, "full": 120.02}
"""Height of a card's bracket (PCI Express Card Electromechanical Specification; from memory)."""

BRACKET_WORDS = {"low": "low-profile", "full": "full-height"}


class SlotFacts(Frozen):
    """A slot as the chassis has it: number, PCI Express generation, lanes, height."""

    slot: int
    gen: int
    lanes: int
    height: Literal["low", "full"]

    @property
    def words(self) -> str:
        """Describe it: ``low-profile, generation 4, 8 lanes``."""
        lanes = count(self.lanes, "lane")
        return f"{BRACKET_WORDS[self.height]}, generation {self.gen}, {lanes}"


class Seat(Frozen):
    """Where a part goes.

    Parameters
    ----------
    owned : bool
        Whether it is the customer's.
    takes : str
        ``board``, ``socket`` or ``slot``.
    number : int or None
        Of the socket or slot.
    bracket : str or None
        ``low`` or ``full``, as the slot is high; cards only.
    bracket_mm : float or None
        Its height.
    swap_bracket : bool
        Whether the card has brackets to choose from.
    gen, lanes : int or None
        What part and place agree on: the lesser of each. None: not known.
    gb_s : float or None
        Payload of that link in one direction, before packet overhead, in GB/s (10^9).
    held_back : bool or None
        Whether the link is slower than what lies behind it; None: not known.
    where : str
        The place in a few words.
    why : str
        Why there, in a sentence.
    """

    sku: str
    role: str
    owned: bool
    takes: Literal["board", "socket", "slot"]
    number: int | None
    bracket: Literal["low", "full"] | None
    bracket_mm: float | None
    swap_bracket: bool
    gen: int | None
    lanes: int | None
    gb_s: float | None
    held_back: bool | None
    where: str
    why: str

    @property
    def link_words(self) -> str:
        """Describe the link of a part that is not on the board; blank where it is not known."""
        if self.gen is None or self.lanes is None or self.takes == "board":
            return ""
        return f"PCI Express generation {self.gen}, {count(self.lanes, 'lane')}"


def seats(build: Build) -> Iterator[Seat]:
    """Seat every part of a build that fits, in the order of its parts."""
    slots = iter([slot for _, slot in in_slots(build) or ()])
    sockets = iter(range(1, build.chassis.mezzanine_sockets + 1))
    for piece in build.parts:
        for _ in range(piece.count):
            takes = piece.part.takes
            slot = next(slots) if takes == "slot" else None
            socket = next(sockets) if takes == "socket" else None
            if takes in {"board", "socket", "slot"}:
                yield _seat(build, piece.part, piece.owned, slot, socket)


def _seat(build: Build, part: Part, owned: bool, slot: Slot | None, socket: int | None) -> Seat:
    chassis, free, card = build.chassis, _slots_stay_free(build), part.as_card
    if slot is not None and card is not None:
        where = f"slot {slot.slot}, {BRACKET_WORDS[slot.height]} bracket"
        why = _why_slot(build, card, slot)
    elif socket is not None:
        where = f"mezzanine socket {socket}"
        why = f"{part.sku} is made for the mezzanine socket: {free.removeprefix('and ')}."
    else:
        where = f"on the board of {chassis.sku}"
        why = f"{part.sku} is part of the board of {chassis.sku}: nothing to fit, {free}."
    gen, lanes = agreed(part, slot)
    rate, behind = pcie_mb_s(gen, lanes), None
    if isinstance(part, Controller):
        arrays = build.arrays_on(part)
        behind = behind_mb_s(arrays, build.chassis.backplane)
        why += f" {_link_words(rate, behind, sum(a.layout.members for a in arrays))}"
        why += _lanes_words(arrays, build.chassis.backplane)
    elif card is not None:
        behind = pcie_mb_s(card.gen, card.lanes)
    return Seat(
        sku=part.sku,
        role=part.role,
        owned=owned,
        takes="slot" if slot else "socket" if socket else "board",
        number=slot.slot if slot else socket,
        bracket=None if slot is None else slot.height,
        bracket_mm=None if slot is None else BRACKET_MM[slot.height],
        swap_bracket=card is not None and len(card.brackets) > 1,
        gen=gen,
        lanes=lanes,
        gb_s=None if rate is None else rate / 1000,
        held_back=None if rate is None or behind is None else rate < behind,
        where=where,
        why=why,
    )


def _slots_stay_free(build: Build) -> str:
    slots, free = len(build.chassis.slots), build.slots_free
    if not slots:
        return f"and {build.chassis.sku} has no slots"
    if free < slots:
        return "it takes no slot"
    return "the one slot stays free" if slots == 1 else f"all {slots} slots stay free"


def _link_words(rate_mb_s: float | None, drives: float, members: int) -> str:
    give = f"the {members} drives give" if members > 1 else "the drive gives"
    if rate_mb_s is None:
        unknown = "The speed of its link is not known, so neither is whether the link holds"
        return f"{unknown} the drives back."
    carries = f"Its link carries {gb_s(rate_mb_s)}"
    if rate_mb_s < drives:
        return f"{carries}, less than the {gb_s(drives)} that {give} together: it holds them back."
    return f"{carries}, {give} {gb_s(drives)}."


def _lanes_words(arrays: Sequence[Array], backplane: str) -> str:
    """Say where shared lanes hold drives back, or that nobody knows."""
    if backplane == "direct" or not arrays:
        return ""
    carried = [device_mb_s(array, backplane) for array in arrays]
    known = [rate for rate in carried if rate is not None]
    if len(known) < len(carried):
        unknown = "Whether the drives share lanes to it, and how many, is not known"
        return f" {unknown}, so neither is whether these hold them back."
    rated = sum(map(drives_mb_s, arrays))
    if max(known) < rated:
        lanes = sentence(lanes_words(arrays[0], backplane))
        return f" {lanes} carry {gb_s(max(known))}, less than the {gb_s(rated)} of all drives."
    return ""


def _why_slot(build: Build, card: Card, slot: Slot) -> str:
    slots, cards = build.chassis.slots, build.number("slot")
    if len(slots) == 1:
        return f"It is the only slot of {build.chassis.sku}."
    gives = _gives(slot, card)
    if cards > 1:
        return (
            f"Slot {slot.slot} gives it {gives}: the {cards} cards lose as little as they can "
            "together, and then leave the better slots free."
        )
    there = processors(build)
    suitable = [s for s in slots if takes(s, card, there)]
    if len(suitable) == 1:
        height = BRACKET_WORDS[slot.height]
        if all(s.height != slot.height for s in slots if s.slot != slot.slot):
            return f"Slot {slot.slot} is the only {height} slot, and the card fits no other."
        return f"Slot {slot.slot} is the only one that takes the card."
    equal = [s for s in suitable if lost(s, card) == lost(slot, card)]
    named = both(str(s.slot) for s in suitable)
    if len(equal) == 1:
        return f"Of slots {named}, which take the card, slot {slot.slot} gives it most: {gives}."
    return (
        f"Slots {both(str(s.slot) for s in equal)} give the card {gives}: slot {slot.slot} is the "
        "most modest of them (lowest first, then fewest lanes), so that the better ones stay free."
    )


def _gives(slot: Slot, card: Card) -> str:
    """Say what a slot gives a card of its own link."""
    lanes, gens = lost(slot, card)
    some = [f"{slot.lanes} of its {card.lanes} lanes"] if lanes else []
    some += [f"generation {slot.gen} where its own is {card.gen}"] if gens else []
    known = card.lanes is not None and card.gen is not None
    whole = "all its own lanes and generation" if known else "all that is known of its own link"
    return both(some) if some else whole


def slot_facts(slot: Slot) -> SlotFacts:
    """Describe a slot."""
    return SlotFacts(slot=slot.slot, gen=slot.gen, lanes=slot.lanes, height=slot.height)
