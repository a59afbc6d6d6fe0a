"""The register itself: quotes are given, found and read again, and something becomes of them."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from quotelib.errors import InputError, Problem, shown
from quotelib.promise.record import QuoteRecord, numbered
from quotelib.register import giving, standing
from quotelib.register import tables as t
from quotelib.register.content import content
from quotelib.register.giving import Changed, Given, Offered
from quotelib.register.kept import Asked, Kept
from quotelib.register.opening import see_to
from quotelib.register.outcomes import MEANING, OPEN, OUTCOMES, WON
from quotelib.register.place import Place, place
from quotelib.register.standing import Event, Standing, Wanted
from quotelib.register.stock import kept
from quotelib.text import count, either

PATIENCE_S = 30.0
_MOST = 200


@dataclass(frozen=True, slots=True)
class Revision:
    """A revision as it was given, with how its quote stands."""

    standing: Standing
    revision: int
    record: QuoteRecord
    text: str


class Register:
    """All quotes that were given.

    Parameters
    ----------
    where : str or path
        A folder with its file, or an address (``postgresql://...``).
    make : bool
        Whether one is made where there is none.
    wait_s : float
        How long to wait for others who are writing.
    now : callable
        Says what time it is.

    Raises
    ------
    InputError
        Where there is none, or none that this version can use; of every method, where the
        database cannot do what it is asked. What cannot be done whole is not done at all.
    """

    def __init__(
        self,
        where: str | Path,
        *,
        make: bool = False,
        wait_s: float = PATIENCE_S,
        now: Callable[[], dt.datetime] = giving.now,
    ) -> None:
        self._place: Place = place(where, wait_s)
        self.name, self.now = self._place.name, now
        see_to(self._place, make=make)

    def give(self, records: Sequence[QuoteRecord | Offered], by: str) -> list[Given]:
        """Give quotes: all of them or none.

        One whose enquiry and customer the register knows becomes the next revision of that quote.
        Where it says the same as the last one, and that is still valid, nothing is given: what
        comes back is that one. A quote that is not open any more is not revised.
        """
        by = self._named(by)
        offered = [Offered(one) if isinstance(one, QuoteRecord) else one for one in records]
        keys = [content(one.record) for one in offered]
        with self._sound(), self._place.writing() as connection:
            giving.alone(connection)
            return [
                giving.give(connection, one, key, by, self.now())
                for one, key in zip(offered, keys, strict=True)
            ]

    def revise(
        self, before: Revision, record: QuoteRecord, by: str, *, events: Iterable[Event] = ()
    ) -> Given:
        """Give the next revision of a quote, unless somebody else has meanwhile.

        With `events`, such as approvals, it is taken to answer what the one before answered.
        """
        by, number = self._named(by), before.standing.number
        events = list(events)
        key = content(record)
        with self._sound(), self._place.writing() as connection:
            giving.alone(connection)
            quote = self._quote(connection, number, change=True)
            if quote.revision != before.revision:
                given = numbered(number, quote.revision)
                right = "look at that one, then do it again"
                raise self.problem(number, f"is {given} by now", right)
            if quote.outcome != OPEN:
                raise self.closed(number, quote.outcome)
            if events:
                key = giving.row_of(connection, number, before.revision).content
            made = giving.insert(
                connection, record, key, by, number, quote.revision + 1, self.now()
            )
            standing.note(connection, events)
            return made

    def revision(self, number: str, revision: int | None = None) -> Revision:
        """Read a revision as it was given, by default the last one."""
        with self._sound(), self._place.reading() as connection:
            found = standing.find(connection, Wanted(number=self._quote(connection, number).number))
            wanted = found[0].revision if revision is None else revision
            row = giving.row_of(connection, number, wanted)
            if row is None:
                right = f"it has {count(found[0].revision, 'revision')}"
                raise self.problem(number, f"has no revision {wanted}", right)
            return Revision(found[0], wanted, giving.read(row), row.record)

    def last(self, asked: Iterable[Asked]) -> dict[Asked, Revision]:
        """Read the last revisions of those enquiries that the register knows."""
        names = set(asked)
        with self._sound(), self._place.reading() as connection:
            found = [
                one
                for one in standing.find(connection, Wanted())
                if (one.enquiry_id, one.customer) in names
            ]
            rows = [giving.row_of(connection, one.number, one.revision) for one in found]
            return {
                (one.enquiry_id, one.customer): Revision(
                    one, one.revision, giving.read(row), row.record
                )
                for one, row in zip(found, rows, strict=True)
            }

    def find(self, wanted: Wanted | None = None) -> list[Standing]:
        """List quotes in the order of their numbers."""
        with self._place.reading() as connection:
            return standing.find(connection, wanted or Wanted())

    def history(self, number: str) -> list[Event]:
        """List what was done to a quote, in the order in which it was."""
        with self._place.reading() as connection:
            return standing.history(connection, self._quote(connection, number).number)

    def became(self, number: str, outcome: str, by: str, note: str = "") -> Standing:
        """Say what has become of a quote."""
        by, note = self._named(by), self._text(note, "note")
        if outcome not in OUTCOMES:
            right = "use " + either(OUTCOMES)
            raise InputError([Problem("outcome", None, "", outcome, "is none we know", right)])
        with self._place.writing() as connection:
            quote = self._quote(connection, number, change=True)
            if quote.outcome == outcome:
                raise self.problem(number, f"is {outcome} already ({MEANING[outcome]})", "")
            if outcome == "delivered" and quote.outcome not in WON:
                right = "say first that it is ordered"
                raise self.problem(number, f"is {quote.outcome}, and was not ordered", right)
            if outcome in WON and giving.row_of(connection, number, quote.revision).state == "held":
                right = f"say yes to what holds it first: quotelib approve {number} CODE --by NAME"
                raise self.problem(number, "is held, so it was not offered yet", right)
            self._set(connection, quote, "outcome", outcome, outcome=outcome, by=by, note=note)
        return self.find(Wanted(number=number))[0]

    def follow(self, number: str, day: dt.date | None, by: str) -> Standing:
        """Say when to ask after a quote; None: not again."""
        by = self._named(by)
        with self._place.writing() as connection:
            quote = self._quote(connection, number, change=True)
            if day is not None and quote.outcome != OPEN:
                why = f"is {quote.outcome}: nobody needs to ask after it"
                raise self.problem(number, why, f"or say first: quotelib became {number} open")
            words = "not again" if day is None else day.isoformat()
            self._set(connection, quote, "follow-up", words, follow_up=day, by=by)
        return self.find(Wanted(number=number))[0]

    def kept(self, day: dt.date) -> Kept:
        """Tell which parts open and ordered quotes keep on a day."""
        with self._place.reading() as connection:
            return kept(connection, day)

    def _set(
        self, connection: Connection, quote: Any, kind: str, value: str, *, by: str,
        note: str = "", **columns: Any,
    ) -> None:  # fmt: skip
        mine = t.quotes.c.number == quote.number
        connection.execute(sa.update(t.quotes).where(mine).values(**columns))
        done = Event(quote.number, quote.revision, kind, value, note, by, self.now())
        standing.note(connection, [done])

    def _quote(self, connection: Connection, number: str, *, change: bool = False) -> Any:
        asked = sa.select(t.quotes).where(t.quotes.c.number == number)
        quote = connection.execute(asked.with_for_update() if change else asked).one_or_none()
        if quote is None:
            right = "use one that quotelib given lists, such as 2026-0001"
            raise self.problem(number, "is no number of a quote here", right)
        return quote

    def problem(self, number: str, why: str, right: str) -> InputError:
        """Say what is wrong with what was asked of a quote."""
        return InputError([Problem(f"register {self.name}", None, "", number, why, right)])

    def closed(self, number: str, outcome: str) -> InputError:
        """Say that a quote is not open any more."""
        return self.problem(number, *closed_words(number, outcome))

    @contextmanager
    def _sound(self) -> Iterator[None]:
        try:
            yield
        except Changed as error:
            why = f"was changed by hand: {error}"
            right = "take the last copy that was kept of it"
            problem = Problem(f"register {self.name}", None, "", "", why, right)
            raise InputError([problem]) from None

    def _named(self, by: str) -> str:
        if not by.strip():
            raise InputError([Problem("by", None, "", "", "names nobody", "say who does it")])
        return self._text(by, "by")

    def _text(self, text: str, what: str) -> str:
        text = text.strip()
        if not text.isprintable() or len(text) > _MOST:
            why = f"is no line of {_MOST} characters at most"
            raise InputError([Problem(what, None, "", shown(text), why, "write a shorter one")])
        return text


def closed_words(number: str, outcome: str) -> tuple[str, str]:
    """Say why a quote is not revised, and what to do."""
    return (
        f"is {outcome}, so it is not revised",
        f"say first that it is open again (quotelib became {number} open), or give the enquiry "
        "another number",
    )
