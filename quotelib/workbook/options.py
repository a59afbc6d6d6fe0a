"""Which choices are left, given the other pins: every option is tried, none is hidden."""

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Literal

from quotelib.build import fit
from quotelib.build.build import Build, Layout, Parts, combine
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.quote.candidate import Candidate
from quotelib.quote.demands import Demand, demands
from quotelib.quote.enquiry import Enquiry

State = Literal["", "unmet", "impossible"]
PART_PINS = ("chassis", "controller", "drive")
LAYOUT_PINS = ("level", "members", "spans", "spares")
_MOST_SPARES = 8
_PLAIN = {"usable_tb", "survive", "media", "free_slots"}
"""Demands that need neither a price nor an estimate, so that every option can be tried."""


def values(price_list: PriceList, pin: str) -> list[str]:
    """List every option of a pin.

    Parameters
    ----------
    price_list : PriceList
    pin : str
        A column of the enquiry that pins something.

    Returns
    -------
    list of str
    """
    parts: dict[str, Iterable[str]] = {
        "chassis": price_list.chassis,
        "controller": price_list.controllers,
        "drive": price_list.drives,
        "level": LEVELS,
    }
    if pin in parts:
        return list(parts[pin])
    bays = max(chassis.bays for chassis in price_list.chassis.values())
    if pin == "spans":
        return [str(n) for n in range(1, bays // 3 + 1)]
    if pin == "spares":
        return [str(n) for n in range(min(bays, _MOST_SPARES) + 1)]
    return [str(n) for n in range(1, bays + 1)]


def judge(price_list: PriceList, enquiry: Enquiry, pin: str, value: str) -> tuple[State, str]:
    """Tell whether an option can still be chosen.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
        With the other pins; that of `pin` itself is passed over.
    pin, value : str
        The option.

    Returns
    -------
    state : str
        ``impossible`` where nothing that agrees with the other pins can be built with it,
        ``unmet`` where something can, but nothing that meets what was asked, else blank.
    reason : str
        Why, in words; blank where it is fine.
    """
    number = pin in {"members", "spans", "spares"}
    tried = enquiry.model_copy(update={pin: int(value) if number else value})
    asked = [
        demand
        for demand in demands(tried, tried.currency or price_list.terms.currency)
        if demand.column in _PLAIN
    ]
    of_parts: list[fit.Finding] = []
    of_layout: list[fit.Finding] = []
    fewest: list[Demand] | None = None
    for parts, stops in combinations(price_list, tried):
        if stops:
            of_parts = _nearer(of_parts, stops)
            continue
        for layout in layouts(parts, tried):
            build = Build(parts, layout)
            candidate = Candidate(build, build.usable_bytes)
            missed = [demand for demand in asked if not demand.met(candidate)]
            if fewest is not None and len(missed) >= len(fewest):
                continue  # nothing to learn from it, so the dearer rules need not be asked
            if found := fit.layout_stops(build):
                of_layout = _nearer(of_layout, found)
                continue
            if not missed:
                return "", ""
            fewest = missed
    if fewest is not None:
        return "unmet", "would not give " + " and ".join(demand.asked for demand in fewest)
    # Where parts go together, what is wrong with the layout says more.
    stopped = of_layout or of_parts
    return "impossible", stopped[0].message if stopped else _NO_LAYOUT


_NO_LAYOUT = "no layout of these drives can be made of it"


def judge_all(price_list: PriceList, enquiry: Enquiry, pin: str) -> dict[str, tuple[State, str]]:
    """Judge every option of a pin."""
    return {value: judge(price_list, enquiry, pin, value) for value in values(price_list, pin)}


def pinned(enquiry: Enquiry) -> bool:
    """Tell whether everything is decided, so that an answer takes milliseconds."""
    if not all((enquiry.chassis, enquiry.controller, enquiry.drive, enquiry.members)):
        return False
    if enquiry.level is None:
        return False
    return enquiry.spans is not None or not LEVELS[enquiry.level].spanned


def counts(judged: Mapping[str, State]) -> str:
    """Say which numbers are left: ``2 to 6, 8 or 10``; blank where none is judged."""
    numbers = sorted(int(value) for value, state in judged.items() if state != "impossible")
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    texts = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return ", ".join(texts)


@lru_cache(maxsize=4096)
def _combined(
    price_list: PriceList, chassis: str, controller: str, drive: str, owned: tuple[str, ...]
) -> tuple[Parts, tuple[fit.Finding, ...]]:
    parts = combine(
        price_list,
        price_list.chassis[chassis],
        price_list.controllers[controller],
        price_list.drives[drive],
        owned,
    )
    return parts, tuple(fit.part_stops(parts))


def combinations(
    price_list: PriceList, enquiry: Enquiry
) -> Iterator[tuple[Parts, tuple[fit.Finding, ...]]]:
    """List the parts that agree with the pins, with what keeps them from going together."""
    owned = tuple(sorted(enquiry.owned))
    for chassis in [enquiry.chassis] if enquiry.chassis else price_list.chassis:
        for controller in [enquiry.controller] if enquiry.controller else price_list.controllers:
            for drive in [enquiry.drive] if enquiry.drive else price_list.drives:
                yield _combined(price_list, chassis, controller, drive, owned)


def layouts(parts: Parts, enquiry: Enquiry) -> Iterator[Layout]:
    """List the layouts that agree with the pins, those with most drives first."""
    spares = enquiry.spares or 0
    most = max(1, min(parts.chassis.bays, parts.controller.max_drives) - spares)
    for name in [enquiry.level] if enquiry.level else LEVELS:
        level = LEVELS[name]
        for members in [enquiry.members] if enquiry.members else range(most, 0, -1):
            spans = level.spans_for(members)
            if enquiry.spans is not None:
                spans = [enquiry.spans]
            if not spans and enquiry.members:
                spans = [2 if level.spanned else 1]  # cannot be made, but has a reason
            for count in spans:
                yield Layout(name, members, count, spares)


def _nearer(known: list[fit.Finding], new: Iterable[fit.Finding]) -> list[fit.Finding]:
    found = list(new)
    return found if not known or len(found) < len(known) else known
