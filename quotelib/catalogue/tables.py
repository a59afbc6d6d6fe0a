"""How is a CSV file read: text in, rows of named cells, models and problems out."""

import csv
import errno
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, TypeVar

from pydantic import BaseModel, ValidationError

from quotelib.bounded import MOST_BYTES, read_bytes
from quotelib.catalogue.visible import SPACES
from quotelib.errors import Problem, shown
from quotelib.facts import Frozen

KEEPERS = "x_"
"""How the names start that are the keeper's own: columns and keys that nobody here reads."""
_AS_UTF8 = "save the file as UTF-8 (spreadsheets call it 'CSV UTF-8')"
_Model = TypeVar("_Model", bound=BaseModel)


class Row(Frozen):
    """One row of a price list file: one field a column."""

    file_name: ClassVar[str] = ""
    key: ClassVar[tuple[str, ...]] = ("sku",)
    optional: ClassVar[bool] = False
    """Whether a price list may do without its file."""


@dataclass(frozen=True, slots=True)
class Cells:
    """One row as text.

    Parameters
    ----------
    row : int
        As a spreadsheet numbers it: the header is row 1.
    cells : dict of str to str
        Stripped text by column; columns the file lacks are absent.
    problem : Problem or None
        Set where the row's shape is wrong, so that its cells cannot be trusted.
    """

    row: int
    cells: dict[str, str]
    problem: Problem | None = None


def read_text(path: Path, most: int = MOST_BYTES) -> tuple[str, list[Problem]]:
    """Read a UTF-8 file, with or without byte order mark."""

    def no_text(why: str, right: str, row: int | None = None) -> tuple[str, list[Problem]]:
        return "", [Problem(path.name, row, "", "", why, right)]

    try:
        data = read_bytes(path, most)
    except FileNotFoundError:
        return no_text("is missing", f"put {path.name} into {path.parent}")
    except OSError as error:
        if error.errno == errno.EFBIG:
            why = f"is larger than {most:,} bytes"
            return no_text(why, "is it the right file? make it smaller")
        why = f"cannot be read ({error.strerror or error})"
        return no_text(why, "check the path and its permissions")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        bad = data[error.start : error.start + 1].hex()
        why = f"has a byte (0x{bad}) that is not UTF-8"
        return no_text(why, _AS_UTF8, data.count(b"\n", 0, error.start) + 1)
    if "\0" in text:
        row = text.count("\n", 0, text.index("\0")) + 1
        return no_text("has a NUL character in it", _AS_UTF8, row)
    return text, []


def open_end(name: str, text: str) -> list[Problem]:
    """Find a last line without an end: a copy that broke off leaves one, a spreadsheet does not."""
    last = text.replace("\r", "\n").rpartition("\n")[2].strip()
    if not last:
        return []
    row = len(text.splitlines())
    why = "is a last line without an end, so the file looks cut off"
    right = "copy the file again; if the line is whole, press Enter behind it and save"
    return [Problem(name, row, "", f"…{last[-30:]}" if len(last) > 30 else last, why, right)]


def read_rows(
    path: Path, columns: Sequence[str], required: Iterable[str], *, ended: bool = False
) -> tuple[list[Cells], list[Problem]]:
    """Read a CSV file of known columns.

    Parameters
    ----------
    columns, required
        Every column that may be there beside the keeper's own, and those that must be.
    ended
        Whether a last line without an end is a problem of the file (see `open_end`).

    Returns
    -------
    rows : list of Cells
        In file order, wholly blank rows left out. Rows come also where a column is unknown,
        missing or there twice (then the first one counts), so that all can be told at once.
    problems : list of Problem
        What is wrong with the file as such. A bad row is told in its own ``problem``.
    """
    text, problems = read_text(path)
    if ended:
        problems += open_end(path.name, text)
    if problems:
        return [], problems
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    name = path.name
    rows: list[Cells] = []
    header: list[str] = []
    allowed = frozenset(columns)
    for row, values in enumerate(_records(reader), start=1):
        if isinstance(values, csv.Error):
            why = f"is not well-formed CSV ({values})"
            problem = Problem(name, row, "", "", why, "check its quotation marks and commas")
            if row == 1:
                return [], [problem]
            rows.append(Cells(row, {}, problem))
        elif row == 1:
            header = [cell.strip() for cell in values]
            problems = _header_problems(name, header, columns, required)
            if allowed.isdisjoint(header):
                return [], problems
        elif any(value.strip() for value in values):
            rows.append(_cells(name, row, header, values, allowed))
    if not header:
        return [], _header_problems(name, [], columns, required)
    return rows, problems


