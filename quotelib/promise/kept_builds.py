"""Builds that the seller has set side by side for the customer, as an annex shows them."""

from collections.abc import Iterator, Mapping, Sequence

from pydantic import model_validator

from quotelib.facts import Frozen


class KeptRow(Frozen):
    """One thing that is said of each build, with its scope; blank: nothing is said of that one."""

    label: str
    cells: tuple[str, ...]

    def marked(self) -> Iterator[tuple[str, bool]]:
        """Give each cell with whether it is otherwise than that of the first build."""
        yield from ((cell, cell != self.cells[0]) for cell in self.cells)


class KeptBuilds(Frozen):
    """Builds side by side, the one that is offered first; amounts are net prices.

    Parameters
    ----------
    names
        What to call each.
    """

    names: tuple[str, ...]
    rows: tuple[KeptRow, ...]

    @model_validator(mode="after")
    def _says_something_of_each(self) -> "KeptBuilds":
        if not self.names or any(len(row.cells) != len(self.names) for row in self.rows):
            raise ValueError("a comparison has a cell for each of its builds")
        return self


def kept_builds(columns: Sequence[tuple[str, Mapping[str, str]]]) -> KeptBuilds:
    """Set builds side by side, each given with its name and what is said of it by label."""
    labels = dict.fromkeys(label for _, facts in columns for label in facts)
    return KeptBuilds(
        names=tuple(name for name, _ in columns),
        rows=tuple(
            KeptRow(label=label, cells=tuple(facts.get(label, "") for _, facts in columns))
            for label in labels
        ),
    )
