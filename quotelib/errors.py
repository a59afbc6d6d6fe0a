"""How do we complain: one problem is a place, a value, why it is wrong and what would be right."""

import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

MOST_SHOWN = 200
"""Nobody reads more problems in one go, of one file."""
_MOST_WORDS = 2000
_JOINERS = "\u200c\u200d"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what somebody gave us.

    Parameters
    ----------
    file : str
        File name, or where the value was typed.
    row : int or None
        Row as a spreadsheet numbers it (the header is row 1); None for the whole file.
    column : str
        Column or key; empty for the whole row.
    value : str
        What was given, shortened for display.
    why, right : str
        Why it is wrong, and what would be right.
    """

    file: str
    row: int | None
    column: str
    value: str
    why: str
    right: str

    def __str__(self) -> str:
        """Say it in one line."""
        place = one_line(self.file)
        if self.row is not None:
            place += f", row {self.row}"
        if self.column:
            place += f", {shown(self.column)}"
        given = f" {shown(self.value)!r}" if self.value else ""
        return f"{place}:{given} {self.words}"

    @property
    def words(self) -> str:
        """Say why it is wrong, and what would be right."""
        return shown(f"{self.why}; {self.right}" if self.right else self.why, _MOST_WORDS)


class NotExported(Exception):  # noqa: N818 - no fault of the program
    """A document that cannot be made of a record; says why, in plain words."""


class InputError(Exception):
    """What was given cannot be used; carries every problem found.

    Parameters
    ----------
    problems : iterable of Problem
        At least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(self._lines()))

    def _lines(self) -> list[str]:
        lines = [str(problem) for problem in self.problems[:MOST_SHOWN]]
        more = len(self.problems) - len(lines)
        return [*lines, f"and {more} more"] if more else lines

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader what is wrong with the input, not our code."""
        return ["This cannot be used as it is:", *(f"  {line}" for line in self._lines())]


def shown(text: str, limit: int = 60) -> str:
    """Shorten a text for display, as `one_line`."""
    # Cut first: a cell may be as long as a file.
    return one_line(text if len(text) <= limit else f"{text[: limit - 1]}…")


def one_line(text: object) -> str:
    """Replace what a terminal would take for a command, or what breaks a line."""
    return "".join(c if _is_harmless(c) else "\N{REPLACEMENT CHARACTER}" for c in str(text))


def _is_harmless(c: str) -> bool:
    # Spaces of any width may stay, and the joiners that a script or an emoji needs.
    return c.isprintable() or c in _JOINERS or unicodedata.category(c) == "Zs"


def table(problems: Sequence[Problem], width: int = 100) -> str:
    """Lay problems out as a readable text table, one block a problem, grouped by file.

    Of each file the first `MOST_SHOWN` are laid out, and the others counted. A line takes `width`
    characters.
    """
    head = ("row", "column", "given", "why, and what would be right")
    lines: list[str] = []
    files: dict[str, list[Problem]] = {}
    for problem in problems:
        files.setdefault(problem.file, []).append(problem)
    for file, found in files.items():
        rows = [
            ("" if p.row is None else str(p.row), shown(p.column), shown(p.value, 24), p.words)
            for p in found[:MOST_SHOWN]
        ]
        sizes = [max(len(head[i]), *(len(r[i]) for r in rows)) for i in range(3)]
        text_width = max(30, width - sum(sizes) - 8)
        lines.append(one_line(file))
        for row in (head, *rows):
            wrapped = textwrap.wrap(row[3], text_width) or [""]
            cells = "  ".join(c.ljust(n) for c, n in zip(row, sizes, strict=False))
            lines.append(f"  {cells}  {wrapped[0]}".rstrip())
            lines.extend(f"{' ' * (sum(sizes) + 8)}{more}" for more in wrapped[1:])
        if len(found) > MOST_SHOWN:
            lines.append(f"  and {len(found) - MOST_SHOWN} more in {one_line(file)}")
        lines.append("")
    return "\n".join(lines).rstrip()
