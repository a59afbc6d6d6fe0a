"""What the customer has already, on the page: asked in a part of its own, answered as by a file."""

from pathlib import Path

import pytest

from quotelib.documents.quoting import quote
from quotelib.resources import starter_prices
from quotelib.workbook.page import Workbook
from tests.workbook.on_the_page import as_on_the_page

DATE = "2026-11-25"
GROW = {
    "enquiry_id": "G-1",
    "customer": "Teasel Hill (invented)",
    "tax_code": "S",
    "chassis": "CHS-2U-12L",
    "controller": "CTL-RB2-12G-CD",
    "drive": "DRV-HDD-8T-SAS",
    "members": "8",
    "level": "6",
    "owned": "chassis;controller",
    "action": "grow",
    "have_drives": "4",
}


@pytest.fixture
def workbook(tmp_path: Path) -> Workbook:
    return Workbook("", DATE, tmp_path / "desk")


def _type(workbook: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def test_an_array_that_grows_is_answered_as_by_a_file(workbook: Workbook) -> None:
    assert not workbook.blocks.folds["there"].unfolded
    workbook.load([GROW], "g.csv")
    assert workbook.blocks.folds["there"].unfolded
    assert workbook.results.record == as_on_the_page(quote(GROW, str(starter_prices()), DATE))
    assert "Your own parts, and your data" in workbook.results.proposal.value
    assert "grows from 4 to 8 members while it works" in workbook.results.proposal.value


def test_what_is_left_open_is_told_beside_its_field(workbook: Workbook) -> None:
    _type(workbook, **GROW | {"have_drives": ""})
    assert "say how many it has now" in workbook.form.fields["have_drives"].error
    _type(workbook, have_drives="9")
    assert "more than members and spares, 8" in workbook.form.fields["have_drives"].error


def test_what_cannot_be_done_is_told_beside_what_was_asked(workbook: Workbook) -> None:
    _type(workbook, **GROW | {"controller": "CTL-RE-12G-CD", "level": "10"})
    assert workbook.results.record is None
    assert "grows RAID 5 only" in workbook.form.fields["action"].error
    _type(workbook, **GROW | {"action": "keep", "owned": "chassis;drive", "have_drives": ""})
    _type(workbook, controller="CTL-RE-12G-CD", level="5", from_controller="CTL-RB2-12G-CD")
    assert "of the family Birch" in workbook.form.fields["controller"].error
