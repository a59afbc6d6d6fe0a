"""What does a page read: a price list that may change on disk, files of enquiries, records."""

import tempfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import ipywidgets
from markupsafe import escape

from quotelib import resources
from quotelib.catalogue.price_list import PriceList, fingerprint, load_price_list, stamp
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.reading import read_enquiries
from quotelib.errors import InputError, Problem, shown
from quotelib.foreign import read_json
from quotelib.text import count, mark
from quotelib.workbook.widgets import Field, box, button, html, option, show, warning

Rows = Sequence[Mapping[str, str]]
Use = Callable[[Rows, str], None]
_MOST_TOLD, _MOST_LETTERS = 3, 240
_HELP = "A CSV file of enquiries, or the JSON record of an earlier quote"


class Loader:
    """Loads an enquiry from a file; `use` is told its rows and where they come from."""

    def __init__(self, price_list: PriceList, use: Use) -> None:
        self._list, self._use = price_list, use
        self._enquiries: list[Rows] = []
        self._name = ""
        self.file = ipywidgets.FileUpload(
            accept=".csv,.json", description="Load an enquiry", tooltip=_HELP
        ).add_class("ql-action")
        self.says = html()
        tip = "The enquiries of that file"
        self.row = Field(name="load_row", kind="select", label="Which enquiry", help=tip)
        show(self.row, False)
        self.file.observe(self._given, "value")
        self.row.observe(self._chosen, "value")
        self.block = box([self.file, self.says, self.row], "ql-loader")

    def _given(self, change: Mapping[str, Any]) -> None:
        show(self.row, False)
        self.says.value = ""
        if not change["new"]:
            return
        given = change["new"][0]
        self._name = str(given["name"])
        read = _of_record if self._name.lower().endswith(".json") else _of_csv
        try:
            self._enquiries = read(bytes(given["content"]), self._name, self._list)
        except InputError as error:
            text = _told(error.problems)
            self.says.value = f'<div class="ql-error" role="status">{escape(text)}</div>'
            return
        numbered = [option(str(n), _words(rows)) for n, rows in enumerate(self._enquiries)]
        self.row.value = ""
        self.row.options = [option("", "Choose an enquiry"), *numbered]
        if len(self._enquiries) == 1:
            self._use(self._enquiries[0], self._name)
        else:
            show(self.row, True)

    def _chosen(self, change: Mapping[str, Any]) -> None:
        text = change["new"]
        if text.isdecimal() and int(text) < len(self._enquiries):
            self._use(self._enquiries[int(text)], self._name)


def _told(problems: Sequence[Problem]) -> str:
    """Say the first of what is wrong with a file, in a few lines."""
    told = [shown(f"{problem}.", _MOST_LETTERS) for problem in problems[:_MOST_TOLD]]
    if more := len(problems) - _MOST_TOLD:
        told += [f"And {count(more, 'other problem')}."] if more > 0 else []
    return " ".join(told)


def _words(rows: Rows) -> str:
    first, many = rows[0], f" ({count(len(rows), 'row')})" if len(rows) > 1 else ""
    return f"{first.get('enquiry_id', '')}: {first.get('customer', '')}{many}"


def _of_record(data: bytes, name: str, _: PriceList) -> list[Rows]:
    why = "is no record of a quote"
    try:
        record = read_json(data)
    except ValueError as error:
        record, why = None, f"{why}: it {error}"
    with suppress(LookupError, TypeError):
        rows = [row["cells"] for row in record["rows"]]
        found = [{name: cells[name] for name in COLUMNS if name in cells} for cells in rows]
        if found and all(isinstance(cell, str) for cells in found for cell in cells.values()):
            return [found]
    raise InputError([Problem(name, None, "", "", why, "choose a file of a records folder")])


def _of_csv(data: bytes, name: str, price_list: PriceList) -> list[Rows]:
    """Read every row; those with a problem too, which is then shown beside its field."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name).name or "enquiries.csv")
        path.write_bytes(data)
        return [[row.cells for row in asked.rows] for asked in read_enquiries(path, price_list)]


_CHANGED = (
    "The price list on disk has changed since this page was opened. This page still quotes from "
    "the one it was opened with ({})."
)


class Prices:
    """The price list a page was opened with, and the folder it came from; the starter's if blank.

    `again` is called when somebody asks to read it again. Raises InputError with every problem.
    """

    def __init__(self, folder: str, again: Callable[[], object]) -> None:
        self.folder = Path(folder).resolve() if folder else resources.starter_prices()
        self.starter = not folder
        self._told = html()
        tip = "Quote from the price list as it is on disk now; what is typed stays"
        read = button("Read the price list again", tip, again)
        self.notice = box([self._told, read], "ql-edited")
        self.read()

    def read(self) -> None:
        """Read the folder; where that raises InputError, all stays as it was."""
        now = stamp(self.folder)
        self.list = load_price_list(self.folder)
        self._stamp = now
        self.words = ""
        self.say("")

    def look(self) -> str:
        """See whether the folder still holds what the page quotes from; give words if not."""
        now = stamp(self.folder)
        if now != self._stamp:
            self._stamp = now
            same = fingerprint(self.folder) == self.list.fingerprint
            self.words = "" if same else _CHANGED.format(mark(self.list.fingerprint))
            self.say("")
        return self.words

    def say(self, more: str) -> None:
        """Show the words, and what came of reading the folder again."""
        said = f"<p>{escape(self.words)}</p>{warning(more)}"
        self._told.value = f'<div role="status">{said}</div>'
        show(self.notice, bool(self.words))
