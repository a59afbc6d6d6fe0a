"""May that be done with an array that is there already: kept, grown, or its drives replaced.

Whose array a controller reads, and which levels it grows, its maker says; both stand in the price
list. The rest is common practice, no source.
"""

from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.layout import Array
from quotelib.build.members import mixed_sectors, unfit
from quotelib.catalogue.parts import Controller
from quotelib.estimate.changing import COPY_MB_S, copy_hours
from quotelib.text import both, count, figure, size


def _families(controller: Controller) -> str:
    named = both(controller.imports)
    return f"reads the arrays of {named} only" if named else "is not known to read any other's"


def no_import(build: Build) -> Iterator[Finding]:
    """Check that a controller reads the array that another one made."""
    for array in filter(build.takes_over, build.arrays):
        now, before = array.controller, array.controller_before
        if before is None:
            continue
        if before.family is None or before.family not in now.imports:
            family = f"of the family {before.family}" if before.family else "of a family not known"
            what = f"the array was made by {before.sku} ({family}); {now.sku} {_families(now)}"
            change = "choose a controller that reads it, or restore to a new array from a backup"
            yield finding("no_import", what, change)


def controller_unknown(build: Build) -> Iterator[Finding]:
    """Advise against a controller for an array of which nobody has said what made it."""
    for array in filter(build.takes_over, build.arrays):
        now = array.controller
        if array.controller_before is None:
            what = f"which controller made the array that is to stay? {now.sku} {_families(now)}"
            change = (
                "say which (from_controller); if that cannot be found out, accept it only with a "
                "tested backup: an array that is not recognised is never made anew over its drives"
            )
            yield finding("controller_unknown", what, change)


def cannot_grow(build: Build) -> Iterator[Finding]:
    """Check that an array can get members while it runs."""
    for array in (array for array in build.arrays if array.action == "grow"):
        what, change = _grows_not(array)
        if what:
            yield finding("cannot_grow", what, change)


def _grows_not(array: Array) -> tuple[str, str]:
    """Say why an array does not grow as asked and what to change; blank where it does."""
    layout, level, before = array.layout, array.layout.rule, array.members_before
    if not level.is_array:
        return "drives passed through are no array that grows", "ask for them as new ones"
    if before == layout.members:
        return f"the array has its {before} members already", "ask for more than there are"
    if array.spans_before is None:
        what = f"{level.label} takes {level.takes_words}, and {before} members now do not grow to "
        return f"{what}{layout.members} in equal steps", "say how many members there are"
    if layout.level not in array.controller.grows:
        named = both(f"RAID {name}" for name in array.controller.grows)
        can = f"grows {named} only" if named else "is not known to grow any array"
        what = f"{array.controller.sku} {can} while it runs, not {level.label}"
        return what, f"{_other_way(array)}; or choose a controller that grows it"
    return "", ""


def _other_way(array: Array) -> str:
    """Say how an array gets larger that does not grow, and how long its data is under way."""
    layout, before = array.layout, array.members_before
    held = layout.rule.data_members(before, array.spans_before or 1) * array.member_bytes
    least, *_, most = (float(hours) for hours in copy_hours(held, COPY_MB_S))
    return (
        f"back up the {size(held)} it holds at most ({figure(least, 2)} to {figure(most, 2)} h "
        "over a network of 10 to 1 Gbit/s), make a new array, which empties the drives, and "
        "restore (as long again)"
    )


def cannot_replace(build: Build) -> Iterator[Finding]:
    """Check that members can be replaced one after the other, each rebuilt from the rest."""
    for array in (array for array in build.arrays if array.action == "replace"):
        level, what = array.layout.rule, ""
        change = "back up, make a new array and restore, or keep the drives"
        if not level.survives:
            name = level.label if level.is_array else "a set of drives passed through"
            what = f"{name} survives no missing drive, so that none can be replaced while it runs"
        elif array.members_before == array.layout.members:
            what = f"all {count(array.layout.members, 'drive')} stay: none is left to replace"
            change = "say how many stay (have_drives), or keep the array"
        if what:
            yield finding("cannot_replace", what, change)


def drive_mismatch(build: Build) -> Iterator[Finding]:
    """Check that drives bought for an array that is there go with the drives it has."""
    for array in build.arrays:
        new, old = array.drive, array.drive_before
        if array.action == "new" or old is None:
            continue
        if reasons := list(unfit(new, old)):
            what = f"{new.sku} does not go into an array of {old.sku}: {both(reasons)}"
            change = "choose a drive at least as large, of the same media, interface and block size"
            yield finding("drive_mismatch", what, change)


def sectors_joined(build: Build) -> Iterator[Finding]:
    """Note drives bought for an array that is there on other physical blocks than it has."""
    for array in build.arrays:
        if array.action != "new" and array.drive_before is not None:
            yield from mixed_sectors(array.drive, array.drive_before)
