"""What did the customer ask for: one row of cells, checked against the price list."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict

from quotelib.build.build import OWNABLE
from quotelib.build.fit import CODES
from quotelib.build.levels import LEVELS
from quotelib.catalogue import cells
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import parse_row, read_rows
from quotelib.errors import InputError, Problem, any_of

ADVICE_CODES = tuple(code for code, severity in CODES.items() if severity == "advise")
_MANY = 10**6


def _maybe(parse: BeforeValidator) -> BeforeValidator:
    return cells.blank_as(None, parse)


def _accept(cell: Any) -> tuple[str, ...]:
    items: tuple[str, ...] = cells.list_of().func(cell)  # type: ignore[call-arg]
    for item in items:
        if CODES.get(item) != "advise":
            why = f"is a {CODES[item]} finding" if item in CODES else "is not known"
            raise cells.wrong(
                f"has {item!r} in its list, which {why}", f"only these can be accepted: {_LIST}"
            )
    return items


_LIST = any_of(ADVICE_CODES)
_Text = Annotated[str, cells.blank_as("", cells.text(2000, foreign=True))]
_MaybeText = Annotated[str | None, _maybe(cells.text(200))]
_AtLeast = Annotated[Decimal | None, _maybe(cells.amount("0", None, "give a number, 0 or more"))]
_MaybeCount = Annotated[int | None, _maybe(cells.whole(0, _MANY, "give a whole number, 0 or more"))]
_MaybePositive = Annotated[
    int | None, _maybe(cells.whole(1, _MANY, "give a whole number, 1 or more"))
]
_MaybePercent = Annotated[
    Decimal | None, _maybe(cells.amount("0", "100", "give a percentage from 0 to 100"))
]


class Enquiry(BaseModel):
    """What one customer asked for; None where it was left to us.

    The fields are the columns of ``enquiries.csv``. Construct it with `read_enquiry`, which
    also checks it against a price list.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    enquiry_id: Annotated[str, cells.text(500, foreign=True)]
    customer: Annotated[str, cells.text(500, foreign=True)]
    currency: _MaybeText = None
    builds: Annotated[
        int, cells.blank_as(1, cells.whole(1, _MANY, "give a whole number, 1 or more"))
    ] = 1
    usable_tb: _AtLeast = None
    workload: _MaybeText = None
    host_iops: _AtLeast = None
    host_mb_s: _AtLeast = None
    survive: _MaybeCount = None
    max_loss_pct: _MaybePercent = None
    media: Annotated[Literal["hdd", "ssd"] | None, _maybe(cells.one_of("hdd", "ssd"))] = None
    free_slots: _MaybeCount = None
    max_price: _AtLeast = None
    discount_pct: Annotated[
        Decimal,
        cells.blank_as(Decimal(0), cells.amount("0", "100", "give a percentage from 0 to 100")),
    ] = Decimal(0)
    tax_code: _MaybeText = None
    note: _Text = ""
    chassis: _MaybeText = None
    controller: _MaybeText = None
    drive: _MaybeText = None
    members: _MaybePositive = None
    level: Annotated[str | None, _maybe(cells.one_of(*LEVELS))] = None
    spans: _MaybePositive = None
    spares: _MaybeCount = None
    owned: Annotated[tuple[str, ...], cells.list_of(*OWNABLE)] = ()
    accept: Annotated[tuple[str, ...], BeforeValidator(_accept)] = ()

    @property
    def owns(self) -> frozenset[str]:
        """Give the roles of the parts the customer has already."""
        return frozenset(self.owned)

    def without(self, *pins: str) -> "Enquiry":
        """Give the same enquiry with some columns left to us."""
        return self.model_copy(update=dict.fromkeys(pins))

    def cells(self) -> dict[str, str]:
        """Write the enquiry as cells of a row, blank ones left out."""
        row = {}
        for name in COLUMNS:
            value = getattr(self, name)
            if isinstance(value, tuple):
                value = ";".join(value)
            if value is not None and value != "":
                row[name] = format(value, "f") if isinstance(value, Decimal) else str(value)
        return row


COLUMNS = tuple(Enquiry.model_fields)
REQUIRED = ("enquiry_id", "customer")
PINS = ("chassis", "controller", "drive", "members", "level", "spans", "spares")


