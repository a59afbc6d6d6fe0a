"""Which choices are left, given the other pins: every option is judged, none is hidden."""

from collections.abc import Collection, Iterable, Sequence
from functools import lru_cache
from typing import Literal

from quotelib.build.build import Build
from quotelib.build.findings import PART_CODES, Finding
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.barred import Barred
from quotelib.choose.enumeration import verdicts
from quotelib.choose.left import Left, Missed
from quotelib.choose.table import Table
from quotelib.enquiry.columns import PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS
from quotelib.text import both

State = Literal["", "unmet", "impossible"]
Judged = tuple[State, str]
_NOTHING: Judged = ("impossible", "no layout of these drives can be made of it")
_UNSAID: Judged = ("impossible", "")
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


def judge_all(
    price_list: PriceList,
    enquiry: Enquiry,
    pins: Iterable[str] = PINS,
    explained: Collection[str] = PINS,
) -> dict[str, dict[str, Judged]]:
    """Tell which options of some pins can still be chosen.

    Only demands that the build alone answers are asked, so that no price and no estimate is needed.

    Parameters
    ----------
    enquiry : Enquiry
        The other pins hold; that of the option itself is passed over.
    explained : collection of str
        Pins whose impossible options are given a reason; that of others is blank.

    Returns
    -------
    dict
        By pin and option, a state and the reason in words: ``impossible`` where nothing that
        agrees with the other pins can be built with it, ``unmet`` where something can, but
        nothing that meets what was asked, else blank.
    """
    asked = [d for d in enquiry.asked(price_list) if d.needs == "build"]
    wanted = {pin: values(price_list, pin) for pin in pins}
    if not (price_list.controllers and price_list.drives):
        return {pin: dict.fromkeys(options, _NOTHING) for pin, options in wanted.items()}
    left = Left(price_list, enquiry, asked)
    barred = _barred(left.table)
    found = {}
    for pin, options in wanted.items():
        missed = left.of(pin, options)
        found[pin] = {
            value: _unmet(missed[value]) if value in missed
            else _impossible(barred.why(_pinned(enquiry, pin, value))) if pin in explained
            else _UNSAID
            for value in options
        }  # fmt: skip
    return found


@lru_cache(maxsize=4)
def _barred(table: Table) -> Barred:
    return Barred(table)


def _unmet(missed: Missed) -> Judged:
    if not missed.number:
        return "", ""
    return "unmet", "would not give " + both(demand.words for demand in missed.demands)


def _impossible(why: Sequence[Finding]) -> Judged:
    return ("impossible", why[0].words) if why else _NOTHING


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
