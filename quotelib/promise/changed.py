"""What is a change from one record to the next: what of, what it was, what it is, what it costs."""

import datetime as dt
from decimal import Decimal
from typing import Literal

from quotelib.facts import Exact, Frozen
from quotelib.pricing.money import exact
from quotelib.text import sentence, signed

Group = Literal["asked", "offered", "price"]
Kind = Literal[
    "wish", "server", "part", "count", "layout", "place", "capacity", "figure", "service",
    "delivery", "validity", "terms", "unit price", "quantity", "line", "discount", "freight",
    "tax", "currency", "rest",
]  # fmt: skip
HEADS: dict[Group, str] = {
    "asked": "What changed in what you asked",
    "offered": "What changed in what we offer",
    "price": "What changed in price, and why",
}


class Since(Frozen):
    """The record that another one is set against."""

    quote_number: str
    revision: int
    date: dt.date
    currency: str
    net: Exact
    gross: Exact


class Change(Frozen):
    """One thing that is otherwise than before, in a customer's words.

    Parameters
    ----------
    of
        Of which server or array, as `QuoteRecord.by_array` calls it; blank: of the only one, or of
        the whole quote.
    was, now
        Blank: it was not there, or is there no more.
    amount
        What it adds to the total without tax; of tax, to the tax. None: nothing by itself.
    """

    group: Group
    kind: Kind
    of: str
    what: str
    was: str
    now: str
    amount: Exact | None = None
    why: str = ""

    @property
    def words(self) -> str:
        """Say it in one line, without the amount."""
        of = f"{self.of}: " if self.of else ""
        if self.was and self.now:
            said = f"{self.now} instead of {self.was}"
        else:
            said = f"{self.now}, added" if self.now else f"{self.was}, left out"
        why = f" ({self.why})" if self.why else ""
        return sentence(f"{of}{self.what}: {said}{why}")

    @property
    def line(self) -> str:
        """Say it in one line, with the amount where it has one."""
        return self.words if self.amount is None else f"{self.words}: {signed(self.amount)}"


class Difference(Frozen):
    """How one record differs from the one before.

    Parameters
    ----------
    net_was, net_now, tax_was, tax_now, gross_was, gross_now
        Each in the currency of its own record.
    """

    since: Since
    currency: str
    changes: tuple[Change, ...]
    net_was: Exact
    net_now: Exact
    tax_was: Exact
    tax_now: Exact
    gross_was: Exact
    gross_now: Exact

    def of_group(self, group: Group) -> tuple[Change, ...]:
        """Give the changes of one group."""
        return tuple(change for change in self.changes if change.group == group)

    @property
    def of_build(self) -> tuple[Change, ...]:
        """Give what is otherwise in the servers themselves: parts, layouts, places."""
        kinds = {"server", "part", "count", "layout", "place", "capacity"}
        return tuple(change for change in self.changes if change.kind in kinds)

    @property
    def explained(self) -> Decimal:
        """Add up what the changes of price say of the total without tax."""
        with exact():
            amounts = (c.amount for c in self.of_group("price") if c.kind != "tax")
            return sum((amount for amount in amounts if amount is not None), Decimal(0))

    @property
    def net_difference(self) -> Decimal | None:
        """Give what the total without tax has moved by; None between two currencies."""
        if self.since.currency != self.currency:
            return None
        with exact():
            return self.net_now - self.net_was
