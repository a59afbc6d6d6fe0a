"""How does a record differ from the one before: what was asked, what is offered, what it costs."""

from collections.abc import Iterator, Mapping

from quotelib.enquiry.columns import COLUMNS
from quotelib.promise.changed import HEADS, Change, Difference, Group, Since
from quotelib.promise.changed_asked import MANY, asked_otherwise
from quotelib.promise.changed_offer import offered_otherwise
from quotelib.promise.changed_price import priced_otherwise
from quotelib.promise.record import QuoteRecord
from quotelib.text import amount, money, signed

_CHOSEN = {"part", "count", "layout"}
"""What is chosen for what was asked."""
_NO_REASON = {MANY, *(c.page or c.label for c in COLUMNS.values() if c.of == "quote")}
"""Wishes for which no other part is chosen."""


def since(record: QuoteRecord) -> Since:
    """Say which record another one is set against."""
    return Since(
        quote_number=record.quote_number,
        revision=record.revision,
        date=record.date,
        currency=record.currency,
        net=record.totals.net,
        gross=record.totals.gross,
    )


def difference(
    old: QuoteRecord,
    new: QuoteRecord,
    why: Mapping[str, str] | None = None,
    asked_then: QuoteRecord | None = None,
) -> Difference:
    """Set a record against the one before it.

    Parameters
    ----------
    why : mapping of str to str
        By the sku of a part that had to go, why.
    asked_then : QuoteRecord or None
        The older record with its rows as they would be read today; None: as they stand there.

    Returns
    -------
    Difference
        Its changes of price add up to the difference of the totals without tax, to the minor unit.
    """
    asked = tuple(asked_otherwise(asked_then or old, new))
    offered = tuple(_explained(change, asked, why or {}) for change in offered_otherwise(old, new))
    return Difference(
        since=since(old),
        currency=new.currency,
        changes=(*asked, *offered, *priced_otherwise(old, new)),
        net_was=old.totals.net,
        net_now=new.totals.net,
        tax_was=old.totals.tax,
        tax_now=new.totals.tax,
        gross_was=old.totals.gross,
        gross_now=new.totals.gross,
    )


def _explained(change: Change, asked: tuple[Change, ...], why: Mapping[str, str]) -> Change:
    """Say why a part, a number or a layout is another one: it had to, or was asked to."""
    if change.kind not in _CHOSEN:
        return change
    for sku, reason in why.items():
        if f"({sku})" in change.was or sku == change.was:
            return change.model_copy(update={"why": reason})
    concerns = (
        one for one in asked
        if not one.of or change.of == one.of or change.of.startswith(f"{one.of}, ")
    )  # fmt: skip
    wishes = dict.fromkeys(one.what for one in concerns if one.what not in _NO_REASON)
    if not wishes:
        return change
    first = next(iter(wishes))
    more = f" and {len(wishes) - 1} more" if len(wishes) > 1 else ""
    return change.model_copy(update={"why": f"for what you asked: {first.lower()}{more}"})


def lines(found: Difference) -> Iterator[str]:
    """Say a difference in lines of plain text, for a shell and a notebook."""
    groups: tuple[Group, ...] = ("asked", "offered", "price")
    for group in groups:
        if of_group := found.of_group(group):
            yield f"{HEADS[group]}:"
            yield from (f"  {change.line}" for change in of_group)
    if not found.changes:
        yield "Nothing has changed."
    yield total(found)


def total(found: Difference) -> str:
    """Say what the total without tax was and is."""
    moved, now = found.net_difference, money(found.net_now, found.currency)
    was = money(found.net_was, found.since.currency)
    if moved is None:
        return f"Total without tax: {now}, before {was}."
    if not moved:
        return f"Total without tax: {now}, as before."
    return f"Total without tax: {now}, before {amount(found.net_was)}: {signed(moved)}."
