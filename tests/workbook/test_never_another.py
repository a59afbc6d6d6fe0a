"""What stands on the page is of the enquiry in the fields, and of no other."""

import asyncio
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from quotelib.promise.record import QuoteRecord
from quotelib.workbook.page import Workbook
from quotelib.workbook.widgets import ANSWER, CHOICES, REST, SOON

FIRST = {
    "customer": "Quenby Rope Works (invented)",
    "enquiry_id": "N-1",
    "usable_tb": "12",
    "survive": "1",
    "workload": "files",
}
PINS = {
    "chassis": "BOX-12",
    "controller": "CARD",
    "drive": "DISK-8T",
    "members": "4",
    "level": "6",
}


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    """Give a page on which everything there is has been shown for one customer."""
    made = Workbook(str(copy_of_small), "2026-11-25", tmp_path / "desk")
    made.blocks.seller.value = True
    _fill(made, FIRST)
    made.comparison.keep.click()
    made.comparison.drives.value = "5"
    made.write()
    return made


def _fill(workbook: Workbook, cells: dict[str, str]) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def _shown(workbook: Workbook) -> dict[str, object]:
    """List whatever on the page comes of an answer, by what it is; empty: it is not there."""
    results, comparison = workbook.results, workbook.comparison
    judged = [o for f in workbook.form.fields.values() for o in f.options if o["state"]]
    texts = {
        "line": results.line.value if "without tax" in results.line.value else "",
        "proposal": results.proposal.value,
        "capacity": results.capacity.value,
        "estimates": results.estimates.value,
        "basis": results.basis.value,
        "costs": results.costs.value,
        "margin": results.margin.value,
        "first charts": results.first_charts.charts,
        "curves": results.curves.charts,
        "more charts": results.more_charts.charts,
        "costs charts": results.costs_charts.charts,
        "record": results.record,
        "counted": workbook.found.counted.value,
        "the three": [c for c in workbook.found._cards if c.layout.display is None],
        "points": workbook.found.charts.charts or workbook.found.list.points,
        "starts": [b.description for b in workbook.starts._buttons if b.description],
        "what-if": comparison._base or comparison._tried,
        "written": "<code>" in workbook.writer.told.value,
        "judged": judged or ("possible" in workbook.form.fields["members"].help),
    }
    return {name: value for name, value in texts.items() if value}


EVERYTHING = {
    "line",
    "proposal",
    "capacity",
    "estimates",
    "basis",
    "costs",
    "margin",
    "first charts",
    "curves",
    "more charts",
    "costs charts",
    "record",
    "counted",
    "the three",
    "points",
    "starts",
    "what-if",
    "written",
    "judged",
}


def _record_file(record: QuoteRecord) -> dict[str, Any]:
    import datetime as dt

    data = record.to_json().encode()
    day = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    return {"name": "a.json", "type": "", "size": 1, "content": data, "last_modified": day}


def test_the_page_is_full_to_begin_with(workbook: Workbook) -> None:
    assert set(_shown(workbook)) == EVERYTHING


def test_start_afresh(workbook: Workbook) -> None:
    workbook.clear()
    assert _shown(workbook) == {}
    assert workbook.form.given() == {}
    assert workbook.comparison._kept == []
    assert "1 kept build dropped" in workbook.blocks.told.value
    assert "the answer comes here" in workbook.results.line.value


def test_load_of_what_cannot_be_read(workbook: Workbook) -> None:
    """Another customer's row with a problem: nothing of the first customer stays above it."""
    workbook.load([{"customer": "Somebody else", "usable_tb": "plenty"}], "enquiries.csv")
    assert _shown(workbook) == {}
    assert workbook.comparison._kept == []
    assert "see beside Usable capacity, TB" in workbook.results.line.value
    assert "1 kept build dropped" in workbook.blocks.told.value


