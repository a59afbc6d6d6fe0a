"""Options judged by trying everything: each build made and asked by itself.

This is how options were judged before there were tables, and what the tables are held against.
"""

from collections.abc import Iterable, Mapping

from quotelib.build.build import Build
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.enumeration import verdicts
from quotelib.choose.options import Judged, values, why_impossible
from quotelib.enquiry.column import Asked
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.text import both

_Missed = dict[str, list[Asked]]  # by option, the fewest demands that a build with it misses


def _value(build: Build, pin: str) -> Iterable[str]:
    """Give what builds have for a pin."""
    if pin == "chassis":
        return (build.chassis.sku,)
    if pin in {"controller", "drive"}:
        return (getattr(array, pin).sku for array in build.arrays)
    return (str(getattr(array.layout, pin)) for array in build.arrays)


def try_all(
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


def _pinned(enquiry: Enquiry, pin: str, value: str) -> Enquiry:
    return enquiry.change(**{pin: COLUMNS[pin].parse(value)})