def read_enquiry(
    row: Mapping[str, str],
    price_list: PriceList,
    file: str = "enquiry",
    row_number: int | None = None,
) -> Enquiry:
    """Read one enquiry and check it against a price list.

    Parameters
    ----------
    row : mapping of str to str
        Text by column; blank or absent cells are "not given".
    price_list : PriceList
        Which skus, currencies, tax codes and workloads there are.
    file : str
        Where the row stands, for messages.
    row_number : int, optional
        Likewise.

    Returns
    -------
    Enquiry

    Raises
    ------
    InputError
        With every problem of the row.
    """
    enquiry, problems = parse_row(Enquiry, file, row_number, dict(row))
    given = {name: str(cell).strip() for name, cell in row.items()}
    problems += [
        Problem(file, row_number, column, given.get(column, ""), why, right)
        for column, why, right in _references(given, price_list)
    ]
    if problems or enquiry is None:
        raise InputError(problems)
    return enquiry


def _references(given: Mapping[str, str], price_list: PriceList) -> Iterable[tuple[str, str, str]]:
    known: dict[str, tuple[Collection[str], str]] = {
        "chassis": (price_list.chassis, "the price list's chassis"),
        "controller": (price_list.controllers, "the price list's controllers"),
        "drive": (price_list.drives, "the price list's drives"),
        "workload": (price_list.workloads, "the price list's workloads"),
        "currency": (price_list.currencies, "the price list's currencies"),
        "tax_code": (price_list.terms.tax, "the price list's tax codes"),
    }
    for column, (names, where) in known.items():
        value = given.get(column, "")
        if value and value not in names:
            yield column, f"is not among {where}", _nearest(value[:200], tuple(names))
    for role in given.get("owned", "").split(";"):
        role = role.strip()
        if role in OWNABLE and not given.get(role):
            yield (
                "owned",
                f"says the customer has the {role}, but does not say which",
                (f"give its sku in the column {role}"),
            )
    pinned = all(given.get(column) for column in ("drive", "members", "level"))
    if not given.get("usable_tb") and not pinned:
        yield (
            "usable_tb",
            "is blank, and drive, members and level are not all given",
            ("say how many TB are needed, or which drive, how many of them and which level"),
        )


@lru_cache(maxsize=1024)
def _nearest(value: str, options: tuple[str, ...]) -> str:
    import difflib

    if len(options) <= 12:
        return f"use {any_of(options)}" if options else "leave it blank: the price list has none"
    near = difflib.get_close_matches(value, options, n=3, cutoff=0.4)
    return f"did you mean {any_of(near)}?" if near else "look it up in the price list"


@dataclass(frozen=True, slots=True)
class EnquiryRow:
    """One row of an enquiry file.

    Parameters
    ----------
    row : int
        As a spreadsheet numbers it.
    enquiry_id : str
        As written; blank where it is missing.
    cells : mapping
        The row's text.
    enquiry : Enquiry or None
        None where the row could not be read.
    problems : tuple of Problem
        Why not.
    """

    row: int
    enquiry_id: str
    cells: Mapping[str, str]
    enquiry: Enquiry | None
    problems: tuple[Problem, ...]


def read_enquiries(path: Path, price_list: PriceList) -> list[EnquiryRow]:
    """Read a file of enquiries; a bad row does not cost the good ones.

    Parameters
    ----------
    path : Path
        A CSV file.
    price_list : PriceList

    Returns
    -------
    list of EnquiryRow
        In file order.

    Raises
    ------
    InputError
        Where the file as a whole cannot be read.
    """
    rows, problems = read_rows(path, COLUMNS, REQUIRED)
    if problems:
        raise InputError(problems)
    made = []
    seen: dict[str, int] = {}
    for cells_row in rows:
        name = cells_row.cells.get("enquiry_id", "")
        enquiry: Enquiry | None = None
        wrong: list[Problem] = []
        if cells_row.problem is not None:
            wrong.append(cells_row.problem)
        else:
            try:
                enquiry = read_enquiry(cells_row.cells, price_list, path.name, cells_row.row)
            except InputError as error:
                wrong += error.problems
        if name and name in seen:
            why = f"is there already, in row {seen[name]}"
            right = "give each enquiry an id of its own"
            wrong.append(Problem(path.name, cells_row.row, "enquiry_id", name, why, right))
        seen.setdefault(name, cells_row.row)
        made.append(
            EnquiryRow(
                cells_row.row, name, cells_row.cells, None if wrong else enquiry, tuple(wrong)
            )
        )
    if not made:
        why, right = "lists no enquiry", "give it at least one row"
        raise InputError([Problem(path.name, None, "", "", why, right)])
    return made