def test_load_of_another_answer(workbook: Workbook) -> None:
    """What was tried, kept, written and struck out for the first is gone with it."""
    workbook.load([{"customer": "Somebody else", "usable_tb": "1", "note": "new"}], "enquiries.csv")
    record = workbook.results.record
    assert record is not None and record.customer == "Somebody else"
    assert "<code>" not in workbook.writer.told.value
    assert workbook.comparison._kept == []
    assert workbook.comparison._tried is None
    base = workbook.comparison._base
    assert base is not None and base.record.customer == "Somebody else"


def test_load_forgets_changed_workload_numbers(workbook: Workbook) -> None:
    workbook.workload.fields["read_pct"].value = "5"
    assert workbook.workload.edited
    workbook.load([{**FIRST, "customer": "Somebody else"}], "enquiries.csv")
    assert not workbook.workload.edited


def test_restore(workbook: Workbook) -> None:
    workbook.clear()
    _fill(workbook, {**FIRST, "customer": "Somebody else", "usable_tb": "3"})
    workbook.comparison.keep.click()
    workbook.restore(0)
    record = workbook.results.record
    assert record is not None and record.customer == FIRST["customer"]
    # What was kept for that customer comes back with it, and nothing else.
    assert [c.record.customer for c in workbook.comparison._kept] == [FIRST["customer"]]


@pytest.mark.parametrize(
    "cells",
    [{"usable_tb": "900000"}, {"max_price": "1"}, {"chassis": "BOX-NV", "drive": "DISK-4T"}],
    ids=["too large", "too dear", "does not fit"],
)
def test_no_build(workbook: Workbook, cells: dict[str, str]) -> None:
    """Under "No build" there is nothing to take for one."""
    _fill(workbook, cells)
    assert "No build:" in workbook.results.line.value
    # What can still be chosen is judged for this enquiry.
    assert set(_shown(workbook)) <= {"judged", "counted"}
    assert "0 meet every demand" in workbook.found.counted.value
    assert any(field.error for field in workbook.form.fields.values())


@pytest.mark.parametrize("cells", [{"usable_tb": "twelve"}, {"usable_tb": ""}, {"survive": "-1"}])
def test_a_problem(workbook: Workbook, cells: dict[str, str]) -> None:
    _fill(workbook, cells)
    assert _shown(workbook) == {}


def test_a_number_of_the_workload_that_is_none(workbook: Workbook) -> None:
    workbook.workload.fields["read_pct"].value = "much"
    assert _shown(workbook) == {}


