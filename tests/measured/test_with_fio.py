"""The job files are run by fio itself, on a file of a few MB; what it writes is read back."""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from quotelib import cli
from quotelib.measured.jobs import job_file, trials
from quotelib.promise.record import QuoteRecord
from tests.documents.builds import record as of_build
from tests.ten_builds import ALL

from . import outputs

pytestmark = pytest.mark.skipif(
    shutil.which("fio") is None and "CI" not in os.environ,
    reason="needs the fio command (Debian: apt-get install fio)",
)


def fio(*arguments: str, device: str = "", cwd: Path) -> subprocess.CompletedProcess[str]:
    env = {name: value for name, value in os.environ.items() if name != "DEVICE"}
    env |= {"DEVICE": device} if device else {}
    return subprocess.run(
        ["fio", *arguments], cwd=cwd, env=env, capture_output=True, text=True, timeout=120,
        check=False,
    )  # fmt: skip


def text_of(made: QuoteRecord) -> str:
    (of,) = trials(made)
    return job_file(made, of)


def small(text: str) -> str:
    """Let it run for a second a job on a file of a few MB; no file system need take direct I/O."""
    for option, value in {
        "runtime": "1", "ramp_time": "0", "size": "512k", "offset_increment": "512k",
        "direct": "0", "allow_mounted_write": "1",
    }.items():  # fmt: skip
        text = re.sub(rf"^{option}=.*", f"{option}={value}", text, flags=re.MULTILINE)
    return text


def a_file(folder: Path) -> Path:
    path = folder / "device"
    path.write_bytes(b"\xa5" * 8_388_608)
    return path


@pytest.mark.parametrize("name", ALL)
def test_fio_takes_every_option(name: str, tmp_path: Path) -> None:
    (tmp_path / "a.fio").write_text(text_of(of_build(name)))
    done = fio("--parse-only", "a.fio", device=str(a_file(tmp_path)), cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, ""), done.stderr


@pytest.mark.parametrize("workload", ["ledger_database", "sensor_log"])
def test_what_fio_writes_is_held_against_the_record(
    workload: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = outputs.record(workload=workload)
    (tmp_path / "a.fio").write_text(small(text_of(made)))
    where = ("--output-format=json", "--output=out.json", "a.fio")
    device = a_file(tmp_path)
    before = device.read_bytes()
    done = fio(*where, device=str(device), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert device.read_bytes() != before
    (tmp_path / "r.json").write_text(made.to_json())
    status = cli.main(["measured", str(tmp_path / "r.json"), str(tmp_path / "out.json")])
    said = capsys.readouterr().out
    assert status in (0, 1) and "9 figures measured" in said
    kept = json.loads((tmp_path / "r.measured.json").read_text("utf-8"))["measurements"]
    found = {f["key"]: f["measured"] for one in kept for f in one["figures"]}
    assert set(found) == {
        "host_iops", "response_ms", "host_mb_s", "read_iops", "write_iops", "read_mb_s",
        "write_mb_s", "lone_read_ms", "write_ms",
    }  # fmt: skip
    assert all(value > 0 for value in found.values())
    # What is wrong with such a trial is found, and that it had the load of the quote.
    doubts = [doubt for one in kept for doubt in one["doubts"]]
    kinds = ("file and no device", "least to rely on", "system's memory")
    assert all(any(kind in doubt for kind in kinds) for doubt in doubts), set(doubts)
    assert len(doubts) == 3 * len(kept)
    # fio's own words, read by another rule.
    jobs = json.loads((tmp_path / "out.json").read_text("utf-8"))["jobs"]
    host = next(one for one in jobs if one["jobname"].endswith("host_iops"))
    done_so = [host[side] for side in ("read", "write")]
    assert found["host_iops"] == pytest.approx(sum(s["iops"] for s in done_so), rel=1e-4)
    waited = sum(s["lat_ns"]["mean"] * s["lat_ns"]["N"] for s in done_so)
    mean_ms = waited / sum(s["lat_ns"]["N"] for s in done_so) / 1e6
    assert found["response_ms"] == pytest.approx(mean_ms, rel=0.02)
    load = made.servers[0].arrays[0].outlook.load
    share = done_so[0]["total_ios"] / sum(s["total_ios"] for s in done_so)
    assert share == pytest.approx(float(load.read_pct) / 100, abs=0.05)


def test_without_a_device_nothing_runs_and_no_file_is_made(tmp_path: Path) -> None:
    (tmp_path / "a.fio").write_text(small(text_of(outputs.record())))
    for device in ("", str(tmp_path / "not_there")):
        done = fio("--output-format=json", "a.fio", device=device, cwd=tmp_path)
        assert done.returncode != 0
        assert [path.name for path in tmp_path.iterdir()] == ["a.fio"]


@pytest.mark.parametrize("action", outputs.STAYING)
def test_what_stays_is_as_it_was_afterwards(action: str, tmp_path: Path) -> None:
    made = outputs.rows(outputs.STAYING[action])
    (tmp_path / "a.fio").write_text(small(text_of(made)))
    device = a_file(tmp_path)
    before, changed = device.read_bytes(), device.stat().st_mtime_ns
    where = ("--readonly", "--output-format=json", "--output=out.json", "a.fio")
    done = fio(*where, device=str(device), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (device.read_bytes(), device.stat().st_mtime_ns) == (before, changed)
    jobs = json.loads((tmp_path / "out.json").read_text("utf-8"))["jobs"]
    assert jobs and all(one["write"]["total_ios"] == 0 < one["read"]["total_ios"] for one in jobs)


def test_readonly_refuses_the_file_of_a_new_array(tmp_path: Path) -> None:
    (tmp_path / "a.fio").write_text(small(text_of(outputs.record())))
    device = a_file(tmp_path)
    before = device.read_bytes()
    done = fio("--readonly", "a.fio", device=str(device), cwd=tmp_path)
    assert done.returncode != 0 and device.read_bytes() == before
