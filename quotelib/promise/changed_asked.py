"""What is asked otherwise than before: rows of two records against each other."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic_core import PydanticCustomError

from quotelib.build.findings import ADVICE
from quotelib.enquiry.columns import COLUMNS
from quotelib.promise.changed import Change
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import Wish
from quotelib.text import both

Cells = Mapping[str, str]
_UNSAID = {"enquiry_id", "note", "server", "array", "line_cost", "line", "line_quantity",
           "line_price", "builds", "parts", "services", "options"}  # fmt: skip
"""What is for us only, or is told where it shows."""
MANY = "How many alike"
_COUNTED = {"options": "Option", "services": "Service", "parts": "Loose part"}


def parsed(column: str, cell: str) -> Any:
    """Read a cell, so that ``60`` is ``60.0``; what cannot be read is its text."""
    try:
        return COLUMNS[column].parse(cell)
    except PydanticCustomError:
        return cell


def differing(old: Cells, new: Cells) -> list[str]:
    """Name the columns in which two rows do not say the same."""
    return [
        name
        for name in COLUMNS
        if parsed(name, old.get(name, "")) != parsed(name, new.get(name, ""))
    ]


def paired(old: Sequence[str], new: Sequence[str]) -> dict[int, int]:
    """Say which of the old ones each of the new ones was: of the same name, the rest in order."""
    found = {at: old.index(name) for at, name in enumerate(new) if name in old}
    left = (at for at in range(len(old)) if at not in found.values())
    for at in range(len(new)):
        if at not in found and (was := next(left, None)) is not None:
            found[at] = was
    return dict(sorted(found.items()))


def base_row(record: QuoteRecord, server: int) -> Cells:
    """Give the row that says what is asked of a server."""
    return next((row.cells for row in record.rows if row.server == server), {})


def array_row(record: QuoteRecord, server: int, array: int) -> Cells:
    """Give the row that says what is asked of an array."""
    rows = (r.cells for r in record.rows if (r.server, r.array) == (server, array))
    return next(rows, {})


def asked_otherwise(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    """List what the customer asks otherwise, server by server, array by array, then of all."""
    names = [server.name for server in old.servers]
    pairs = paired(names, [server.name for server in new.servers])
    for at, (of, server) in enumerate(new.by_server()):
        if at not in pairs:
            continue  # a server that is asked for besides is told as one
        was = old.servers[pairs[at]]
        before, after = base_row(old, pairs[at]), base_row(new, at)
        if was.builds != server.builds:
            yield _wish(of, MANY, str(was.builds), str(server.builds))
        yield from _columns("server", of, before, after, was.asked, server.asked)
        yield from _counted("options", of, [before], [after])
        rows = [[r.cells for r in record.rows if r.server == place]
                for record, place in ((old, pairs[at]), (new, at))]  # fmt: skip
        yield from _counted("services", of, *rows)
        arrays = paired([a.name for a in was.arrays], [a.name for a in server.arrays])
        for place, array in enumerate(server.arrays):
            own = f"array {array.name or place + 1}" if len(server.arrays) > 1 else ""
            name = ", ".join(filter(None, (of, own)))
            if place in arrays:
                then = was.arrays[arrays[place]]
                cells = array_row(old, pairs[at], arrays[place]), array_row(new, at, place)
                yield from _columns("array", name, *cells, then.asked, array.asked)
                yield from _columns("row", name, *cells, then.asked, array.asked)
    first = old.rows[0].cells, new.rows[0].cells
    yield from _columns("quote", "", *first, old.asked, new.asked)
    every = [r.cells for r in old.rows], [r.cells for r in new.rows]
    yield from _counted("parts", "", *every)
    beside = [[r.cells for r in record.rows if r.server is None] for record in (old, new)]
    yield from _counted("services", "", *beside)


def _wish(of: str, what: str, was: str, now: str) -> Change:
    return Change(group="asked", kind="wish", of=of, what=what, was=was, now=now)


def _columns(
    kind: str, of: str, old: Cells, new: Cells, before: Sequence[Wish], after: Sequence[Wish]
) -> Iterator[Change]:
    for name in differing(old, new):
        column = COLUMNS[name]
        if column.of == kind and name not in _UNSAID:
            label = column.page or column.label
            said = (_said(name, old, before), _said(name, new, after))
            if said[0] != said[1]:
                yield _wish(of, label, *said)


def _said(name: str, cells: Cells, wishes: Sequence[Wish]) -> str:
    """Say a cell as its page did, or as it stands."""
    column, cell = COLUMNS[name], cells.get(name, "")
    if name == "accept":
        return both(ADVICE.get(code, code) for code in parsed(name, cell) or ()) if cell else ""
    if name == "discount_pct":
        return f"{cell} %" if cell else ""
    label = column.page or column.label
    return next((wish.asked for wish in wishes if wish.label == label and cell), cell)


def _counted(column: str, of: str, old: Sequence[Cells], new: Sequence[Cells]) -> Iterator[Change]:
    before, after = (
        Counter(sku for row in rows for sku in parsed(column, row.get(column, "")) or ())
        for rows in (old, new)
    )
    for sku in {**before, **after}:
        if before[sku] != after[sku]:
            was, now = (f"{n} × {sku}" if n else "" for n in (before[sku], after[sku]))
            yield _wish(of, _COUNTED[column], was, now)
