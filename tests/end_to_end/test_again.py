"""The same as last time, and more of it two weeks later: from the record's file to the page."""

import shutil
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import load_price_list
from quotelib.cli import main
from quotelib.documents.making import annex_page, offer_page
from quotelib.documents.quoting import read_record
from quotelib.promise.again import revise
from quotelib.resources import starter_prices
from tests.promise.quoted_before import TODAY, Row, quoted, with_words

SEEDS: Row = {"usable_tb": "60", "survive": "2", "workload": "backup_target", "media": "hdd",
              "tax_code": "S", "note": "Ours alone."}  # fmt: skip


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Keep the record of last month's quote in a file."""
    path = tmp_path / "last" / "records" / "E-1.json"
    path.parent.mkdir(parents=True)
    path.write_text(quoted(load_price_list(), SEEDS).to_json(), "utf-8")
    return path


@pytest.fixture
def raised(tmp_path: Path) -> Path:
    """Make a price list on which one drive costs 10.00 more."""
    prices = Path(shutil.copytree(starter_prices(), tmp_path / "prices"))
    path = prices / "drives.csv"
    text = path.read_text("utf-8")
    assert text.count("246.00,298.00") == 1
    path.write_text(text.replace("246.00,298.00", "246.00,308.00"), "utf-8")
    return prices


def _command(record: Path, out: Path, *more: str) -> int:
    return main(["again", str(record), "--out", str(out), "--date", "2026-11-15", *more])


def test_same_as_last_time(
    record: Path, raised: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    before = record.read_bytes()
    assert _command(record, out, "--prices", str(raised)) == 0
    assert record.read_bytes() == before
    said = capsys.readouterr().out
    assert "Q-20261115-E-1, quoted, against Q-20261101-E-1 of 2026-11-01" in said
    assert "GBP 308.00 each instead of GBP 298.00 each (6 of them): +60.00" in said
    assert "Total without tax: GBP 3,876.74, before 3,816.74: +60.00." in said
    new = read_record(out / "records" / "E-1.json")
    assert new.servers[0].placement == read_record(record).servers[0].placement
    annex = (out / "quotes" / "E-1-annex.html").read_text("utf-8")
    assert "What changed since quote Q-20261101-E-1 of 1 November 2026" in annex
    page = (out / "quotes" / "E-1.html").read_text("utf-8")
    assert "What changed since offer Q-20261101-E-1 of 1 November 2026" in page
    assert "GBP +60.00" in annex and ": +60.00" in page
    assert (out / "bench" / "E-1.html").is_file()


def test_what_cannot_be_had_any_more_writes_nothing(
    record: Path, raised: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("drives.csv", "accessories.csv"):
        path = raised / name
        path.write_text(path.read_text("utf-8").replace("DRV-HDD-16T-SATA", "DRV-OTHER"), "utf-8")
    assert _command(record, tmp_path / "out", "--prices", str(raised)) == 1
    said = capsys.readouterr().out
    assert "DRV-HDD-16T-SATA is not on the price list any more" in said
    assert "a revision would offer" in said
    assert "Nothing was written." in said
    assert not (tmp_path / "out").exists()


def test_what_is_no_record_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "odd.json").write_text('{"format": "quotelib quote record 7"}', "utf-8")
    assert _command(tmp_path / "odd.json", tmp_path / "out") == 2
    assert "odd.json" in capsys.readouterr().err
    assert _command(tmp_path / "none.json", tmp_path / "out") == 2
    assert not (tmp_path / "out").exists()


def test_raised_two_weeks_later_on_the_page(record: Path, tmp_path: Path) -> None:
    old = read_record(record)
    came = revise(old, with_words(old, {"usable_tb": "80"}), load_price_list(), TODAY)
    assert came.record is not None
    (tmp_path / "E-1.json").write_text(came.record.to_json(), "utf-8")
    pages = [make(tmp_path / "E-1.json") for make in (offer_page, annex_page)]
    for page in pages:
        assert "What changed since revision 1 of 1 November 2026" in page
        assert "Usable capacity: at least 80 TB instead of at least 60 TB" in page
        assert "Ours alone" not in page
    assert "What changed in price, and why" in pages[1]
    # A first quote says nothing of the kind.
    assert "What changed" not in offer_page(record) + annex_page(record)
