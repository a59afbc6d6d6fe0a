"""Which choices are left: judged by trying, so checked against the whole search."""

from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.quote.answer import answer
from quotelib.quote.enquiry import Enquiry, read_enquiry
from quotelib.workbook import options
from tests.end_to_end.running import DATE

CASES = [
    {"usable_tb": "20", "survive": "1", "chassis": "CHS-1U-4L", "controller": "CTL-BOARD-6"},
    {"usable_tb": "4", "media": "ssd", "chassis": "CHS-1U-8N", "level": "5"},
    {"drive": "DRV-HDD-8T-SAS", "members": "6", "level": "6", "chassis": "CHS-2U-12L"},
    {"drive": "DRV-HDD-8T-SAS", "members": "12", "level": "60", "chassis": "CHS-2U-12L"},
]


def _read(price_list: PriceList, cells: dict[str, str]) -> Enquiry:
    return read_enquiry({"enquiry_id": "o", "customer": "o", **cells}, price_list)


@pytest.mark.parametrize("cells", CASES)
@pytest.mark.parametrize("pin", ["chassis", "controller", "level"])
def test_agrees_with_the_search(starter: PriceList, cells: dict[str, str], pin: str) -> None:
    """What is judged possible is answered; what is not is refused, for reasons that match."""
    import datetime as dt

    enquiry = _read(starter, cells)
    date = dt.date.fromisoformat(DATE)
    for value in options.values(starter, pin):
        state, reason = options.judge(starter, enquiry, pin, value)
        tried = enquiry.model_copy(update={pin: value})
        record = answer(starter, tried, date, alternatives=False).record
        assert (state == "") == (record is not None), (value, state, reason)
        assert bool(reason) == (state != ""), value


def test_unmet_is_not_impossible(starter: PriceList) -> None:
    enquiry = _read(starter, {"usable_tb": "20", "survive": "2"})
    state, reason = options.judge(starter, enquiry, "level", "5")
    assert (state, reason) == ("unmet", "would not give survival of any 2 drive failures")


def test_impossible_says_why(starter: PriceList) -> None:
    enquiry = _read(starter, {"usable_tb": "1", "chassis": "CHS-1U-4L"})
    state, reason = options.judge(starter, enquiry, "controller", "CTL-PT-12G-MZ")
    assert state == "impossible"
    assert "CHS-1U-4L has none" in reason


def test_own_pin_is_passed_over(starter: PriceList) -> None:
    """What is chosen already does not keep the others from being chosen."""
    enquiry = _read(starter, {"usable_tb": "8", "chassis": "CHS-1U-4L"})
    assert options.judge(starter, enquiry, "chassis", "CHS-2U-12L") == ("", "")


@pytest.mark.parametrize(
    ("left", "words"),
    [
        ({"2": "", "3": "", "4": ""}, "2 to 4"),
        ({"4": "", "6": "unmet", "7": "impossible", "8": ""}, "4, 6, 8"),
        ({"2": "", "3": "", "5": ""}, "2, 3, 5"),
        ({"1": "impossible"}, ""),
    ],
)
def test_counts(left: dict[str, options.State], words: str) -> None:
    assert options.counts(left) == words


def test_every_value_is_offered(starter: PriceList) -> None:
    assert options.values(starter, "drive") == list(starter.drives)
    most = max(chassis.bays for chassis in starter.chassis.values())
    assert options.values(starter, "members")[-1] == str(most)
    assert Decimal(options.values(starter, "spares")[0]) == 0
