"""What a batch says of what it could not do, and of what it found in its folder."""

import datetime as dt
import errno
from pathlib import Path

import pytest

from quotelib import cli
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.batch import answers, files
from quotelib.enquiry.reading import read_enquiries

from .running import DATE, all_files, write_csv

GOOD = {
    "chassis": "CHS-1U-4L", "controller": "CTL-BOARD-6", "drive": "DRV-HDD-4T-SATA",
    "members": "2", "level": "1",
}  # fmt: skip


def enquiries(folder: Path, *ids: str) -> Path:
    rows = [
        {"enquiry_id": name, "customer": "Somebody", "array": str(n), **GOOD}
        for n, name in enumerate(ids)
    ]
    return write_csv(folder / "enquiries.csv", rows)


def answer(folder: Path, *ids: str) -> int:
    """Run a batch."""
    path = enquiries(folder, *ids)
    return cli.main(["batch", str(path), "--out", str(folder / "out"), "--date", DATE])


def test_a_fault_of_ours_is_told_on_every_row_and_in_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*_: object) -> answers.Done:
        raise ZeroDivisionError("planted")

    price_list = load_price_list()
    (asked,) = read_enquiries(enquiries(tmp_path, "E2", "E2"), price_list)
    job = answers.Job(price_list, tmp_path, dt.date.fromisoformat(DATE))
    monkeypatch.setattr(answers, "_answered", faulty)
    done = answers.answered(job, answers.Task(asked, "E2"))
    assert len(done.rows) == 2
    for row in done.rows:
        assert row["outcome"] == "fault" not in answers.OUTCOMES
        assert "fault-E2.txt" in row["reason"] and "ZeroDivisionError" in row["reason"]
    assert list(done.files) == ["fault-E2.txt"]
    assert "ZeroDivisionError: planted" in (tmp_path / "fault-E2.txt").read_text("utf-8")


@pytest.mark.parametrize("error", [MemoryError(), OSError(errno.ENOMEM, "Cannot allocate memory")])
def test_memory_that_runs_out_is_no_fault_of_the_program(
    error: Exception, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is known for what it is also where it runs out in a cell of a notebook."""

    def hungry(*_: object) -> None:
        raise error

    price_list = load_price_list()
    (asked,) = read_enquiries(enquiries(tmp_path, "E2"), price_list)
    for room in ("quotes", "bench", "records"):
        (tmp_path / room).mkdir()
    job = answers.Job(price_list, tmp_path, dt.date.fromisoformat(DATE))
    place = "quotelib.documents.charts.price_chart"
    if isinstance(error, OSError):
        place = "quotelib.documents.making.write_new"
    monkeypatch.setattr(place, hungry)
    with pytest.raises(MemoryError):
        answers.answered(job, answers.Task(asked, "E2"))


def test_what_the_batch_before_left_is_moved_aside_and_counted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert answer(tmp_path, "E1", "E2") == 0
    assert "batch before" not in capsys.readouterr().out
    before = all_files(out)
    (out / "quotes" / "by-hand.html").write_text("a page of somebody's own")
    assert answer(tmp_path, "E1") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Of the batch before, not of this one: 5 files, moved to earlier/2026-11-25-" in told
    assert "of no batch: 1 document, quotes/by-hand.html" in told
    (aside,) = (out / "earlier").iterdir()
    assert all_files(aside) == {name: data for name, data in before.items() if "E2" in name}
    assert (out / "quotes" / "by-hand.html").read_text() == "a page of somebody's own"
    # Once more the same, and what stands aside already stays.
    assert answer(tmp_path, "E1", "E2") == answer(tmp_path, "E1") == 0
    assert len(list((out / "earlier").iterdir())) == 2


def test_a_summary_alone_tells_what_the_batch_before_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert answer(tmp_path, "E1", "E2") == 0
    (tmp_path / "out" / "run.json").unlink()
    assert answer(tmp_path, "E1") == 0
    assert "4 files, moved to earlier/" in " ".join(capsys.readouterr().out.split())
    assert not list((tmp_path / "out" / "quotes").glob("E2*"))


@pytest.mark.parametrize("name", ["../mine.html", "quotes/../../mine.html", "/etc/hostname"])
def test_nothing_outside_the_folder_is_moved(name: str, tmp_path: Path) -> None:
    mine = tmp_path / "mine.html"
    mine.write_text("mine")
    out = tmp_path / "out"
    (out / "quotes").mkdir(parents=True)
    (out / "run.json").write_text(f'{{"date": "2026-11-25", "files": {{"{name}": ""}}}}')
    (out / "unfinished.json").write_text(f'{{"moves": [["{name}", "quotes/a.html"]]}}')
    assert answer(tmp_path, "E1") == 0
    assert mine.read_text() == "mine" and Path("/etc/hostname").exists()
    assert not (out / "quotes" / "a.html").exists()


def test_a_write_that_fails_half_way_keeps_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    files.write_aside(path, "old")
    with pytest.raises(UnicodeEncodeError):
        files.write_aside(path, "x" * 100_000 + "\ud800")  # no UTF-8 for a lone surrogate
    assert all_files(tmp_path) == {"page.html": b"old"}


@pytest.mark.parametrize("error", [TypeError("planted"), MemoryError()])
def test_a_batch_that_dies_on_its_price_list_could_not_run(
    error: BaseException,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Status 2 with words, and the details in a file; not 1, which says some are answered."""

    def dies(*_: object) -> None:
        raise error

    monkeypatch.setattr("quotelib.documents.batch.run.load_price_list", dies)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert answer(tmp_path, "E1") == 2
    told = capsys.readouterr()
    assert told.err.startswith("Cannot go on: ") and "Traceback" not in told.out + told.err
    if isinstance(error, TypeError):
        (file,) = tmp_path.glob("quotelib-fault-*.txt")
        assert str(file) in told.err and "TypeError: planted" in file.read_text("utf-8")
