"""What was measured is kept beside the record, only grows, and is never lost to a later run."""

import csv
import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli
from quotelib.documents.batch.files import file_stems
from quotelib.documents.batch.lock import alone_in
from quotelib.measured.kept import Kept, evidence, read_kept

from . import outputs
from .outputs import NAME, estimate, job, options, output, side, write

GOOD = {
    "customer": "Somebody", "chassis": "CHS-1U-4L", "controller": "CTL-BOARD-6",
    "drive": "DRV-HDD-4T-SATA", "members": "2", "level": "1",
}  # fmt: skip


def put(folder: Path, name: str = "M-1", **more: str) -> Path:
    """Write a record as a batch would."""
    path = folder / "records" / f"{name}.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(outputs.record(**more).to_json(), "utf-8")
    return path


def ran(folder: Path, times: float = 1.0, name: str = "fio.json", when: int = 0) -> Path:
    """Write what fio may have measured of reads, at so many times the value quoted."""
    made = outputs.record()
    iops = times * estimate(made, "read_iops")[1]
    done = output(job(NAME + "read_iops", options(made, "read_iops"), read=side(iops, 1, 1)))
    return write(folder, {**done, "timestamp": outputs.WHEN + when}, name)


def measured(*arguments: str | Path) -> int:
    return cli.main(["measured", *map(str, arguments)])


def test_status_table_and_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = put(tmp_path)
    assert measured(record, ran(tmp_path)) == 0
    said = capsys.readouterr().out
    three = float(f"{estimate(outputs.record(), 'read_iops')[1]:.3g}")
    assert "RAID 5 over 12 drives" in said and f"quoted {three:,.0f} a second" in said
    assert "inside" in said and "1 figure measured, 0 worse than quoted" in said
    kept = record.with_name("M-1.measured.json")
    assert kept.stat().st_mode & 0o777 == 0o600
    data = json.loads(kept.read_text("utf-8"))
    assert data["format"] == "quotelib measured 1"
    (one,) = data["measurements"]
    assert one["when"] == "2026-11-28T11:22:53Z"
    assert one["record_sha256"] == hashlib.sha256(record.read_bytes()).hexdigest()
    assert one["figures"][0]["key"] == "read_iops"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["fio.json", "records"]
    # Worse than its range, and another time: both are kept.
    assert measured(record, ran(tmp_path, 0.2, "slow.json", 60)) == 1
    assert "WORSE" in capsys.readouterr().out
    assert len(read_kept(kept).measurements) == 2


def test_the_same_output_is_kept_once_and_what_was_there_stays(tmp_path: Path) -> None:
    record, first = put(tmp_path), ran(tmp_path)
    assert measured(record, first, first) == 0
    path = record.with_name("M-1.measured.json")
    before = path.read_bytes()
    assert measured(record, first) == 0 and path.read_bytes() == before
    assert measured(record, ran(tmp_path, 1.1, "two.json", 5), first) == 0
    kept = read_kept(path).measurements
    assert len(kept) == 2 and kept[0] == Kept.model_validate_json(before).measurements[0]
    # Of a quote that was made anew it is another comparison.
    put(tmp_path, accept="wide_group")
    assert measured(record, first) == 0
    assert len({one.record_sha256 for one in read_kept(path).measurements}) == 2
    assert len(list(evidence(tmp_path))) == 2


def test_a_kept_file_that_cannot_be_read_is_not_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = put(tmp_path)
    path = record.with_name("M-1.measured.json")
    for text in ("{", '{"format": "quotelib measured 9"}', "[]"):
        path.write_text(text)
        assert measured(record, ran(tmp_path)) == 2
        said = " ".join(capsys.readouterr().err.split())
        assert "M-1.measured.json" in said and "move it away" in said and "Traceback" not in said
        assert path.read_text() == text


