"""Look a change over before it is committed: style, types, layers, and the tests it touches.

``python -m tests.check [--base REV]`` runs ruff, mypy and import-linter side by side and, beside
them, the tests of every room in which a file differs from REV (HEAD by default; files that git
does not know yet count). Browser tests, notebooks and other rooms are left to the whole run, whose
command stands in README.
"""

import argparse
import subprocess
import sys
import time
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TOOLS = {
    "style": ["ruff", "check"],
    "format": ["ruff", "format", "--check"],
    "types": ["mypy"],
    "layers": ["lint-imports"],
}


def changed(base: str) -> list[str]:
    """List the files that differ from a revision, and those git does not know yet."""
    found = []
    for command in (
        ["git", "diff", "--name-only", base],
        ["git", "ls-files", "--others", "--exclude-standard"],
    ):
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        found += done.stdout.splitlines()
    return found


def rooms(files: Iterable[str]) -> list[str]:
    """Name the folders and files of tests that belong to some changed files.

    A file of ``quotelib/ROOM/`` belongs to ``tests/ROOM``, one directly under ``quotelib`` to
    ``tests/test_NAME.py``, a template to the documents; a changed test to its own room.
    """
    found: dict[str, None] = {}
    for file in files:
        parts = Path(file).parts
        if parts[0] == "templates":
            found["tests/documents"] = None
        elif parts[0] == "quotelib" and len(parts) > 2:
            found[f"tests/{parts[1]}"] = None
        elif parts[0] == "quotelib":
            found[f"tests/test_{Path(file).stem}.py"] = None
        elif parts[0] == "tests" and len(parts) > 2:
            found[f"tests/{parts[1]}"] = None
        elif parts[0] == "tests" and parts[-1].startswith("test_"):
            found[file] = None
    return [name for name in found if (ROOT / name).exists() and name != "tests/benchmarks"]


def main() -> int:
    """Run everything; the exit status is 0 where nothing is wrong."""
    parser = argparse.ArgumentParser(description=__doc__, prog="python -m tests.check")
    parser.add_argument("--base", default="HEAD", metavar="REV")
    base = parser.parse_args().base
    started = time.monotonic()
    touched = rooms(changed(base))
    tools = Path(sys.executable).parent
    commands = {name: [str(tools / tool), *more] for name, (tool, *more) in TOOLS.items()}
    if touched:
        tests = [sys.executable, "-m", "pytest", "-q", "-n", "2", "--dist", "loadfile"]
        commands["tests"] = [*tests, "-m", "not browser", *touched]
    running = {
        name: subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        for name, command in commands.items()
    }
    failed = []
    for name, process in running.items():
        said, _ = process.communicate()
        if process.returncode not in {0, 5}:  # 5: a room without a test outside the browser
            failed.append(name)
            print(f"--- {name}\n{said.rstrip()}")
    took = time.monotonic() - started
    of = f" of {', '.join(touched)}" if touched else ""
    if failed:
        print(f"wrong: {', '.join(failed)} ({took:.0f} s)")
        return 1
    print(f"style, format, types, layers and the tests{of} are fine ({took:.0f} s)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
