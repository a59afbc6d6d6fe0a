"""Do the tests notice when the program is wrong: one change at a time, and its room's tests.

``python -m tests.mutation [--rooms build pricing] [--sample 200] [--seed 1] [--jobs 2]`` tries a
seeded sample of `changes` in a copy of the tree. Each change meets the tests of its room that run
its line, the quickest first, until one fails. What lives is printed; ``--json FILE`` keeps it all.
Changes that change nothing stand in ``equivalent.toml``, each with its reason.
"""

import argparse
import json
import multiprocessing
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

# What tests import, once for all the children that are forked from here.
import coverage
import hypothesis
import pytest
import scipy.linalg  # noqa: F401

from tests.mutation.changes import Change, changes

ROOT = Path(__file__).resolve().parent.parent.parent
ROOMS = ("build", "pricing", "estimate", "predict")
COPIED = ("quotelib", "tests", "templates", "notebooks", "pyproject.toml", "README.md")
ARGUMENTS = ["-q", "-x", "-m", "not browser", "-p", "no:cacheprovider", "-p", "no:xdist"]
FAILED = (pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.INTERRUPTED)  # or could not be imported

Lines = dict[str, dict[str, list[str]]]  # file, line, tests that run it ("": while importing)


class Recorder:
    """Writes down which test runs which line, and how long each takes."""

    def __init__(self) -> None:
        self.cover = coverage.Coverage(data_file=None, include=["quotelib/*"])
        self.seconds: dict[str, float] = {}
        self.cover.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        for name in [n for n in sys.modules if n.startswith("quotelib.")]:
            for kept in list(vars(sys.modules[name]).values()):
                if hasattr(kept, "cache_clear"):  # what one test left there no other would run
                    kept.cache_clear()
        self.cover.switch_context(item.nodeid)
        started = time.perf_counter()
        result = yield
        self.seconds[item.nodeid] = time.perf_counter() - started
        return result

    def write(self, to: Path) -> None:
        self.cover.stop()
        data, here = self.cover.get_data(), Path.cwd()
        lines = {
            str(Path(file).relative_to(here)): data.contexts_by_lineno(file)
            for file in data.measured_files()
        }
        to.write_text(json.dumps([lines, self.seconds]))


class Picked:
    """Keeps the tests asked for, in the order they are asked for."""

    def __init__(self, tests: list[str]) -> None:
        self.order = {test: i for i, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        wanted = [item for item in items if item.nodeid in self.order]
        items[:] = sorted(wanted, key=lambda item: self.order[item.nodeid])


def forked(tree: Path, limit_s: float, work: Callable[[], int]) -> int | None:
    """Give the exit status of some work of a child that stands in a tree; None: too slow."""
    if not (child := os.fork()):
        try:
            os.setsid()
            os.chdir(tree)
            for stream in (1, 2):
                os.dup2(os.open(tree / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_APPEND), stream)
            sys.path[:] = [str(tree), *(p for p in sys.path if Path(p).resolve() != ROOT)]
            for name in [n for n in sys.modules if n.split(".")[0] in ("tests", "quotelib")]:
                del sys.modules[name]
            phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]  # no shrinking
            hypothesis.settings.register_profile(
                "mutation", deadline=None, derandomize=True, database=None, phases=phases
            )
            hypothesis.settings.load_profile("mutation")
            os._exit(int(work()))
        except BaseException:
            os._exit(pytest.ExitCode.INTERNAL_ERROR)
    ends = time.monotonic() + limit_s
    while time.monotonic() < ends:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


def record(master: Path, room: str) -> tuple[Lines, dict[str, float]]:
    """Run a room's tests once, and say which run which line and how long each takes."""
    kept = master / f"{room}.json"

    def work() -> int:
        recorder = Recorder()
        status = pytest.main([f"tests/{room}", *ARGUMENTS], plugins=[recorder])
        recorder.write(kept)
        return status

    status = forked(master, 1800, work)
    if status != 0:
        raise SystemExit(f"the tests of {room} end with {status} without any change")
    lines, seconds = json.loads(kept.read_text())
    return lines, seconds


def tests_of(change: Change, lines: Lines, seconds: dict[str, float]) -> list[str]:
    """List the tests that run a change, the quickest first; of what imports run, of its file."""
    known = lines.get(change.file, {})
    found = {test for line in change.lines for test in known.get(str(line), ())}
    if "" in found:
        found |= {test for tests in known.values() for test in tests}
    return sorted(found & seconds.keys(), key=lambda test: (seconds[test], test))


