"""Is a file there to its end, or was it cut off in copying.

Two signs, neither of which an edit gives: the last line has no end, and there is less in the
file than ``contents.csv`` beside it counts. That file is optional; more than it counts is fine.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import ClassVar

from quotelib.catalogue import cells
from quotelib.catalogue.row import Row
from quotelib.catalogue.tables import parse_row, read_rows
from quotelib.errors import Problem, shown


class Content(Row):
    """How much there has to be in one file at least."""

    file_name: ClassVar[str] = "contents.csv"
    key: ClassVar[tuple[str, ...]] = ("file",)
    file: cells.Text
    rows: cells.Count


CONTENTS_FILE = Content.file_name
_COLUMNS = list(Content.model_fields)


def count_values(data: object) -> int:
    """Count the values of a TOML document, as ``contents.csv`` counts ``terms.toml``."""
    if isinstance(data, dict):
        return sum(map(count_values, data.values()))
    if isinstance(data, list):
        return sum(map(count_values, data))
    return 1


def contents_problems(
    folder: Path, files: Sequence[str], needed: Sequence[str], found: Mapping[str, int]
) -> list[Problem]:
    """Find files with less in them than ``contents.csv`` counts; none where it is not there.

    Parameters
    ----------
    files
        Every file that may be counted.
    needed
        Those that have to be: a price list may do without the others.
    found
        Rows below the header (values, for ``terms.toml``) of each file that could be read.
    """
    path = folder / CONTENTS_FILE
    if not path.exists():
        return []
    rows, problems = read_rows(path, _COLUMNS, _COLUMNS, ended=True)
    if problems:
        return problems
    counted: set[str] = set()
    for row in rows:
        if row.problem is not None:
            problems.append(row.problem)
            continue
        content, wrong = parse_row(Content, CONTENTS_FILE, row.row, row.cells)
        problems += wrong
        name = row.cells["file"]
        if name not in files or name in counted:
            why, right = "is there already", "keep one row for each file"
            if name not in files:
                why, right = "is no file of a price list", f"name one of {', '.join(files)}"
            problems.append(Problem(CONTENTS_FILE, row.row, "file", name, why, right))
        elif content is not None and found.get(name, content.rows) < content.rows:
            problems.append(_short(name, found[name], content.rows))
        counted.add(name)
    missing = [name for name in needed if name not in counted]
    if missing:
        why = f"has no row for {', '.join(missing)}, so it looks cut off itself"
        right = "copy it again, or add a row for each file"
        problems.append(Problem(CONTENTS_FILE, None, "", "", why, right))
    return problems


def _short(name: str, count: int, least: int) -> Problem:
    what = "values" if name.endswith(".toml") else "rows"
    why = f"has {count} {what} where {CONTENTS_FILE} counts {least}, so it looks cut off"
    right = f"copy the file again; if {what} were taken out on purpose, put {count} for "
    return Problem(name, None, "", "", why, f"{right}{shown(name)} into {CONTENTS_FILE}")
