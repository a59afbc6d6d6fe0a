"""What was a server, and what is asked of it otherwise now."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quotelib.enquiry.column import Of
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.request import Request
from quotelib.promise.changed_asked import array_row, base_row, differing, paired
from quotelib.promise.record import QuoteRecord, Server

_ROW = {"owned", "accept", "condition", "services"}
"""Columns of a row that bear on what is built."""


@dataclass(frozen=True, slots=True)
class Before:
    """A server as it was quoted, and how what is asked of it now compares.

    Parameters
    ----------
    options : str
        The cell of that name in its row.
    arrays : mapping of int to int
        By place of an array now, its place then.
    otherwise : tuple of str
        Columns of the server that say something else now and bear on what is built.
    arrays_otherwise : mapping of int to tuple
        Likewise of each array that there was, by its place now.
    """

    server: Server
    options: str
    arrays: Mapping[int, int]
    otherwise: tuple[str, ...]
    arrays_otherwise: Mapping[int, tuple[str, ...]]

    @property
    def unchanged(self) -> bool:
        """Tell whether nothing that bears on what is built is asked otherwise."""
        same = set(self.arrays.values()) == set(range(len(self.server.arrays)))
        new = len(self.arrays_otherwise) != len(self.arrays)
        return same and not (new or self.otherwise or any(self.arrays_otherwise.values()))


def before(record: QuoteRecord, was: int, read: Request, at: int) -> Before:
    """Say of a server what it was, and what is asked of it otherwise."""
    server, asked = record.servers[was], read.servers[at]
    own = [
        (row.cells(), array)
        for row, (place, array) in zip(read.rows, read.places(), strict=True)
        if place == at
    ]
    pairs = paired([a.name for a in server.arrays], [row.array for row in asked.arrays])
    rows = {array: cells for cells, array in own if array is not None}
    base = base_row(record, was)
    return Before(
        server=server,
        options=base.get("options", ""),
        arrays=pairs,
        otherwise=_bearing(differing(base, own[0][0]), "server"),
        arrays_otherwise={
            place: _bearing(differing(array_row(record, was, then), rows[place]), "array")
            for place, then in pairs.items()
        }
        | {place: ("array",) for place in rows if place not in pairs},
    )


def _bearing(names: Sequence[str], of: Of) -> tuple[str, ...]:
    """Give those columns that bear on what is built."""
    return tuple(
        name for name in names if name in _ROW or (COLUMNS[name].of == of and name != "builds")
    )
