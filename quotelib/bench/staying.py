"""What is done with an array that is there already: found again, checked, changed with care.

Nothing here makes, clears or overwrites an array. Common practice, no source: old drives go back
into their own bays, another controller only reads in what it finds, one drive is changed at a time.
"""

from collections.abc import Iterator

from quotelib.bench.hazards import EDGES, HELD, LITHIUM, STATIC, Hazards, Step
from quotelib.bench.plan import array_name, of_array
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.placement import Placement
from quotelib.catalogue.parts import Controller
from quotelib.text import bays, count, plural, sentence, size

_STOP: Hazards = {"data": "Anything else: change nothing, shut down, ask who signed this sheet."}
_ONLY: Hazards = {"data": "What is on these drives may be the only copy."}


def comes_instead(build: Build, array: Array) -> Controller | None:
    """Give the controller that takes over an array from another one; None: it stays on its own."""
    return array.controller if build.takes_over(array) else None


def replaced_controllers(build: Build) -> list[Controller]:
    """List what another controller takes the place of, as far as it is known."""
    before = {a.controller_before for a in build.arrays if comes_instead(build, a)}
    return sorted(filter(None, before), key=lambda old: old.sku)


def old_is_unknown(build: Build) -> bool:
    """Tell whether an array is taken over of which nobody said what ran it."""
    return any(comes_instead(build, a) and a.controller_before is None for a in build.arrays)


def old_controllers(build: Build) -> Iterator[Step]:
    """Take out what another controller takes the place of."""
    if old_is_unknown(build):
        words = "Its leads labelled; kept whole, it may hold writes that are nowhere else. One on "
        title = "Take out the controller that ran the array"
        yield Step(title, f"{words}the board: its leads only.", EDGES | STATIC | LITHIUM)
    for old in replaced_controllers(build):
        if old.takes == "board":
            words = "Label each first: it shows which connector it was on."
            yield Step(f"Unplug the drive leads from {old.sku}", words, EDGES | STATIC)
            continue
        words, hurts = "Label its leads; a slot that stays empty gets a blank.", EDGES | STATIC
        if old.cache_mib:
            words += " Keep it whole, with its cache: it may hold writes that are nowhere else."
            hurts = hurts | LITHIUM
        yield Step(f"Take out the old {old.sku}", words, hurts)


def put_back(build: Build, places: Placement, index: int) -> Iterator[Step]:
    """Put the customer's drives back where they were, and new ones beside them."""
    array, whose = build.arrays[index], of_array(build, index)
    held = places.bays_of(index)
    theirs = [b.bay for b in places.bays if b.array == index and b.owned]
    if array.action == "replace":
        theirs = list(held)
    if theirs:
        words = f"Each into the bay on its label: {bays(theirs)}. None changes its place."
        yield Step(f"Push the customer's drives back{whose}", words, HELD | _ONLY)
    if more := [bay for bay in held if bay not in theirs]:
        words = f"{array.drive.sku} into {bays(more)}, until each locks."
        yield Step(f"Push in the new drives{whose}", words, HELD)


def find_again(build: Build, places: Placement, index: int) -> Iterator[Step]:
    """See that the array is there as it was, before anything is done with it."""
    array, name, whose = build.arrays[index], array_name(build, index), of_array(build, index)
    layout, now = array.layout, comes_instead(build, array)
    if not layout.rule.is_array:
        words = "Each by itself, healthy, with what was on it: nothing is made or set."
        yield Step(f"Find the drives{whose} again", words, _STOP)
        return
    if now is not None:
        words = "Only by the way that keeps what is on the drives: a second person reads it before "
        yield Step(
            f"Have {now.sku} read in {name or 'the array'}", f"{words}it is confirmed.", _STOP
        )
    words = (
        f"{layout.rule.label}, {_members_then(array)} in {bays(_bays_then(array, places, index))}"
    )
    words += ", healthy, as it was noted before. Nothing is set."
    yield Step(f"Find {name or 'the array'} again", words, _STOP)
    words = "Read only: open the files that the customer named, or have their system check its own "
    yield Step(f"Check the data{whose}", f"{words}file system without repairing.", _ONLY)


def _members_then(array: Array) -> str:
    then = array.members_before if array.action == "grow" else array.layout.members
    return count(then, "member")


def _bays_then(array: Array, places: Placement, index: int) -> tuple[int, ...]:
    if array.action != "grow":
        return places.bays_of(index, "member")
    return tuple(b.bay for b in places.bays if b.array == index and b.owned and b.use == "member")


def change(build: Build, places: Placement, index: int, took: str) -> Iterator[Step]:
    """Grow an array or change its drives, once it was found; `took` says how long that takes."""
    array, name, whose = build.arrays[index], array_name(build, index), of_array(build, index)
    if array.action in ("grow", "replace"):
        words = "Made after the last change, and restored once on another machine."
        yield Step(f"Confirm the backup{whose} once more", words, _ONLY)
    if array.action == "grow":
        yield from _grow(array, name or "the array", places, index, took)
    elif array.action == "replace":
        yield from _replace(array, whose, places, index, took)
    if array.action == "keep" or not array.layout.rule.is_array:
        return
    spares = [b.bay for b in places.bays if b.array == index and b.use == "spare" and not b.owned]
    if spares:
        noun = plural(len(spares), "spare")
        only: Hazards = {"data": f"Only {bays(spares)}: compare serial numbers first."}
        words = f"{sentence(bays(spares))}, for this array."
        yield Step(f"Assign the hot {noun}{whose}", words, only)


def _grow(array: Array, name: str, places: Placement, index: int, took: str) -> Iterator[Step]:
    then = _bays_then(array, places, index)
    added = [bay for bay in places.bays_of(index, "member") if bay not in then]
    members = array.layout.members
    only: Hazards = {"data": f"Only {bays(added)}: compare bays and serial numbers first."}
    words = f"By {bays(added)}, and no other, from {array.members_before} to {members} members. "
    yield Step(f"Grow {name}", f"{words}A second person reads the bays back.", only)
    still: Hazards = {"data": "Leave the power on: cut short, all of it can be lost."}
    words = f"{sentence(took)}. Then it shows {count(members, 'member')}, healthy, and "
    yield Step("Wait until it has grown", f"{words}{size(array.usable_bytes)}.", still)


def _replace(array: Array, whose: str, places: Placement, index: int, took: str) -> Iterator[Step]:
    out = [b.bay for b in places.bays if b.array == index and b.use == "member" and not b.owned]
    one: Hazards = {"data": "One at a time. Another drive with errors, or doubt: stop and ask."}
    words = f"{sentence(bays(out))}, in this order: old one out, {array.drive.sku} in, wait until "
    words += f"its rebuild has ended without an error, then the next. {sentence(took)}."
    yield Step(f"Replace one drive after the other{whose}", words, HELD | one)
    words = f"To {size(array.usable_bytes)}, where the controller does not do it by itself; volume "
    yield Step(f"Extend the array{whose}", f"{words}and file system are the customer's to extend.")
