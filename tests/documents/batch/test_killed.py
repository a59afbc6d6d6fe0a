"""A run that is killed anywhere leaves one whole set or says it is between two; the next is whole.

Beside a few points, every single write is killed, and fifty seeded moments, with

    BATCH_KILLS=50 .venv/bin/python -m pytest -q tests/documents/batch/test_killed.py
"""

import json
import os
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from quotelib.documents.batch.whole import STAGE, UNFINISHED
from tests.small_list import write

from .disturbing import ask, begin, end, kill, nobody_left, tree

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="finds processes in /proc")
KILLS = int(os.environ.get("BATCH_KILLS", "2"))
FEW = 4
Tree = dict[str, bytes | None]


@dataclass(frozen=True)
class Runs:
    """A folder after a first run of A and B, and after one of B and C that nobody disturbed."""

    prices: Path
    first: Path
    second: Path
    before: Tree
    after: Tree
    points: int

    def begun(self, out: Path) -> Path:
        """Put the folder there as the first run left it."""
        for name, data in self.before.items():
            path = out / name
            folder = path if data is None else path.parent
            folder.mkdir(parents=True, exist_ok=True)
            if data is not None:
                path.write_bytes(data)
        return out

    def again(self, out: Path) -> str:
        """Run the second once more; check that it comes to what it would have without a kill."""
        status, said = end(begin(self.second, out, self.prices))
        assert status == 0, said
        now = tree(out)
        assert list(now) == list(self.after)
        assert [name for name in now if now[name] != self.after[name]] == []
        return said


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> Runs:
    folder = tmp_path_factory.mktemp("runs")
    prices, out, log = write(folder / "prices"), folder / "out", folder / "log"
    first = ask(folder / "first.csv", "A", "B")
    second = ask(folder / "second.csv", "B", "C", discount_pct="3")
    assert end(begin(first, out, prices))[0] == 0
    before = tree(out)
    status, said = end(begin(second, out, prices, plant={"log": str(log)}))
    assert status == 0, said
    assert "5 files, moved to earlier/" in said
    after, points = tree(out), log.stat().st_size
    assert {name.rpartition("/")[2] for name in after if name.startswith("earlier/")} >= {"A.html"}
    assert before["quotes/B.html"] != after["quotes/B.html"]
    assert points > 50
    return Runs(prices, first, second, before, after, points)


def _files(found: Tree) -> Iterator[tuple[str, bytes]]:
    """Give what a reader sees: no folders, and nothing that is hidden."""
    for name, data in found.items():
        if data is not None and not name.startswith("."):
            yield name, data


def _whole_or_said(out: Path, runs: Runs) -> str:
    """Check what a kill left; say which run the folder is of."""
    found = dict(_files(tree(out)))
    between = found.pop(UNFINISHED, None)
    old, new = dict(_files(runs.before)), dict(_files(runs.after))
    for name, data in found.items():
        assert data in (old.get(name), new.get(name)), f"{name} is of neither run"
    if between is not None:
        assert "two runs" in json.loads(between)["what"]
        return "between"
    assert found in (old, new), "half a set, and nothing says so"
    return "old" if found == old else "new"


def _killed_at(point: int, runs: Runs, folder: Path) -> tuple[str, str]:
    out = runs.begun(folder / "out")
    plant = {"log": str(folder / "log"), "at": point, "do": "kill main"}
    process = begin(runs.second, out, runs.prices, plant=plant)
    status, said = end(process)
    assert status == -9, said
    nobody_left(process)
    left = _whole_or_said(out, runs)
    return left, runs.again(out)


@pytest.mark.parametrize("part", range(FEW))
def test_killed_in_a_write(part: int, runs: Runs, tmp_path: Path) -> None:
    """Spread over the run; the later half of the points are moves."""
    point = (2 * part + 1) * runs.points // (2 * FEW)
    _killed_at(point, runs, tmp_path)


@pytest.mark.skipif(KILLS < 50, reason="takes minutes: BATCH_KILLS=50")
def test_killed_in_every_single_write(runs: Runs, tmp_path: Path) -> None:
    found = {"old": 0, "between": 0, "new": 0}
    for point in range(runs.points):
        folder = tmp_path / str(point)
        folder.mkdir()
        left, _ = _killed_at(point, runs, folder)
        found[left] += 1
    print(f"{runs.points} points: {found}")
    assert all(found.values())


def test_what_was_begun_is_removed_and_counted(runs: Runs, tmp_path: Path) -> None:
    out = runs.begun(tmp_path / "out")
    for name in (".part-abc", "quotes/.part-def", f"{STAGE}/quotes/B.html"):
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        (out / name).write_text("<ht", "utf-8")
    assert "3 unfinished files of it removed" in runs.again(out)


@pytest.mark.parametrize("seed", range(KILLS))
def test_killed_at_any_moment(seed: int, runs: Runs, tmp_path: Path) -> None:
    out = runs.begun(tmp_path / "out")
    process = begin(runs.second, out, runs.prices, jobs=2)
    try:
        process.wait(random.Random(seed).uniform(0.2, 4))
    except Exception:  # it is not at its end yet
        kill(process)
    end(process)
    nobody_left(process)
    _whole_or_said(out, runs)
    runs.again(out)
