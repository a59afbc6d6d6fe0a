"""What holds for every notebook, whatever it shows; nbval compares what it shows."""

import ast
from pathlib import Path
from typing import Any

import nbformat
import pytest

from quotelib.resources import notebooks

SETTINGS = {
    "quote_one_customer": ["prices", "date", "out", "register"],
    "quote_a_batch": ["enquiries", "prices", "out", "date", "register"],
    "compare_controllers": ["prices", "enquiry"],
    "find_a_build": ["prices", "date", "enquiry"],
    "quotes_given": ["register", "prices", "date"],
    "check_price_list": ["prices", "older", "records", "date", "stale_days"],
}
FOR_PEOPLE = {
    "text/html",
    "text/markdown",
    "image/svg+xml",
    "application/vnd.jupyter.widget-view+json",
}
FILES = sorted(notebooks().glob("*.ipynb"))


def code_cells(path: Path) -> list[Any]:
    cells = nbformat.read(path, as_version=4).cells
    return [cell for cell in cells if cell.cell_type == "code"]


@pytest.mark.parametrize("name", SETTINGS)
def test_settings_stand_in_the_first_code_cell_and_are_tagged(name: str) -> None:
    first, *others = code_cells(notebooks() / f"{name}.ipynb")
    assert first.metadata.tags == ["parameters"]
    assert not any("tags" in cell.metadata for cell in others)
    set_there = [
        target.id
        for line in ast.parse(first.source).body
        if isinstance(line, ast.Assign)
        for target in line.targets
        if isinstance(target, ast.Name)
    ]
    assert set_there == SETTINGS[name]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_nothing_is_shown_as_a_bare_object(path: Path) -> None:
    shown = [output for cell in code_cells(path) for output in cell.outputs]
    assert shown
    for output in shown:
        assert output.output_type in {"execute_result", "display_data"}
        assert FOR_PEOPLE & set(output.data), output.data


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_nothing_of_the_run_is_kept_but_what_is_shown(path: Path) -> None:
    assert all("execution" not in cell.metadata for cell in code_cells(path))