def test_nothing_matched_says_what_would(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = put(tmp_path)
    path = write(tmp_path, output(job("warm-up", {}), job("quotelib-s9-a1-read_iops", {})))
    assert measured(record, path) == 2
    said = capsys.readouterr().err.replace("\n", " ")
    assert "warm-up" in said and f"{NAME}host_iops: rw=randrw" in " ".join(said.split())
    assert not record.with_name("M-1.measured.json").exists()


def test_jobs_of_others_are_named_and_do_not_count(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record, path = put(tmp_path), ran(tmp_path)
    data = json.loads(path.read_text("utf-8"))
    data["jobs"].append(job("warm-up", {}))
    assert measured(record, write(tmp_path, data)) == 0
    assert "Of no quote: fio.json: warm-up" in capsys.readouterr().out
    data["jobs"][0]["error"] = 5
    assert measured(record, write(tmp_path, data)) == 1
    assert "FAILED: fio.json" in capsys.readouterr().out


def _broken(record: Path, **change: Any) -> Path:
    data = json.loads(record.read_text("utf-8"))
    path = record.with_name("other.json")
    path.write_text(json.dumps({**data, **change}))
    return path


def test_what_cannot_run_says_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record, fine = put(tmp_path), ran(tmp_path)
    tries: list[tuple[str, tuple[str | Path, ...]]] = [
        ("quotelib quote record", (_broken(record, format="quotelib quote record 3"), fine)),
        ("cannot be read", (tmp_path / "none.json", fine)),
        ("holds no JSON", (record, write(tmp_path, [], "list.json"))),
        ("but not fio's", (record, record)),
        ("Give the record", (record,)),
        ("Give the record", ()),
        ("Give the record", (record, fine, "--evidence", tmp_path)),
        ("is no folder", ("--evidence", tmp_path / "none")),
    ]
    for said, arguments in tries:
        assert measured(*arguments) == 2, said
        told = capsys.readouterr()
        assert said in " ".join(told.err.split()) and "Traceback" not in told.err
    assert not record.with_name("M-1.measured.json").exists()


def test_one_at_a_time_writes_into_a_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record, path = put(tmp_path), ran(tmp_path)
    with alone_in(tmp_path):
        assert measured(record, path) == 2
    assert "being written to by another run" in " ".join(capsys.readouterr().err.split())
    assert measured(record, path) == 0


def batch(folder: Path, *ids: str) -> int:
    path = folder / "enquiries.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = csv.DictWriter(file, ["enquiry_id", *GOOD])
        rows.writeheader()
        rows.writerows({"enquiry_id": name, **GOOD} for name in ids)
    out, date = str(folder / "out"), outputs.DATE
    return cli.main(["batch", str(path), "--out", out, "--date", date])


def test_a_later_batch_leaves_it_alone_and_says_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert batch(tmp_path, "A", "B") == 0
    for name in ("A", "B"):
        (out / "records" / f"{name}.measured.json").write_text(f"measured of {name}")
    capsys.readouterr()
    # B goes to earlier, what was measured of it stays where it is.
    assert batch(tmp_path, "A") == batch(tmp_path, "A") == 0
    assert "of no batch" not in capsys.readouterr().out
    for name in ("A", "B"):
        assert (out / "records" / f"{name}.measured.json").read_text() == f"measured of {name}"
    (earlier,) = (out / "earlier").iterdir()
    moved = {str(path.relative_to(earlier)) for path in earlier.rglob("*.*")}
    quotes = {"quotes/B.html", "quotes/B-annex.html"}
    assert moved == {"bench/B.html", "bench/B.s1-a1.fio", "records/B.json", *quotes}
    # Every file of the run is in its list, with what it holds.
    listed = json.loads((out / "run.json").read_text("utf-8"))["files"]
    digest = hashlib.sha256((out / "bench" / "A.s1-a1.fio").read_bytes()).hexdigest()
    assert listed["bench/A.s1-a1.fio"] == digest


def test_no_offer_is_named_like_an_annex() -> None:
    stems = file_stems(["A", "A-annex", "a-ANNEX", "A-annex-2"])
    assert (stems[0], stems[3]) == ("A", "A-annex-2")
    assert not any(stem.casefold().endswith("-annex") for stem in stems)


def test_no_record_is_named_like_what_was_measured(tmp_path: Path) -> None:
    stems = file_stems(["A", "A.measured", "a.MEASURED", "A.measured.b"])
    assert (stems[0], stems[3]) == ("A", "A.measured.b")
    assert not any(stem.casefold().endswith(".measured") for stem in stems)
    (tmp_path / "out" / "records").mkdir(parents=True)
    kept = tmp_path / "out" / "records" / "A.measured.json"
    kept.write_text("measured")
    assert batch(tmp_path, "A", "A.measured") == 0
    assert kept.read_text() == "measured"


def test_evidence_lists_what_was_measured_of_the_same_parts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = put(tmp_path)
    assert measured(record, ran(tmp_path), ran(tmp_path, 0.9, "later.json", 3600)) == 0
    other = put(tmp_path / "of_others", "M-2")
    assert measured(other, ran(tmp_path, 1.05, "third.json", 7200)) == 0
    every = list(evidence(tmp_path))
    times = [one.when for one in every]
    assert len(every) == 3 and times == sorted(times, key=str, reverse=True)
    same = list(evidence(tmp_path, "CTL-RB2-12G-CD", "DRV-HDD-16T-SATA", "5"))
    assert same == every
    assert list(evidence(tmp_path, level="6")) == list(evidence(tmp_path, "CTL-NONE")) == []
    capsys.readouterr()
    assert measured("--evidence", tmp_path, "--drive", "DRV-HDD-16T-SATA") == 0
    assert "3 measurements in" in capsys.readouterr().out
    assert measured("--evidence", tmp_path, "--level", "6") == 0
    assert "0 measurements in" in capsys.readouterr().out
