"""Builds that were kept to compare, and numbers that were changed: they outlive the page."""

from pathlib import Path

import pytest

from quotelib.workbook.page import Workbook

DATE = "2026-11-25"
FIRST = {"customer": "Rushes Piano Hire (invented)", "usable_tb": "20", "workload": "files"}


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    return _page(copy_of_small, tmp_path)


def _page(prices: Path, folder: Path) -> Workbook:
    return Workbook(str(prices), DATE, folder / "desk")


def _type(workbook: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def _keep_two(workbook: Workbook) -> None:
    _type(workbook, **FIRST, builds="3")
    workbook.comparison.keep.click()
    _type(workbook, level="6")
    workbook.comparison.keep.click()


def test_kept_builds_survive_a_reload(
    workbook: Workbook, copy_of_small: Path, tmp_path: Path
) -> None:
    _keep_two(workbook)
    nets = [column.record.totals.net for column in workbook.comparison._kept]
    assert len(set(nets)) == 2
    again = _page(copy_of_small, tmp_path)
    assert again.comparison._kept == []
    again.restore(0)
    assert [column.record.totals.net for column in again.comparison._kept] == nets
    assert "Build 2" in again.comparison._table.value
    # Removed, it is gone for good.
    again.comparison._drop[0].click()
    third = _page(copy_of_small, tmp_path)
    third.restore(0)
    assert [column.record.totals.net for column in third.comparison._kept] == nets[1:]


def test_a_kept_build_is_taken_back(workbook: Workbook) -> None:
    _keep_two(workbook)
    first = workbook.comparison._kept[0].record
    workbook.comparison._back[0].click()
    record = workbook.results.record
    assert record is not None and record.totals == first.totals
    assert workbook.form.given()["drive"] == first.servers[0].arrays[0].drive
    assert workbook.form.given()["usable_tb"] == "20"  # what was asked is still asked
    assert len(workbook.comparison._kept) == 2
    assert "Build 1 is in the fields again" in workbook.blocks.told.value


def test_differences_are_marked_and_amounts_say_of_what(workbook: Workbook) -> None:
    _keep_two(workbook)
    table = workbook.comparison._table.value
    one, two = (column.facts for column in workbook.comparison._kept)
    assert one["Net, in all"].endswith(" for 3 servers")
    assert "Net, each server" in one
    differing = [name for name in two if one.get(name) != two[name]]
    assert "Layout" in differing and "Workload" not in differing
    assert table.count("ql-differs") == len({*differing, *(one.keys() - two.keys())})


def test_changed_numbers_of_the_workload_survive_a_reload(
    workbook: Workbook, copy_of_small: Path, tmp_path: Path
) -> None:
    _type(workbook, **FIRST)
    workbook.workload.fields["read_pct"].value = "15"
    again = _page(copy_of_small, tmp_path)
    again.restore(0)
    assert again.workload.fields["read_pct"].value == "15"
    assert again.workload.edited
    assert again.results.record == workbook.results.record
    again.clear()
    assert not again.workload.edited


def test_a_build_that_is_not_sold_any_more_is_not_kept(
    workbook: Workbook, copy_of_small: Path, tmp_path: Path
) -> None:
    _keep_two(workbook)
    drives = copy_of_small / "drives.csv"
    drive = workbook.comparison._kept[0].record.servers[0].arrays[0].drive
    rows = drives.read_text("utf-8").splitlines(keepends=True)
    drives.write_text("".join(row for row in rows if not row.startswith(f"{drive},")), "utf-8")
    again = _page(copy_of_small, tmp_path)
    again.restore(0)
    assert len(again.comparison._kept) < 2
