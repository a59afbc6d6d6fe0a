"""Which choices are left, given the other pins: every option is judged, none is hidden."""

from collections.abc import Iterable, Mapping
from typing import Literal

from quotelib.build.build import Build
from quotelib.build.findings import PART_CODES, Finding
from quotelib.build.layout import Layout
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.enumeration import verdicts
from quotelib.enquiry.column import Asked
from quotelib.enquiry.columns import PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS
from quotelib.text import both

State = Literal["", "unmet", "impossible"]
Judged = tuple[State, str]
_Missed = dict[str, list[Asked]]  # by option, the fewest demands that a build with it misses
_MOST_SPARES = 8
_NUMBERS = {"members", "spans", "spares"}


def values(price_list: PriceList, pin: str) -> list[str]:
    """List every option of a pin: of a column of the enquiry that decides something."""
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
        fewest = min(level.min_per_span for level in LEVELS.values() if level.spanned)
        return [str(n) for n in range(1, bays // fewest + 1)]
    if pin == "spares":
        return [str(n) for n in range(min(bays, _MOST_SPARES) + 1)]
    return [str(n) for n in range(1, bays + 1)]


def _value(build: Build, pin: str) -> Iterable[str]:
    """Give what builds have for a pin."""
    if pin == "chassis":
        return (build.chassis.sku,)
    if pin in {"controller", "drive"}:
        return (getattr(array, pin).sku for array in build.arrays)
    return (str(getattr(array.layout, pin)) for array in build.arrays)


def judge_all(
    price_list: PriceList, enquiry: Enquiry, pins: Iterable[str] = PINS
) -> dict[str, dict[str, Judged]]:
    """Tell which options of some pins can still be chosen.

    All pins that the enquiry leaves open share one look at the builds. Only demands that the
    build alone answers are asked, so that no price and no estimate is needed.

    Parameters
    ----------
    enquiry : Enquiry
        The other pins hold; that of the option itself is passed over.

    Returns
    -------
    dict
        By pin and option, a state and the reason in words: ``impossible`` where nothing that
        agrees with the other pins can be built with it, ``unmet`` where something can, but
        nothing that meets what was asked, else blank.
    """
    asked = [d for d in enquiry.asked(price_list) if d.needs == "build"]
    wanted = list(pins)
    # Without a pin a build has no spares, so that their options are looked at one by one.
    open_pins = [pin for pin in wanted if enquiry.value(pin) is None and pin != "spares"]
    found: dict[str, _Missed] = {pin: {} for pin in wanted}
    if open_pins:
        _look(price_list, enquiry, asked, {pin: found[pin] for pin in open_pins})
    for pin in wanted:
        # A part that is never chosen unasked can be pinned all the same.
        for sku in _unasked(price_list, enquiry, pin):
            _look(price_list, _pinned(enquiry, pin, sku), asked, {pin: found[pin]})
    for pin in wanted:
        tried = [] if pin in open_pins else [enquiry.without(pin)]
        if pin == "spares":
            tried = [_pinned(enquiry, pin, value) for value in values(price_list, pin)]
        for each in tried:
            _look(price_list, each, asked, {pin: found[pin]})
    return {
        pin: {
            value: _judged(price_list, enquiry, pin, value, missed.get(value))
            for value in values(price_list, pin)
        }
        for pin, missed in found.items()
    }


def _unasked(price_list: PriceList, enquiry: Enquiry, pin: str) -> list[str]:
    files: dict[str, Mapping[str, Part]] = {
        "chassis": price_list.chassis,
        "controller": price_list.controllers,
        "drive": price_list.drives,
    }
    return [sku for sku, part in files.get(pin, {}).items() if not enquiry.sold(part)]


def _look(
    price_list: PriceList, enquiry: Enquiry, asked: list[Asked], found: Mapping[str, _Missed]
) -> None:
    left: set[tuple[str, str]] = set()
    for pin in found:
        if enquiry.value(pin) is not None:
            left.add((pin, str(enquiry.value(pin))))
        else:
            unasked = _unasked(price_list, enquiry, pin)
            left |= {(pin, v) for v in values(price_list, pin) if v not in unasked}
    for build, _ in verdicts(price_list, enquiry, sound_only=True):
        candidate = Candidate(build, build.usable_bytes)
        missed = [demand for demand in asked if not demand.met(candidate)]
        for pin, fewest in found.items():
            for value in _value(build, pin):
                if value not in fewest or len(missed) < len(fewest[value]):
                    fewest[value] = missed
                if not missed:
                    left.discard((pin, value))
        if not left:
            return  # nothing more to learn


def _judged(
    price_list: PriceList, enquiry: Enquiry, pin: str, value: str, missed: list[Asked] | None
) -> Judged:
    if missed is None:
        why = why_impossible(price_list, enquiry, pin, value)
        return "impossible", why[0].words if why else "no layout of these drives can be made of it"
    if missed:
        return "unmet", "would not give " + both(demand.words for demand in missed)
    return "", ""


def why_impossible(
    price_list: PriceList, enquiry: Enquiry, pin: str, value: str
) -> tuple[Finding, ...]:
    """Find what stops the builds that come nearest with an option, one finding of a kind.

    Where parts go together, what is wrong with the layout says more.
    """
    tried = _pinned(enquiry, pin, value)
    stopped = [verdict.stops for verdict in verdicts(price_list, tried) if verdict.stops]
    of_layout = [stops for stops in stopped if not any(s.code in PART_CODES for s in stops)]
    nearest = of_layout or stopped
    fewest = min(map(len, nearest), default=0)
    first: dict[str, Finding] = {}
    for stop in (stop for stops in nearest if len(stops) == fewest for stop in stops):
        first.setdefault(stop.code, stop)
    return tuple(first.values())


def _pinned(enquiry: Enquiry, pin: str, value: str) -> Enquiry:
    return enquiry.change(**{pin: int(value) if pin in _NUMBERS else value})


def pinned(enquiry: Enquiry) -> bool:
    """Tell whether everything is decided, so that an answer takes milliseconds."""
    level = enquiry.level
    if level is None or (enquiry.spans is None and LEVELS[level].spanned):
        return False
    return all((enquiry.chassis, enquiry.controller, enquiry.drive, enquiry.members))


def pins_of(build: Build) -> dict[str, str]:
    """Give the pins that lead to a build, as cells of an enquiry."""
    pins = {"chassis": build.chassis.sku}
    for array in build.arrays:
        pins |= array_pins(array.controller.sku, array.drive.sku, array.layout)
    return pins


def array_pins(controller: str, drive: str, layout: Layout) -> dict[str, str]:
    """Give the pins that lead to an array, as cells of an enquiry."""
    return {
        "controller": controller,
        "drive": drive,
        "members": str(layout.members),
        "level": layout.level,
        "spans": str(layout.spans) if layout.rule.spanned else "",
        "spares": str(layout.spares) if layout.spares else "",
    }
