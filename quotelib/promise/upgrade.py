"""What does an upgrade do to the customer's parts and data: sentences for owned parts."""

from collections.abc import Iterator, Mapping, Sequence

from quotelib.build.build import Build, Placed
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Controller
from quotelib.predict.estimate import Estimate
from quotelib.text import both, count, either, size

_KEEP_OLD = "Keep the old drives untouched until the data is copied over and checked."


def upgrade_words(
    build: Build, builds: int, estimates: Sequence[Sequence[Estimate]] = ()
) -> tuple[str, ...]:
    """Say what is the customer's and what the upgrade does to data that exists already.

    `estimates` of each array say how long a change takes.

    Common practice, no source: that a new array erases its members, that array controllers keep
    their own record of an array on the drives and need not read another's, and that a change of
    level is safest as a move of the data off and back.

    The sentences stand in the order in which they matter; none where the customer owns no part.
    """
    listed = list(_owned(build, " in each build" if builds > 1 else ""))
    if not listed:
        return ()
    known = [{found.key: found for found in of} for of in estimates] or [{} for _ in build.arrays]
    data = [
        said
        for array, took in zip(build.arrays, known, strict=True)
        for said in (_array_data(array) if array.action == "new" else _staying(array, took))
    ]
    for piece, there in build.controllers():
        new = any(array.action == "new" for array in build.arrays_on(there))
        data.append(_controller_data(there, piece.owned) if new else _goes_on(build, there, piece))
    whose = (
        f"Yours already: {both(listed)}. That is on the quote without a price, freight or lead "
        "time; we quote only what we ship and do. We checked that they fit as we know "
        "such parts; their condition and age we do not know.",
        "Before anything is opened or moved, back up everything that the present system holds and "
        "test that the backup can be restored, on another machine. An array is no backup.",
    )
    if build.chassis_owned:
        data.append(
            "We take it that nothing else is in its bays, slots and sockets than what is listed "
            "here: tell us what else there is, and we look again whether all finds room and power."
        )
    if build.chassis_owned and not build.arrays:
        data.append(
            "This order is not about its drives: whatever is in its bays keeps its place and its "
            "data. We start it without them where that can be done, and write nothing to them."
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
            yield f"{count(array.have_drives, 'drive')} {array.their_drive.sku}{each}"


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


def _staying(array: Array, took: Mapping[str, Estimate]) -> Iterator[str]:
    """Say what becomes of an array that is there, and of the data on it."""
    layout, before = array.layout, array.members_before
    named = f"Your array {array.name}".rstrip() if layout.rule.is_array else "Your set of drives"
    if array.action == "keep":
        yield (
            f"{named} ({layout.words}, {size(array.usable_bytes)}) stays as it is, with its data: "
            "its drives keep their bays and their order, and we write nothing to them."
        )
    elif array.action == "grow":
        yield (
            f"{named} grows from {before} to {layout.members} members while it works: "
            f"{_about(took.get('growth_hours'))}. It is slow meanwhile, and a loss of power, of "
            "its cache or of a drive in that time can cost all of it: keep the backup until it has "
            "ended, and start it when little is asked of it."
        )
        yield (
            f"It holds {size(array.usable_bytes)} once it has grown, and your system shows them "
            "when its own volume and file system have been extended, which is done there."
        )
    else:
        drives = layout.members - before
        stay = f", {before} stay" if before else ""
        yield (
            f"{count(drives, 'drive')} of {named[0].lower()}{named[1:]} "
            f"{'are' if drives > 1 else 'is'} replaced{' one after the other' * (drives > 1)}"
            f"{stay}. Each is rebuilt from the rest before the next comes out: "
            f"{_each_and_all(took)}. Until each rebuild has ended the "
            "array survives one failure less: keep the backup until the last."
        )
        yield (
            f"The capacity of the new drives, {size(array.usable_bytes)} in all, can be used only "
            "after the last rebuild, and when array, volume and file system have been extended."
        )


def _each_and_all(took: Mapping[str, Estimate]) -> str:
    """Say how long a rebuild takes, and all of them."""
    each, all_of_them = took.get("replacement_hours"), took.get("replacement_days")
    if each is None or each.value is None or all_of_them is None or all_of_them.value is None:
        return "how long that takes is not known"
    return f"{_about(each)} for each, {_about(all_of_them)} in all"


def _about(found: Estimate | None) -> str:
    """Say how long something takes."""
    if found is None or found.value is None:
        return "how long that takes is not known"
    return f"about {found.shown}" + (f" ({found.shown_range})" if found.shown_range else "")


def _goes_on(build: Build, controller: Controller, piece: Placed) -> str:
    """Say what becomes of arrays that stay, as far as their controller goes."""
    arrays = list(filter(build.takes_over, build.arrays_on(controller)))
    if not arrays:
        return (
            f"{controller.sku} goes on as it is. Note its settings, or have them exported, before "
            "anything is opened."
        )
    before = dict.fromkeys(a.controller_before.sku for a in arrays if a.controller_before)
    held = ""
    if any(a.controller_before is None or a.controller_before.cache_mib for a in arrays):
        held = (
            " Before it is taken out, start the old controller once more with its drives, and shut "
            "the server down in order, so that writes it holds in its cache reach the drives. If "
            "it no longer starts, tell us so before anything is moved: the last writes may be lost."
        )
    instead = f" in place of {both(before)}" if before else ""
    return (
        f"{controller.sku} comes{instead}, and has to read what is on the drives already. If it "
        "does not list the array whole, nothing is changed on it: we stop and ask you, the drives "
        f"go back as they came, and the way on is your backup.{held}"
    )


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
    new = [array for array in build.arrays if array.action == "new"]
    # What stays in its place has its small parts already.
    if build.chassis_owned and new:
        wanted["rail"] = "rails"
    if new and (build.chassis_owned or any(array.have_drives for array in new)):
        wanted["carrier"] = "carriers"
    theirs = [c for piece, c in build.controllers() if piece.owned and c.takes != "board"]
    for controller in theirs:
        on_it = build.arrays_on(controller)
        if not any(array in new or build.takes_over(array) for array in on_it):
            continue
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
