"""Builds that were kept, put into the annex: what the customer then reads, and what not."""

import re
from pathlib import Path

import pytest

from quotelib.documents.batch.files import ANNEX
from quotelib.documents.quoting import read_record
from quotelib.promise.record import QuoteRecord
from quotelib.workbook.page import Workbook
from tests import small_list
from tests.end_to_end.page_text import Page

FIRST = {"customer": "Rushes Piano Hire (invented)", "enquiry_id": "K-1", "usable_tb": "20",
         "workload": "files", "builds": "3", "note": "pays-late-zq7"}  # fmt: skip


@pytest.fixture
def workbook(tmp_path: Path) -> Workbook:
    """Give a page with two kept builds, on a list whose costs are like nothing else in it."""
    tables = small_list.copy()
    for row in (row for rows in tables.values() for row in rows if row.get("unit_cost")):
        row["unit_cost"] += ".37"
    prices = small_list.write(tmp_path / "prices", tables)
    made = Workbook(str(prices), "2026-11-25", tmp_path / "desk")
    _type(made, **FIRST)
    made.comparison.keep.click()
    _type(made, level="6")
    made.comparison.keep.click()
    _type(made, level="10")
    return made


def _type(workbook: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def _written(workbook: Workbook) -> tuple[QuoteRecord, str]:
    workbook.write()
    if "Press again" in workbook.writer.told.value:
        workbook.write()
    assert "Written" in workbook.writer.told.value, workbook.writer.told.value
    record = read_record(workbook.folder / "records" / "K-1.json")
    return record, (workbook.folder / "quotes" / f"K-1{ANNEX}.html").read_text("utf-8")


def test_it_is_not_there_unless_it_is_asked_for(workbook: Workbook) -> None:
    record, html = _written(workbook)
    assert record.compared is None
    assert "The builds we compared" not in html


def test_the_annex_shows_the_kept_builds_beside_what_is_offered(workbook: Workbook) -> None:
    workbook.comparison.into_annex.value = True
    record, html = _written(workbook)
    compared = record.compared
    assert compared is not None
    assert compared.names == ("As offered", "Build 1", "Build 2")
    rows = {row.label: row.cells for row in compared.rows}
    assert rows["Layout"][0] == record.servers[0].arrays[0].words
    kept = [column.record for column in workbook.comparison._kept]
    for place, one in enumerate((record, *kept)):
        assert rows["Net, in all"][place] == f"GBP {one.totals.net:,f} for 3 servers"
        assert rows["Net, each server"][place] == f"GBP {one.totals.net_per_build:,f}"
    told = " ".join(" ".join(Page(html).pieces).split())
    assert "The builds we compared" in told
    for label, cells in rows.items():
        assert label in told
        for cell in filter(None, cells):
            marked = f"≠ {cell}" if cell != cells[0] else cell
            assert " ".join(marked.split()) in told
    assert any(row.cells[0] == row.cells[1] for row in compared.rows)


def test_nothing_of_the_sellers_is_in_it(workbook: Workbook) -> None:
    workbook.comparison.into_annex.value = True
    record, html = _written(workbook)
    body = re.sub(r"(?s)<style>.*?</style>", "", html).casefold()
    assert "the builds we compared" in body
    for said in ("pays-late-zq7", "margin", "unit_cost", "internal"):
        assert said not in body
    for one in (record, *(column.record for column in workbook.comparison._kept)):
        costs = {one.internal.cost, *one.internal.unit_costs.values()} - {0}
        assert costs
        for cost in costs:
            assert f"{cost:,f}" not in body and f"{cost:f}" not in body, cost
    assert record.internal.note == "pays-late-zq7"


def test_what_we_advise_against_is_said_of_a_kept_build(workbook: Workbook) -> None:
    _type(workbook, level="0", usable_tb="8")
    workbook.comparison.keep.click()
    _type(workbook, level="6")
    workbook.comparison.into_annex.value = True
    record, _ = _written(workbook)
    assert record.compared is not None
    rows = {row.label: row.cells for row in record.compared.rows}
    assert rows["We advise against it"] == ("", "", "", "no redundancy")


def test_only_what_is_offered_is_no_comparison(workbook: Workbook) -> None:
    workbook.comparison._drop[1].click()
    workbook.comparison._back[0].click()
    workbook.comparison.into_annex.value = True
    record, _ = _written(workbook)
    assert record.compared is None


def test_a_change_of_what_goes_in_takes_back_what_was_written(workbook: Workbook) -> None:
    _written(workbook)
    workbook.comparison.into_annex.value = True
    assert "Written" not in workbook.writer.told.value
    _written(workbook)
    workbook.comparison._drop[0].click()
    assert "Written" not in workbook.writer.told.value


def test_another_enquiry_takes_the_tick_back(workbook: Workbook) -> None:
    workbook.comparison.into_annex.value = True
    workbook.clear()
    assert workbook.comparison.into_annex.value is False
    assert workbook.comparison.for_annex() == ()
    assert workbook.comparison._annex.layout.display == "none"
