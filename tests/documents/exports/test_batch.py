"""A batch makes what it is asked for beside its pages, names it in run.json, and moves it aside."""

import datetime as dt
import hashlib
import json
import stat
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from quotelib import cli
from quotelib.documents.batch import answers
from quotelib.documents.batch.run import run_batch
from quotelib.documents.making import write_documents
from quotelib.documents.quoting import read_record
from quotelib.errors import NotExported
from tests.documents.batch.disturbing import ask
from tests.end_to_end.running import all_files, read_csv

DATE = dt.date(2026, 11, 25)
ALL = {"quotes/A.pdf", "items/A.xlsx", "ubl/A.xml"}


def _of(folder: Path, *names: str) -> set[str]:
    made = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    return {name for name in made if name.endswith((".pdf", ".xlsx", ".xml"))}


def _browsers(scratch: Path) -> list[str]:
    listed = subprocess.run(["ps", "-eo", "args"], capture_output=True, text=True, check=True)
    return [line for line in listed.stdout.splitlines() if str(scratch) in line]


def test_all_are_there_listed_and_for_the_customer(
    prints: Callable[..., bytes], copy_of_small: Path, short: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("TMPDIR", str(short))
    monkeypatch.setattr("tempfile.tempdir", None)
    path, runs = ask(tmp_path / "e.csv", "A", "B", "C"), []
    for jobs in ("1", "2"):
        out = tmp_path / jobs
        given = ["batch", str(path), "--out", str(out), "--prices", str(copy_of_small)]
        given += ["--date", DATE.isoformat(), "--jobs", jobs, "--pdf", "--xlsx", "--ubl"]
        assert cli.main(given) == 0
        runs.append(all_files(out))
        assert list(short.iterdir()) == [] and _browsers(short) == []
    assert runs[0] == runs[1]  # to the byte
    out = tmp_path / "2"
    assert _of(out) == {name.replace("A", one) for name in ALL for one in "ABC"}
    files = json.loads((out / "run.json").read_text("utf-8"))["files"]
    for name in _of(out):
        assert files[name] == hashlib.sha256((out / name).read_bytes()).hexdigest()
        assert stat.S_IMODE((out / name).stat().st_mode) & 0o400
    assert "items, ubl" in (out / "SELLER_ONLY.txt").read_text("utf-8")
    said = " ".join(capsys.readouterr().out.split())
    assert "quotes, bench sheets, items and ubl." in said


def test_what_is_not_made_anew_moves_aside(copy_of_small: Path, tmp_path: Path) -> None:
    path, out = ask(tmp_path / "e.csv", "A", "B"), tmp_path / "out"
    run_batch(path, out, prices=copy_of_small, date=DATE, exports=("xlsx", "ubl"))
    assert _of(out) == {"items/A.xlsx", "items/B.xlsx", "ubl/A.xml", "ubl/B.xml"}
    result = run_batch(path, out, prices=copy_of_small, date=DATE, exports=("ubl",))
    assert set(result.moved) == {"items/A.xlsx", "items/B.xlsx"}
    left = {name for name in _of(out) if not name.startswith("earlier/")}
    assert left == {"ubl/A.xml", "ubl/B.xml"}
    # Written by hand, without exports: those of the quote before would say otherwise.
    write_documents(read_record(out / "records/A.json"), out, "A")
    left = {name for name in _of(out) if not name.startswith("earlier/")}
    assert left == {"ubl/B.xml"} and len(list((out / "earlier").rglob("A.xml"))) == 1


def test_without_asking_there_is_none(copy_of_small: Path, tmp_path: Path) -> None:
    run_batch(ask(tmp_path / "e.csv", "A"), tmp_path / "out", prices=copy_of_small, date=DATE)
    assert _of(tmp_path / "out") == set()
    assert not {"items", "ubl"} & {path.name for path in (tmp_path / "out").iterdir()}


def test_one_that_fails_costs_its_enquiry_alone(copy_of_small: Path, tmp_path: Path) -> None:
    rows, out = tmp_path / "e.csv", tmp_path / "out"
    rows.write_text(
        "enquiry_id,customer,line,line_quantity,line_price\n"
        "A,Somebody,Much,1001,900000000000.01\n"
        "B,Somebody,Little,1,1.01\n",
        "utf-8",
    )
    result = run_batch(rows, out, prices=copy_of_small, date=DATE, exports=("xlsx",))
    assert dict(result.counts) == {"fault": 1, "quoted": 1}
    fault, _ = read_csv(out / "summary.csv")
    assert "not exported: 900900000000010.01 has" in fault["reason"]
    assert "fault-A.txt" in fault["reason"]
    assert _of(out) == {"items/B.xlsx"} and not (out / "quotes/A.html").exists()


def test_what_cannot_be_exported_is_said_plainly(
    copy_of_small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_: object) -> answers.Done:
        raise NotExported("the browser ended (planted)")

    from quotelib.catalogue.price_list import load_price_list
    from quotelib.enquiry.reading import read_enquiries

    prices = load_price_list(copy_of_small)
    (asked,) = read_enquiries(ask(tmp_path / "e.csv", "A"), prices)
    monkeypatch.setattr(answers, "_answered", refuses)
    done = answers.answered(answers.Job(prices, tmp_path, DATE), answers.Task(asked, "A"))
    (row,) = done.rows
    assert row["outcome"] == "fault"
    assert row["reason"].startswith("not exported: the browser ended (planted), nothing was")
