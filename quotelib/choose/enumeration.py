"""Which builds are there: every one that agrees with the pins, with what stops it.

The one enumeration: choice, refusals, options of a form, comparisons and the review of a price
list all take their builds from `verdicts`.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product
from typing import NamedTuple

from quotelib.build import fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.findings import Finding
from quotelib.build.layout import ALL_OF_THEM, Array, Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Action
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS, NO_ARRAY
from quotelib.pricing.lines import in_vain

_Names = tuple[str, ...]


class Verdict(NamedTuple):
    """A build and everything that keeps it from being built."""

    build: Build
    stops: tuple[Finding, ...]


@dataclass(frozen=True, eq=False)
class Combination:
    """Parts that agree with the pins, in a layout that stands in, and what keeps them apart."""

    build: Build
    stops: tuple[Finding, ...]

    @cached_property
    def room(self) -> int:
        """Give the most drives that the parts have bays, ports and power for."""
        (array,) = self.build.arrays
        drives = min(self.build.chassis.bays, array.controller.max_drives)
        while drives and fit.asked(
            fit.ROOM_RULES, self.build.with_layouts(Layout(NO_ARRAY, drives))
        ):
            drives -= 1
        return drives

    def attempts(self, enquiry: Enquiry) -> Iterator[Build]:
        """List builds worth a message, also such as cannot be made: the smallest at each level."""
        spares = enquiry.spares or 0
        (array,) = self.build.arrays
        offered = array.controller.levels or (NO_ARRAY,)
        for name in [enquiry.level] if enquiry.level else offered:
            level = LEVELS[name]
            spans = enquiry.spans or (2 if level.spanned else 1)
            members = enquiry.members or level.min_per_span * (spans if level.spanned else 1)
            if enquiry.spans is None and (possible := level.spans_for(members)):
                spans = possible[0]
            yield self.build.with_layouts(Layout(name, members, spans, spares))


@lru_cache(maxsize=2048)
def _sound(
    parts: Combination, level: str | None, members: int | None, spans: int | None, spares: int
) -> tuple[Build, ...]:
    """List the builds of some parts that nothing stops; most enquiries leave the same open.

    The rules that count drives stop every larger number as well, so that they are asked for
    the largest number only, and the level once for each controller.
    """
    counts = range(1, parts.room - spares + 1)
    return tuple(
        parts.build.with_layouts(layout)
        for name in ([level] if level else LEVELS)
        if not any(fit.level_not_offered(parts.build.with_layouts(Layout(name, 1))))
        for number in counts
        if members in (None, number)
        for layout in _layouts(name, number, spares)
        if spans in (None, layout.spans) and not _stays_behind(parts.build.with_layouts(layout))
    )


def _stays_behind(build: Build) -> bool:
    """Tell whether an array that is there cannot become what is asked."""
    if build.actions == {"new"}:
        return False
    return any(fit.asked(fit.STAYING_RULES, build))


@lru_cache(maxsize=4096)
def _layouts(level: str, members: int, spares: int) -> tuple[Layout, ...]:
    return tuple(Layout(level, members, s, spares) for s in LEVELS[level].spans_for(members))


class _There(NamedTuple):
    """What is there already, and what is done with it, as a row says."""

    owned: _Names
    drives: int
    action: Action
    controller_before: str | None
    drive_before: str | None
    controllers: _Names


def _there(row: Enquiry) -> _There:
    before = row.value("from_controller"), row.value("from_drive")
    return _There(row.owned, row.their_drives, row.action, *before, row.their_controllers)


def array_of(
    price_list: PriceList, there: Enquiry | _There, controller: str, drive: str, layout: Layout
) -> Array:
    """Make the array that a row asks for of given parts, without its name."""
    if isinstance(there, Enquiry):
        there = _there(there)
    return Array(
        price_list.drives[drive],
        price_list.controllers[controller],
        layout,
        there.drives,
        there.action,
        controller_before=price_list.controllers.get(there.controller_before or ""),
        drive_before=price_list.drives.get(there.drive_before or ""),
    )


@lru_cache(maxsize=16384)
def _combination(
    price_list: PriceList, skus: _Names, there: _There, options: _Names, redundant: bool
) -> Combination:
    chassis, controller, drive = skus
    box, part, owned = price_list.chassis[chassis], price_list.controllers[controller], there.owned
    # So many that a drive is bought, where any will be: with it come its accessories.
    drives = 1 if there.drives == ALL_OF_THEM else there.drives + 1
    array = array_of(price_list, there, controller, drive, Layout(NO_ARRAY, drives))
    theirs = "controller" in owned or controller in there.controllers
    parts = (Placed(part, owned=theirs), *_placed(price_list, options))
    build = assemble(price_list, box, "chassis" in owned, parts, (array,), redundant)
    return Combination(build, tuple(fit.asked(fit.PART_RULES, build)))


def alone(price_list: PriceList, enquiry: Enquiry, skus: _Names) -> Combination:
    """Give what an array has by itself: chassis, controller, drive, and the options named."""
    return _combination(price_list, skus, _there(enquiry), *_options(enquiry))


def options_named(price_list: PriceList, enquiry: Enquiry) -> tuple[Placed, ...]:
    """Give the options that an enquiry names, equal ones together."""
    return _placed(price_list, enquiry.value("options") or ())


def _placed(price_list: PriceList, skus: _Names) -> tuple[Placed, ...]:
    return tuple(Placed(price_list.options[sku], number) for sku, number in Counter(skus).items())


def _options(enquiry: Enquiry) -> tuple[_Names, bool]:
    return enquiry.value("options") or (), bool(enquiry.value("redundant_supply"))


def combinations(price_list: PriceList, enquiry: Enquiry) -> Iterator[Combination]:
    """List every combination of parts that agrees with the pins, fitting or not."""
    files = (
        (enquiry.chassis, price_list.chassis),
        (enquiry.controller, price_list.controllers),
        (enquiry.drive, price_list.drives),
    )
    choices = (
        [named] if named else [sku for sku, part in parts.items() if enquiry.sold(part)]
        for named, parts in files
    )
    for skus in product(*choices):
        yield _combination(price_list, skus, _there(enquiry), *_options(enquiry))


def verdicts(
    price_list: PriceList, enquiry: Enquiry, *, sound_only: bool = False
) -> Iterator[Verdict]:
    """Judge every build that agrees with the pins.

    Yields
    ------
    Verdict
        Every build that nothing stops; where parts allow none and not only what is sound is
        wanted, the smallest at each level with everything that stops it.
    """
    pins = (enquiry.level, enquiry.members, enquiry.spans, enquiry.spares or 0)
    chosen = [price_list.services[sku] for sku in dict.fromkeys(enquiry.deal.services)]
    for parts in combinations(price_list, enquiry):
        sound = () if parts.stops else _sound(parts, *pins)
        if chosen:
            sound = tuple(build for build in sound if not any(in_vain(chosen, build)))
        yield from (Verdict(build, ()) for build in sound)
        if not sound and not sound_only:
            for build in parts.attempts(enquiry):
                stops = (*fit.asked(fit.LAYOUT_RULES, build), *in_vain(chosen, build))
                yield Verdict(build, (*parts.stops, *stops))
