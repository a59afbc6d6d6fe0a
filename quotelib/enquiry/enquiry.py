"""What did the customer ask for, in one row of cells, checked against the price list."""

import datetime as dt
import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from functools import lru_cache
from itertools import islice
from typing import Any

from pydantic_core import PydanticCustomError

from quotelib.build.layout import ALL_OF_THEM
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import KEEPERS
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Action, Workload
from quotelib.enquiry.column import Asked, Setting
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.load import load_of, misstated
from quotelib.enquiry.there import OWNABLE, unclear
from quotelib.errors import InputError, Problem, shown
from quotelib.levels import array_levels
from quotelib.pricing.money import digits, to_minor
from quotelib.pricing.totals import Deal
from quotelib.ready.workshop import workshop
from quotelib.text import either
from quotelib.units import plain


@dataclass(frozen=True, slots=True)
class Enquiry:
    """What one row asks for; None where it was left to us.

    The fields are columns of ``enquiries.csv``; most of them stand in `demands`, as pairs of name
    and value, in the order of the columns. Construct it with `read_enquiry`, which also checks it
    against a price list.

    Parameters
    ----------
    all_builds : int or None
        How many servers its whole quote has, where it has several kinds; None: these alone.
    their_controllers : tuple of str
        Controllers that other rows of the same server call the customer's.
    ordered : date or None
        On which day it is taken to be ordered, so that it can be held against `ship_by`; None: a
        date is not looked at.
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
    server: str = ""
    array: str = ""
    all_builds: int | None = None
    their_controllers: tuple[str, ...] = ()
    ordered: dt.date | None = None
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
        """Write the enquiry as cells of a row; what a blank one means is left out."""
        row = {}
        for name, column in COLUMNS.items():
            value = self.value(name)
            if value in (None, column.default):
                continue
            if isinstance(value, tuple):
                value = ";".join(map(str, value))
            row[name] = format(value, "f") if isinstance(value, Decimal) else str(value)
        return row

    @property
    def action(self) -> Action:
        """Say what is done with its array."""
        return self.value("action") or "new"

    @property
    def their_drives(self) -> int:
        """Count the drives for its array that the customer has: all where no number is given."""
        have: int | None = self.value("have_drives")
        if have is None:
            return ALL_OF_THEM if "drive" in self.owned else 0
        return have

    @property
    def deal(self) -> Deal:
        """Take what bears on the price."""
        services = self.value("services") or ()
        return Deal(self.builds, self.discount_pct, self.tax_code, services, self.all_builds)

    @property
    def asks_array(self) -> bool:
        """Tell whether it asks for an array: for so many bytes, or for drives in a level."""
        pinned = self.drive and self.members and self.level
        return self.value("usable_tb") is not None or bool(pinned)

    def sold(self, part: Part) -> bool:
        """Tell whether a part may be chosen unasked: refurbished ones only where any will do."""
        return part.condition == "new" or bool(self.value("condition") == "any")

    @property
    def of_server(self) -> bool:
        """Tell whether it asks for a server, or for something of one that it names."""
        return bool(self.server) or self.asks_array or self.asks_box

    @property
    def asks_box(self) -> bool:
        """Tell whether it asks for a chassis with options, whatever else."""
        return bool(self.chassis) and any(self.value(column) for column in _OF_A_BOX)

    def setting(self, terms: Terms) -> Setting:
        """Say what its demands are asked in."""
        currency = self.currency or terms.currency
        return Setting(currency, self.builds, self.workload, plain(terms.risk.years))

    def asked(self, price_list: PriceList) -> list[Asked]:
        """List what is demanded of a build, in the order of the columns.

        What the workload demands by itself counts where the enquiry states nothing else.
        """
        setting, load = self.setting(price_list.terms), self.load(price_list)
        if self.ordered is not None and self.value("ship_by") is not None:
            bench = workshop(price_list, self.ordered, self.deal.services)
            setting = replace(setting, workshop=bench)
        own = {name: getattr(load, least, None) for name, least in _BY_WORKLOAD.items()}
        made = (
            (column, own.get(name) if (value := self.value(name)) is None else value)
            for name, column in COLUMNS.items()
        )
        return [
            Asked(column.name, column.of, column.demand, value, setting)
            for column, value in made
            if column.demand is not None and value is not None
            if setting.workshop is not None or column.name != "ship_by"
        ]

    def load(self, price_list: PriceList) -> Workload | None:
        """Give the workload it names, with the numbers that it states itself."""
        return load_of(self.workload, price_list.workloads) if self.workload else None


_FIELDS = frozenset(field.name for field in fields(Enquiry)) - {"demands"}
_SAID = 5
"""Nobody reads about more unknown names in one cell."""
_BY_WORKLOAD = {"host_iops": "min_iops", "max_response_ms": "max_response_ms"}
"""What a workload demands by itself, by the column in which an enquiry would."""


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
        Text by column; blank or absent cells are "not given", the keeper's own are passed over.
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
        if name not in COLUMNS and not name.startswith(KEEPERS)
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
        for column, why, right in (
            *_references(given, price_list), *_too_fine(values, price_list), *unclear(values),
        )
    ]  # fmt: skip
    if problems:
        raise InputError(problems)
    demands = tuple((n, v) for n, v in values.items() if n not in _FIELDS and v is not None)
    return Enquiry(**{n: v for n, v in values.items() if n in _FIELDS}, demands=demands)


def _references(given: Mapping[str, str], price_list: PriceList) -> Iterator[tuple[str, str, str]]:
    for column in COLUMNS.values():
        value = given.get(column.name, "")
        if column.known is not None and value:
            options, where = column.known(price_list)
            names = (name for name in dict.fromkeys(column.names(value)) if name not in options)
            for name in islice(names, _SAID):
                if column.name == "services" and name in price_list.services:
                    yield "services", f"has {shown(name)!r}, which is always done", "leave it out"
                else:
                    what = f"has {shown(name)!r}, which is" if column.many else "is"
                    near = _nearest(name[:200], tuple(options))
                    yield column.name, f"{what} not among {where}", near
    for role in given.get("owned", "").split(";"):
        role = role.strip()
        if role in OWNABLE and not given.get(role):
            why = f"says the customer has the {role}, but does not say which"
            yield "owned", why, f"give its sku in the column {role}"
    before, level = price_list.controllers.get(given.get("from_controller", "")), given.get("level")
    if before and level in array_levels() and level not in before.levels:
        makes = either(f"RAID {name}" for name in before.levels) or "no array"
        why = f"is not what made the array: it makes {makes}, not RAID {level}"
        yield "from_controller", why, "look again which controller made it, and which level it has"
    for why, right in misstated(given.get("workload", ""), price_list.workloads):
        yield "workload", why, right
    yield from _wants_something(given)


def _too_fine(values: Mapping[str, Any], price_list: PriceList) -> Iterator[tuple[str, str, str]]:
    """Find amounts that the quote's currency has no coins for; zeros at the end do not count."""
    currency = values.get("currency") or price_list.terms.currency
    if currency not in price_list.currencies:
        return
    for column in ("line_price", "line_cost"):
        amount = values.get(column)
        if amount is not None and to_minor(currency, amount) != amount:
            why = f"has more decimals than {currency}, which has {digits(currency) or 'none'}"
            yield column, why, "round it to that"


