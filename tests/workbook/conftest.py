"""What the workbook's tests share: a browser, the served page, and a watch over what it does."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests import small_list
from tests.end_to_end.conftest import browser  # noqa: F401 - a fixture

from .serving import Watch, code_hidden, free_port, open_code_hidden, settled

DATE = "2026-03-05"


@dataclass(frozen=True)
class Desk:
    """A served page with code hidden: where it writes, reads and was started, and its port."""

    address: str
    folder: Path
    prices: Path
    here: Path
    port: int


@pytest.fixture
def port() -> int:
    """Give a port nobody uses."""
    return free_port()


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Serve the page with code hidden, the small price list and `DATE`, once for a module."""
    base, port, tables = tmp_path_factory.mktemp("served"), free_port(), small_list.copy()
    for row in (row for rows in tables.values() for row in rows if row.get("unit_cost")):
        row["unit_cost"] += ".37"  # so that no cost is also a figure for the customer
    prices, here = small_list.write(base / "prices", tables), base / "desk"
    folder = base / "quotes of today"
    here.mkdir()
    more = ("--prices", str(prices), "--date", DATE, "--out", str(folder))
    with code_hidden(here, port, more=more) as address:
        yield Desk(address, folder, prices, here, port)


@pytest.fixture
def watch() -> Watch:
    """Watch over pages."""
    return Watch()


@pytest.fixture
def page(browser: Any, watch: Watch) -> Iterator[Any]:  # noqa: F811
    """Open an empty page, watched; whatever it did wrong fails the test at its end."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    watch.on(opened)
    yield opened
    context.close()
    assert watch.problems == []


@pytest.fixture(scope="module")
def _opened(browser: Any, desk: Desk) -> Iterator[tuple[Any, Watch]]:  # noqa: F811
    context, watch = browser.new_context(viewport={"width": 1280, "height": 900}), Watch()
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    watch.on(opened)
    open_code_hidden(opened, desk.address)
    yield opened, watch
    context.close()


@pytest.fixture
def watched(_opened: tuple[Any, Watch]) -> Watch:
    """Give the watch over the page of the module's tests."""
    return _opened[1]


@pytest.fixture
def blank(_opened: tuple[Any, Watch]) -> Iterator[Any]:
    """Give the page of the module's tests with an empty form, watched like any other."""
    opened, watch = _opened
    opened.set_viewport_size({"width": 1280, "height": 900})
    opened.get_by_label("Seller's view").uncheck()
    opened.get_by_role("button", name="Start afresh").click()
    settled(opened)
    yield opened
    problems = list(watch.problems)
    watch.problems.clear()
    assert problems == []
