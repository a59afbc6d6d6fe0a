"""How is the array set, and how do we know that it worked: settings and acceptance.

Settings are named in the trade's words, for any maker's utility. Common practice, no source:
write-back only with protection, drives' own write caches off, full initialisation, burn-in of a
day, a read-back larger than the cache.
"""

import re
from collections.abc import Iterator
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.build.placement import Placement
from quotelib.catalogue.price_list import PriceList
from quotelib.quote.bench.fitting import bays_words
from quotelib.quote.bench.record import Check
from quotelib.quote.facts import Fact
from quotelib.quote.words import count
from quotelib.units import GIB, TB, TIB, plain

BURN_IN_HOURS = 24
READ_BACK_GIB = 16
_BURN_IN = re.compile(r"burn[- ]?in\b\D{0,40}?(\d{1,4})\s*h(?:ours?)?\b", re.IGNORECASE)

NOT_YET = (
    Fact(label="Array", value="none before the customer has said whether the data must stay"),
)

ARRAY_WORDS = (
    "In the trade's words; use whatever the maker's set-up utility calls them, and write its own "
    "name beside a setting where the two differ."
)
PASS_WORDS = (
    "Pass-through: no array is made here, each drive is handed to the customer's system by itself. "
    "Use whatever the maker's set-up utility calls it."
)


def burn_in_hours(price_list: PriceList) -> int:
    """Read the hours off the burn-in service, or take a day.

    The price list has no column for it, so a description that names hours of burn-in is what we
    sold; without one it is `BURN_IN_HOURS`.
    """
    for service in price_list.services.values():
        if found := _BURN_IN.search(service.description):
            return int(found[1])
    return BURN_IN_HOURS


def size_words(size_bytes: int) -> str:
    """Write a size in both units, to two decimals."""
    return f"{size_bytes / TB:,.2f} TB = {size_bytes / TIB:,.2f} TiB"


def settings(build: Build, places: Placement) -> Iterator[Fact]:
    """List the settings."""
    layout = build.layout
    if not layout.rule.is_array:
        yield Fact(label="Array", value="none")
        bays = bays_words(places.bays_of("passed_through"))
        yield Fact(label="Passed through", value=f"{bays}, each by itself")
        yield Fact(label="Write cache", value=_cache(build))
        yield Fact(label="Hot spare", value="none")
        yield Fact(label="Initialisation", value="none: the customer's system prepares the drives")
        return
    yield Fact(label="Level", value=layout.rule.label)
    members = places.bays_of("member")
    yield Fact(label="Members", value=f"{count(len(members), 'drive')}: {bays_words(members)}")
    yield Fact(label="Spans", value=_spans(build, places))
    yield Fact(label="Strip", value=_strip(build))
    yield Fact(label="Size", value="all of it, one array")
    yield Fact(label="Write cache", value=_cache(build))
    yield Fact(
        label="Drives' own write cache",
        value="off, unless the maker says that it survives a loss of power",
    )
    spares = places.bays_of("spare")
    yield Fact(
        label="Hot spare",
        value=f"{bays_words(spares)}, for this array" if spares else "none",
    )
    yield Fact(label="Initialisation", value="full, to its end; not the quick kind")


def _spans(build: Build, places: Placement) -> str:
    layout = build.layout
    if layout.rule.spanned:
        each = "; ".join(
            f"span {span}: {bays_words(places.bays_of('member', span))}"
            for span in range(1, layout.spans + 1)
        )
        return f"{layout.spans} of {layout.members // layout.spans}: {each}"
    if layout.level == "10":
        pairs = places.bays_of("member")
        named = ", ".join(f"{a} + {b}" for a, b in zip(pairs[::2], pairs[1::2], strict=True))
        return f"one; mirrored pairs, where the utility asks: bays {named}"
    return "one"


