"""Which rows make the quote on the page, and which of them is in the form.

What holds for the whole quote, and for a server, is kept once, not in a row: changed while any of
the rows is in the form, it is changed for all. Only where rows that were loaded contradict each
other does a row hold such a cell of its own, until somebody settles it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Literal

from quotelib.enquiry.columns import COLUMNS
from quotelib.errors import Problem
from quotelib.text import sentence

Cells = Mapping[str, str]
Kind = Literal["array", "parts", "line"]
NAMES = ("server", "array")
LOOSE: Mapping[Kind, tuple[str, ...]] = {
    "parts": ("parts", "services"),
    "line": ("line", "line_quantity", "line_price", "line_cost"),
}
"""What rows that belong to no server are for."""


def of(*owners: str) -> list[str]:
    """List the columns that belong to a quote, a server, an array or a row."""
    return [column.name for column in COLUMNS.values() if column.of in owners]


@dataclass(eq=False, slots=True)
class Row:
    """One row: what it is for, its own cells, and those of its server; None: it has none.

    The `key` tells it from the others for as long as the page is open.
    """

    key: str
    kind: Kind = "array"
    server: dict[str, str] | None = None
    cells: dict[str, str] = field(default_factory=dict)

    @property
    def says(self) -> bool:
        """Tell whether it asks for anything by itself."""
        return any(text.strip() for name, text in self.cells.items() if name != "array")


class Order:
    """The rows of one quote; `at` is the one in the form, `out` the last one taken out."""

    def __init__(self) -> None:
        self._keys = map(str, count(1))
        self.load([{}])

    def load(self, rows: Sequence[Cells]) -> None:
        """Take the rows of a quote as they stand in a file; the first comes into the form."""
        self.rows: list[Row] = []
        texts = [{n: t for n, t in cells.items() if n in COLUMNS and t.strip()} for cells in rows]
        self.quote = _part(texts[0], of("quote"))
        servers: dict[str, dict[str, str]] = {}
        for cells in texts:
            row = Row(next(self._keys), _kind(cells))
            if row.kind == "array":
                said = _part(cells, ["server", *of("server")])
                row.server = servers.setdefault(cells.get("server", "").strip(), said)
            shared = {**self.quote, **(row.server or {})}
            row.cells = {n: text for n, text in cells.items() if shared.get(n) != text}
            self.rows.append(row)
        self.at = self.rows[0]
        self.out: tuple[int, Row] | None = None

    def cell(self, row: Row, name: str) -> str:
        """Give a cell as it holds for a row."""
        return row.cells.get(name, "") or self._home(row, name).get(name, "")

    def shown(self) -> dict[str, str]:
        """Give every cell of the row in the form, blank ones too."""
        return {name: self.cell(self.at, name) for name in COLUMNS}

    def take(self, cells: Cells, row: Row | None = None) -> None:
        """Take cells that were changed: those of the row in the form, or of another."""
        row = row or self.at
        for name, text in cells.items():
            if text == self.cell(row, name):
                continue
            home = self._home(row, name)
            for each in self.rows:
                if self._home(each, name) is home:
                    each.cells.pop(name, None)
            home[name] = text

    def _home(self, row: Row, name: str) -> dict[str, str]:
        owner = COLUMNS[name].of
        if owner == "quote":
            return self.quote
        mine = owner == "server" or name == "server"
        return row.server if row.server is not None and mine else row.cells

    def keeper(self, name: str) -> str:
        """Give the key of the row in whose cells `kept` holds a cell of the form."""
        home = self._home(self.at, name)
        if self.at.cells.get(name) or home is self.at.cells or name == "server":
            return self.at.key
        first = (r for r in self.rows if home is self.quote or r.server is home)
        return next(first).key

    def asked(self) -> list[Row]:
        """List the rows that ask for something; the first where none does."""
        rows = [row for row in self.rows if row.says or self._is_box(row)]
        return rows or self.rows[:1]

    def _is_box(self, row: Row) -> bool:
        """Tell whether a row is the one that stands for what is asked of a server alone."""
        if row.server is None:
            return False
        mates = self.mates(row)
        alone = not any(mate.says for mate in mates) and _part(row.server, of("server"))
        return row is mates[0] and bool(alone or row.server.get("chassis"))

    def mates(self, row: Row) -> list[Row]:
        """List the rows of the same server."""
        return [each for each in self.rows if row.server is not None and each.server is row.server]

    def texts(self, rows: Iterable[Row]) -> list[dict[str, str]]:
        """Write rows as they stand in a file: what they share is said by the first of them."""
        told: list[dict[str, str]] = []
        made = []
        for row in rows:
            cells = {"enquiry_id": self.quote.get("enquiry_id", "")}
            for home in (self.quote, row.server):
                if home is not None and not any(home is other for other in told):
                    told.append(home)
                    cells |= home
            cells["server"] = (row.server or {}).get("server", "")
            cells |= {name: text for name, text in row.cells.items() if text.strip()}
            made.append({name: cells.get(name, "") for name in COLUMNS})
        return made

    def named(self) -> set[str]:
        """Tell which names the row in the form has need of: there are others of its kind."""
        at, servers = self.at, [row.server for row in self.rows if row.server is not None]
        several = any(server is not at.server for server in servers)
        needs = {"server": several, "array": len(self.mates(at)) > 1}
        return {name for name, need in needs.items() if need}

    def kept(self) -> dict[str, dict[str, str]]:
        """Give every row as in a file, by its key."""
        texts = self.texts(self.rows)
        return {row.key: cells for row, cells in zip(self.rows, texts, strict=True)}

    def problems(self, rows: Sequence[Row]) -> Iterator[Problem]:
        """Find servers that have one name: in a file they would be one."""
        seen: dict[str, dict[str, str]] = {}
        for number, row in enumerate(rows, 1):
            if row.server is None:
                continue
            name = row.server.get("server", "").strip()
            if seen.setdefault(name, row.server) is not row.server:
                why = "is the name of another server" if name else "is blank for another server too"
                right = "give each server a name of its own"
                yield Problem("enquiry", number, "server", name, why, right)

    def add_array(self) -> None:
        """Have another array in the server of the row in the form, or in the last one."""
        rows = [self.at, *reversed(self.rows)]
        last = next((row for row in rows if row.server is not None), None)
        if last is None:
            self.add_server()
            return
        mates = self.mates(last)
        holding = [mate for mate in mates if any(mate.cells.get(n) for n in of("array"))]
        self._name("array", [mate.cells for mate in holding])
        taken = [mate.cells.get("array", "") for mate in mates]
        own = {"array": _free(taken)} if holding else {}
        self._add(Row(next(self._keys), server=last.server, cells=own), after=mates[-1])

    def add_server(self) -> None:
        """Have another server."""
        rows = [row for row in self.rows if row.server is not None and not self._spare(row)]
        heads = [row for row in rows if row is self.mates(row)[0]]
        servers = [row.server for row in heads if row.server is not None]
        self._name("server", servers)
        taken = [server["server"] for server in servers]
        own = {"server": _free(taken)} if servers else {}
        self._add(Row(next(self._keys), server=own), after=rows[-1] if rows else None)

    def add(self, kind: Kind) -> None:
        """Have a row that belongs to no server."""
        self._add(Row(next(self._keys), kind), after=self.rows[-1])

    def _add(self, row: Row, after: Row | None) -> None:
        """Put a row in its place and into the form; one that says nothing makes way for it."""
        was = self.at
        place = self.rows.index(after) + 1 if after is not None else len(self.rows)
        self.rows.insert(place, row)
        if self._spare(was):
            self.rows.remove(was)
        self.at = row

    def _spare(self, row: Row) -> bool:
        others = len(self.mates(row)) > 1
        return not row.says and (others or not _part(row.server or {}, of("server")))

    def _name(self, column: str, all_cells: Sequence[dict[str, str]]) -> None:
        """Name what had no need of a name as long as it was the only one."""
        for cells in all_cells:
            if not cells.get(column):
                taken = [other.get(column, "") for other in all_cells]
                cells[column] = _free(taken)

    def take_out(self, row: Row) -> None:
        """Take a row out; what it shared with others stays theirs."""
        place = self.rows.index(row)
        self.rows.remove(row)
        self.out = place, row
        if self.at is row:
            self.at = self.rows[min(place, len(self.rows) - 1)]

    def put_back(self) -> None:
        """Put back what was taken out last, and into the form."""
        if self.out is not None:
            place, self.at = self.out
            self.rows.insert(place, self.at)
            self.out = None

    def title(self, row: Row) -> str:
        """Call a row by what it is for."""
        if row.kind == "array":
            named = ((of, self.cell(row, of).strip()) for of in NAMES)
            return sentence(", ".join(f"{of} {name}" for of, name in named if name) or "server")
        return "Loose parts" if row.kind == "parts" else "A line of your own"

    def words(self, row: Row) -> Iterator[str]:
        """Say what a row asks for; the first of a server says it for the server too."""
        shared = row.server or {} if row in self.mates(row)[:1] else {}
        for name, column in COLUMNS.items():
            text = (row.cells.get(name, "") or shared.get(name, "")).strip()
            if text and name not in (*NAMES, *of("quote"), "note", "line_cost"):
                said = " ".join(text.split())
                yield said if name in LOOSE else f"{column.label}: {said}"


def _part(cells: Cells, names: Iterable[str]) -> dict[str, str]:
    return {name: cells[name] for name in names if cells.get(name, "").strip()}


def _kind(cells: Cells) -> Kind:
    if _part(cells, ("server", "array", *of("server", "array"))):
        return "array"
    return next((kind for kind, names in LOOSE.items() if _part(cells, names)), "array")


def _free(taken: Sequence[str]) -> str:
    return next(name for name in map(str, count(1)) if name not in taken)
