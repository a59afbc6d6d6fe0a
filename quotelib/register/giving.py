"""How is a quote given: its number, its record and what it sells, in one go or not at all."""

import datetime as dt
import hashlib
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import sqlalchemy as sa
from pydantic import ValidationError
from sqlalchemy.engine import Connection

from quotelib.promise.record import QuoteRecord
from quotelib.register import tables as t
from quotelib.register.content import sold
from quotelib.register.outcomes import OPEN

_GIVING = 0x6E756D626572
"""Of PostgreSQL's advisory locks: who gives is alone in that; SQLite has one writer anyway."""
News = Literal["new", "revised", "as it was", "closed", "overtaken"]


class Offered(NamedTuple):
    """A record to give, and what is known of the quote that it may be a revision of.

    Parameters
    ----------
    since : int
        The revision that it was made from; 0: none was known.
    same : bool
        Whether it says nothing else than that one, but for what is of its day.
    """

    record: QuoteRecord
    since: int = 0
    same: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """What came of giving a record.

    Parameters
    ----------
    news : str
        ``as it was``: the same was given before, under this number, and is still. ``closed``:
        nothing was given, since that quote is not open any more and this would be another one.
        ``overtaken``: nor was it, since somebody else has revised the quote meanwhile.
    record, text : QuoteRecord, str
        The one in the register, as a record and as its JSON: with its number.
    outcome : str
        What has become of it so far.
    """

    news: News
    number: str
    revision: int
    record: QuoteRecord
    text: str
    outcome: str


class Changed(Exception):  # noqa: N818 - it says what is so
    """The text of a revision is not the one that was given."""


def alone(connection: Connection) -> None:
    """Wait until nobody else gives a quote."""
    if connection.dialect.name == "postgresql":
        connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_GIVING)))


def give(connection: Connection, offered: Offered, key: str, by: str, moment: dt.datetime) -> Given:
    """Give a record: a new quote, a new revision, or what was given before.

    `key` is its `content`, worked out while nobody had to wait.
    """
    record = offered.record
    quotes = t.quotes.c
    mine = (quotes.enquiry_id == record.enquiry_id, quotes.customer == record.customer)
    quote = connection.execute(sa.select(t.quotes).where(*mine).with_for_update()).one_or_none()
    if quote is None:
        return _new(connection, record, key, by, moment)
    last = row_of(connection, quote.number, quote.revision)
    same = last.content == key or (offered.same and offered.since == quote.revision)
    if same and (record.date <= last.valid_until or quote.outcome != OPEN):
        return _told("as it was", read(last), last.record, quote)
    if quote.outcome != OPEN:
        return _told("closed", read(last), last.record, quote)
    if offered.since and offered.since != quote.revision:
        return _told("overtaken", read(last), last.record, quote)
    return insert(connection, record, key, by, quote.number, quote.revision + 1, moment)


def _told(news: News, record: QuoteRecord, text: str, quote: Any) -> Given:
    return Given(news, quote.number, quote.revision, record, text, quote.outcome)


def _new(
    connection: Connection, record: QuoteRecord, key: str, by: str, moment: dt.datetime
) -> Given:
    year = record.date.year
    start = sa.text("INSERT INTO counters (year, last) VALUES (:year, 0) ON CONFLICT DO NOTHING")
    connection.execute(start, {"year": year})
    # Where this transaction comes to nothing, so does the number: there is no gap.
    one_more = sa.update(t.counters).where(t.counters.c.year == year)
    position = connection.execute(
        one_more.values(last=t.counters.c.last + 1).returning(t.counters.c.last)
    ).scalar_one()
    number = f"{year}-{position:04}"
    connection.execute(
        sa.insert(t.quotes).values(
            number=number, year=year, position=position, enquiry_id=record.enquiry_id,
            customer=record.customer, revision=1, outcome=OPEN, follow_up=None,
        )
    )  # fmt: skip
    return insert(connection, record, key, by, number, 1, moment)


def insert(
    connection: Connection,
    record: QuoteRecord,
    key: str,
    by: str,
    number: str,
    revision: int,
    moment: dt.datetime,
) -> Given:
    """Put a revision into the register as the last one of its quote."""
    record = record.model_copy(update={"quote_number": number, "revision": revision})
    text = record.to_json()
    connection.execute(
        sa.insert(t.revisions).values(
            number=number, revision=revision, record=text, sha256=_sha256(text), content=key,
            given_by=by, moment=moment, **_beside(record),
        )
    )  # fmt: skip
    rows = [
        {"number": number, "revision": revision, "sku": sku, "quantity": quantity}
        for sku, quantity in sorted(sold(record).items())
        if quantity > 0
    ]
    if rows:
        connection.execute(sa.insert(t.parts), rows)
    if revision > 1:
        mine = t.quotes.c.number == number
        connection.execute(sa.update(t.quotes).where(mine).values(revision=revision))
    return Given("new" if revision == 1 else "revised", number, revision, record, text, OPEN)


def _beside(record: QuoteRecord) -> dict[str, Any]:
    """Take what stands beside the text of a record."""
    return {
        "date": record.date,
        "valid_until": record.valid_until,
        "state": record.outcome,
        "net": record.totals.net,
        "currency": record.currency,
        "margin_pct": record.internal.margin_pct,
    }


def row_of(connection: Connection, number: str, revision: int) -> Any:
    """Give the row of a revision; None where there is none."""
    mine = (t.revisions.c.number == number, t.revisions.c.revision == revision)
    return connection.execute(sa.select(t.revisions).where(*mine)).one_or_none()


def read(row: Any) -> QuoteRecord:
    """Read the record of a row.

    Raises
    ------
    Changed
        Where it is not what was given.
    """
    named = f"revision {row.revision} of {row.number}"
    if _sha256(row.record) != row.sha256:
        raise Changed(f"{named} does not agree with its SHA-256 any more")
    try:
        record = QuoteRecord.model_validate_json(row.record)
    except ValidationError as error:
        where = ".".join(map(str, error.errors()[0]["loc"]))
        raise Changed(f"{named} cannot be read ({where})") from None
    for name, value in _beside(record).items():
        if getattr(row, name) != value:
            raise Changed(f"{named} says {value} as its {name}, and {getattr(row, name)} beside it")
    return record


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def now() -> dt.datetime:
    """Give the moment, in UTC."""
    return dt.datetime.now(dt.UTC)
