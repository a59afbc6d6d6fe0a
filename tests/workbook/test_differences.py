"""What another option costs, as it stands beside it in a list that is open."""

from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.workbook.page import Workbook

DATE = "2026-11-25"


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    made = Workbook(str(copy_of_small), DATE, tmp_path)
    made.form.fields["usable_tb"].value = "20"
    made.form.fields["builds"].value = "3"
    return made


def _open(workbook: Workbook, pin: str, opened: bool = True) -> dict[str, str]:
    workbook.form.fields[pin]._handle_custom_msg({"opened": opened}, [])
    return dict(workbook.form.fields[pin].prices)


def _net(workbook: Workbook) -> Decimal:
    record = workbook.results.record
    assert record is not None
    return record.totals.net


@pytest.mark.parametrize("pin", ["chassis", "controller", "drive", "level"])
def test_what_it_says_is_what_it_comes_to(workbook: Workbook, pin: str) -> None:
    assert workbook.form.fields[pin].prices == {}
    before = _net(workbook)
    shown = _open(workbook, pin)
    left = {o["value"] for o in workbook.form.fields[pin].options if o["state"] == ""}
    assert shown.keys() <= left and len(shown) > 1
    _open(workbook, pin, opened=False)
    for value, words in shown.items():
        workbook.form.fields[pin].value = value
        difference = _net(workbook) - before
        expected = f"{abs(difference):,.2f}" if difference else "0"
        sign = "+" if difference > 0 else "−" if difference < 0 else "±"
        record = workbook.results.record
        advised = "△ " if record is not None and record.draft else ""
        assert words == f"{advised}{sign}{expected}", value


def test_prices_are_of_this_answer(workbook: Workbook) -> None:
    first = _open(workbook, "drive")
    assert "for all 3" in workbook.form.fields["drive"].scope
    # The list is still open: it is priced anew for what is asked now.
    workbook.form.fields["builds"].value = "1"
    second = dict(workbook.form.fields["drive"].prices)
    assert second and second != first
    assert "for the server" in workbook.form.fields["drive"].scope
    _open(workbook, "drive", opened=False)
    workbook.form.fields["usable_tb"].value = "30"
    assert workbook.form.fields["drive"].prices == {}
    workbook.form.fields["usable_tb"].value = "nonsense"
    assert _open(workbook, "drive") == {}
