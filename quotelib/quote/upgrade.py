"""What does an upgrade do to the customer's parts and data: sentences for owned parts."""

from collections.abc import Iterator

from quotelib.build.build import Build, owned_roles
from quotelib.errors import any_of
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.words import count
from quotelib.units import TB, TIB


def upgrade_words(enquiry: Enquiry, build: Build) -> tuple[str, ...]:
    """Say what is the customer's and what the upgrade does to data that exists already.

    Common practice, no source: that a new array erases its members, that array controllers keep
    their own record of an array on the drives and need not read another's, and that a change of
    level is safest as a move of the data off and back.

    Parameters
    ----------
    enquiry : Enquiry
        Says how many builds there are.
    build : Build
        Knows which of its parts are owned.

    Returns
    -------
    tuple of str
        In the order in which they matter; empty where the customer owns none of the parts.
    """
    if not build.parts.owned:
        return ()
    return (*_whose(enquiry, build), *_data(build), *_bring(build))


def _whose(enquiry: Enquiry, build: Build) -> Iterator[str]:
    owned = owned_roles(build.controller, build.parts.owned)
    each = " in each build" if enquiry.builds > 1 else ""
    listed = []
    if "chassis" in owned:
        listed.append(f"the chassis {build.chassis.sku}")
    if "controller" in owned:
        listed.append(f"the controller {build.controller.sku}")
    if "drive" in owned:
        listed.append(f"{count(build.layout.drives, 'drive')} {build.drive.sku}{each}")
    yield (
        f"Yours already: {_and(listed)}. They are on the quote without a price, freight or lead "
        "time; we quote only what we ship and do. We checked that they fit as this price list "
        "describes them; their condition and age we do not know."
    )
    yield (
        "Before anything is opened or moved, back up everything that the present system holds and "
        "test that the backup can be restored, on another machine. An array is no backup."
    )


def _data(build: Build) -> Iterator[str]:
    layout, owned = build.layout, owned_roles(build.controller, build.parts.owned)
    is_array = layout.rule.is_array
    drives = count(layout.drives, "drive")
    room = f"{build.usable_bytes / TB:,.2f} TB ({build.usable_bytes / TIB:,.2f} TiB)"
    if "drive" in owned and is_array:
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
    elif "drive" in owned:
        yield (
            f"Your {drives} are handed to the system one by one. If they were members of an array, "
            "none of them can be read by itself: move the data off before, and back after."
        )
    elif is_array:
        yield (
            f"The new array ({layout.words}, {room}) is made on drives that we supply and starts "
            "empty; creating it erases its members. Keep the old drives untouched until the data "
            "is copied over and checked."
        )
    else:
        yield (
            f"The drives that we supply ({room}) start empty. Keep the old drives untouched until "
            "the data is copied over and checked."
        )
    if "controller" not in owned:
        yield (
            f"The controller changes to {build.controller.sku} unless you have the same model: "
            "another controller may not read the old array at all, and may offer to erase it. "
            "Plan to restore from the backup, not to move the drives across."
        )
    else:
        yield (
            f"Your {build.controller.sku} may still hold the settings of its old array, and "
            "unwritten data in its cache. Shut the old system down in order, note the settings, "
            "and clear them only when the backup has been tested."
            if build.controller.cache_mib
            else f"Your {build.controller.sku} may still hold the settings of its old array. Note "
            "them, and clear them only when the backup has been tested."
        )


def _bring(build: Build) -> Iterator[str]:
    """Say which small parts are not on the quote, since accessories come with our parts only."""
    controller, owned = build.controller, owned_roles(build.controller, build.parts.owned)
    on_quote = {item.kind for item in build.parts.accessories}
    wanted: list[tuple[str, str]] = []
    if "chassis" in owned:
        wanted += [("rail", "rails"), ("carrier", "carriers")]
    if "drive" in owned and ("carrier", "carriers") not in wanted:
        wanted.append(("carrier", "carriers"))
    theirs = "controller" in owned and controller.mounting != "board"
    if theirs:
        wanted.append(("cable", "cables"))
        if controller.mounting == "card":
            wanted.append(("bracket", "brackets"))
        if controller.cache_mib:
            wanted.append(("cache_protection", "cache protection"))
    missing = [plural for kind, plural in wanted if kind not in on_quote]
    if missing:
        yield (
            f"The quote has no {any_of(missing)}, since small parts come with what we ship. Have "
            "those of your own parts ready, or ask us for them."
        )
    if theirs and controller.cache_mib:
        yield (
            f"Have the cache protection of {controller.sku} tested: a worn battery or capacitor no "
            "longer keeps confirmed writes when power fails. Without it, run the cache "
            "write-through."
        )


def _and(items: list[str]) -> str:
    return f"{', '.join(items[:-1])} and {items[-1]}" if len(items) > 1 else items[0]
