"""What stands in a file of enquiries: rows that make quotes, and what is wrong with each.

A bad row costs its own quote, and no other.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from pydantic_core import PydanticCustomError

from quotelib.bounded import read_bytes
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import Cells, read_rows
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.enquiry import Enquiry, read_enquiry
from quotelib.enquiry.request import MOST_ARRAYS, MOST_ROWS, Request, request
from quotelib.errors import InputError, Problem, shown
from quotelib.text import both, count

_QUOTE = [c.name for c in COLUMNS.values() if c.of == "quote" and c.name != "enquiry_id"]
_SAID = 5
_SERVER = [c.name for c in COLUMNS.values() if c.of == "server"]


@dataclass(frozen=True, slots=True)
class EnquiryRow:
    """One row of a file, as a spreadsheet numbers it, and what is wrong with it."""

    row: int
    cells: Mapping[str, str]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """The rows of one quote; what they ask for together, or None where any of them is wrong."""

    enquiry_id: str
    rows: tuple[EnquiryRow, ...]
    request: Request | None


def read_enquiries(path: Path, price_list: PriceList, date: dt.date | None = None) -> list[Asked]:
    """Read a CSV file of enquiries, in its order.

    Parameters
    ----------
    date
        Of the quotes: nothing is wanted by a day before it. None: it is not looked at.

    Raises
    ------
    InputError
        Where the file as a whole cannot be read.
    """
    required = [column.name for column in COLUMNS.values() if column.required]
    rows, problems = read_rows(path, list(COLUMNS), required)
    if problems:
        raise InputError(problems)
    if not rows:
        why, right = "lists no enquiry", "give it at least one row"
        raise InputError([Problem(path.name, None, "", "", why, right)])
    # A row without a number is by itself.
    groups = [list(g) for _, g in groupby(rows, lambda row: _name(row) or row.row)]
    starts: dict[str, list[int]] = {}
    for group in groups:
        starts.setdefault(_name(group[0]), []).append(group[0].row)
    return [_read(group, price_list, path.name, starts[_name(group[0])], date) for group in groups]


def open_end(path: Path) -> str:
    """Say that the last line of a file has no end, as where it was cut off; blank: it has one.

    It is read all the same: people type such files.
    """
    if read_bytes(path).endswith((b"\n", b"\r")):
        return ""
    return f"The last line of {path.name} has no end: see that nothing of it is missing."


def _name(row: Cells) -> str:
    return row.cells.get("enquiry_id", "")


def read_request(
    rows: Sequence[Mapping[str, str]],
    price_list: PriceList,
    file: str = "enquiry",
    date: dt.date | None = None,
) -> Request:
    """Read the rows of one quote that are at hand; for `date` see `read_enquiries`.

    Raises
    ------
    InputError
        With every problem.
    """
    numbers = [None] if len(rows) == 1 else range(1, len(rows) + 1)
    made, problems = _filled([dict(row) for row in rows], numbers, price_list, file, date)
    if wrong := [problem for found in problems for problem in found]:
        raise InputError(wrong)
    return request(made)


def _read(
    group: list[Cells],
    price_list: PriceList,
    file: str,
    starts: Sequence[int],
    date: dt.date | None,
) -> Asked:
    """Read the rows that stand together; `starts` tells where rows of their number begin."""
    name, numbers = _name(group[0]), [cells.row for cells in group]
    made: list[Enquiry] = []
    problems = [[cells.problem] if cells.problem else [] for cells in group]
    if not any(problems):
        texts = [cells.cells for cells in group]
        made, problems = _filled(texts, numbers, price_list, file, date)
    if name and len(starts) > 1:
        # A few say where to look; all of them, told at each, would be the square of their number.
        others = [str(row) for row in starts[: _SAID + 1] if row != numbers[0]][:_SAID]
        more = len(starts) - 1 - len(others)
        others += [f"{more} others"] if more else []
        why = f"is there again, apart from here, from row {both(others)} on"
        right = "put the rows of a quote together, or give each enquiry an id of its own"
        for number, found in zip(numbers, problems, strict=True):
            found.append(Problem(file, number, "enquiry_id", name, why, right))
    rows = (
        EnquiryRow(cells.row, cells.cells, tuple(found))
        for cells, found in zip(group, problems, strict=True)
    )
    return Asked(name, tuple(rows), None if any(problems) else request(made))


def _filled(
    texts: Sequence[Mapping[str, str]],
    numbers: Sequence[int | None],
    price_list: PriceList,
    file: str,
    date: dt.date | None,
) -> tuple[list[Enquiry], list[list[Problem]]]:
    """Read rows with what the first ones say filled in below; give the problems of each."""
    made: list[Enquiry] = []
    problems: list[list[Problem]] = []
    texts = [_known(texts[0], price_list), *texts[1:]]
    first: dict[str, Mapping[str, str]] = {}
    wrong_above: set[str] = set()
    for text, number in zip(texts, numbers, strict=True):
        own = {name: str(cell).strip() for name, cell in text.items()}
        filled, wrong = dict(own), []
        above: set[str] = set()
        heads = [(_QUOTE, texts[0], "quote")]
        if own.get("server") or own.get("usable_tb") or own.get("drive") or own.get("chassis"):
            heads.append((_SERVER, first.setdefault(own.get("server", ""), text), "server"))
        for names, head, what in heads:
            for name in names:
                said = str(head.get(name, "")).strip()
                if not own.get(name):
                    filled[name] = said
                    above |= set() if text is head else {name}
                elif name not in wrong_above and not _same(name, own[name], said):
                    why = f"is not what the first row of the {what} says ({shown(said) or 'blank'})"
                    right = "leave it blank, or say the same"
                    wrong.append(Problem(file, number, name, own[name], why, right))
        try:
            made.append(read_enquiry(filled, price_list, file, number))
        except InputError as error:
            # What is wrong with what a first row says is told there alone.
            wrong += (problem for problem in error.problems if problem.column not in above)
        problems.append(wrong)
        wrong_above |= {problem.column for problem in wrong}
    if not any(problems):
        for place, column, why, right in _together(made):
            value = made[place].cells().get(column, "")
            problems[place].append(Problem(file, numbers[place], column, value, why, right))
    if date is not None and (late := _gone_by(texts[0], date)):
        problems[0].append(Problem(file, numbers[0], *late))
    return made, problems


def _gone_by(row: Mapping[str, str], date: dt.date) -> tuple[str, str, str, str] | None:
    """Find that something is wanted by a day that is gone; what the first row says holds for all.

    Said too where other things of the quote are wrong, so that all is told in one go.
    """
    cell = str(row.get("ship_by", "")).strip()
    try:
        wanted = COLUMNS["ship_by"].parse(cell)
    except PydanticCustomError:
        return None
    if wanted is None or wanted >= date:
        return None
    why = f"is before the day of the quote, {date.isoformat()}"
    return "ship_by", cell, why, "give that day or a later one, or leave it blank"


def _known(row: Mapping[str, str], price_list: PriceList) -> Mapping[str, str]:
    """Fill in what the price list says of a customer and the first row of a quote leaves blank."""
    customer = price_list.customers.get(str(row.get("customer", "")).strip())
    if customer is None:
        return row
    known = {"tax_code": customer.tax_code or "", "customer_ref": customer.reference or ""}
    return {**row, **{n: cell for n, cell in known.items() if not str(row.get(n) or "").strip()}}


def _same(name: str, cell: str, other: str) -> bool:
    column = COLUMNS[name]
    try:
        return bool(column.parse(cell) == column.parse(other))
    except PydanticCustomError:
        return cell == other


def _together(rows: Sequence[Enquiry]) -> Iterator[tuple[int, str, str, str]]:
    """Find what each row may say and the rows of one quote together may not."""
    named = any(row.server for row in rows)
    arrays: dict[str, dict[str, int]] = {}
    for place, row in enumerate(rows):
        if named and row.of_server and not row.server:
            right = "name the server that this is part of, as the other rows do"
            yield place, "server", "is blank, though the quote has servers with names", right
            continue
        if not row.asks_array:
            continue
        seen = arrays.setdefault(row.server, {})
        if row.array in seen:
            what = "is the name of another array" if row.array else "is blank, as for another array"
            right = "give each array of a server a name of its own, or each server one"
            yield place, "array", f"{what} of the same server", right
        seen.setdefault(row.array, place)
        if len(seen) == MOST_ARRAYS + 1:
            why = f"is one of more than {count(MOST_ARRAYS, 'array')} in one server"
            yield place, "array", why, "spread them over several servers"
    if len(rows) > MOST_ROWS:
        right = "ask for the rest in another quote"
        yield MOST_ROWS, "enquiry_id", f"is in more than {MOST_ROWS} rows", right
    theirs = {row.server for row in rows if "chassis" in row.owned}
    for place, row in enumerate(rows):
        if row.asks_array and row.action != "new" and row.server not in theirs:
            right = "write chassis in the column owned, and its sku in the column chassis"
            why = "does not say that the chassis with the array is the customer's"
            yield place, "owned", why, right
    boxes = {row.server for row in rows if row.asks_box}
    for place, row in enumerate(rows):
        if row.server and row.server not in boxes and row.server not in arrays:
            right = "ask for an array in one of its rows, or name chassis and options"
            yield place, "server", "names a server of which nothing is asked", right
