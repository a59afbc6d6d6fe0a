"""The page without a browser: what it shows, keeps and writes when fields change."""

import csv
import datetime as dt
import io
import json
from pathlib import Path

import pytest

from quotelib.documents.quoting import quote, read_record
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.load import NUMBERS
from quotelib.enquiry.reading import read_enquiries
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from quotelib.resources import demo_enquiries
from quotelib.workbook import handover
from quotelib.workbook.autosave import FILE_NAME, Autosave
from quotelib.workbook.page import Workbook
from tests.predict.outlooks import all_estimates
from tests.workbook.on_the_page import as_on_the_page

DATE = "2026-11-25"
NEED = {"customer": "Tidal Mill (invented)", "enquiry_id": "W-1", "usable_tb": "20"}


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    return Workbook(str(copy_of_small), DATE, tmp_path / "desk")


@pytest.fixture
def stocked(tmp_path: Path) -> Workbook:
    """Give a page that quotes from the starter price list."""
    return Workbook(date=DATE, folder=tmp_path)


def _type(workbook: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def _estimate(record: QuoteRecord, key: str) -> float | None:
    return next(e.value for e in all_estimates(record) if e.key == key)


def _give(workbook: Workbook, name: str, text: str) -> None:
    """Give the page a file, as a browser does."""
    data = text.encode()
    now = dt.datetime.now(dt.UTC)
    given = {"name": name, "type": "", "size": len(data), "content": data, "last_modified": now}
    workbook.loader.file.value = (given,)


def test_same_as_a_batch(stocked: Workbook) -> None:
    _type(stocked, survive="2", **NEED)
    expected = quote({**NEED, "survive": "2"}, date=DATE)
    assert expected.servers[0].controllers is not None
    assert stocked.results.record == as_on_the_page(expected)


def test_every_example(stocked: Workbook) -> None:
    """Each example enquiry gives on the page the record that the batch gives."""
    for asked in read_enquiries(demo_enquiries(), stocked.prices.list)[::9]:
        if asked.request is None:
            continue
        stocked.results.record = None
        stocked.load([row.cells for row in asked.rows], "enquiries.csv")
        answered = answer(stocked.prices.list, asked.request, dt.date.fromisoformat(DATE))
        expected = answered.record and as_on_the_page(answered.record)
        assert stocked.results.record == expected, asked.enquiry_id


def test_starting_points(workbook: Workbook) -> None:
    _type(workbook, **NEED)
    record = workbook.results.record
    assert record is not None
    (server,) = record.servers
    assert server.alternatives
    workbook.starts.start_from(0)
    assert workbook.form.given()["drive"] == server.arrays[0].drive
    pinned = workbook.results.record
    assert pinned is not None
    assert pinned.totals == record.totals
    # What stands beside the proposal is offered there.
    other = next(one for one in server.alternatives if "level" in one.kinds)
    workbook.clear_pins()
    workbook.starts.start_from(1)
    chosen = workbook.results.record
    assert chosen is not None
    assert chosen.servers[0].arrays[0].layout.level == other.pins["level"]
    assert chosen.totals.net == other.net


def test_what_if(workbook: Workbook) -> None:
    _type(workbook, **NEED)
    workbook.starts.start_from(0)
    before = workbook.results.record
    comparison = workbook.comparison
    comparison.keep.click()
    comparison.drives.value = "12"
    assert workbook.results.record == before  # asking changes nothing
    assert "over 12 drives" in comparison._says.value
    comparison.drives.value = "1"
    assert "Not possible:" in comparison._says.value
    assert "or more members" in comparison._says.value


def test_at_most_four_kept(workbook: Workbook) -> None:
    _type(workbook, **NEED)
    comparison = workbook.comparison
    for members in ("4", "5", "6", "7", "8"):
        comparison.drives.value = members
        comparison.keep.click()
    assert len(comparison._kept) == 4
    assert "remove one first" in comparison._full.value


def test_every_number_that_an_enquiry_may_state_has_a_field(workbook: Workbook) -> None:
    assert list(workbook.workload.fields) == list(NUMBERS)


def test_edited_workload(workbook: Workbook) -> None:
    """Changed numbers change the estimates, and are quoted, named beside the workload."""
    _type(workbook, **NEED, workload="files")
    before = workbook.results.record
    numbers = workbook.workload
    numbers.fields["read_pct"].value = "10"
    after = workbook.results.record
    assert before is not None
    assert after is not None
    iops = [_estimate(record, "host_iops") for record in (before, after)]
    assert iops[0] != iops[1]
    assert after.rows[0].cells["workload"] == "files;read_pct=10"
    workbook.write()
    assert "Written: Q-" in workbook.writer.told.value
    written = read_record(workbook.folder / "records" / "W-1.json")
    assert written.rows[0].cells["workload"] == "files;read_pct=10"
    assert "10 % reads" in (workbook.folder / "quotes" / "W-1-annex.html").read_text("utf-8")
    numbers.fields["read_pct"].value = "110"
    assert "too large" in numbers.fields["read_pct"].error
    workbook.write()
    assert "Not written" in workbook.writer.told.value
    numbers.reset()
    assert workbook.results.record == before


def test_written_files(workbook: Workbook) -> None:
    _type(workbook, **NEED)
    workbook.write()
    assert "Written: Q-20261125-W-1" in workbook.writer.told.value
    for name in ("quotes/W-1.html", "quotes/W-1-annex.html", "bench/W-1.html", "records/W-1.json"):
        assert (workbook.folder / name).is_file()
    record = workbook.folder / "records" / "W-1.json"
    stamp = record.stat().st_mtime_ns
    workbook.write()  # there already: asked for first
    assert "Press again" in workbook.writer.told.value
    assert record.stat().st_mtime_ns == stamp
    workbook.write()
    assert record.stat().st_mtime_ns > stamp


def test_not_written_without_a_name(workbook: Workbook) -> None:
    _type(workbook, usable_tb="20")
    workbook.write()
    assert "Customer and Enquiry number" in workbook.writer.told.value
    assert workbook.form.fields["customer"].error


def test_unwritable_folder(workbook: Workbook, monkeypatch: pytest.MonkeyPatch) -> None:
    _type(workbook, **NEED)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("quotelib.documents.making.write_new", full)
    workbook.write()
    assert "No space left on device" in workbook.writer.told.value


def test_fault_of_ours(workbook: Workbook, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault is told in words, its details go to a file, and what was typed stays."""

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("made for the test")

    monkeypatch.setattr("quotelib.workbook.answers.answer", broken)
    _type(workbook, **NEED)
    assert "a fault of the program (RuntimeError)" in workbook.results.line.value
    assert "Traceback" not in workbook.results.line.value
    assert "made for the test" in (workbook.folder / "fault-workbook.txt").read_text("utf-8")
    assert Autosave(workbook.folder).earlier[0].rows["1"]["usable_tb"] == "20"


def test_row_is_read_by_the_batch(workbook: Workbook, tmp_path: Path) -> None:
    note = 'Says "two rooms, one rack";\nrings back'
    _type(workbook, **NEED, note=note, owned="", survive="1")
    path = tmp_path / "enquiries.csv"
    path.write_text(workbook.blocks.copy.value + "\n", "utf-8", newline="")
    (asked,) = read_enquiries(path, workbook.prices.list)
    assert asked.request is not None
    (enquiry,) = asked.request.rows
    assert (enquiry.customer, enquiry.note) == (NEED["customer"], note)


def test_every_column_has_a_field(workbook: Workbook) -> None:
    assert set(workbook.form.fields) == set(COLUMNS)


def test_load_record(workbook: Workbook, copy_of_small: Path) -> None:
    record = quote({**NEED, "survive": "2", "level": "6"}, str(copy_of_small), DATE)
    _give(workbook, "W-1.json", record.to_json())
    assert workbook.form.given()["level"] == "6"
    assert workbook.results.record == as_on_the_page(record)


@pytest.mark.parametrize("typed", ["", "0", "2.5"])
def test_a_record_comes_back_as_it_was_typed(
    workbook: Workbook, copy_of_small: Path, typed: str
) -> None:
    """A discount that nobody gave is no discount of 0 that somebody did."""
    number = NEED["enquiry_id"]
    rows = [{**NEED, "discount_pct": typed}, {"enquiry_id": number, "parts": "DISK-8T"}]
    record = quote(rows, str(copy_of_small), DATE)
    _give(workbook, "W-1.json", record.to_json())
    assert len(workbook.order.rows) == 2
    assert workbook.form.fields["discount_pct"].value == ("" if typed == "0" else typed)
    again = workbook.results.record
    assert again is not None and again.to_json() == as_on_the_page(record).to_json()


def test_load_row_with_a_problem(workbook: Workbook) -> None:
    """A row that cannot be read is loaded all the same, and told beside its field."""
    text = demo_enquiries().read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    place = next(n for n, row in enumerate(rows) if row["currency"] == "SEK")
    _give(workbook, "enquiries.csv", text)
    workbook.loader.row.value = str(place)
    assert workbook.form.fields["currency"].value == "SEK"
    assert "currencies" in workbook.form.fields["currency"].error


@pytest.mark.parametrize("text", ["", "[]", '{"enquiry": 5}', '{"rows": []}', "no json"])
def test_load_nonsense(workbook: Workbook, text: str) -> None:
    _give(workbook, "x.json", text)
    assert "no record of a quote" in workbook.loader.says.value


def test_margin_words_stay_hidden(workbook: Workbook) -> None:
    _type(workbook, **NEED, discount_pct="60")
    shown = workbook.results.line.value + workbook.results.costs.value
    assert "margin" not in shown
    assert workbook.results.margin.value == ""
    workbook.blocks.seller.value = True
    assert "under the floor" in workbook.results.line.value
    assert "Margin" in workbook.results.margin.value


def test_start_afresh_and_restore(workbook: Workbook) -> None:
    _type(workbook, **NEED)
    workbook.clear()
    assert workbook.form.given() == {}
    workbook.restore(0)
    assert workbook.form.given() == NEED


def test_autosave_keeps_the_later(tmp_path: Path) -> None:
    first = Autosave(tmp_path)
    first.keep({"1": {"customer": "One", "usable_tb": "5"}, "3": {"parts": "BELL"}})
    second = Autosave(tmp_path)
    kept = {"session": first.session, "saved": "2999-01-01T00:00:00+00:00"}
    # Row 2 was taken out since: what the browser had of it does not come back.
    rows = {"1": {"usable_tb": "6"}, "2": {"line": "gone"}, "3": {"note": "soon"}}
    second.found_in_browser(json.dumps({**kept, "rows": rows}))
    assert second.earlier[0].rows == {
        "1": {"customer": "One", "usable_tb": "6"},
        "3": {"parts": "BELL", "note": "soon"},
    }
    third = Autosave(tmp_path)
    old = {**kept, "saved": "2000-01-01T00:00:00+00:00", "rows": {"1": {"usable_tb": "1"}}}
    third.found_in_browser(json.dumps(old))
    assert third.earlier[0].rows["1"]["usable_tb"] == "5"


@pytest.mark.parametrize(
    "text", ["", "{", "[1, 2]", '[{"rows": 3}]', '[{"rows": {"1": 3}}]', '{"a": 1}', "\x00"]
)
def test_autosave_survives_a_broken_file(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE_NAME).write_text(text, "utf-8")
    kept = Autosave(tmp_path)
    kept.found_in_browser(text)
    assert kept.earlier == []
    kept.keep({"1": {"customer": "Two"}})
    assert Autosave(tmp_path).earlier[0].rows == {"1": {"customer": "Two"}}


def test_earlier_quote_of_another_kind(tmp_path: Path) -> None:
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "A.json").write_text("[]", "utf-8")
    assert handover.earlier_quote(tmp_path, "A") == "a file that is no record of ours"
    assert handover.earlier_quote(tmp_path, "B") == ""
