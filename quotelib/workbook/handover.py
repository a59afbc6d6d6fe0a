"""What happens next: the files are written, a row is copied, an enquiry is loaded."""

import csv
import io
import json
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from markupsafe import escape

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.files import file_stems
from quotelib.errors import InputError, Problem
from quotelib.quote.enquiry import COLUMNS, read_enquiries
from quotelib.quote.record import QuoteRecord
from quotelib.workbook.widgets import Field, html, option


def csv_row(cells: Mapping[str, str]) -> str:
    """Write an enquiry as a header and a row for a file of enquiries."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerow([cells.get(name, "").strip() for name in COLUMNS])
    return text.getvalue().rstrip("\n")


def earlier_quote(folder: Path, enquiry_id: str) -> str:
    """Say which quote would be replaced; blank where there is none."""
    path = folder / "records" / f"{file_stems([enquiry_id])[0]}.json"
    if not path.exists():
        return ""
    try:
        data = json.loads(path.read_text("utf-8"))
        return f"{data['quote_number']} for {data['customer']}"
    except (OSError, ValueError, KeyError, TypeError):
        return "a file that is no record of ours"


def write(record: QuoteRecord, folder: Path, prices: str) -> dict[str, str]:
    """Write the documents of a record; see `write_documents`."""
    from quotelib.documents.writing import write_documents

    return write_documents(record, folder, file_stems([record.enquiry_id])[0], prices)


def written_words(record: QuoteRecord, folder: Path, names: Mapping[str, str]) -> str:
    """Say what was written and where."""
    kinds = {
        "quote_file": "Quote page, for the customer",
        "bench_file": "Bench sheet, for the workshop",
        "record_file": "Record, for the seller only",
    }
    items = "".join(
        f"<li>{kinds.get(column, column)}: <code>{escape(folder / name)}</code></li>"
        for column, name in names.items()
    )
    draft = " It is a <strong>draft</strong>." if record.draft else ""
    return f"<p><strong>Written: {escape(record.quote_number)}.</strong>{draft}</p><ul>{items}</ul>"


class Loader:
    """Loads an enquiry from a file of enquiries or from an earlier record.

    Parameters
    ----------
    price_list : PriceList
    use : callable
        Told the cells of the enquiry and where they come from.
    """

    def __init__(
        self, price_list: PriceList, use: Callable[[Mapping[str, str], str], None]
    ) -> None:
        self._list, self._use = price_list, use
        self._rows: list[Mapping[str, str]] = []
        self._name = ""
        self.file = Field(
            name="load_file",
            kind="file",
            label="Load an enquiry",
            help="A CSV file of enquiries, or the JSON record of an earlier quote",
            accept=".csv,.json",
        )
        self.row = Field(
            name="load_row", kind="select", label="Which enquiry", help="The rows of that file"
        )
        self.row.layout.display = "none"
        self.says = html()
        self.file.observe(self._given, "value")
        self.row.observe(self._chosen, "value")

    def _given(self, change: Mapping[str, Any]) -> None:
        self.file.error = ""
        self.row.layout.display = "none"
        try:
            data = json.loads(change["new"])
            self._name, text = str(data["name"]), str(data["text"])
        except (ValueError, KeyError, TypeError):
            return
        try:
            if self._name.lower().endswith(".json"):
                self._use(_of_record(text, self._name), self._name)
                return
            self._rows = _of_csv(text, self._name, self._list)
        except InputError as error:
            self.file.error = " ".join(f"{problem}." for problem in error.problems)
            return
        names = [
            option(str(n), f"{row.get('enquiry_id', '')}: {row.get('customer', '')}")
            for n, row in enumerate(self._rows)
        ]
        self.row.value = ""
        self.row.options = [option("", "Choose a row"), *names]
        if len(self._rows) == 1:
            self._use(self._rows[0], self._name)
        else:
            self.row.layout.display = None

    def _chosen(self, change: Mapping[str, Any]) -> None:
        text = change["new"]
        if text.isdecimal() and int(text) < len(self._rows):
            self._use(self._rows[int(text)], self._name)


def _of_record(text: str, name: str) -> dict[str, str]:
    wrong = Problem(
        name, None, "", "", "is no record of a quote", "choose a file of a records folder"
    )
    try:
        data = json.loads(text)
        cells = data["enquiry"]
        return {column: str(cells[column]) for column in COLUMNS if column in cells}
    except (ValueError, KeyError, TypeError):
        raise InputError([wrong]) from None


def _of_csv(text: str, name: str, price_list: PriceList) -> list[Mapping[str, str]]:
    """Read every row; those with a problem too, which is then shown beside its field."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name).name or "enquiries.csv")
        path.write_text(text, "utf-8", newline="")
        return [row.cells for row in read_enquiries(path, price_list)]
