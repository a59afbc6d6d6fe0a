"""A batch gives its quotes into a register: once, in order, and before any document is there."""

from __future__ import annotations

import datetime as dt
from contextlib import suppress
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli
from quotelib.documents.batch.result import BatchResult
from quotelib.documents.batch.run import run_batch
from quotelib.errors import InputError
from quotelib.promise.record import QuoteRecord
from quotelib.register.book import Register
from tests import small_list

from . import disturbing as d

DAY = dt.date.fromisoformat(d.DATE)


@pytest.fixture
def where(tmp_path: Path) -> Path:
    return tmp_path / "register"


@pytest.fixture
def batch(tmp_path: Path, copy_of_small: Path, where: Path) -> Any:
    """Run a batch of some enquiries."""

    def run(*names: str, date: dt.date = DAY, jobs: int = 1, **cells: str) -> BatchResult:
        enquiries = d.ask(tmp_path / "enquiries.csv", *names, **cells)
        out = tmp_path / "out"
        return run_batch(
            enquiries, out, prices=copy_of_small, date=date, jobs=jobs, register=where, by="Kim"
        )

    return run


def record(folder: Path, name: str) -> QuoteRecord:
    return QuoteRecord.model_validate_json((folder / f"records/{name}.json").read_text("utf-8"))


def test_numbers_follow_the_file_whatever_the_jobs(batch: Any, where: Path) -> None:
    made = batch("C", "A", "B", jobs=2)
    assert [one.enquiry_id for one in Register(where).find()] == ["C", "A", "B"]
    for number, name in enumerate("CAB", 1):
        assert record(made.folder, name).quote_number == f"2026-{number:04}"
        page = (made.folder / f"quotes/{name}.html").read_text("utf-8")
        assert f"2026-{number:04}" in page and "Q-2026" not in page
    assert made.notices[0] == f"Given into the register {where}: 3 new (2026-0001 to 2026-0003)."


def test_again_it_gives_nothing_new_and_the_same_papers(batch: Any, where: Path) -> None:
    made = batch("A", "B")
    before = d.tree(made.folder)
    again = batch("A", "B", date=DAY + dt.timedelta(days=9))
    after = d.tree(made.folder)
    # The papers that the customers have; only run.json tells the day of the run.
    kept = {name: data for name, data in after.items() if not name.startswith("earlier")}
    assert {n for n in kept if kept[n] != before.get(n)} == {"run.json"}
    assert "2 as given before (2026-0001, 2026-0002)" in again.given
    assert [one.revision for one in Register(where).find()] == [1, 1]


def test_what_changed_is_a_revision(batch: Any, where: Path) -> None:
    batch("A", "B")
    made = batch("A", builds="3")
    assert "1 revised (2026-0001 rev. 2)" in made.given
    assert record(made.folder, "A").numbered == "2026-0001 rev. 2"
    assert "2026-0001 rev. 2" in (made.folder / "bench/A.html").read_text("utf-8")


def test_what_is_ordered_is_refused_with_words(batch: Any, where: Path) -> None:
    batch("A", "B")
    Register(where).became("2026-0001", "ordered", "Kim")
    made = batch("A", "B", builds="2")
    assert [row["outcome"] for row in made.rows] == ["refused", "quoted"]
    assert made.rows[0]["reason"] == (
        "register: 2026-0001 is ordered, so it is not revised; say first that it is open again "
        "(quotelib became 2026-0001 open), or give the enquiry another number"
    )
    assert not (made.folder / "records/A.json").exists()
    assert "1 revised (2026-0002 rev. 2); 1 not given (2026-0001)" in made.given


def test_without_a_register_nothing_is_otherwise(
    tmp_path: Path, copy_of_small: Path, where: Path
) -> None:
    enquiries = d.ask(tmp_path / "enquiries.csv", "A")
    made = run_batch(enquiries, tmp_path / "out", prices=copy_of_small, date=DAY)
    assert record(made.folder, "A").quote_number == "Q-20261125-A"
    assert not where.exists() and made.given == ""


def test_a_register_that_cannot_be_used_stops_it_first(batch: Any, where: Path) -> None:
    where.mkdir()
    (where / "register.sqlite3").write_bytes(b"no database" * 400)
    with pytest.raises(InputError, match="is damaged, or no register at all"):
        batch("A")
    assert not (where.parent / "out").exists()


