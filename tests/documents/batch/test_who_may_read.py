"""Who may read what is written: the seller's files nobody else, any other as the umask says."""

import stat
import sys
from pathlib import Path

import pytest

from quotelib.documents.batch.files import write_aside
from tests import other_user
from tests.end_to_end.running import DATE, run, write_csv
from tests.other_user import needs_root

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there is no umask on Windows")
_ROW = {
    "enquiry_id": "A-1", "customer": "Somebody", "chassis": "CHS-1U-4L",
    "controller": "CTL-BOARD-6", "drive": "DRV-HDD-4T-SATA", "members": "2", "level": "1",
}  # fmt: skip
_WITH = """
import os, sys
os.umask(int(sys.argv.pop(1), 8))
from pathlib import Path
from quotelib import cli
from quotelib.workbook.autosave import Autosave
from quotelib.workbook.background import report
if sys.argv[1] == "batch":
    folder = Path(sys.argv[4])
    folder.mkdir()
    assert Autosave(folder).keep({"a": {"customer": "Somebody"}}) == ""
    report(ValueError("\\ud800"), folder)
sys.exit(cli.main(sys.argv[1:]))
"""
_SELLERS = {
    "summary.csv",
    "run.json",
    "records/A-1.json",
    "quotelib_typed.json",
    "fault-workbook.txt",
}


def _modes(folder: Path) -> dict[str, int]:
    paths = [folder, *folder.rglob("*")]
    return {str(p.relative_to(folder)): stat.S_IMODE(p.stat().st_mode) for p in paths}


def _batch(folder: Path, umask: int) -> Path:
    path, out = write_csv(folder / "enquiries.csv", [_ROW]), folder / "out"
    program = (sys.executable, "-c", _WITH, f"{umask:o}")
    done = run("batch", path, "--out", out, "--date", DATE, program=program)
    assert done.returncode == 0, done.stderr
    return out


@pytest.mark.parametrize("umask", [0o022, 0o077, 0o002])
def test_files_follow_the_umask_and_the_sellers_are_private(tmp_path: Path, umask: int) -> None:
    out = _batch(tmp_path, umask)
    modes = _modes(out)
    assert modes.keys() >= _SELLERS | {"quotes/A-1.html", "bench/A-1.html", "SELLER_ONLY.txt"}
    for name, mode in modes.items():
        most = 0o777 if (out / name).is_dir() else 0o600 if name in _SELLERS else 0o666
        assert mode == most & ~umask, f"{name}: {mode:o}"
    notice = (out / "SELLER_ONLY.txt").read_text("utf-8").splitlines()[0]
    assert all(what in notice for what in ("summary.csv", "records", "fault"))
    assert (out / "summary.csv").read_text("utf-8").startswith("enquiry_id,")
    assert "seller only" in (out / "records" / "A-1.json").read_text("utf-8").splitlines()[1]


def test_what_was_open_is_private_once_it_is_written_anew(tmp_path: Path) -> None:
    for name in ("summary.csv", "records/A-1.json"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("of an earlier version")
        path.chmod(0o666)
        write_aside(path, "new")
        assert (path.read_text(), stat.S_IMODE(path.stat().st_mode)) == ("new", 0o600)


@pytest.mark.parametrize("umask", [0o022, 0o077])
def test_the_starter_files_follow_the_umask(tmp_path: Path, umask: int) -> None:
    program = (sys.executable, "-c", _WITH, f"{umask:o}")
    assert run("starter", tmp_path / "mine", program=program).returncode == 0
    for name, mode in _modes(tmp_path / "mine").items():
        most = 0o777 if (tmp_path / "mine" / name).is_dir() else 0o666
        assert mode == most & ~umask, f"{name}: {mode:o}"


@needs_root
@pytest.mark.parametrize("umask", [0o022, 0o077])
def test_another_user_reads_nothing_of_the_sellers(public: Path, umask: int) -> None:
    out = _batch(public, umask)
    program = (sys.executable, other_user.__file__, "read")
    found = run(public, program=program).stdout.splitlines()
    read = {Path(line.partition(":")[0]) for line in found}
    assert public / "anybody.txt" in read
    there = {str(path.relative_to(out)) for path in read if path.is_relative_to(out)}
    theirs = {"SELLER_ONLY.txt", "quotes/A-1.html", "bench/A-1.html", "bench/A-1.s1-a1.fio"}
    theirs.add("quotes/A-1-annex.html")
    assert there == (theirs if umask == 0o022 else set())
