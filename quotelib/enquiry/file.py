"""Which enquiries are in a file: every row read, a bad one told without costing the good ones."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import read_rows
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.enquiry import Enquiry, read_enquiry
from quotelib.errors import InputError, Problem


@dataclass(frozen=True, slots=True)
class EnquiryRow:
    """One row of an enquiry file, as a spreadsheet numbers it; with problems, no enquiry."""

    row: int
    enquiry_id: str
    cells: Mapping[str, str]
    enquiry: Enquiry | None
    problems: tuple[Problem, ...]


def read_enquiries(path: Path, price_list: PriceList) -> list[EnquiryRow]:
    """Read a CSV file of enquiries, in its order; a bad row does not cost the good ones.

    Raises
    ------
    InputError
        Where the file as a whole cannot be read.
    """
    required = [column.name for column in COLUMNS.values() if column.required]
    rows, problems = read_rows(path, list(COLUMNS), required)
    if problems:
        raise InputError(problems)
    made = []
    seen: dict[str, int] = {}
    for cells in rows:
        name = cells.cells.get("enquiry_id", "")
        enquiry = None
        wrong = [] if cells.problem is None else [cells.problem]
        if not wrong:
            try:
                enquiry = read_enquiry(cells.cells, price_list, path.name, cells.row)
            except InputError as error:
                wrong += error.problems
        if name and name in seen:
            why = f"is there already, in row {seen[name]}"
            right = "give each enquiry an id of its own"
            wrong.append(Problem(path.name, cells.row, "enquiry_id", name, why, right))
        seen.setdefault(name, cells.row)
        sound = None if wrong else enquiry
        made.append(EnquiryRow(cells.row, name, cells.cells, sound, tuple(wrong)))
    if not made:
        why, right = "lists no enquiry", "give it at least one row"
        raise InputError([Problem(path.name, None, "", "", why, right)])
    return made
