"""How is each new array made: created, its spares assigned, initialised; or drives handed over.

Only `new_array` writes to drives, one array at a time: whoever keeps an array leaves it out.
"""

from collections.abc import Iterator

from quotelib.bench.hazards import Step
from quotelib.bench.plan import array_name, of_array
from quotelib.build.build import Build
from quotelib.build.placement import Placement
from quotelib.text import bays, count, plural, sentence


def new_array(build: Build, places: Placement, index: int) -> Iterator[Step]:
    """Make one array, or pass its drives through."""
    array, name, whose = build.arrays[index], array_name(build, index), of_array(build, index)
    its = f" {name}" if name else ""
    settings = f"Apply the settings{whose} below"
    settings += f", on {array.controller.sku}" if name else ""
    if not array.layout.rule.is_array:
        held = bays(places.bays_of(index, "passed_through"))
        words = f"{settings}: no array, {held} each passed through by itself."
        only = "Make no array and initialise nothing: either would erase drives."
        yield Step(f"Pass through{its}", words, {"data": only})
        return
    members, spares = places.bays_of(index, "member"), places.bays_of(index, "spare")
    words = f"{settings}: {array.layout.rule.label}, members in {bays(members)}."
    words += " Have a second person read the bays back before you confirm."
    erases = f"This erases {bays(members)}: compare bays and serial numbers first."
    yield Step(f"Create {name or 'the array'}", words, {"data": erases})
    if spares:
        noun = plural(len(spares), "spare")
        words = f"{sentence(bays(spares))} to this array as hot {noun}."
        yield Step(f"Assign the {noun}{whose}", words, {"data": f"This erases {bays(spares)}."})
    words = "In full; wait until it has ended without an error."
    yield Step(f"Initialise{its or ' the array'}", words, {"data": "It overwrites the members."})


def ask_first(build: Build) -> Iterator[Step]:
    """Stop where nobody has said yet whether data must stay."""
    drives = count(sum(array.have_drives for array in build.arrays), "drive")
    words = (
        f"Nobody has said yet whether the data on the customer's {drives} must stay. Make and "
        "change nothing on them, answer no question of the set-up utility about them, and ask who "
        "signed this sheet for one that says so."
    )
    only = "What is on these drives may be the only copy."
    yield Step("Stop and ask", words, {"data": only})
