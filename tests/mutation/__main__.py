"""Do the tests notice when the program is wrong: one change at a time, and its room's tests.

``python -m tests.mutation [--rooms build pricing] [--sample 200] [--seed 1] [--jobs 2]`` tries a
seeded sample of `changes` in a copy of the tree: the same ones however the code around them moves,
a smaller sample being the first of a larger one. Each change meets the tests of its room that run
its line, the quickest first, until one fails. What lives is printed; ``--json FILE`` keeps it all.
Changes that change nothing stand in ``equivalent.toml``, each with its reason.
"""

import argparse
import hashlib
import json
import multiprocessing
import shutil
import sys
import tempfile
import time
import tomllib
from collections import Counter
from pathlib import Path

from tests.mutation.changes import Change, changes
from tests.mutation.trial import ROOT, record, tests_of, tried

ROOMS = ("build", "pricing", "estimate", "predict")
COPIED = ("quotelib", "tests", "templates", "notebooks", "pyproject.toml", "README.md")
EQUIVALENT = Path(__file__).with_name("equivalent.toml")


def equivalent() -> dict[str, str]:
    """Give the changes that change nothing, each with its reason."""
    listed = tomllib.loads(EQUIVALENT.read_text("utf-8"))["equivalent"]
    return {entry["change"]: entry["reason"] for entry in listed}


def every(rooms: list[str]) -> list[Change]:
    """List every change of some rooms."""
    files = [path for room in rooms for path in sorted((ROOT / "quotelib" / room).rglob("*.py"))]
    return [change for path in files for change in changes(ROOT, str(path.relative_to(ROOT)))]


def _drawn(seed: int, change: Change) -> bytes:
    """Give a change's place in the draw, which no other change has a part in."""
    return hashlib.sha256(f"{seed} {change.name}".encode()).digest()


def main() -> int:
    """Try a sample of changes; the exit status is 0 where 95 % of each room's are caught."""
    parser = argparse.ArgumentParser(description=__doc__, prog="python -m tests.mutation")
    parser.add_argument("--rooms", nargs="+", default=ROOMS, choices=ROOMS)
    parser.add_argument(
        "--only", nargs="+", default=[""], help="files with one of these in the path"
    )
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--json", type=Path)
    given = parser.parse_args()
    started = time.monotonic()
    reasons = equivalent()
    found = [
        change for change in every(given.rooms) if any(part in change.file for part in given.only)
    ]
    sample = sorted(found, key=lambda change: _drawn(given.seed, change))[: given.sample]
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
            fates = []
            for change, fate in pool.imap_unordered(tried, work):
                fates.append((change, fate))
                if fate in ("lived", "not run"):
                    print(f"{fate}: {change.file}:{change.line} {change.name}", flush=True)
    return told(sample, reasons, fates, time.monotonic() - started, given.json)


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
