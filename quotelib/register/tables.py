"""What stands in a register: the tables as this version of the program knows them.

What is promised is text that never changes; beside it stands what is asked for often.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

VERSION_TABLE = "register_version"
VERSIONS = ("1", "2")
"""In the order in which they came; a register of the last one is up to date."""
metadata = sa.MetaData()


class Utc(TypeDecorator[dt.datetime]):
    """A moment in UTC, where a database has no time zones too."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> Any:
        """Send it in UTC."""
        return None if value is None else value.astimezone(dt.UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> dt.datetime | None:
        """Take it as UTC."""
        if value is None or value.tzinfo is not None:
            return None if value is None else value.astimezone(dt.UTC)
        return value.replace(tzinfo=dt.UTC)  # type: ignore[no-any-return]


class ExactNumber(TypeDecorator[Decimal]):
    """A decimal with every digit: text in SQLite, which would make a binary fraction of it."""

    impl = sa.Numeric
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Give the type of this database."""
        text = dialect.name == "sqlite"
        return dialect.type_descriptor(sa.String() if text else sa.Numeric(asdecimal=True))

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> Any:
        """Send it digit by digit."""
        return format(value, "f") if value is not None and dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        """Take it back."""
        return None if value is None else Decimal(value)


def _number(*more: Any) -> sa.Column[str]:
    return sa.Column("number", sa.String, *more, nullable=False)


counters = sa.Table(
    "counters",
    metadata,
    sa.Column("year", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("last", sa.Integer, nullable=False),
)
"""The last number of each year, taken in the transaction that gives the quote."""

quotes = sa.Table(
    "quotes",
    metadata,
    sa.Column("number", sa.String, primary_key=True),
    sa.Column("year", sa.Integer, nullable=False),
    sa.Column("position", sa.Integer, nullable=False),
    sa.Column("enquiry_id", sa.String, nullable=False),
    sa.Column("customer", sa.String, nullable=False),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("outcome", sa.String, nullable=False),
    sa.Column("follow_up", sa.Date),
    sa.UniqueConstraint("year", "position", name="one_number_once"),
    sa.UniqueConstraint("enquiry_id", "customer", name="one_quote_an_enquiry"),
)
"""How each stands now; `revision` is the last one."""

revisions = sa.Table(
    "revisions",
    metadata,
    _number(sa.ForeignKey("quotes.number")),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("record", sa.Text, nullable=False),
    sa.Column("sha256", sa.String(64), nullable=False),
    sa.Column("content", sa.String(64), nullable=False),
    sa.Column("date", sa.Date, nullable=False),
    sa.Column("valid_until", sa.Date, nullable=False),
    sa.Column("state", sa.String, nullable=False),
    sa.Column("net", ExactNumber, nullable=False),
    sa.Column("currency", sa.String(3), nullable=False),
    sa.Column("margin_pct", ExactNumber),
    sa.Column("given_by", sa.String, nullable=False),
    sa.Column("moment", Utc, nullable=False),
    sa.PrimaryKeyConstraint("number", "revision"),
)
"""What was given: `state` is quoted or held, `content` tells whether an answer says the same."""

parts = sa.Table(
    "parts",
    metadata,
    _number(),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("sku", sa.String, nullable=False),
    sa.Column("quantity", sa.Integer, nullable=False),
    sa.PrimaryKeyConstraint("number", "revision", "sku"),
    sa.ForeignKeyConstraint(["number", "revision"], ["revisions.number", "revisions.revision"]),
)
"""What a revision sells, so that nobody promises it twice."""

events = sa.Table(
    "events",
    metadata,
    sa.Column("id", sa.Integer, primary_key=True),
    _number(sa.ForeignKey("quotes.number")),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("kind", sa.String, nullable=False),
    sa.Column("value", sa.String, nullable=False),
    sa.Column("note", sa.String, nullable=False),
    sa.Column("done_by", sa.String, nullable=False),
    sa.Column("moment", Utc, nullable=False),
    sa.Index("events_of_a_quote", "number"),
)
"""What happened to a quote: kind is given, outcome, follow-up or approval."""

NEVER_CHANGED = ("revisions", "parts", "events")
"""Tables of which the database itself refuses to change or remove a row."""
