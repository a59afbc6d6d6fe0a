"""What did the customer ask for: rows of cells, checked against the price list.

A bad row of a file is told without costing the good ones.
"""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import read_rows
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Workload
from quotelib.enquiry.column import Asked, Setting
from quotelib.enquiry.columns import COLUMNS, OWNABLE
from quotelib.errors import InputError, Problem, shown
from quotelib.pricing.totals import Deal
from quotelib.text import either
from quotelib.units import plain


@dataclass(frozen=True, slots=True)
class Enquiry:
    """What one customer asked for; None where it was left to us.

    The fields are columns of ``enquiries.csv``; those by which builds are judged stand in
    `demands`, as pairs of name and value, in the order of the columns. Construct it with
    `read_enquiry`, which also checks it against a price list.
    """

    enquiry_id: str
    customer: str
    currency: str | None = None
    builds: int = 1
    workload: str | None = None
    discount_pct: Decimal = Decimal(0)
    tax_code: str | None = None
    note: str = ""
    chassis: str | None = None
    controller: str | None = None
    drive: str | None = None
    members: int | None = None
    level: str | None = None
    spans: int | None = None
    spares: int | None = None
    owned: tuple[str, ...] = ()
    accept: tuple[str, ...] = ()
    demands: tuple[tuple[str, Any], ...] = ()

    def value(self, column: str) -> Any:
        """Give what a column says; None where it was left to us."""
        if column in _FIELDS:
            return getattr(self, column)
        return dict(self.demands).get(column)

    def change(self, **values: Any) -> "Enquiry":
        """Give the same enquiry with other values in some columns; None: left to us."""
        demands = {**dict(self.demands), **{n: v for n, v in values.items() if n not in _FIELDS}}
        kept = tuple((n, demands[n]) for n in COLUMNS if demands.get(n) is not None)
        own = {name: value for name, value in values.items() if name in _FIELDS}
        return replace(self, demands=kept, **own)

    def without(self, *columns: str) -> "Enquiry":
        """Give the same enquiry with some columns left to us."""
        return self.change(**dict.fromkeys(columns))

    def cells(self) -> dict[str, str]:
        """Write the enquiry as cells of a row, blank ones left out."""
        row = {}
        for name in COLUMNS:
            value = self.value(name)
            if isinstance(value, tuple):
                value = ";".join(value)
            if value is not None and value != "":
                row[name] = format(value, "f") if isinstance(value, Decimal) else str(value)
        return row

    @property
    def deal(self) -> Deal:
        """Take what bears on the price."""
        return Deal(self.builds, self.discount_pct, self.tax_code, self.value("services") or ())

    def setting(self, terms: Terms) -> Setting:
        """Say what its demands are asked in."""
        currency = self.currency or terms.currency
        return Setting(currency, self.builds, self.workload, plain(terms.risk.years))

    def asked(self, terms: Terms) -> list[Asked]:
        """List what is demanded of a build, in the order of the columns."""
        setting = self.setting(terms)
        made = ((column, self.value(column.name)) for column in COLUMNS.values())
        return [
            Asked(column.name, column.demand, value, setting)
            for column, value in made
            if column.demand is not None and value is not None
        ]

    def load(self, price_list: PriceList) -> Workload | None:
        """Give the workload it names."""
        return price_list.workloads[self.workload] if self.workload else None


_FIELDS = frozenset(field.name for field in fields(Enquiry)) - {"demands"}


