"""How these tests run the command and disturb it: from outside, or from within by a plant."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

PLANTED = Path(__file__).parent / "planted"
DATE = "2026-11-25"
PINS = {"chassis": "BOX-4", "controller": "BOARD", "drive": "DISK-4T", "members": "2", "level": "1"}
PATIENCE_S = 60


def ask(path: Path, *names: str, **cells: str) -> Path:
    """Write a file of enquiries for one and the same pinned build."""
    rows = [{"enquiry_id": name, "customer": "Invented", **PINS, **cells} for name in names]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return path


def begin(
    enquiries: Path,
    out: Path,
    prices: Path,
    jobs: int = 1,
    plant: dict[str, Any] | None = None,
    more: Sequence[str] = (),
) -> "subprocess.Popen[str]":
    """Begin a batch, in a session of its own, so that every process of it can be found."""
    environment = {**os.environ, "PYTHONPATH": str(PLANTED)}
    if plant is not None:
        environment["PLANTED"] = json.dumps({"out": str(out), **plant})
    command = [sys.executable, "-m", "quotelib.cli", "batch", str(enquiries), "--out", str(out)]
    command += ["--prices", str(prices), "--date", DATE, "--jobs", str(jobs), *more]
    return subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment,
        start_new_session=True,
    )


def end(process: "subprocess.Popen[str]") -> tuple[int, str]:
    """Wait for the end of a batch; give its status and what it said."""
    said, _ = process.communicate(timeout=PATIENCE_S)
    return process.returncode, " ".join(said.split())


def until(true: Callable[[], object], what: str, patience_s: float = PATIENCE_S) -> None:
    """Wait until something is so."""
    deadline = time.monotonic() + patience_s
    while not true():
        assert time.monotonic() < deadline, f"not within {patience_s} s: {what}"
        time.sleep(0.01)


def there(session: int) -> list[int]:
    """List the processes of a session, those that have ended but were not asked after apart."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, _, of = path.read_text().rpartition(")")[2].split()[:4]
        except OSError:
            continue
        if int(of) == session and state != "Z":
            found.append(int(path.parent.name))
    return found


def nobody_left(process: "subprocess.Popen[str]", patience_s: float = 5) -> None:
    """Check that a batch that has ended leaves no process behind."""
    until(lambda: not there(process.pid), f"processes of it are there still: {there(process.pid)}",
          patience_s)  # fmt: skip


def tree(folder: Path) -> dict[str, bytes | None]:
    """Read everything below a folder, also what is hidden: files by path, None for a folder."""
    paths = sorted(folder.rglob("*"))
    return {
        path.relative_to(folder).as_posix(): None if path.is_dir() else path.read_bytes()
        for path in paths
    }


def kill(process: "subprocess.Popen[str]", number: int = signal.SIGKILL) -> None:
    """Send the process that was begun, and it alone, a signal."""
    os.kill(process.pid, number)
