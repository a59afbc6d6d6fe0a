"""What is the result: one frozen model with everything a document shows, and nothing to compute.

Written as JSON it follows `schema_json`, which ships as ``templates/quote_record.schema.json``.
The record is the seller's: its ``internal`` part and its note never go into anything a customer
gets.
"""

import datetime as dt
import json
from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from quotelib.bench.shown import BenchSheet
from quotelib.build.findings import Severity
from quotelib.build.placement import Placement
from quotelib.catalogue.terms import OfferTerms, Seller
from quotelib.catalogue.work import Customer
from quotelib.choose.options import array_pins
from quotelib.enquiry.columns import demand_columns
from quotelib.facts import Exact, Frozen, Measure, Reason
from quotelib.levels import LEVELS
from quotelib.predict.estimate import Estimate
from quotelib.pricing.instalments import Instalments
from quotelib.pricing.lines import Line
from quotelib.pricing.totals import Totals
from quotelib.promise.approval import Approval
from quotelib.promise.changed import HEADS, Change, Since
from quotelib.promise.compared import Alternative, ControllerComparison, Saving
from quotelib.promise.considered import Considered
from quotelib.promise.kept_builds import KeptBuilds
from quotelib.promise.shipping import Shipping
from quotelib.promise.shown import (
    ArrayShown,
    ItemShown,
    Lack,
    PartShown,
    Wish,
    arrays_called,
    by_array,
    called,
)
from quotelib.text import both

Outcome = Literal["quoted", "held"]
_FORMAT: Literal["quotelib quote record 7"] = "quotelib quote record 7"
DEMANDED = frozenset(column.name for column in demand_columns())
STORAGE = {"chassis", "controller", "drive"}
"""Roles of parts that an enquiry pins in columns of their own; all others are options."""


class FindingShown(Frozen):
    """What a rule had to say, and whether a person has accepted it."""

    code: str
    severity: Severity
    what: str
    change: str
    words: str
    accepted: bool


class PriceShare(Frozen):
    """What makes up the price, before discount; what is taken off and freight have no share."""

    name: str
    amount: Exact
    pct: float | None


class Server(Frozen):
    """Some equal servers, called by name where there are several.

    Parameters
    ----------
    asked
        What was asked of the whole server, and what is offered for it.
    lines_total, freight
        Sub-totals, before discount and tax.
    room
        Where parts sit, what stays free, what keeping a slot free costs or saves.
    upgrade
        What is the customer's already, and what happens to data.
    alternatives_words
        What was looked for to find the alternatives.
    savings
        What wishes cost, those that cost anything, the dearest first.
    considered
        What it was chosen from; None: nothing was left to choose, or it is not known.
    controllers
        Every controller against the enquiry.
    estimates
        Of the whole server: power, heat, energy.
    supply_w, supplies
        What counts of its supplies, and what several do for each other, in words.
    """

    name: str
    builds: int
    asked: tuple[Wish, ...]
    proposal: str
    chassis: str
    parts: tuple[PartShown, ...]
    arrays: tuple[ArrayShown, ...]
    placement: Placement
    room: tuple[str, ...]
    upgrade: tuple[str, ...]
    findings: tuple[FindingShown, ...]
    lines: tuple[Line, ...]
    lines_total: Exact
    freight: Exact
    alternatives: tuple[Alternative, ...]
    alternatives_words: str = ""
    savings: tuple[Saving, ...] = ()
    considered: Considered | None = None
    controllers: ControllerComparison | None
    estimates: tuple[Estimate, ...]
    watts: Measure
    supply_w: Measure
    supplies: str = ""
    mass_kg: Exact
    lead_days: int
    bench: BenchSheet

    def others(self) -> tuple[Alternative, ...]:
        """Give other builds without those that stand beside the choice already."""
        if self.considered is None:
            return self.alternatives
        return tuple(self.considered.others(self.alternatives))

    def wishes(self) -> Iterator[tuple[str, int | None, Saving | None]]:
        """Give each wish in words, how many builds it alone takes away, and what it costs.

        Those that cost something come first, the dearest of them at the top; what is not known or
        costs nothing is None.
        """
        ruled = {} if self.considered is None else {r.column: r for r in self.considered.ruled}
        for saving in self.savings:
            own = ruled.pop(saving.column, None)
            yield saving.wish, own.alone if own else None, saving
        yield from ((own.wish, own.alone, None) for own in ruled.values())

    def pins(self) -> dict[str, str]:
        """Give the pins that lead to this server, as cells of an enquiry."""
        pins = {"chassis": self.chassis}
        for array in self.arrays:
            pins |= array_pins(array.controller, array.drive, array.layout)
        return pins


