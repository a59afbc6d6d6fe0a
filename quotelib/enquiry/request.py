"""What does one customer ask for in all: servers with their arrays, loose parts, free lines."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import FreeLine
from quotelib.pricing.totals import Deal

MOST_ARRAYS = 6
"""Of one server; ours: nobody has sold more, and each one more is weighed with all the others."""


MOST_ROWS = 500
"""Of one quote; ours: nobody reads a longer one, and each server in it is a search of its own."""


@dataclass(frozen=True, slots=True)
class ServerAsked:
    """Some equal servers that are asked for.

    Parameters
    ----------
    base : Enquiry
        The row that says what the server columns say, with what all its rows accept and what
        services they choose.
    arrays : tuple of Enquiry
        One a row that asks for an array, likewise; empty for a server without one.
    """

    base: Enquiry
    arrays: tuple[Enquiry, ...]

    @property
    def name(self) -> str:
        """Give what it is called; blank for the only one."""
        return self.base.server

    def on(self, ordered: dt.date) -> "ServerAsked":
        """Give the same, held against the day by which it is wanted, if it is ordered that day."""
        arrays = tuple(replace(array, ordered=ordered) for array in self.arrays)
        return ServerAsked(replace(self.base, ordered=ordered), arrays)


@dataclass(frozen=True)
class Request:
    """Everything under one enquiry number, with what the first row says for all.

    Parameters
    ----------
    rows : tuple of Enquiry
        As they stand in the file.
    servers : tuple of ServerAsked
        In the order in which they come first.
    """

    rows: tuple[Enquiry, ...]
    servers: tuple[ServerAsked, ...]

    @property
    def first(self) -> Enquiry:
        """Give the row that says what is so for the whole quote."""
        return self.rows[0]

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Give the skus sold loose, each as often as it is asked for."""
        return tuple(sku for row in self.rows for sku in row.value("parts") or ())

    @cached_property
    def services(self) -> tuple[str, ...]:
        """Give the services that belong to no server, each as often as it is asked for."""
        loose = (row for row in self.rows if not row.of_server)
        return tuple(sku for row in loose for sku in row.value("services") or ())

    @cached_property
    def lines(self) -> tuple[FreeLine, ...]:
        """Give the free lines."""
        return tuple(
            FreeLine(
                row.value("line"),
                row.value("line_quantity") or 1,
                row.value("line_price") or Decimal(0),
                row.value("line_cost") or Decimal(0),
            )
            for row in self.rows
            if row.value("line")
        )

    @property
    def deal(self) -> Deal:
        """Take what bears on the price of it all."""
        builds = sum(server.base.builds for server in self.servers)
        return Deal(builds or 1, self.first.discount_pct, self.first.tax_code, (), builds)

    @property
    def note(self) -> str:
        """Give what the rows note, for us only."""
        return "\n".join(dict.fromkeys(row.note for row in self.rows if row.note))

    def places(self) -> Iterator[tuple[int | None, int | None]]:
        """Say of each row which server and which of its arrays it asks for; None: none."""
        names = {server.name: number for number, server in enumerate(self.servers)}
        seen = [0] * len(names)
        for row in self.rows:
            server = names.get(row.server) if row.of_server else None
            array = None
            if server is not None and row.asks_array:
                array = seen[server]
                seen[server] += 1
            yield server, array


def request(rows: Sequence[Enquiry]) -> Request:
    """Put the rows of one quote together; what its first rows say stands in all of them."""
    groups: dict[str, list[Enquiry]] = {}
    for row in rows:
        if row.of_server:
            groups.setdefault(row.server, []).append(row)
    builds = sum(group[0].builds for group in groups.values())
    in_all = builds if len(groups) > 1 else None
    return Request(tuple(rows), tuple(_server(group, in_all) for group in groups.values()))


def single(enquiry: Enquiry) -> Request:
    """Give what one row by itself asks for."""
    return request((enquiry,))


def _server(rows: Sequence[Enquiry], all_builds: int | None) -> ServerAsked:
    any_condition = any(row.value("condition") == "any" for row in rows)
    shared = {
        "accept": _distinct(code for row in rows for code in row.accept),
        "services": tuple(sku for row in rows for sku in row.value("services") or ()) or None,
        "all_builds": all_builds,
        "their_controllers": _distinct(
            row.controller for row in rows if row.controller and "controller" in row.owned
        )
        if len(rows) > 1
        else (),
    }
    owned = ["chassis"] if any("chassis" in row.owned for row in rows) else []
    arrays = tuple(
        row.change(owned=_distinct([*owned, *row.owned]), **shared)
        for row in rows
        if row.asks_array
    )
    base = rows[0].change(owned=tuple(owned), **shared)
    if any_condition:
        base = base.change(condition="any")
    return ServerAsked(base, arrays)


def _distinct(items: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(items))
