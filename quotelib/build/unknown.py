"""What could nobody check, for want of a figure in the price list or from the customer."""

from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.slots import in_slots
from quotelib.text import both


def places_unknown(build: Build) -> Iterator[Finding]:
    """Note that nobody could check whether processors or memory find places."""
    for place, room in build.chassis.room.items():
        if room is None and (there := build.listed(place)):
            what = f"nobody has stated how many {place}s {build.chassis.sku} has: whether"
            what += f" {there} find room is not checked"
            yield finding("places_unknown", what, "look it up before this is ordered")


def length_unknown(build: Build) -> Iterator[Finding]:
    """Note a card that may be longer than its slot, as nobody said how long one of them is.

    A connector has contacts for all its lanes, so that a slot with as many lanes as the card has
    is silent. That a card's is no longer than its lanes: common practice, no source.
    """
    for part, slot in in_slots(build) or ():
        if (card := part.as_card) is None:
            continue
        own, room = card.connector_lanes or card.lanes, slot.connector_lanes or slot.lanes
        unsaid = [part.sku] * (card.connector_lanes is None)
        unsaid += [f"slot {slot.slot} of {build.chassis.sku}"] * (slot.connector_lanes is None)
        if unsaid and (own is None or own > room):
            lanes = "an unknown number of" if own is None else own
            what = f"nobody has stated how long the connector of {both(unsaid)} is: "
            what += f"whether {part.sku}, a card of {lanes} lanes, goes into slot {slot.slot} with "
            what += f"{slot.lanes} lanes is not checked"
            yield finding("length_unknown", what, "look it up before this is ordered")


def processors_unknown(build: Build) -> Iterator[Finding]:
    """Note a card in a slot that is dead without a second processor nobody has named."""
    named = build.number("processor socket")
    for part, slot in in_slots(build) or ():
        if slot.needs_processors > max(named, 1):
            whose = "the customer's " if build.chassis_owned else ""
            what = f"{part.sku} goes into slot {slot.slot}, which works only with "
            what += f"{slot.needs_processors} processors, and nobody said how many {whose}"
            what += f"{build.chassis.sku} has"
            change = "name them among the options"
            if build.chassis_owned:
                change = "ask, and count them, before this is ordered"
            yield finding("processors_unknown", what, change)
