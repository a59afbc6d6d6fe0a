"""How do we complain: one problem is a place, a value, why it is wrong and what would be right."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


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
    why : str
        Why it is wrong.
    right : str
        What would be right.
    """

    file: str
    row: int | None
    column: str
    value: str
    why: str
    right: str

    def __str__(self) -> str:
        """Say it in one line."""
        place = self.file
        if self.row is not None:
            place += f", row {self.row}"
        if self.column:
            place += f", {self.column}"
        given = f" {shown(self.value)!r}" if self.value else ""
        return (
            f"{place}:{given} {self.why}; {self.right}"
            if self.right
            else (f"{place}:{given} {self.why}")
        )


class InputError(Exception):
    """What was given cannot be used; carries every problem found.

    Parameters
    ----------
    problems : iterable of Problem
        At least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(map(str, self.problems)))

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader what is wrong with the input, not our code."""
        return ["This cannot be used as it is:", *(f"  {problem}" for problem in self.problems)]


def shown(text: str, limit: int = 60) -> str:
    """Shorten a value for display; control characters are replaced, so a terminal stays sane."""
    safe = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
    return safe if len(safe) <= limit else f"{safe[: limit - 1]}…"


def any_of(options: Iterable[str]) -> str:
    """List options as words: ``a, b or c``."""
    names = list(options)
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} or {names[-1]}"


def table(problems: Sequence[Problem], width: int = 100) -> str:
    """Lay problems out as a readable text table, one block a problem, grouped by file.

    Parameters
    ----------
    problems : sequence of Problem
        In the order found.
    width : int
        Characters a line may take.

    Returns
    -------
    str
        Lines without a trailing newline.
    """
    import textwrap

    head = ("row", "column", "given", "why, and what would be right")
    lines: list[str] = []
    for file in dict.fromkeys(p.file for p in problems):
        rows = [
            (
                "" if p.row is None else str(p.row),
                p.column,
                shown(p.value, 24),
                f"{p.why}; {p.right}" if p.right else p.why,
            )
            for p in problems
            if p.file == file
        ]
        sizes = [max(len(head[i]), *(len(r[i]) for r in rows)) for i in range(3)]
        text_width = max(30, width - sum(sizes) - 8)
        lines.append(file)
        for row in (head, *rows):
            wrapped = textwrap.wrap(row[3], text_width) or [""]
            cells = "  ".join(c.ljust(n) for c, n in zip(row, sizes, strict=False))
            lines.append(f"  {cells}  {wrapped[0]}".rstrip())
            indent = " " * (sum(sizes) + 8)
            lines.extend(f"{indent}{more}" for more in wrapped[1:])
        lines.append("")
    return "\n".join(lines).rstrip()