class AskedRow(Frozen):
    """A row of the enquiry, blank cells left out, and which server and array it asks for.

    These are counted from 0 in the record; None: none.
    """

    cells: dict[str, str]
    server: int | None
    array: int | None


class Internal(Frozen):
    """For the seller's eyes only; `approvals` are of what would hold the quote otherwise."""

    cost: Exact
    margin_pct: Exact | None
    margin_floor_pct: Measure
    unit_costs: dict[str, Exact]
    hold_reasons: tuple[Reason, ...]
    note: str
    approvals: tuple[Approval, ...] = ()


class QuoteRecord(Frozen):
    """Everything about one quote.

    Parameters
    ----------
    for_whom
        For whom it is; the first that somebody sees who opens the file.
    revision
        Counted from 1; each is a record of its own.
    buyer
        What the price list says of the customer; None: nothing.
    language
        Of the offer, a file of texts by that name; all else is in English.
    customer_ref
        The customer's own reference; blank: none.
    asked
        What was asked beside servers and arrays, or of all of them, and what is offered for it.
    lacks, not_included
        What somebody might take for granted, and is not in the offer; in words, with what the
        terms exclude.
    offer_terms
        What the seller's offers say beside figures.
    ship_date
        When all of it can leave the seller's house; None: nobody can say.
    shipping
        What makes that day, and what can leave before; None: nothing is sent.
    instalments
        What paying by the month comes to; None: it is not offered.
    since, changes
        The record that this one was made from, and what is otherwise than there; a first one has
        neither.
    compared
        Builds set beside what is offered, for the customer; None: none were.
    each_words
        What `totals.net_per_build` is for; blank where it says nothing new.
    """

    for_whom: Literal["the seller only, no customer"] = "the seller only, no customer"
    # What came with 6 and 7 has a default, so that the records of 5 and 6 can still be read.
    format: Literal[
        "quotelib quote record 5", "quotelib quote record 6", "quotelib quote record 7"
    ] = _FORMAT
    program_version: str
    price_list_fingerprint: str
    quote_number: str
    revision: Annotated[int, Field(ge=1)] = 1
    enquiry_id: str
    date: dt.date
    valid_until: dt.date
    outcome: Outcome
    draft: bool
    seller: Seller
    customer: str
    buyer: Customer | None = None
    language: str = "en"
    customer_ref: str
    rows: tuple[AskedRow, ...]
    asked: tuple[Wish, ...]
    lacks: tuple[Lack, ...] = ()
    not_included: tuple[str, ...]
    currency: str
    servers: tuple[Server, ...]
    items: tuple[ItemShown, ...]
    totals: Totals
    discount_words: str
    each_words: str
    price_shares: tuple[PriceShare, ...]
    bench_minutes: Measure
    cautions: tuple[str, ...]
    offer_terms: OfferTerms = OfferTerms()
    ship_date: dt.date | None = None
    shipping: Shipping | None = None
    instalments: Instalments | None = None
    since: Since | None = None
    changes: tuple[Change, ...] = ()
    compared: KeptBuilds | None = None
    terms: tuple[str, ...]
    next_steps: tuple[str, ...] = ()  # of records of 5; the offer says it in its own language
    internal: Internal = Field(description="For the seller only; never in a customer's file")

    @model_validator(mode="after")
    def _holds_what_its_rows_ask_for(self) -> Self:
        """Refuse rows of servers and arrays that are not there: no page could show them."""
        arrays = [len(server.arrays) for server in self.servers]
        places = ((row.server, row.array) for row in self.rows if row.server is not None)
        for server, array in places:
            if server not in range(len(arrays)) or array not in (None, *range(arrays[server])):
                raise ValueError("a row asks for a server or an array that the record has not")
        if not self.rows:
            raise ValueError("the record has no rows")
        levels = (array.layout.level for server in self.servers for array in server.arrays)
        if unknown := next((level for level in levels if level not in LEVELS), None):
            raise ValueError(f"no RAID level is called {unknown!r}")
        return self

    @property
    def numbered(self) -> str:
        """Give its number, and which revision it is where there was one before."""
        return numbered(self.quote_number, self.revision)

    def by_server(self) -> Iterator[tuple[str, Server]]:
        """Give each server with what to call it: ``server B``; blank for the only one."""
        names = called("server", [server.name for server in self.servers])
        yield from zip(names, self.servers, strict=True)

    def by_array(self) -> Iterator[tuple[str, ArrayShown]]:
        """Give each array with what to call it: ``server B, array data``, as `by_server`."""
        return by_array([(server.name, server.arrays) for server in self.servers])

    def by_asked(self) -> Iterator[tuple[str, tuple[Wish, ...]]]:
        """Give what was asked of each server and array, then of all, with what to call it.

        A name that was given is said here even of the only one.
        """
        found: dict[str, tuple[Wish, ...]] = {}
        for called_so, server in self.by_server():
            name = called_so or (server.name and f"server {server.name}")
            found[name] = server.asked
            for own, array in arrays_called(server.arrays):
                of = own or (array.name and f"array {array.name}")
                key = ", ".join(filter(None, (name, of)))
                found[key] = (*found.get(key, ()), *array.asked)
        whole = "the quote as a whole" if any(found) else ""
        found[whole] = (*found.get(whole, ()), *self.asked)
        yield from ((of, wishes) for of, wishes in found.items() if wishes)

    def in_short(self) -> str:
        """Name what is quoted in one line; lines agreed besides only where nothing else is."""
        named = []
        for of, server in self.by_server():
            arrays = arrays_called(server.arrays)
            words = both(f"{array.words} ({own})" if own else array.words for own, array in arrays)
            words = words or f"{server.chassis} without drives"
            named.append(f"{of}: {words}" if of else words)
        loose = [item.name.lower() for item in self.items if item.kind in {"parts", "services"}]
        return "; ".join([*named, *loose] or [item.name.lower() for item in self.items])

    def by_compared(self) -> Iterator[tuple[str, ControllerComparison]]:
        """Give the comparison of controllers of each server that has one, as `by_server`."""
        for name, server in self.by_server():
            if server.controllers is not None and server.controllers.rows:
                yield name, server.controllers

    def by_considered(self) -> Iterator[tuple[str, Considered]]:
        """Give what each server was chosen from, where that is known, as `by_server`."""
        for name, server in self.by_server():
            if server.considered is not None:
                yield name, server.considered

    def by_changed(self) -> Iterator[tuple[str, tuple[Change, ...]]]:
        """Give what is otherwise than in the record before: what was asked, offered, what it costs.

        Each under its heading; a heading of which nothing changed is left out.
        """
        for group, head in HEADS.items():
            changes = tuple(change for change in self.changes if change.group == group)
            if changes:
                yield head, changes

    def pins(self) -> dict[str, str]:
        """Give the pins that lead to what is quoted, as `Server.pins`."""
        return {pin: cell for server in self.servers for pin, cell in server.pins().items()}

    def as_quoted(self) -> list[dict[str, str]]:
        """Give rows that ask for just what is quoted, whatever was demanded of it."""
        rows = []
        for row in self.rows:
            cells = {name: cell for name, cell in row.cells.items() if name not in DEMANDED}
            if row.server is not None:
                server = self.servers[row.server]
                cells["chassis"] = server.chassis
                options = (f"{p.sku}*{p.quantity}" for p in server.parts if p.role not in STORAGE)
                cells["options"] = ";".join(options)
                if row.array is not None:
                    array = server.arrays[row.array]
                    cells |= array_pins(array.controller, array.drive, array.layout)
            rows.append({name: cell for name, cell in cells.items() if cell})
        return [rows[0] | {"currency": self.currency}, *rows[1:]]

    def usable_bytes(self) -> int:
        """Add up what all arrays hold."""
        return sum(array.capacity.usable_bytes for _, array in self.by_array())

    def to_json(self) -> str:
        """Write the record; the same record gives the same text."""
        return self.model_dump_json(indent=2) + "\n"


def numbered(number: str, revision: int) -> str:
    """Write the number of a quote with its revision: ``2026-0001 rev. 2``."""
    return number if revision == 1 else f"{number} rev. {revision}"


def schema_json() -> str:
    """Write the JSON Schema of the record."""
    schema = QuoteRecord.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n"
