"""How does an enquiry come in: from a file of enquiries, or from the record of an earlier quote."""

import json
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import ipywidgets
from markupsafe import escape

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.enquiry import read_enquiries
from quotelib.errors import InputError, Problem
from quotelib.workbook.widgets import Field, box, html, option, show

Use = Callable[[Mapping[str, str], str], None]
_HELP = "A CSV file of enquiries, or the JSON record of an earlier quote"


class Loader:
    """Loads an enquiry from a file; `use` is told its cells and where they come from."""

    def __init__(self, price_list: PriceList, use: Use) -> None:
        self._list, self._use = price_list, use
        self._rows: list[Mapping[str, str]] = []
        self._name = ""
        more = {"description": "Load an enquiry", "tooltip": _HELP}
        self.file = ipywidgets.FileUpload(accept=".csv,.json", **more).add_class("ql-action")
        self.says = html()
        more = {"label": "Which enquiry", "help": "The rows of that file"}
        self.row = Field(name="load_row", kind="select", **more)
        show(self.row, False)
        self.file.observe(self._given, "value")
        self.row.observe(self._chosen, "value")
        lead = html(f'<p class="ql-help">{_HELP}</p>')
        self.block = box([box([self.file, lead, self.says], "ql-stack"), self.row], "ql-fields")

    def _given(self, change: Mapping[str, Any]) -> None:
        show(self.row, False)
        self.says.value = ""
        if not change["new"]:
            return
        given = change["new"][0]
        self._name = str(given["name"])
        read = _of_record if self._name.lower().endswith(".json") else _of_csv
        try:
            self._rows = read(bytes(given["content"]), self._name, self._list)
        except InputError as error:
            text = " ".join(f"{problem}." for problem in error.problems)
            self.says.value = f'<div class="ql-error" role="status">{escape(text)}</div>'
            return
        names = [f"{row.get('enquiry_id', '')}: {row.get('customer', '')}" for row in self._rows]
        numbered = [option(str(n), name) for n, name in enumerate(names)]
        self.row.value = ""
        self.row.options = [option("", "Choose a row"), *numbered]
        if len(self._rows) == 1:
            self._use(self._rows[0], self._name)
        else:
            show(self.row, True)

    def _chosen(self, change: Mapping[str, Any]) -> None:
        text = change["new"]
        if text.isdecimal() and int(text) < len(self._rows):
            self._use(self._rows[int(text)], self._name)


def _of_record(data: bytes, name: str, _: PriceList) -> list[Mapping[str, str]]:
    try:
        cells = json.loads(data)["enquiry"]
        return [{column: str(cells[column]) for column in COLUMNS if column in cells}]
    except (ValueError, KeyError, TypeError):
        why, right = "is no record of a quote", "choose a file of a records folder"
        raise InputError([Problem(name, None, "", "", why, right)]) from None


def _of_csv(data: bytes, name: str, price_list: PriceList) -> list[Mapping[str, str]]:
    """Read every row; those with a problem too, which is then shown beside its field."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name).name or "enquiries.csv")
        path.write_bytes(data)
        return [row.cells for row in read_enquiries(path, price_list)]
