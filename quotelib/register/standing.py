"""How do quotes stand: which are there, what has become of them, what was done and by whom."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from quotelib.register import tables as t
from quotelib.register.outcomes import OPEN


@dataclass(frozen=True, slots=True)
class Standing:
    """How a quote stands: its last revision, and what has become of it.

    Parameters
    ----------
    state : str
        Whether that revision is quoted or held.
    given_by, moment
        Who gave that revision, and when.
    """

    number: str
    enquiry_id: str
    customer: str
    outcome: str
    follow_up: dt.date | None
    revision: int
    date: dt.date
    valid_until: dt.date
    state: str
    net: Decimal
    currency: str
    margin_pct: Decimal | None
    given_by: str
    moment: dt.datetime


@dataclass(frozen=True, slots=True)
class Event:
    """Something that was done to a quote: what, as what, why, by whom, when (UTC).

    Parameters
    ----------
    kind : str
        ``revision``, ``outcome``, ``follow-up`` or ``approval``.
    """

    number: str
    revision: int
    kind: str
    value: str
    note: str
    done_by: str
    moment: dt.datetime


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which quotes somebody looks for; blank: all.

    Parameters
    ----------
    customer : str
        A part of the customer's name, or of the enquiry's number, in any case.
    since, until : date
        Of the last revision.
    due : date
        Open ones to be asked after on that day at the latest.
    """

    number: str = ""
    customer: str = ""
    outcome: str = ""
    since: dt.date | None = None
    until: dt.date | None = None
    due: dt.date | None = None


_LAST = sa.and_(t.revisions.c.number == t.quotes.c.number,
                t.revisions.c.revision == t.quotes.c.revision)  # fmt: skip


def find(connection: Connection, wanted: Wanted) -> list[Standing]:
    """List quotes in the order of their numbers."""
    own = {*t.quotes.c.keys()}
    columns = [
        (t.quotes if field.name in own else t.revisions).c[field.name] for field in fields(Standing)
    ]
    asked = sa.select(*columns).join_from(t.quotes, t.revisions, _LAST)
    for test in _tests(wanted):
        asked = asked.where(test)
    asked = asked.order_by(t.quotes.c.year, t.quotes.c.position)
    found = [Standing(*row) for row in connection.execute(asked)]
    # In Python: SQLite knows the case of ASCII alone.
    text = wanted.customer.casefold()
    return [one for one in found if text in f"{one.customer}\n{one.enquiry_id}".casefold()]


def _tests(wanted: Wanted) -> list[sa.ColumnElement[bool]]:
    quotes, last = t.quotes.c, t.revisions.c
    tests = []
    if wanted.number:
        tests.append(quotes.number == wanted.number)
    if wanted.outcome:
        tests.append(quotes.outcome == wanted.outcome)
    if wanted.since is not None:
        tests.append(last.date >= wanted.since)
    if wanted.until is not None:
        tests.append(last.date <= wanted.until)
    if wanted.due is not None:
        tests += [quotes.follow_up <= wanted.due, quotes.outcome == OPEN]
    return tests


def history(connection: Connection, number: str) -> list[Event]:
    """List what was done to a quote, in the order in which it was."""
    given = t.revisions.c
    revisions = connection.execute(
        sa.select(given.revision, given.state, given.given_by, given.moment)
        .where(given.number == number)
        .order_by(given.revision)
    )
    found = [
        Event(number, row.revision, "revision", row.state, "", row.given_by, row.moment)
        for row in revisions
    ]
    names = [field.name for field in fields(Event)]
    events = sa.select(*(t.events.c[name] for name in names)).where(t.events.c.number == number)
    found += [Event(*row) for row in connection.execute(events.order_by(t.events.c.id))]
    return sorted(found, key=lambda event: event.moment)


def note(connection: Connection, events: Sequence[Event]) -> None:
    """Keep that something was done."""
    rows: list[dict[str, Any]] = [
        {field.name: getattr(event, field.name) for field in fields(Event)} for event in events
    ]
    if rows:
        connection.execute(sa.insert(t.events), rows)
