"""Which choices are left: judged by trying, so checked against the whole search."""

from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose import options
from quotelib.choose.candidate import Candidate
from quotelib.choose.options import Judged, State
from quotelib.choose.search import choose
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.enquiry import Enquiry
from tests.asking import ask
from tests.choose.every import Everything
from tests.small_list import only, only_array, price_list

CASES = [
    {"usable_tb": "20", "survive": "1", "chassis": "CHS-1U-4L", "controller": "CTL-BOARD-6"},
    {"usable_tb": "4", "media": "ssd", "chassis": "CHS-1U-8N", "level": "5"},
    {"drive": "DRV-HDD-8T-SAS", "members": "6", "level": "6", "chassis": "CHS-2U-12L"},
    {"drive": "DRV-HDD-8T-SAS", "members": "12", "level": "60", "chassis": "CHS-2U-12L"},
]


def judge(prices: PriceList, enquiry: Enquiry, pin: str, value: str) -> Judged:
    return options.judge_all(prices, enquiry, [pin])[pin][value]


@pytest.mark.parametrize("cells", CASES)
@pytest.mark.parametrize("pin", ["chassis", "controller", "level"])
def test_agrees_with_the_search(starter: PriceList, cells: dict[str, str], pin: str) -> None:
    """What is judged possible is answered; what is not is refused, for reasons that match."""
    enquiry = ask(starter, **cells)
    judged = options.judge_all(starter, enquiry, [pin])[pin]
    assert list(judged) == options.values(starter, pin)
    for value, (state, reason) in judged.items():
        best = choose(starter, enquiry.change(**{pin: value})).best
        assert (state == "") == (best is not None), (value, state, reason)
        assert bool(reason) == (state != ""), value


def test_unmet_is_not_impossible(starter: PriceList) -> None:
    enquiry = ask(starter, usable_tb="20", survive="2", chassis="CHS-2U-12L")
    state, reason = judge(starter, enquiry, "level", "5")
    assert (state, reason) == ("unmet", "would not give survival of any 2 drive failures")


def test_impossible_says_why(starter: PriceList) -> None:
    enquiry = ask(starter, usable_tb="1", chassis="CHS-1U-4L")
    state, reason = judge(starter, enquiry, "controller", "CTL-PT-12G-MZ")
    assert state == "impossible"
    assert "CHS-1U-4L has none" in reason


def test_own_pin_is_passed_over(starter: PriceList) -> None:
    """What is chosen already does not keep the others from being chosen."""
    enquiry = ask(starter, usable_tb="8", chassis="CHS-1U-4L")
    assert judge(starter, enquiry, "chassis", "CHS-2U-12L") == ("", "")


def test_every_value_is_offered(starter: PriceList) -> None:
    assert options.values(starter, "drive") == list(starter.drives)
    most = max(chassis.bays for chassis in starter.chassis.values())
    assert options.values(starter, "members")[-1] == str(most)
    assert Decimal(options.values(starter, "spares")[0]) == 0


# Every option, by trying everything


PRICES = price_list(
    only(chassis="BOX-4 BOX-12", controllers="BOARD CARD THROUGH", drives="DISK-4T FLASH-1T")
)


EVERYTHING = Everything(PRICES)


def tried(enquiry: Enquiry, pin: str, value: str) -> State:
    """Judge one option by trying everything."""
    asked = [d for d in enquiry.asked(PRICES) if d.needs == "build"]
    pinned = enquiry.change(**{pin: COLUMNS[pin].parse(value)})
    missed: set[int] = set()
    for made in EVERYTHING.agreeing(pinned):
        candidate = Candidate(made, only_array(made).usable_bytes)
        missed.add(sum(not demand.met(candidate) for demand in asked))
    if not missed:
        return "impossible"
    return "unmet" if min(missed) else ""


@pytest.mark.parametrize(
    "cells",
    [
        {"usable_tb": "9", "survive": "1"},
        {"usable_tb": "9", "chassis": "BOX-4", "level": "5"},
        {"usable_tb": "4", "controller": "CARD", "drive": "DISK-4T", "spares": "1"},
        {"drive": "DISK-4T", "members": "3", "level": "5", "owned": "drive"},
        {"usable_tb": "20", "level": "50", "spans": "2", "free_slots": "1"},
        {"usable_tb": "1", "media": "ssd"},
    ],
    ids=lambda cells: "-".join(f"{k}={v}" for k, v in cells.items()),
)
def test_all_options_against_every_one_tried_alone(cells: dict[str, str]) -> None:
    enquiry = ask(PRICES, **cells)
    judged = options.judge_all(PRICES, enquiry)
    assert list(judged) == list(PINS)
    seen = set()
    for pin, found in judged.items():
        assert list(found) == options.values(PRICES, pin)
        for value, (state, reason) in found.items():
            assert state == tried(enquiry, pin, value), (pin, value, reason)
            assert bool(reason) == bool(state)
            seen.add(state)
    assert len(seen) > 1


def test_options_asked_together_are_those_asked_alone(starter: PriceList) -> None:
    enquiry = ask(
        starter,
        usable_tb="20",
        chassis="CHS-2U-12L",
        controller="CTL-RF8-12G-CD",
        level="6",
        free_slots="2",
    )
    together = options.judge_all(starter, enquiry)
    for pin in PINS:
        assert together[pin] == options.judge_all(starter, enquiry, [pin])[pin]


def test_reasons_are_given_where_they_are_wanted(starter: PriceList) -> None:
    enquiry = ask(starter, usable_tb="20", chassis="CHS-1U-4L", level="6")
    full = options.judge_all(starter, enquiry)
    short = options.judge_all(starter, enquiry, PINS, ["controller"])
    assert short["controller"] == full["controller"]
    for pin in PINS:
        states = {value: state for value, (state, _) in short[pin].items()}
        assert states == {value: state for value, (state, _) in full[pin].items()}
    told = [reason for state, reason in full["members"].values() if state == "impossible"]
    left_out = [reason for state, reason in short["members"].values() if state == "impossible"]
    assert all(told) and told and not any(left_out)
