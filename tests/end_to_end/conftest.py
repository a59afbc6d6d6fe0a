"""What these tests share: the example batch, run once as a user runs it, and a browser."""

import datetime as dt
import json
import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from quotelib.documents.batch.run import run_batch
from quotelib.resources import a_day, demo_enquiries

from .running import DATE, Batch, run

CHROMIUM_FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Batch:
    """Answer the example enquiries through the installed command, once for all workers."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    folder, told = shared / "demo", shared / "demo.json"
    if _mine(shared / "demo.lock"):
        done = run("batch", demo_enquiries(), "--out", folder, "--date", DATE, "--jobs", "2")
        aside = told.with_suffix(".part")
        aside.write_text(json.dumps([done.returncode, done.stdout, done.stderr]), "utf-8")
        aside.replace(told)
    deadline = time.monotonic() + 300
    while not told.exists():
        assert time.monotonic() < deadline, "another worker did not finish the example batch"
        time.sleep(0.2)
    batch = Batch(folder, *json.loads(told.read_text("utf-8")))
    assert (folder / "summary.csv").exists(), f"the example batch did not run: {batch.stderr}"
    return batch


def _mine(lock: Path) -> bool:
    try:
        lock.touch(exist_ok=False)
    except FileExistsError:
        return False
    return True


# Of a module, not of the session: while it is open, asyncio takes this thread for its own.
@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Open the system's Chromium."""
    path = os.environ.get("QUOTELIB_CHROMIUM") or shutil.which("chromium")
    if path is None:
        _missing("there is no chromium command; install one or set QUOTELIB_CHROMIUM")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _missing("playwright is not installed")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield opened
        opened.close()


def _missing(what: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"{what} (CI is set, so that nothing is skipped)")
    pytest.skip(what)


@pytest.fixture(scope="session")
def day(tmp_path_factory: pytest.TempPathFactory) -> Batch:
    """Answer the enquiries of a day."""
    folder = tmp_path_factory.mktemp("day") / "out"
    run_batch(a_day(), folder, date=dt.date.fromisoformat(DATE))
    return Batch(folder, 0, "", "")
