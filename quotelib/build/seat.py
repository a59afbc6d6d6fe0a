"""Where does the controller go: the board, a mezzanine socket, or which slot, and why."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from quotelib.build.build import Build, Parts
from quotelib.build.speed import drives_mb_s, gb_s, pcie_mb_s, together_mb_s
from quotelib.catalogue.parts import Controller, Slot

BRACKET_MM = {"low": 79.2, "full": 120.02}
"""Height of a card's bracket (PCI Express Card Electromechanical Specification; from memory)."""

BRACKET_WORDS = {"low": "low-profile", "full": "full-height"}


class SlotFacts(BaseModel):
    """A slot as the chassis has it: number, PCI Express generation, lanes, height."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    slot: int
    gen: int
    lanes: int
    height: Literal["low", "full"]


class Seat(BaseModel):
    """Where the controller goes.

    Parameters
    ----------
    sku : str
        Of the controller.
    mounting : str
        ``board``, ``mezzanine`` or ``card``.
    socket, slot : int or None
        Number of the mezzanine socket, or of the slot.
    bracket : str or None
        ``low`` or ``full``, as the slot is high; cards only.
    bracket_mm : float or None
        Its height.
    gen, lanes : int or None
        What controller and place agree on: the lesser of each. None: not known.
    gb_s : float or None
        Payload of that link in one direction, before packet overhead, in GB/s (10^9).
    caps_drives : bool or None
        Whether the link is slower than the member drives together; None: not known.
    where : str
        The place in a few words.
    why : str
        Why there, in a sentence.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    sku: str
    mounting: Literal["board", "mezzanine", "card"]
    socket: int | None
    slot: int | None
    bracket: Literal["low", "full"] | None
    bracket_mm: float | None
    gen: int | None
    lanes: int | None
    gb_s: float | None
    caps_drives: bool | None
    where: str
    why: str


def slot_facts(slot: Slot) -> SlotFacts:
    """Describe a slot."""
    return SlotFacts(slot=slot.slot, gen=slot.gen, lanes=slot.lanes, height=slot.height)


def seat(build: Build) -> Seat:
    """Find the controller's place in a build that fits.

    Of the slots with a height the card has a bracket for, it takes one that does not cap the
    drives: the lowest in height, then with the fewest lanes, then of the lowest generation, then
    the first. Where all cap them it takes the fastest, and of equally fast ones likewise.

    Parameters
    ----------
    build : Build
        Without ``stop`` findings.

    Returns
    -------
    Seat
    """
    controller, chassis = build.controller, build.chassis
    drives = drives_mb_s(build)
    free = _slots_stay_free(len(chassis.slots), chassis.sku)
    slot: Slot | None = None
    gen, lanes = controller.host_gen, controller.host_lanes
    if controller.mounting == "board":
        where = f"on the board of {chassis.sku}"
        why = f"{controller.sku} is part of the board of {chassis.sku}: nothing to fit, {free}."
    elif controller.mounting == "mezzanine":
        where = "mezzanine socket 1"
        why = f"{controller.sku} is made for the mezzanine socket: {free}."
    else:
        slot, choice = _choose_slot(build, drives)
        where = f"slot {slot.slot}, {BRACKET_WORDS[slot.height]} bracket"
        gen = None if gen is None else min(gen, slot.gen)
        lanes = None if lanes is None else min(lanes, slot.lanes)
        why = choice
    rate = pcie_mb_s(gen, lanes)
    return Seat(
        sku=controller.sku,
        mounting=controller.mounting,
        socket=1 if controller.mounting == "mezzanine" else None,
        slot=None if slot is None else slot.slot,
        bracket=None if slot is None else slot.height,
        bracket_mm=None if slot is None else BRACKET_MM[slot.height],
        gen=gen,
        lanes=lanes,
        gb_s=None if rate is None else rate / 1000,
        caps_drives=None if rate is None else rate < drives,
        where=where,
        why=f"{why} {_link_words(rate, drives, build.layout.members)}",
    )


def _slots_stay_free(slots: int, chassis_sku: str) -> str:
    if not slots:
        return f"and {chassis_sku} has no slots"
    return "the one slot stays free" if slots == 1 else f"all {slots} slots stay free"


def _link_words(rate_mb_s: float | None, drives: float, members: int) -> str:
    give = f"the {members} drives give" if members > 1 else "the drive gives"
    if rate_mb_s is None:
        return (
            "The speed of its link is not known, so neither is whether the link holds the drives "
            "back."
        )
    if rate_mb_s < drives:
        more = f"less than the {gb_s(drives)} that {give} together"
        return f"Its link carries {gb_s(rate_mb_s)}, {more}: it holds them back."
    return f"Its link carries {gb_s(rate_mb_s)}, {give} {gb_s(drives)}."


def _best_slot(
    controller: Controller, slots: tuple[Slot, ...], drives: float
) -> tuple[Slot, list[Slot], list[Slot]]:
    """Give the slot to use, those that take the card, and those that do not cap the drives."""
    suitable = [s for s in slots if s.height in controller.brackets]

    def modesty(slot: Slot) -> tuple[bool, int, int, int]:
        return slot.height != "low", slot.lanes, slot.gen, slot.slot

    def rate(slot: Slot) -> float:
        # What the card leaves open counts as the slot's own: a ceiling, not a promise.
        gen = min(controller.host_gen or slot.gen, slot.gen)
        lanes = min(controller.host_lanes or slot.lanes, slot.lanes)
        found = pcie_mb_s(gen, lanes)
        return float("inf") if found is None else found

    enough = [s for s in suitable if rate(s) >= drives]
    if enough:
        return min(enough, key=modesty), suitable, enough
    return min(suitable, key=lambda s: (-rate(s), *modesty(s))), suitable, enough


def host_link_mb_s(parts: Parts, members: int) -> float | None:
    """Payload rate of the controller's link, as agreed with the place `seat` gives it.

    Parameters
    ----------
    parts : Parts
        Without ``stop`` findings.
    members : int
        Member drives: the place is chosen so as not to hold them back.

    Returns
    -------
    float or None
        MB/s; None: not known.
    """
    controller = parts.controller
    gen, lanes = controller.host_gen, controller.host_lanes
    if controller.mounting == "card":
        drives = together_mb_s(parts.drive, controller, members)
        slot, _, _ = _best_slot(controller, parts.chassis.slots, drives)
        gen = None if gen is None else min(gen, slot.gen)
        lanes = None if lanes is None else min(lanes, slot.lanes)
    return pcie_mb_s(gen, lanes)


def _choose_slot(build: Build, drives: float) -> tuple[Slot, str]:
    controller, slots = build.controller, build.chassis.slots
    best, suitable, enough = _best_slot(controller, slots, drives)
    if len(slots) == 1:
        return best, f"It is the only slot of {build.chassis.sku}."
    if len(suitable) == 1:
        heights = BRACKET_WORDS[best.height]
        return best, f"Slot {best.slot} is the only {heights} slot, and the card fits no other."
    named = _and([str(s.slot) for s in suitable])
    if not enough:
        return best, (
            f"Slots {named} take the card and none carries all the drives give: slot {best.slot} "
            "is the fastest, or the most modest of equally fast ones."
        )
    if len(enough) == 1:
        return best, f"Of slots {named}, only slot {best.slot} does not hold the drives back."
    return best, (
        f"Of slots {named}, which take the card, slot {best.slot} is the most modest that does not "
        "hold the drives back (lowest first, then fewest lanes), so that the better ones stay free."
    )


def _and(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}"