def _records(reader: Iterator[list[str]]) -> Iterator[list[str] | csv.Error]:
    """Go on after a malformed record: what follows it may be sound."""
    while True:
        try:
            yield next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield error


def _header_problems(
    name: str, header: list[str], columns: Sequence[str], required: Iterable[str]
) -> list[Problem]:
    start = f"start it with a header row: {','.join(columns)}"
    if not any(header):
        return [Problem(name, 1, "", "", "is empty or has no header row", start)]
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        right = "separate columns by commas, and write decimals with a point"
        return [Problem(name, 1, "", header[0], "has one single column", right)]
    if not set(header) & set(columns):
        why = "has no known column name in its first row"
        if found := [small for cell in header if (small := _in_small(cell)) in columns]:
            start = f"write the names of columns in small letters, such as {found[0]}"
        return [Problem(name, 1, "", ",".join(header), why, start)]
    problems = []
    # All names are told once: told at each unknown one, they fill pages.
    known = f"; known are {', '.join(columns)}"
    for column in dict.fromkeys(header):
        if column.startswith(KEEPERS):
            continue
        if column not in columns:
            why = "is not a known column" if column else "is a column without a name"
            right, known = f"rename or remove it{known}", ""
            if (small := _in_small(column)) in columns:
                right = f"write it as {small}"
            problems.append(Problem(name, 1, shown(column), column, why, right))
        elif header.count(column) > 1:
            right = "keep one of them"
            problems.append(Problem(name, 1, column, column, "is there more than once", right))
    problems += [
        Problem(name, 1, column, "", "is a column that is missing", "add it to the header row")
        for column in required
        if column not in header
    ]
    return problems


def _in_small(column: str) -> str:
    """Write a heading as columns are called: ``Usable TB`` as ``usable_tb``."""
    return "_".join(column.lower().split())


def _cells(
    name: str, row: int, header: list[str], values: list[str], allowed: frozenset[str]
) -> Cells:
    cells: dict[str, str] = {}
    for column, value in zip(header, values, strict=False):
        if column in allowed:
            # A line break stays, to be told: a spreadsheet shows what is below it nowhere.
            cells.setdefault(column, value.strip(SPACES))
    problem = None
    if len(values) > len(header):
        extra = ",".join(values[len(header) :])
        if extra.strip(", "):
            why = f"has {len(values)} cells under {len(header)} columns"
            right = "put a cell that has a comma in it between double quotes"
            problem = Problem(name, row, "", extra, why, right)
    elif len(values) < len(header):
        why = f"has only {len(values)} cells under {len(header)} columns"
        problem = Problem(name, row, "", "", why, "leave unused cells blank, but keep their commas")
    return Cells(row, cells, problem)


def parse_row(
    model: type[_Model], file: str, row: int | None, cells: dict[str, str]
) -> tuple[_Model | None, list[Problem]]:
    """Turn one row's text into a model whose fields are the columns, or into every problem."""
    try:
        return model.model_validate(cells), []
    except ValidationError as error:
        return None, [_problem(file, row, dict(detail)) for detail in error.errors()]


def _problem(file: str, row: int | None, detail: dict[str, Any]) -> Problem:
    # A key that is wrong itself has a last step of its own.
    column = shown(".".join(str(step) for step in detail["loc"] if step != "[key]"))
    given, kind = detail.get("input"), detail["type"]
    value = "" if isinstance(given, dict | list | tuple) else str(given)
    if kind == "cell":
        why, right = detail["ctx"]["why"], detail["ctx"]["right"]
    elif kind == "missing":
        why, right, value = "is missing", "give it a value", ""
    else:
        why, right = _WORDS.get(kind, (detail["msg"], _SEE_README))
    return Problem(file, row, column, shown(value), why, right)


_SEE_README = "see the price list's README for what belongs here"
_A_TABLE = ("is not a table", "give it keys of its own, under a heading in square brackets")
_WORDS = {
    "extra_forbidden": ("is not a known name", "rename or remove it"),
    "string_type": ("is not text", "put it between double quotes"),
    "dict_type": _A_TABLE,
    "model_type": _A_TABLE,
    "tuple_type": ("is not a list of tables", "head each of them by double square brackets"),
}
