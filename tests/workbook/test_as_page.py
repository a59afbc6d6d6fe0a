"""Notebooks as pages: their texts are true there, their charts are pictures."""

from pathlib import Path
from typing import Any

import nbformat
import pytest

from quotelib import resources
from quotelib.documents.charts.drawing import BLUE, bar, bars, show_as_pictures
from quotelib.documents.making import write_documents
from quotelib.documents.quoting import quote
from quotelib.workbook.as_page import as_page

NAMES = resources.notebook_names()


def _texts(name: str) -> list[str]:
    notebook = nbformat.read(resources.notebooks() / f"{name}.ipynb", 4)
    return [cell.source for cell in notebook.cells if cell.cell_type == "markdown"]


@pytest.mark.parametrize("name", NAMES)
def test_no_text_speaks_of_what_is_not_there(name: str) -> None:
    for text in _texts(name):
        shown = as_page(text)
        for gone in ("Run All Cells", "the next cell", "the first cell", "cell left", ".ipynb"):
            assert gone not in shown
        # Whatever else is said stays: headings, lists, every other sentence.
        kept = [line for line in text.splitlines() if line.startswith("#")]
        assert all(line in shown for line in kept)


def test_links_say_the_command_that_opens_them() -> None:
    shown = as_page("".join(_texts("index")))
    for name in NAMES:
        if name != "index":
            assert f"`quotelib open {name}`: " in shown
    assert "**invented demo data**" in shown


def test_charts_are_pictures_with_words(monkeypatch: pytest.MonkeyPatch) -> None:
    drawing = bars([bar("a", 1, "1 <b>", "a")], "Title", "axis", colours={"a": BLUE})
    shown: Any = drawing._repr_mimebundle_()
    assert "application/vnd.vegalite.v5+json" in shown
    monkeypatch.setattr("quotelib.documents.charts.drawing._AS_PICTURES", [])
    show_as_pictures()
    shown = drawing._repr_mimebundle_()
    assert set(shown) == {"text/html", "text/plain"}
    assert shown["text/html"].startswith('<figure role="img" aria-label="')
    assert "<b>" not in shown["text/html"].split(">", 1)[0] and "<svg" in shown["text/html"]


def test_documents_are_the_same_wherever_they_are_made(
    copy_of_small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = {"enquiry_id": "D-1", "customer": "Sluice Keepers (invented)", "usable_tb": "20"}
    record = quote(asked, str(copy_of_small), "2026-11-25")
    names = write_documents(record, tmp_path / "one", "D-1")
    monkeypatch.setattr("quotelib.documents.charts.drawing._AS_PICTURES", [])
    show_as_pictures()
    assert write_documents(record, tmp_path / "two", "D-1") == names
    for name in names.values():
        assert (tmp_path / "two" / name).read_bytes() == (tmp_path / "one" / name).read_bytes()