def read_enquiry(
    row: Mapping[str, str],
    price_list: PriceList,
    file: str = "enquiry",
    row_number: int | None = None,
) -> Enquiry:
    """Read one enquiry and check it against a price list.

    Parameters
    ----------
    row
        Text by column; blank or absent cells are "not given".
    file, row_number
        Where the row stands, for messages.

    Raises
    ------
    InputError
        With every problem of the row.
    """
    given = {name: str(cell).strip() for name, cell in row.items()}
    problems = [
        Problem(file, row_number, name, given[name], "is not a known name", "rename or remove it")
        for name in given
        if name not in COLUMNS
    ]
    values: dict[str, Any] = {}
    for column in COLUMNS.values():
        try:
            values[column.name] = column.parse(given.get(column.name, ""))
        except PydanticCustomError as error:
            said, cell = error.context or {}, given.get(column.name, "")
            why, right = str(said.get("why", error)), str(said.get("right", ""))
            problems.append(Problem(file, row_number, column.name, cell, why, right))
    problems += [
        Problem(file, row_number, column, given.get(column, ""), why, right)
        for column, why, right in _references(given, price_list)
    ]
    if problems:
        raise InputError(problems)
    demands = tuple((n, v) for n, v in values.items() if n not in _FIELDS and v is not None)
    return Enquiry(**{n: v for n, v in values.items() if n in _FIELDS}, demands=demands)


def _references(given: Mapping[str, str], price_list: PriceList) -> Iterator[tuple[str, str, str]]:
    for column in COLUMNS.values():
        value = given.get(column.name, "")
        if column.known is not None and value:
            options, where = column.known(price_list)
            for name in column.names(value):
                if column.name == "services" and name in price_list.services.keys() - options:
                    yield "services", f"has {shown(name)!r}, which is always done", "leave it out"
                elif name not in options:
                    what = f"has {shown(name)!r}, which is" if column.many else "is"
                    near = _nearest(name[:200], tuple(options))
                    yield column.name, f"{what} not among {where}", near
    for role in given.get("owned", "").split(";"):
        role = role.strip()
        if role in OWNABLE and not given.get(role):
            why = f"says the customer has the {role}, but does not say which"
            yield "owned", why, f"give its sku in the column {role}"
    pinned = all(given.get(column) for column in ("drive", "members", "level"))
    if not given.get("usable_tb") and not pinned:
        right = "say how many TB are needed, or which drive, how many of them and which level"
        yield "usable_tb", "is blank, and drive, members and level are not all given", right


@lru_cache(maxsize=1024)
def _nearest(value: str, options: tuple[str, ...]) -> str:
    if len(options) <= 12:
        return f"use {either(options)}" if options else "leave it blank: the price list has none"
    near = difflib.get_close_matches(value, options, n=3, cutoff=0.4)
    return f"did you mean {either(near)}?" if near else "look it up in the price list"


@dataclass(frozen=True, slots=True)
class EnquiryRow:
    """One row of an enquiry file, as a spreadsheet numbers it; with problems, no enquiry."""

    row: int
    enquiry_id: str
    cells: Mapping[str, str]
    enquiry: Enquiry | None
    problems: tuple[Problem, ...]


def read_enquiries(path: Path, price_list: PriceList) -> list[EnquiryRow]:
    """Read a CSV file of enquiries, in its order; a bad row does not cost the good ones.

    Raises
    ------
    InputError
        Where the file as a whole cannot be read.
    """
    required = [column.name for column in COLUMNS.values() if column.required]
    rows, problems = read_rows(path, list(COLUMNS), required)
    if problems:
        raise InputError(problems)
    made = []
    seen: dict[str, int] = {}
    for cells in rows:
        name = cells.cells.get("enquiry_id", "")
        enquiry = None
        wrong = [] if cells.problem is None else [cells.problem]
        if not wrong:
            try:
                enquiry = read_enquiry(cells.cells, price_list, path.name, cells.row)
            except InputError as error:
                wrong += error.problems
        if name and name in seen:
            why = f"is there already, in row {seen[name]}"
            right = "give each enquiry an id of its own"
            wrong.append(Problem(path.name, cells.row, "enquiry_id", name, why, right))
        seen.setdefault(name, cells.row)
        sound = None if wrong else enquiry
        made.append(EnquiryRow(cells.row, name, cells.cells, sound, tuple(wrong)))
    if not made:
        why, right = "lists no enquiry", "give it at least one row"
        raise InputError([Problem(path.name, None, "", "", why, right)])
    return made