def tried(work: tuple[Path, Change, list[str], float]) -> tuple[Change, str]:
    """Say what became of a change: caught, too slow, lived, or not run by any test."""
    master, change, tests, seconds = work
    if not tests:
        return change, "not run"
    tree = master.with_name(f"{master.name}-{os.getpid()}")
    if not tree.exists():
        shutil.copytree(master, tree)
    file = tree / change.file
    source = file.read_bytes()
    for old in (file.parent / "__pycache__").glob(f"{file.stem}.*"):
        old.unlink()
    file.write_bytes(change.made(source))

    def work_of_child() -> int:
        sys.dont_write_bytecode = True
        files = sorted({test.split("::")[0] for test in tests})
        return pytest.main([*files, *ARGUMENTS], plugins=[Picked(tests)])

    status = forked(tree, 30 + 5 * seconds, work_of_child)
    file.write_bytes(source)
    if status in (pytest.ExitCode.INTERNAL_ERROR, pytest.ExitCode.USAGE_ERROR, 5):
        raise RuntimeError(f"{change.name}: pytest ends with {status}, see {tree}/said.txt")
    caught = status in FAILED or (status is not None and status < 0)
    return change, "too slow" if status is None else "caught" if caught else "lived"


def main() -> int:
    """Try a sample of changes; the exit status is 0 where 95 % of each room's are caught."""
    parser = argparse.ArgumentParser(description=__doc__, prog="python -m tests.mutation")
    parser.add_argument("--rooms", nargs="+", default=ROOMS, choices=ROOMS)
    parser.add_argument("--only", default="", help="files whose path has this in it")
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--json", type=Path)
    given = parser.parse_args()
    started = time.monotonic()
    same = tomllib.loads(Path(__file__).with_name("equivalent.toml").read_text("utf-8"))
    reasons = {entry["change"]: entry["reason"] for entry in same["equivalent"]}
    every = [
        change
        for room in given.rooms
        for path in sorted((ROOT / "quotelib" / room).rglob("*.py"))
        for change in changes(ROOT, str(path.relative_to(ROOT)))
        if given.only in change.file
    ]
    sample = random.Random(given.seed).sample(every, min(given.sample, len(every)))
    with tempfile.TemporaryDirectory(prefix="quotelib-mutation-") as folder:
        master = Path(folder) / "tree"
        master.mkdir()
        for name in COPIED:
            copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
            copy(ROOT / name, master / name)
        with multiprocessing.get_context("fork").Pool(given.jobs) as pool:
            rooms = {c.file.split("/")[1] for c in sample}
            ran = dict(
                zip(rooms, pool.starmap(record, [(master, r) for r in rooms], 1), strict=True)
            )
            print(f"recorded in {time.monotonic() - started:.0f} s", flush=True)
            work = []
            for change in sample:
                if change.name not in reasons:
                    lines, seconds = ran[change.file.split("/")[1]]
                    tests = tests_of(change, lines, seconds)
                    work.append((master, change, tests, sum(seconds[t] for t in tests)))
            found = []
            for change, fate in pool.imap_unordered(tried, work):
                found.append((change, fate))
                if fate in ("lived", "not run"):
                    print(f"{fate}: {change.file}:{change.line} {change.name}", flush=True)
    return told(sample, reasons, found, time.monotonic() - started, given.json)


def told(
    sample: list[Change],
    reasons: dict[str, str],
    found: list[tuple[Change, str]],
    seconds: float,
    to: Path | None,
) -> int:
    """Print what came of it, by room, and keep it."""
    rooms: dict[str, dict[str, float]] = {}
    for room in sorted({c.file.split("/")[1] for c in sample}):
        mine = Counter(fate for c, fate in found if c.file.split("/")[1] == room)
        caught, tries = mine["caught"] + mine["too slow"], sum(mine.values())
        pct = round(100 * caught / tries, 1) if tries else 100.0
        rooms[room] = {"tried": tries, "caught": caught, "caught_pct": pct}
    fates = [
        {"change": c.name, "line": c.line, "fate": fate}
        for c, fate in sorted(found, key=lambda x: (x[0].file, x[0].line))
    ]
    equal = [{"change": c.name, "reason": reasons[c.name]} for c in sample if c.name in reasons]
    summary = {"rooms": rooms, "equivalent": len(equal), "seconds": round(seconds)}
    print(json.dumps(summary, indent=2))
    if to:
        to.write_text(json.dumps({**summary, "same": equal, "changes": fates}, indent=2))
    return 0 if all(room["caught_pct"] >= 95 for room in rooms.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