def test_a_fault_of_ours(workbook: Workbook, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("made for the test")

    monkeypatch.setattr("quotelib.workbook.answers.answer", broken)
    _fill(workbook, {"usable_tb": "13"})
    assert "fault of the program" in workbook.results.line.value
    assert _shown(workbook) == {}


def test_what_is_written_is_of_what_is_shown(workbook: Workbook) -> None:
    """After a change the links to the files before are gone, and so is a yes to replace them."""
    workbook.write()
    assert "Press again" in workbook.writer.told.value
    _fill(workbook, {"usable_tb": "13"})
    assert "Press again" not in workbook.writer.told.value
    workbook.write()
    assert "Press again" in workbook.writer.told.value


def _in_loop(act: Callable[[], Any]) -> None:
    """Run something with an event loop, as in a kernel."""

    async def run() -> None:
        await act()

    asyncio.run(run())


async def _settle(workbook: Workbook, *, seconds: float = 60) -> None:
    for _ in range(int(seconds / 0.02)):
        await asyncio.sleep(0.02)
        task = workbook.background._task
        if task is not None and task.done() and not workbook._waiting:
            return
    raise AssertionError("still at work")


def test_a_write_that_ends_late(
    copy_of_small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import threading

    from quotelib.workbook import handover

    go = threading.Event()
    real = handover.write_documents

    def slow(*given: Any) -> dict[str, str]:
        go.wait(30)
        return real(*given)

    monkeypatch.setattr(handover, "write_documents", slow)

    async def act() -> None:
        workbook = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
        _fill(workbook, {**FIRST, **PINS})
        await _settle(workbook)
        workbook.write()
        await asyncio.sleep(0.1)
        assert "Writing" in workbook.writer.told.value
        workbook.clear()
        await asyncio.sleep(0.1)
        go.set()
        task = workbook.writer._background._task
        assert task is not None
        await task
        told = workbook.writer.told.value
        assert "<code>" not in told and "N-1" not in told
        assert "of the enquiry as it was before have been written" in told

    _in_loop(act)
    assert json.loads((tmp_path / "records" / "N-1.json").read_text("utf-8"))


def test_an_answer_that_comes_late(copy_of_small: Path, tmp_path: Path) -> None:
    """Cleared while the first customer's answer is worked out: it is not shown any more."""

    async def act() -> None:
        workbook = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
        _fill(workbook, FIRST)
        await asyncio.sleep(0.05)
        workbook.clear()
        await asyncio.sleep(1)
        assert _shown(workbook) == {}

    _in_loop(act)


def test_old_figures_are_marked_while_the_same_enquiry_is_worked_out(
    copy_of_small: Path, tmp_path: Path
) -> None:
    async def act() -> None:
        workbook = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
        _fill(workbook, FIRST)
        await _settle(workbook)
        assert workbook.engine.anew == []
        before = workbook.results.proposal.value
        _fill(workbook, {"usable_tb": "20"})
        await asyncio.sleep(0.001)
        assert workbook.results.proposal.value == before
        assert workbook.engine.anew == [ANSWER, SOON, REST, CHOICES]
        await _settle(workbook)
        assert workbook.results.proposal.value != before
        assert workbook.engine.anew == []

    _in_loop(act)


def test_first_charts_come_before_the_answer(
    copy_of_small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pinned change shows its first charts at once, and they are those of the answer."""

    async def act() -> None:
        workbook = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
        _fill(workbook, {**FIRST, **PINS})
        await _settle(workbook)
        before = workbook.results.first_charts.charts
        _fill(workbook, {"members": "6"})
        await asyncio.sleep(0.001)
        first = workbook.results.first_charts.charts
        record = workbook.results.record
        assert record is not None and record.servers[0].arrays[0].layout.members == 4
        assert first != before
        await _settle(workbook)
        record = workbook.results.record
        assert record is not None and record.servers[0].arrays[0].layout.members == 6
        assert workbook.results.first_charts.charts == first

    _in_loop(act)


def test_first_charts_of_two_arrays_come_before_the_answer(
    copy_of_small: Path, tmp_path: Path
) -> None:
    async def act() -> None:
        workbook = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
        mirror = {"array": "b", "controller": "CARD", "drive": "DISK-4T"}
        rows = [{**FIRST, **PINS, "array": "a"}, {**mirror, "members": "2", "level": "1"}]
        workbook.load([{**row, "enquiry_id": "N-1"} for row in rows], "a.csv")
        await _settle(workbook)
        _fill(workbook, {"members": "6"})
        await asyncio.sleep(0.001)
        first = workbook.results.first_charts.charts
        record = workbook.results.record
        assert record is not None and record.servers[0].arrays[0].layout.members == 4
        await _settle(workbook)
        record = workbook.results.record
        assert record is not None and record.servers[0].arrays[0].layout.members == 6
        assert workbook.results.first_charts.charts == first

    _in_loop(act)


@pytest.mark.parametrize("more", [{"max_price": "1"}, {"max_loss_pct": "0.000000001"}])
def test_first_charts_wait_where_an_answer_may_be_none(
    copy_of_small: Path, tmp_path: Path, more: dict[str, str]
) -> None:
    async def act() -> None:
        workbook = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
        _fill(workbook, {**FIRST, **PINS, **more})
        await asyncio.sleep(0.001)
        assert workbook.results.first_charts.charts == []
        await _settle(workbook)
        assert "No build:" in workbook.results.line.value
        assert workbook.results.first_charts.charts == []

    _in_loop(act)
