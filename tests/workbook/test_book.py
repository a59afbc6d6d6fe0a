"""The page gives its quotes into a register, where it has been told of one."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from quotelib.documents.quoting import read_record
from quotelib.errors import InputError
from quotelib.register.book import Register
from quotelib.workbook.page import Workbook

DATE = "2026-11-25"
NEED = {"customer": "Tidal Mill (invented)", "enquiry_id": "W-1", "usable_tb": "20"}


@pytest.fixture
def where(tmp_path: Path) -> Path:
    return tmp_path / "register"


@pytest.fixture
def page(copy_of_small: Path, tmp_path: Path, where: Path) -> Workbook:
    return Workbook(str(copy_of_small), DATE, tmp_path / "desk", register=str(where))


def fill(page: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        page.form.fields[name].value = text


def write(page: Workbook) -> str:
    page.write()
    if "Press again" in page.writer.told.value:
        page.write()
    return page.writer.told.value


def test_what_is_written_was_given(page: Workbook, where: Path) -> None:
    fill(page, **NEED)
    said = write(page)
    assert "Written: 2026-0001" in said and "Given as 2026-0001." in said
    given = Register(where).revision("2026-0001")
    assert (page.folder / "records/W-1.json").read_text("utf-8") == given.text
    assert "2026-0001" in (page.folder / "quotes/W-1.html").read_text("utf-8")


def test_the_same_again_and_another(page: Workbook, where: Path) -> None:
    fill(page, **NEED)
    write(page)
    assert "As given before, on 2026-11-25, as 2026-0001." in write(page)
    fill(page, builds="2")
    assert "Given as 2026-0001 rev. 2." in write(page)
    record = read_record(page.folder / "records/W-1.json")
    assert record.numbered == "2026-0001 rev. 2"
    assert any("How many" in change.line for change in record.changes)
    Register(where).became("2026-0001", "ordered", "Kim")
    fill(page, builds="3")
    assert "Not written:" in (said := write(page)) and "is ordered, so it is not revised" in said
    assert Register(where).revision("2026-0001").revision == 2


def test_what_others_keep_is_not_promised_again(
    page: Workbook, copy_of_small: Path, tmp_path: Path, where: Path
) -> None:
    fill(page, **NEED)
    shown = page.results.record
    assert shown is not None
    other = Workbook(str(copy_of_small), DATE, tmp_path / "other", register=str(where))
    fill(other, **{**NEED, "enquiry_id": "W-2", "builds": "9"})
    assert "Given as 2026-0001." in write(other)
    assert "others&#39; quotes keep parts of it by now" in write(page)
    after = page.results.record
    assert after is not None and after.servers[0].lead_days >= shown.servers[0].lead_days
    assert "Given as 2026-0002." in write(page)


def test_a_register_in_trouble_costs_nothing_that_was_typed(page: Workbook, where: Path) -> None:
    fill(page, **NEED)
    with sqlite3.connect(where / "register.sqlite3") as connection:
        connection.execute("UPDATE register_version SET version_num = '9'")
    said = write(page)
    assert "Not written:" in said and "newer version of the program" in said
    assert "Nothing typed is lost" in said
    assert not (page.folder / "records").exists()
    with pytest.raises(InputError, match="newer version"):
        Workbook(folder=page.folder, register=str(where))