def _strip(build: Build) -> str:
    layout = build.layout
    strip = f"{layout.strip_kib} KiB on each member"
    if layout.level == "1":
        return f"{strip}, where the utility asks"
    if layout.data_members % layout.spans:
        return strip
    stripe = layout.strip_kib * layout.data_members // layout.spans
    each = " of a span" if layout.rule.spanned else ""
    return f"{strip} (a whole stripe{each} holds {stripe} KiB of data)"


def _cache(build: Build) -> str:
    controller = build.controller
    if not controller.cache_mib:
        return "the controller has none: write-through"
    size = f"{controller.cache_mib} MiB"
    if not build.parts.cache_is_protected:
        return f"write-through: the cache of {size} is not protected"
    theirs = "the customer's own " if "controller" in build.parts.owned else "its "
    return (
        f"write-back ({size}) only while {theirs}protection reports ready; write-through otherwise"
    )


def checks(
    build: Build, places: Placement, watts: Decimal, hours: int, sold: bool
) -> Iterator[Check]:
    """List what must be seen before the build is signed off.

    Parameters
    ----------
    build : Build
    places : Placement
    watts : Decimal
        With every drive active, as rated.
    hours : int
        Of burn-in.
    sold : bool
        Whether the price list has a burn-in service that names them.
    """
    layout = build.layout
    rule = layout.rule
    yield Check(
        what="Drives seen",
        must=f"{layout.drives} × {build.drive.sku}, no fault in the log",
        blank="firmware",
    )
    if rule.is_array:
        members, spares = places.bays_of("member"), places.bays_of("spare")
        yield Check(what="Arrays", must="one, and no other", blank="number")
        yield Check(what="Level", must=rule.label, blank="level")
        spans = f" in {layout.spans} spans" if rule.spanned else ""
        yield Check(
            what="Members",
            must=f"{len(members)}{spans}, {bays_words(members)}",
            blank="bays",
        )
        yield Check(
            what="State",
            must="healthy: initialised, not degraded, not rebuilding",
            blank="state",
        )
        yield Check(
            what="Size, as the operating system prints it",
            must=size_words(build.usable_bytes),
            blank="size and unit",
        )
        yield Check(
            what="Hot spare",
            must=f"assigned to the array: {bays_words(spares)}" if spares else "none",
            blank="bays",
        )
    else:
        yield Check(what="Arrays", must="none", blank="number")
        bays = places.bays_of("passed_through")
        yield Check(
            what="Drives the operating system lists",
            must=f"{layout.members}, {bays_words(bays)}, each healthy",
            blank="number",
        )
        yield Check(
            what="Size of each, as the operating system prints it",
            must=size_words(build.drive_bytes),
            blank="size and unit",
        )
        yield Check(what="Hot spare", must="none", blank="number")
    yield Check(what="Write cache", must=_cache(build), blank="as set; protection's state")
    link = places.controller
    if link.gen is not None and link.lanes is not None and link.mounting != "board":
        yield Check(
            what="Host link",
            must=f"PCI Express generation {link.gen}, {count(link.lanes, 'lane')}",
            blank="generation, lanes",
        )
    amount = _read_back_gib(build)
    yield Check(
        what="Read-back",
        must=f"{amount} GiB written, restarted, read back: SHA-256 equal, no error logged",
        blank="equal? MB/s",
    )
    basis = "" if sold else " (common practice)"
    yield Check(
        what="Burn-in",
        must=f"{hours} hours under load{basis}; no drive, link or memory error; drives cool enough",
        blank="from, to, hottest °C",
    )
    yield Check(
        what="Power under load",
        must=f"about {plain(watts)} W as rated; well above it, find out why",
        blank="W",
    )


def _read_back_gib(build: Build) -> int:
    # Past the cache, or it would be the cache that is read back; yet not past the array.
    cache = -(-2 * build.controller.cache_mib // 1024)
    return max(1, min(max(READ_BACK_GIB, cache), build.usable_bytes // 2 // GIB))


def burn_in_is_sold(price_list: PriceList) -> bool:
    """Tell whether a service names hours of burn-in."""
    return any(_BURN_IN.search(s.description) for s in price_list.services.values())