def test_killed_between_register_and_folder(
    tmp_path: Path, copy_of_small: Path, where: Path
) -> None:
    enquiries, out = d.ask(tmp_path / "enquiries.csv", "A", "B", "C"), tmp_path / "out"
    more = ["--register", str(where), "--by", "Kim"]
    process = d.begin(enquiries, out, copy_of_small, more=more)

    def given() -> bool:
        with suppress(InputError):
            return len(Register(where, wait_s=1).find()) == 3
        return False

    d.until(given, "given")
    d.kill(process)
    d.end(process)
    d.nobody_left(process)
    # Nothing stands in the folder, and nothing is lost: any of them can be written.
    assert not list(out.glob("*/*.html")) and not (out / "summary.csv").exists()
    assert cli.main(["reopen", "2026-0002", "--register", str(where), "--out", str(out)]) == 0
    assert record(out, "B").quote_number == "2026-0002"
    # The batch again gives the same ones, and nothing else.
    process = d.begin(enquiries, out, copy_of_small, more=more)
    status, said = d.end(process)
    assert status == 0, said
    assert "3 as given before (2026-0001 to 2026-0003)" in said
    assert [record(out, name).quote_number for name in "ABC"] == [
        "2026-0001", "2026-0002", "2026-0003",
    ]  # fmt: skip
    assert [one.revision for one in Register(where).find()] == [1, 1, 1]
    assert [r.to_json() for r in (record(out, n) for n in "ABC")] == [
        Register(where).revision(f"2026-000{n}").text for n in (1, 2, 3)
    ]


def test_killed_before_anything_is_given_leaves_the_register_as_it_was(
    tmp_path: Path, copy_of_small: Path, where: Path
) -> None:
    enquiries, out = d.ask(tmp_path / "enquiries.csv", "A", "B"), tmp_path / "out"
    more = ["--register", str(where)]
    plant = {"log": str(tmp_path / "log"), "at": ".first-B.json", "do": "kill main"}
    process = d.begin(enquiries, out, copy_of_small, plant=plant, more=more)
    status, _ = d.end(process)
    assert status == -9
    assert Register(where).find() == []
    process = d.begin(enquiries, out, copy_of_small, more=more)
    assert "2 new (2026-0001, 2026-0002)" in d.end(process)[1]


def test_a_fault_after_it_was_given_says_under_which_number(
    tmp_path: Path, copy_of_small: Path, where: Path
) -> None:
    enquiries, out = d.ask(tmp_path / "enquiries.csv", "A", "B"), tmp_path / "out"
    plant = {"log": str(tmp_path / "log"), "at": "bench/B.html", "do": "fault"}
    more = ["--register", str(where)]
    process = d.begin(enquiries, out, copy_of_small, plant=plant, more=more)
    status, said = d.end(process)
    assert status == 1
    assert "no document was written; it is given as 2026-0002, and can be reopened" in said
    assert record(out, "A").quote_number == "2026-0001"
    assert cli.main(["reopen", "2026-0002", "--register", str(where), "--out", str(out)]) == 0


def test_a_folder_without_room_says_that_the_quotes_are_given(
    tmp_path: Path, copy_of_small: Path, where: Path
) -> None:
    enquiries, out = d.ask(tmp_path / "enquiries.csv", "A", "B"), tmp_path / "out"
    plant = {"log": str(tmp_path / "log"), "at": "bench/B.html", "do": "full"}
    process = d.begin(enquiries, out, copy_of_small, plant=plant, more=["--register", str(where)])
    status, said = d.end(process)
    assert status == 2
    assert "No space left on device (the quotes are in the register; run this again" in said
    assert not (out / "summary.csv").exists()
    assert (
        "2 as given before"
        in d.end(d.begin(enquiries, out, copy_of_small, more=["--register", str(where)]))[1]
    )


def test_two_weeks_later_the_parts_are_the_same_and_the_page_says_what_changed(
    tmp_path: Path, where: Path
) -> None:
    """The drive that was quoted is dearer now: alone, another one would be chosen."""
    cells = {"usable_tb": "6", "survive": "1", "chassis": ""}
    blank = dict.fromkeys(("controller", "drive", "members", "level"), "")
    enquiries, out = d.ask(tmp_path / "enquiries.csv", "A", **blank, **cells), tmp_path / "out"
    later = DAY + dt.timedelta(days=14)
    cheap = small_list.write(tmp_path / "before")
    (drive,) = {a.drive for _, a in run_batch_record(enquiries, out, cheap, DAY, where).by_array()}
    tables = small_list.copy()
    (row,) = [row for row in tables["drives.csv"] if row["sku"] == drive]
    price = Decimal(row["unit_price"])
    dear = small_list.write(
        tmp_path / "after", small_list.change(tables, drive, unit_price=price * 10)
    )
    alone = run_batch(enquiries, tmp_path / "alone", prices=dear, date=later)
    other = {array.drive for _, array in record(alone.folder, "A").by_array()}
    assert other != {drive}
    after = run_batch_record(enquiries, out, dear, later, where)
    assert after.numbered == "2026-0001 rev. 2"
    assert {array.drive for _, array in after.by_array()} == {drive}
    prices = [change.line for change in after.changes if change.group == "price"]
    assert any(drive in line or "unit price" in line.lower() for line in prices), prices
    page = (out / "quotes/A.html").read_text("utf-8")
    assert "What changed since revision 1 of 25 November 2026" in page


def run_batch_record(
    enquiries: Path, out: Path, prices: Path, date: dt.date, where: Path
) -> QuoteRecord:
    """Run a batch of A; give its record."""
    run_batch(enquiries, out, prices=prices, date=date, register=where, by="Kim")
    return record(out, "A")
