"""Says which findings a refusal of one server has to name."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

from .boxes import Box, accessories_of
from .reading import Chassis
from .search import Filling, ServerSearch, layouts
from .stops import (
    count_stops,
    layout_stops,
    option_stops,
    pair_stops,
    seat_stops,
    service_stops,
    stops,
)


def refusal(search: ServerSearch) -> tuple[set[str], str]:
    """Give the codes a refusal names, and the rule for them.

    The rule is ``all`` where only one build could be, ``some`` where every build was stopped,
    blank where a demand binds: then no code has to be named.
    """
    only = list(itertools.islice(_builds(search), 2))
    # Processors that nothing has power for may be named by the demand that takes them.
    chosen = search.first.cores or search.first.memory_gb
    if len(only) == 1 and not chosen:
        accessories = accessories_of(search.prices, only[0])
        codes = stops(search.prices, only[0], accessories, search.asked.services)
        return codes, "all" if codes else ""
    codes = set()
    for chassis in search.chassis():
        fillings = list(search.fillings(chassis))
        # Without any, a demand for cores or memory binds, which no code names.
        if not fillings:
            return set(), ""
        if not all(_gather(search, codes, chassis, filling) for filling in fillings):
            return set(), ""
    return codes, "some" if only and not chosen else ""


def _builds(search: ServerSearch) -> Iterator[Box]:
    """Every build that agrees with the pins, sensible or not."""
    return itertools.chain.from_iterable(_builds_in(search, one) for one in search.chassis())


def _builds_in(search: ServerSearch, chassis: Chassis) -> list[Box]:
    """Two builds in a chassis, where there are so many: enough to tell one from several."""
    ways = [
        list(
            itertools.islice(
                (
                    search.array(ask, controller, drive, level, spans, members)
                    for controller in search.controllers(ask)
                    for drive in search.drives(ask)
                    for level, members, spans in layouts(ask, chassis.bays)
                ),
                2,
            )
        )
        for ask in search.arrays
    ]
    made = itertools.product(search.fillings(chassis), itertools.product(*ways))
    return [search.box(chassis, arrays, options) for (options, _), arrays in made][:2]


def _gather(search: ServerSearch, codes: set[str], chassis: Chassis, filling: Filling) -> bool:
    """Gather codes that stop builds; whether every build has one.

    Not gathered are those that more drives than are needed bring about: a search with open
    pins may name them anyway.
    """
    options, _ = filling
    bare = search.box(chassis, (), options)
    codes |= option_stops(bare)
    for controllers in itertools.product(*map(search.controllers, search.arrays)):
        probe = search.probe(chassis, controllers, options)
        passed_through = tuple(replace(array, level="none") for array in probe.arrays)
        for arrays in (probe.arrays, passed_through):
            codes |= service_stops(replace(probe, arrays=arrays), search.asked.services)
        codes |= seat_stops(probe)
        pairs = list(zip(search.arrays, controllers, strict=True))
        for ask, controller in pairs:
            for drive in search.drives(ask):
                array = search.array(ask, controller, drive)
                codes |= pair_stops(search.prices, bare, array)
                for level, members, spans in layouts(ask, chassis.bays):
                    laid = search.array(ask, controller, drive, level, spans, members)
                    codes |= layout_stops(laid) & {"cannot_grow", "cannot_replace"}
        if option_stops(bare) or seat_stops(probe):
            continue
        lists = [list(search.laid_out(*pair, chassis, demands=False)) for pair in pairs]
        for arrays in itertools.product(*lists):
            box = search.box(chassis, arrays, options)
            stopped = count_stops(box, accessories_of(search.prices, box))
            stopped |= service_stops(box, search.asked.services)
            if not stopped:
                return False
            codes |= stopped
    return True
