"""What the workbook's tests share: a browser, the served page, and a watch over what it does."""

import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.end_to_end.conftest import browser  # noqa: F401 - a fixture

from .serving import Watch, code_hidden, jupyterlab


@pytest.fixture
def port() -> int:
    """Give a port nobody uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


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


@pytest.fixture
def served(tmp_path: Path, port: int) -> Iterator[tuple[str, Path]]:
    """Serve the page with code hidden; give its address and the folder it writes to."""
    folder = tmp_path / "desk"
    folder.mkdir()
    with code_hidden(folder, port) as address:
        yield address, folder


@pytest.fixture
def lab(tmp_path: Path, port: int) -> Iterator[tuple[str, Path]]:
    """Serve the notebook in JupyterLab; give its address and the folder it writes to."""
    folder = tmp_path / "desk"
    folder.mkdir()
    with jupyterlab(folder, port) as address:
        yield address, folder
