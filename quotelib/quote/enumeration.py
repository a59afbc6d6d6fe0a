"""Which builds are there: every combination of parts and every layout that agrees with the pins."""

from collections.abc import Iterable, Iterator
from functools import lru_cache

from quotelib.build import fit
from quotelib.build.build import Build, Layout, Parts, combine
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.estimate.capacity import usable_bytes
from quotelib.quote.candidate import Candidate
from quotelib.quote.demands import Demand
from quotelib.quote.enquiry import Enquiry


def combinations(price_list: PriceList, enquiry: Enquiry) -> Iterator[Parts]:
    """List every combination of parts that agrees with the pins, fitting or not."""
    chassis = (
        [price_list.chassis[enquiry.chassis]] if enquiry.chassis else (price_list.chassis.values())
    )
    controllers = (
        [price_list.controllers[enquiry.controller]]
        if enquiry.controller
        else (price_list.controllers.values())
    )
    drives = [price_list.drives[enquiry.drive]] if enquiry.drive else price_list.drives.values()
    for one_chassis in chassis:
        for controller in controllers:
            for drive in drives:
                yield combine(price_list, one_chassis, controller, drive, enquiry.owned)


@lru_cache(maxsize=4096)
def _layouts(level: str, members: int, spares: int) -> tuple[Layout, ...]:
    return tuple(Layout(level, members, s, spares) for s in LEVELS[level].spans_for(members))


def layouts(parts: Parts, enquiry: Enquiry) -> Iterator[Layout]:
    """List every layout that agrees with the pins and stops nothing.

    The rules that count drives stop every larger number as well, so that they are asked for
    the largest number only, and the level once for each controller.
    """
    spares = enquiry.spares or 0
    most = room(parts) - spares
    counts = [enquiry.members] if enquiry.members else range(1, most + 1)
    for name in [enquiry.level] if enquiry.level else LEVELS:
        if fit.level_not_offered(Build(parts, Layout(name, 1))):
            continue
        for members in counts:
            if members > most:
                break
            for layout in _layouts(name, members, spares):
                if enquiry.spans in (None, layout.spans):
                    yield layout


def room(parts: Parts) -> int:
    """Give the most drives that parts have bays, ports and power for."""
    drives = min(parts.chassis.bays, parts.controller.max_drives)
    while drives and any(rule(Build(parts, Layout("none", drives))) for rule in fit.ROOM_RULES):
        drives -= 1
    return drives


def buildable(
    price_list: PriceList, enquiry: Enquiry, asked: Iterable[Demand] = ()
) -> list[Candidate]:
    """List every build that agrees with the pins, has no stop finding and meets some demands."""
    found = []
    wanted = tuple(asked)
    for parts in combinations(price_list, enquiry):
        if fit.part_stops(parts):
            continue
        each: int | None = None
        for layout in layouts(parts, enquiry):
            build = Build(parts, layout)
            if each is None:
                each = build.member_bytes
            candidate = Candidate(build, usable_bytes(layout.data_members, each))
            if all(demand.met(candidate) for demand in wanted):
                found.append(candidate)
    return found
