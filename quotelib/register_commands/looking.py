"""Find quotes, open them again, say what became of them and when to ask."""

import argparse
import datetime as dt

from quotelib.errors import InputError, Problem, shown
from quotelib.register_commands.exporting import exports_of
from quotelib.register_commands.saying import line, write
from quotelib.terminal import say
from quotelib.text import count


def given(given: argparse.Namespace) -> int:
    """List quotes, or find some."""
    from quotelib.register.book import Register
    from quotelib.register.outcomes import OUTCOMES
    from quotelib.register.standing import Wanted
    from quotelib.text import either

    if given.outcome and given.outcome not in OUTCOMES:
        right = f"use {either(OUTCOMES)}"
        raise InputError([Problem("outcome", None, "", given.outcome, "is none we know", right)])
    wanted = Wanted(
        number=given.number,
        customer=given.customer,
        outcome=given.outcome,
        since=_day(given.since, "from"),
        until=_day(given.until, "to"),
        due=_day(given.due, "due"),
    )
    register = Register(given.register)
    found = register.find(wanted)
    say("\n".join([*map(line, found), f"{count(len(found), 'quote')} in {register.name}"]))
    if given.number and found:
        for event in register.history(given.number):
            note = f" ({event.note})" if event.note else ""
            when = f"{event.moment:%Y-%m-%d %H:%M} UTC"
            say(f"  {when}  {event.kind} {event.value}{note}, by {shown(event.done_by)}")
    return 0 if found else 1


def reopen(given: argparse.Namespace) -> int:
    """Write a quote's documents again, exactly as given."""
    from quotelib.register.book import Register

    if given.revision is not None and given.revision < 1:
        right = "revisions are counted from 1"
        why = "is no revision"
        raise InputError([Problem("revision", None, "", str(given.revision), why, right)])
    found = Register(given.register).revision(given.number, given.revision)
    say(f"{found.record.numbered} for {shown(found.record.customer)}, as given:")
    write(found.record, found.text, given.out, exports_of(given))
    return 0


def became(given: argparse.Namespace) -> int:
    """Say what became of a quote."""
    from quotelib.register.book import Register
    from quotelib.register.who import named

    register = Register(given.register)
    say(line(register.became(given.number, given.outcome, named(given.by), given.note)))
    return 0


def follow(given: argparse.Namespace) -> int:
    """Say when to ask after a quote."""
    from quotelib.register.book import Register
    from quotelib.register.who import named

    never = given.date.strip().lower() == "never"
    day = None if never else _day(given.date.strip() or "blank", "date")
    say(line(Register(given.register).follow(given.number, day, named(given.by))))
    return 0


def _day(text: str, what: str) -> dt.date | None:
    """Read a day that may be left out."""
    from quotelib.documents.quoting import read_date

    if not text:
        return None
    try:
        return read_date("" if text == "today" else text)
    except InputError as error:
        raise InputError(
            [Problem(what, None, "", p.value, p.why, p.right) for p in error.problems]
        ) from None
