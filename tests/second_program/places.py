"""Where cards and drives go, by trying every way: contract 2, "Places" (c)."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from .boxes import Array, Box, Options
from .reading import Chassis, Controller, Option, Slot


@dataclass(frozen=True)
class Card:
    """What decides where a card can go; lanes and gen are None where they are not known."""

    sku: str
    brackets: tuple[str, ...]
    lanes: int | None
    gen: int | None
    connector_lanes: int | None


@dataclass(frozen=True)
class FreeSlots:
    """One demand for free slots: so many, of a height (blank: any), of so many lanes at least."""

    count: int
    height: str = ""
    lanes: int = 0


def _card(part: Controller | Option) -> Card:
    """An option's own lanes are those of its connector: it states no others."""
    if isinstance(part, Controller):
        own = (part.host_lanes, part.host_gen)
    else:
        own = (part.connector_lanes, part.gen)
    return Card(part.sku, part.brackets, *own, part.connector_lanes)


def cards(controllers: tuple[Controller, ...], options: Options) -> tuple[Card, ...]:
    """List every card: controllers in array order, then option cards in row order."""
    found = [_card(one) for one in controllers if one.mounting == "card"]
    for option, count in options:
        found += [_card(option)] * count if option.card else []
    return tuple(found)


def goes_in(card: Card, slot: Slot, processors: int) -> bool:
    """Whether a card can go into a slot at all."""
    if slot.height not in card.brackets:
        return False
    lengths = (card.connector_lanes, slot.connector_lanes)
    if None not in lengths and lengths[0] > lengths[1]:  # type: ignore[operator]
        return False
    return processors == 0 or slot.needs_processors <= processors


def _lost(own: int | None, given: int) -> int:
    return 0 if own is None else own - min(own, given)


def _preference(wanted: tuple[Card, ...], slots: tuple[Slot, ...]) -> tuple[object, ...]:
    pairs = list(zip(wanted, slots, strict=True))
    return (
        sum(_lost(card.lanes, slot.lanes) for card, slot in pairs),
        sum(_lost(card.gen, slot.gen) for card, slot in pairs),
        sum(slot.height == "full" for slot in slots),
        sum(slot.lanes for slot in slots),
        [slot.slot for slot in slots],
    )


@lru_cache(maxsize=20_000)
def seated(
    wanted: tuple[Card, ...], slots: tuple[Slot, ...], processors: int
) -> tuple[Slot, ...] | None:
    """Give the slot of each card, the best of all ways; None where there is no way."""
    ways = [
        chosen
        for chosen in itertools.permutations(slots, len(wanted))
        if all(goes_in(c, s, processors) for c, s in zip(wanted, chosen, strict=True))
    ]
    return min(ways, key=lambda chosen: _preference(wanted, chosen), default=None)


def slots_of(box: Box) -> tuple[Slot, ...] | None:
    """Give the slot of each card of a server; None where they do not all fit."""
    wanted = cards(box.controllers, box.options)
    found = seated(wanted, box.chassis.slots, box.pieces("processor"))
    if found is None and box.chassis_owned:
        # The customer's may have more processors in it than the options bring.
        return seated(wanted, box.chassis.slots, 0)
    return found


def free_slots(chassis: Chassis, taken: tuple[Slot, ...]) -> tuple[Slot, ...]:
    """List the slots that no card sits in."""
    return tuple(slot for slot in chassis.slots if slot not in taken)


def _serves(slot: Slot, demand: FreeSlots) -> bool:
    lanes = slot.lanes if slot.connector_lanes is None else slot.connector_lanes
    return demand.height in ("", "low", slot.height) and lanes >= demand.lanes


@lru_cache(maxsize=20_000)
def enough_free(demands: tuple[FreeSlots, ...], free: tuple[Slot, ...]) -> bool:
    """Whether each demand is met by free slots of its own, by trying every way."""
    singles = [demand for demand in demands for _ in range(demand.count)]
    if len(singles) > len(free):
        return False
    return any(
        all(_serves(slot, demand) for slot, demand in zip(chosen, singles, strict=True))
        for chosen in itertools.permutations(free, len(singles))
    )


def numbered(box: Box) -> list[tuple[int, Array]]:
    """Number the arrays of a server from 0."""
    return list(enumerate(box.arrays))


def _in_their_bays(box: Box, array: Array) -> int:
    """Members that are in the customer's chassis; what takes a drive's place takes its bay."""
    if not box.chassis_owned:
        return 0
    return array.members if array.action == "replace" else min(array.have, array.members)


def bays(box: Box) -> Iterator[tuple[int, str, int | None]]:
    """Yield each bay with its use and the place of its array in the server, from 0."""
    use = [("passed_through" if a.level == "none" else "member", n) for n, a in numbered(box)]
    there = [_in_their_bays(box, array) for array in box.arrays]
    members = [use[n] for n, _ in numbered(box) for _ in range(there[n])]
    members += [use[n] for n, array in numbered(box) for _ in range(array.members - there[n])]
    spares = [("spare", n) for n, array in numbered(box) for _ in range(array.spares)]
    first_spare = box.chassis.bays - len(spares)
    for n in range(box.chassis.bays):
        if n < len(members):
            yield n + 1, *members[n]
        elif n >= first_spare:
            yield n + 1, *spares[n - first_spare]
        else:
            yield n + 1, "empty", None
