"""What does an upgrade do to the customer's parts and data: sentences for owned parts."""

from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Controller
from quotelib.text import both, count, either, size

_KEEP_OLD = "Keep the old drives untouched until the data is copied over and checked."


def upgrade_words(build: Build, builds: int) -> tuple[str, ...]:
    """Say what is the customer's and what the upgrade does to data that exists already.

    Common practice, no source: that a new array erases its members, that array controllers keep
    their own record of an array on the drives and need not read another's, and that a change of
    level is safest as a move of the data off and back.

    The sentences stand in the order in which they matter; none where the customer owns no part.
    """
    listed = list(_owned(build, " in each build" if builds > 1 else ""))
    if not listed:
        return ()
    data = [said for array in build.arrays for said in _array_data(array)]
    data += [_controller_data(there, piece.owned) for piece, there in build.controllers()]
    whose = (
        f"Yours already: {both(listed)}. They are on the quote without a price, freight or lead "
        "time; we quote only what we ship and do. We checked that they fit as this price list "
        "describes them; their condition and age we do not know.",
        "Before anything is opened or moved, back up everything that the present system holds and "
        "test that the backup can be restored, on another machine. An array is no backup.",
    )
    return (*whose, *data, *_bring(build))


def _owned(build: Build, each: str) -> Iterator[str]:
    if build.chassis_owned:
        yield f"the chassis {build.chassis.sku}"
    for piece in build.parts:
        if piece.owned:
            yield f"the {piece.part.role} {piece.part.sku}"
    for array in build.arrays:
        if array.have_drives:
            yield f"{count(array.have_drives, 'drive')} {array.drive.sku}{each}"


def _array_data(array: Array) -> Iterator[str]:
    layout, room = array.layout, size(array.usable_bytes)
    is_array, drives = layout.rule.is_array, count(array.drives, "drive")
    if array.have_drives and is_array:
        yield (
            f"Creating the new array ({layout.words}) erases its member drives, and assigning a "
            f"hot spare erases the spare: whatever is on your {drives} now is gone afterwards."
        )
        yield (
            "Where the drives stay and only the level changes, the data must be moved off to other "
            f"storage first and back when the new array is ready, which holds {room}. That other "
            "storage is not part of this quote. Do not count on a controller to change the level "
            "with the data in place."
        )
    elif array.have_drives:
        yield (
            f"Your {drives} are handed to the system one by one. If they were members of an array, "
            "none of them can be read by itself: move the data off before, and back after."
        )
    elif is_array:
        new = f"The new array ({layout.words}, {room}) is made on drives that we supply"
        yield f"{new} and starts empty; creating it erases its members. {_KEEP_OLD}"
    else:
        yield f"The drives that we supply ({room}) start empty. {_KEEP_OLD}"


def _controller_data(controller: Controller, owned: bool) -> str:
    if not owned:
        return (
            f"The controller changes to {controller.sku} unless you have the same model: "
            "another controller may not read the old array at all, and may offer to erase it. "
            "Plan to restore from the backup, not to move the drives across."
        )
    holds = f"Your {controller.sku} may still hold the settings of its old array"
    if controller.cache_mib:
        return (
            f"{holds}, and unwritten data in its cache. Shut the old system down in order, note "
            "the settings, and clear them only when the backup has been tested."
        )
    return f"{holds}. Note them, and clear them only when the backup has been tested."


def _bring(build: Build) -> Iterator[str]:
    """Say which small parts are not on the quote, since accessories come with our parts only."""
    wanted: dict[str, str] = {}
    if build.chassis_owned:
        wanted["rail"] = "rails"
    if build.chassis_owned or any(array.have_drives for array in build.arrays):
        wanted["carrier"] = "carriers"
    theirs = [c for piece, c in build.controllers() if piece.owned and c.takes != "board"]
    for controller in theirs:
        wanted["cable"] = "cables"
        if controller.takes == "slot":
            wanted["bracket"] = "brackets"
        if controller.cache_mib:
            wanted["cache_protection"] = "cache protection"
    on_quote = {item.kind for item in build.accessories}
    missing = [plural for kind, plural in wanted.items() if kind not in on_quote]
    if missing:
        yield (
            f"The quote has no {either(missing)}, since small parts come with what we ship. Have "
            "those of your own parts ready, or ask us for them."
        )
    for controller in theirs:
        if controller.cache_mib:
            yield (
                f"Have the cache protection of {controller.sku} tested: a worn battery or "
                "capacitor no longer keeps confirmed writes when power fails. Without it, run the "
                "cache write-through."
            )
