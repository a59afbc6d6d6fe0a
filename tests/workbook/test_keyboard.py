"""A quote from nothing by keyboard alone in JupyterLab; `test_page` has it with code hidden."""

from pathlib import Path
from typing import Any

import pytest

from .by_keyboard import as_the_batch, quote_by_keyboard
from .serving import jupyterlab, open_in_lab

pytestmark = pytest.mark.browser


def test_jupyterlab(port: int, page: Any, copy_of_small: Path, tmp_path: Path) -> None:
    folder = tmp_path / "desk"
    folder.mkdir()
    with jupyterlab(folder, port, prices=copy_of_small) as address:
        open_in_lab(page, address)
        page.locator(".ql-page input").first.focus()
        quote_by_keyboard(page)
        page.goto("about:blank")
    as_the_batch(folder, copy_of_small, tmp_path)
