"""The workbook of an installed wheel, opened from a folder of somebody's own."""

from pathlib import Path
from typing import Any

import pytest

from tests.end_to_end.test_wheel import (  # noqa: F401 - fixtures
    PYTHON,
    installed,
    path,
    pytestmark,
    wheel,
)

from .serving import PATIENCE_MS, code_hidden, open_code_hidden, settled


@pytest.mark.browser
def test_open_from_any_folder(
    path: dict[str, str],  # noqa: F811
    installed: Path,  # noqa: F811
    browser: Any,
    tmp_path: Path,
    port: int,
) -> None:
    """It finds its own page and notebook, and writes nowhere but into the folder."""
    folder = tmp_path / "somewhere else"
    folder.mkdir()
    before = {p for p in installed.rglob("*") if "__pycache__" not in p.parts}
    with code_hidden(folder, port, python=PYTHON, environment=path) as address:
        page = browser.new_page()
        open_code_hidden(page, address)
        for label, text in {
            "Customer": "From afar (invented)",
            "Enquiry number": "WHL-1",
            "Usable capacity, TB": "8",
        }.items():
            page.get_by_label(label, exact=True).fill(text)
        settled(page)
        page.get_by_role("button", name="Write quote, bench sheet and record").click()
        page.wait_for_function(
            "document.querySelector('.ql-written')?.innerText.startsWith('Written:')",
            timeout=PATIENCE_MS,
        )
        page.close()
    assert {p.name for p in folder.iterdir()} == {
        "quotes",
        "bench",
        "records",
        "quotelib_typed.json",
    }
    assert {p for p in installed.rglob("*") if "__pycache__" not in p.parts} == before
