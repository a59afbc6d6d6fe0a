"""What a batch does when something goes wrong in the middle of it."""

import datetime as dt
import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.batch import files
from quotelib.documents.batch import run as batch
from quotelib.enquiry.request import Request

from .running import DATE, all_files, read_csv, write_csv

GOOD = {
    "chassis": "CHS-1U-4L", "controller": "CTL-BOARD-6", "drive": "DRV-HDD-4T-SATA",
    "members": "2", "level": "1",
}  # fmt: skip
Answer = Callable[[batch._Job, Request, batch._Task], batch.Rows]


def enquiries(folder: Path, *ids: str) -> Path:
    rows = [
        {"enquiry_id": name, "customer": "Somebody", "array": str(n), **GOOD}
        for n, name in enumerate(ids)
    ]
    return write_csv(folder / "enquiries.csv", rows)


def answer(folder: Path, *ids: str) -> int:
    """Run a batch in this process."""
    path = enquiries(folder, *ids)
    return cli.main(["batch", str(path), "--out", str(folder / "out"), "--date", DATE])


def test_a_fault_of_ours_costs_one_enquiry_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sound: Answer = batch._answered

    def faulty(job: batch._Job, request: Request, task: batch._Task) -> batch.Rows:
        if request.first.enquiry_id == "E2":
            raise ZeroDivisionError("planted")
        return sound(job, request, task)

    monkeypatch.setattr(batch, "_answered", faulty)
    # E2 has two rows, of which both say so.
    assert answer(tmp_path, "E1", "E2", "E2", "E3") == 1
    rows = read_csv(tmp_path / "out" / "summary.csv")
    assert [(row["enquiry_id"], row["outcome"]) for row in rows] == [
        ("E1", "quoted"),
        ("E2", "invalid"),
        ("E2", "invalid"),
        ("E3", "quoted"),
    ]
    for row in rows[1:3]:
        assert "fault-E2.txt" in row["reason"] and "ZeroDivisionError" in row["reason"]
    written = all_files(tmp_path / "out")
    assert b"ZeroDivisionError: planted" in written.pop("fault-E2.txt")
    assert not any("E2" in name for name in written)
    shown = capsys.readouterr()
    assert "fault-E2.txt" in shown.out and "Traceback" not in shown.out + shown.err


def test_left_over_files_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(tmp_path, "E1", "E2") == 0
    assert "earlier batch" not in capsys.readouterr().out
    assert answer(tmp_path, "E1") == 0
    told = capsys.readouterr().out
    assert "from an earlier batch" in told and "E2" in told
    assert (tmp_path / "out" / "quotes" / "E2.html").exists()  # told, not taken away


@pytest.mark.parametrize("good_writes", range(4))
def test_a_full_disk_leaves_no_partial_file(
    good_writes: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert answer(tmp_path, "E1") == 0
    before = all_files(tmp_path / "out")
    calls = 0

    def full(_: int) -> None:
        nonlocal calls
        calls += 1
        if calls > good_writes:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(files.os, "fsync", full)
    capsys.readouterr()
    assert answer(tmp_path, "E1") == 2
    assert all_files(tmp_path / "out") == before
    error = capsys.readouterr().err
    assert os.strerror(errno.ENOSPC) in error and "Traceback" not in error


def test_a_write_that_fails_half_way_keeps_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    files.write_aside(path, "old")
    with pytest.raises(UnicodeEncodeError):
        files.write_aside(path, "x" * 100_000 + "\ud800")  # no UTF-8 for a lone surrogate
    assert all_files(tmp_path) == {"page.html": b"old"}


class Bomb(str):
    """Kills the process that unpickles it, as running out of memory would."""

    def __reduce__(self) -> tuple[Callable[[int], Any], tuple[int]]:
        return os._exit, (3,)


def test_a_worker_that_dies_costs_only_its_own_enquiry(tmp_path: Path) -> None:
    price_list = load_price_list()
    asked = batch.read_enquiries(enquiries(tmp_path, "E1", "E2", "E3"), price_list)
    when = dt.date.fromisoformat(DATE)
    job = batch._Job(price_list, tmp_path, when)
    stems = {"E1": "E1", "E2": Bomb("E2"), "E3": "E3"}
    tasks = [batch._Task(one, stems[one.enquiry_id]) for one in asked]
    done = dict(batch._work(job, tasks, jobs=2))
    assert [[row["outcome"] for row in done[place]] for place in range(3)] == [
        ["quoted"],
        ["invalid"],
        ["quoted"],
    ]
    assert "fault-E2.txt" in done[1][0]["reason"]
    assert (tmp_path / "fault-E2.txt").exists()
