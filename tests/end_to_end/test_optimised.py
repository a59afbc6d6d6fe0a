"""`python -O` and `-OO` take out assertions and docstrings: nothing may rest on them.

nbconvert did until 7.16.5, so that every quote was a fault; hence its least version.
"""

import re
import sys
from importlib.metadata import requires
from pathlib import Path

import pytest

from quotelib.resources import a_day

from .running import DATE, all_files, run


def test_docstrings_and_assertions_are_not_needed(tmp_path: Path) -> None:
    lines = a_day().read_text("utf-8").splitlines(keepends=True)
    enquiries = tmp_path / "enquiries.csv"
    enquiries.write_text("".join(lines[:3] + lines[-3:]), "utf-8")
    wrote = {}
    for flags in ([], ["-OO"]):
        out = tmp_path / "".join(["out", *flags])
        program = (sys.executable, *flags, "-m", "quotelib.cli")
        done = run("batch", enquiries, "--out", out, "--date", DATE, program=program)
        assert done.returncode == 0, done.stdout
        wrote[out.name] = all_files(out)
    assert wrote["out"] == wrote["out-OO"]


@pytest.mark.parametrize("flag", ["-O", "-OO"])
def test_the_workbook_opens_without_them(tmp_path: Path, flag: str) -> None:
    code = (
        "from quotelib.workbook.page import Workbook; import sys; w = Workbook(folder=sys.argv[1]);"
        "w.order.take({'customer': 'A', 'enquiry_id': 'B', 'usable_tb': '20'}); w.recompute();"
        "w.write(); print(w.writer.told.value)"
    )
    done = run(tmp_path, program=(sys.executable, flag, "-c", code))
    assert done.returncode == 0, done.stderr
    assert "Written: Q-" in done.stdout
    assert not list(tmp_path.glob("fault-*"))


def test_a_version_that_needs_docstrings_is_not_taken() -> None:
    asked = next(line for line in requires("quotelib") or () if line.startswith("nbconvert"))
    least = re.search(r">=([\d.]+)", asked)
    assert least and tuple(map(int, least[1].split("."))) >= (7, 16, 6)
