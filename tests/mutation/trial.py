"""One change in a copy of the tree, and the tests that run it: what becomes of it."""

import json
import os
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

# What tests import, once for all the children that are forked from here.
import coverage
import hypothesis
import pytest
import scipy.linalg  # noqa: F401

from tests.mutation.changes import Change

ROOT = Path(__file__).resolve().parent.parent.parent
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
        if not found & seconds.keys():  # nothing but constants: whoever takes one may notice
            found = set(seconds)
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