def _wants_something(given: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    for column in ("line_quantity", "line_price", "line_cost"):
        if given.get(column) and not given.get("line"):
            yield "line", f"is blank, though {column} is given", "say what it is for"
    if given.get("usable_tb") or all(given.get(c) for c in ("drive", "members", "level")):
        return
    box = given.get("chassis") and any(given.get(column) for column in _OF_A_BOX)
    if not (box or any(given.get(column) for column in ("server", "parts", "services", "line"))):
        yield "usable_tb", "is blank, and drive, members and level are not all given", _SAY_ARRAY
        return
    for name in ("array", *(c.name for c in COLUMNS.values() if c.of == "array")):
        if given.get(name):
            yield name, "is given, but the row asks for no array", f"{_SAY_ARRAY}, or leave it out"
    for name in (c.name for c in COLUMNS.values() if c.of == "server"):
        if given.get(name) and not (box or given.get("server")):
            right = "ask for an array, or name chassis and options"
            yield name, "is given, but the row asks for no server", f"{right}, or leave it out"


_SAY_ARRAY = "say how many TB are needed, or which drive, how many of them and which level"
_OF_A_BOX = ("options", "cores", "memory_gb")
"""What makes a server of a chassis without an array."""


@lru_cache(maxsize=1024)
def _nearest(value: str, options: tuple[str, ...]) -> str:
    if len(options) <= 12:
        return f"use {either(options)}" if options else "leave it blank: the price list has none"
    near = difflib.get_close_matches(value, options, n=3, cutoff=0.4)
    return f"did you mean {either(near)}?" if near else "look it up in the price list"
