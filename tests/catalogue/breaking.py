"""Ways to break one thing in a price list folder, and what has to be said about it."""

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from quotelib.errors import Problem

Edit = Callable[[Path], object]
# File, row as a spreadsheet numbers it (None: the whole file), column, words of the message.
Told = tuple[str, int | None, str, str]

DRIVES, CONTROLLERS, CHASSIS = "drives.csv", "controllers.csv", "chassis.csv"
SLOTS, ACCESSORIES, SERVICES = "slots.csv", "accessories.csv", "services.csv"
WORKLOADS, TERMS_TOML = "workloads.csv", "terms.toml"


def cell(file: str, row: int, column: str, value: str) -> Edit:
    """Put a value into one cell."""

    def edit(folder: Path) -> None:
        rows = list(csv.reader(io.StringIO((folder / file).read_text("utf-8"), newline="")))
        rows[row - 1][rows[0].index(column)] = value
        out = io.StringIO(newline="")
        csv.writer(out, lineterminator="\n").writerows(rows)
        (folder / file).write_text(out.getvalue(), "utf-8")

    return edit


def put(file: str, row: int, **cells: str) -> Edit:
    """Put values into cells of columns that the file may not have yet.

    A name that Python keeps for itself takes a line behind it: ``with_``.
    """

    def edit(folder: Path) -> None:
        with (folder / file).open(newline="", encoding="utf-8") as lines:
            rows = list(csv.DictReader(lines))
        rows[row - 2].update({name.rstrip("_"): value for name, value in cells.items()})
        with (folder / file).open("w", newline="", encoding="utf-8") as lines:
            out = csv.DictWriter(lines, list(rows[row - 2]), restval="", lineterminator="\n")
            out.writeheader()
            out.writerows(rows)

    return edit


def swap(file: str, old: str, new: str) -> Edit:
    """Replace text that is in the file exactly once."""

    def edit(folder: Path) -> None:
        text = (folder / file).read_text("utf-8")
        assert text.count(old) == 1, (old, text.count(old))
        (folder / file).write_text(text.replace(old, new), "utf-8")

    return edit


def whole(file: str, change: Callable[[bytes], bytes]) -> Edit:
    """Change the bytes of a whole file."""
    return lambda folder: (folder / file).write_bytes(change((folder / file).read_bytes()))


def terms(old: str, new: str) -> Edit:
    """Replace text of the terms."""
    return swap(TERMS_TOML, old, new)


def without_column(file: str, column: str) -> Edit:
    """Take a column away."""

    def edit(folder: Path) -> None:
        rows = list(csv.reader(io.StringIO((folder / file).read_text("utf-8"), newline="")))
        place = rows[0].index(column)
        lines = [",".join(c for i, c in enumerate(row) if i != place) for row in rows]
        (folder / file).write_text("\n".join(lines) + "\n", "utf-8")

    return edit


def wider(file: str, name: str) -> Edit:
    """Put a blank column at the right end."""

    def edit(folder: Path) -> None:
        header, *lines = (folder / file).read_text("utf-8").splitlines()
        wide = [f"{header},{name}", *(f"{line}," for line in lines)]
        (folder / file).write_text("\n".join(wide) + "\n", "utf-8")

    return edit


@dataclass(frozen=True)
class Broken:
    """One way to break a price list, and all that has to be said about it."""

    name: str
    edit: Edit
    told: tuple[Told, ...]


def broken(name: str, edit: Edit, *told: Told) -> Broken:
    return Broken(name, edit, told)


def agrees(problem: Problem, told: Told) -> bool:
    file, row, column, words = told
    return (problem.file, problem.row, problem.column) == (file, row, column) and (
        words in str(problem)
    )
