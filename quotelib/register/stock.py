"""How many of each part do quotes keep: what is ordered, and what is offered and still valid."""

import datetime as dt
from collections import Counter

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from quotelib.register import tables as t
from quotelib.register.kept import Asked, Kept, KeptBy
from quotelib.register.outcomes import OPEN


def kept(connection: Connection, day: dt.date) -> Kept:
    """Count what the last revision of each quote keeps.

    An open one keeps it as long as it is valid, an ordered one until it is delivered or lapses.
    """
    quotes, last, parts = t.quotes.c, t.revisions.c, t.parts.c
    rows = connection.execute(
        sa.select(
            quotes.enquiry_id, quotes.customer, quotes.outcome, parts.sku, parts.quantity
        )
        .join_from(
            t.quotes, t.revisions,
            sa.and_(last.number == quotes.number, last.revision == quotes.revision),
        )
        .join(t.parts, sa.and_(parts.number == last.number, parts.revision == last.revision))
        .where(
            sa.or_(
                quotes.outcome == "ordered",
                sa.and_(quotes.outcome == OPEN, last.valid_until >= day),
            )
        )
    )  # fmt: skip
    found: dict[Asked, KeptBy] = {}
    for row in rows:
        asked = (row.enquiry_id, row.customer)
        quote = found.setdefault(asked, KeptBy(asked, row.outcome == "ordered", Counter()))
        quote.parts[row.sku] += row.quantity
    return Kept(tuple(found.values()))
