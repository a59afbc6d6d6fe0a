"""What can be done from a shell with the register: find, reopen, revise, approve, say what came."""

import argparse
import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from quotelib.errors import InputError, Problem, one_line, shown
from quotelib.text import count

if TYPE_CHECKING:
    from quotelib.catalogue.price_list import PriceList
    from quotelib.enquiry.request import Request
    from quotelib.register.book import Register
    from quotelib.register.giving import Given
    from quotelib.register.standing import Standing

Command = Callable[..., argparse.ArgumentParser]
"""Adds a command that runs a function."""
WHERE = "folder of the register, or its address (postgresql://USER@HOST/DATABASE)"
_OUTCOME = "open, ordered, delivered, declined or lapsed"
_BY = "who does it; the user of this machine"
_NUMBER = "of the quote, such as 2026-0001"
_PRICES = "folder of a price list; the starter list where it is left out"
_DATE = "of the revision; today"


def add(command: Command) -> None:
    """Add the commands."""
    given = _command(
        command, _given, "list the quotes given, or find some", "given --customer library",
        "Exit status: 0 there are some, 1 there is none, 2 could not run.",
    )  # fmt: skip
    given.add_argument(
        "--customer", default="", metavar="TEXT", help="in the name, or the number of the enquiry"
    )
    given.add_argument("--outcome", default="", metavar="WORD", help=_OUTCOME)
    given.add_argument(
        "--from", dest="since", default="", metavar="YYYY-MM-DD", help="given then or later"
    )
    given.add_argument(
        "--to", dest="until", default="", metavar="YYYY-MM-DD", help="given then or earlier"
    )
    given.add_argument(
        "--due",
        nargs="?",
        const="today",
        default="",
        metavar="YYYY-MM-DD",
        help="open and to be asked after by then; today",
    )
    given.add_argument(
        "--number",
        default="",
        metavar="NUMBER",
        help="this one alone, with all that was done to it",
    )

    reopen = _command(
        command, _reopen, "write a quote's documents again, exactly as given",
        "reopen 2026-0007 --out again",
    )  # fmt: skip
    _numbered(reopen)
    reopen.add_argument("--revision", type=int, metavar="N", help="which; the last one")
    reopen.add_argument("--out", type=Path, required=True, metavar="FOLDER")

    became = _command(
        command, _became, "say what became of a quote",
        "became 2026-0007 ordered --by Kim --note 'order no. 4711'",
    )  # fmt: skip
    _numbered(became)
    became.add_argument("outcome", metavar="OUTCOME", help=_OUTCOME)
    became.add_argument("--note", default="", metavar="TEXT", help="why")
    _by(became)

    follow = _command(
        command, _follow, "say when to ask after a quote", "follow 2026-0007 2026-12-15",
    )  # fmt: skip
    _numbered(follow)
    follow.add_argument("date", metavar="DATE", help="YYYY-MM-DD, or never")
    _by(follow)

    revise = _command(
        command, _revise, "answer a quote anew, its parts kept as far as can be",
        "revise 2026-0007 enquiries.csv --out revised",
        "Exit status: 0 it is quoted or held, 1 it is refused, 2 could not run.",
    )  # fmt: skip
    _numbered(revise)
    what = "with what is asked now, under the same number; as it was asked where it is left out"
    revise.add_argument("enquiries", type=Path, nargs="?", metavar="ENQUIRIES.csv", help=what)
    _by(revise)
    _answering(revise)

    approve = _command(
        command, _approve, "say yes to what holds a quote",
        "approve 2026-0007 margin_floor --by 'Kim Example' --note 'agreed with the owner'",
        "It becomes a revision of the quote. The offer does not say who said yes.",
    )  # fmt: skip
    _numbered(approve)
    approve.add_argument("codes", nargs="+", metavar="CODE", help="of a finding, or margin_floor")
    approve.add_argument("--by", required=True, metavar="NAME", help="who says yes")
    approve.add_argument("--note", default="", metavar="TEXT", help="why")
    _answering(approve)


def _command(
    command: Command,
    run: Callable[[argparse.Namespace], int],
    what: str,
    example: str,
    more: str = "",
) -> argparse.ArgumentParser:
    made = command(
        run,
        help=what,
        description=f"{what[0].upper()}{what[1:]}. {more}".strip(),
        epilog=f"Example: quotelib {example}",
    )
    made.add_argument(
        "--register", default="register", metavar="WHERE", help=f"{WHERE}; %(default)s"
    )
    return made


def _numbered(made: argparse.ArgumentParser) -> None:
    made.add_argument("number", metavar="NUMBER", help=_NUMBER)


def _by(made: argparse.ArgumentParser) -> None:
    made.add_argument("--by", default="", metavar="NAME", help=_BY)


def _answering(made: argparse.ArgumentParser) -> None:
    made.add_argument("--prices", default="", metavar="FOLDER", help=_PRICES)
    made.add_argument("--date", default="", metavar="YYYY-MM-DD", help=_DATE)
    made.add_argument("--out", type=Path, metavar="FOLDER", help="write its documents there, too")


def _say(text: str) -> None:
    print("\n".join(map(one_line, text.split("\n"))))


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


def _given(given: argparse.Namespace) -> int:
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
    _say("\n".join([*map(_line, found), f"{count(len(found), 'quote')} in {register.name}"]))
    if given.number and found:
        for event in register.history(given.number):
            note = f" ({event.note})" if event.note else ""
            when = f"{event.moment:%Y-%m-%d %H:%M} UTC"
            _say(f"  {when}  {event.kind} {event.value}{note}, by {shown(event.done_by)}")
    return 0 if found else 1


def _line(one: "Standing") -> str:
    from quotelib.promise.record import numbered
    from quotelib.text import money

    number = numbered(one.number, one.revision)
    state = "held" if one.state == "held" and one.outcome == "open" else one.outcome
    due = (
        f", to be asked after on {one.follow_up}" if one.follow_up and one.outcome == "open" else ""
    )
    margin = "" if one.margin_pct is None else f", margin {one.margin_pct} %"
    net = money(one.net, one.currency)
    what = f"{shown(one.customer, 40)} ({shown(one.enquiry_id, 24)})"
    return f"{number:16}  {one.date}  {state:9}  {net:>16}{margin}  {what}{due}"


def _reopen(given: argparse.Namespace) -> int:
    from quotelib.register.book import Register

    if given.revision is not None and given.revision < 1:
        right = "revisions are counted from 1"
        why = "is no revision"
        raise InputError([Problem("revision", None, "", str(given.revision), why, right)])
    found = Register(given.register).revision(given.number, given.revision)
    _say(f"{found.record.numbered} for {shown(found.record.customer)}, as given:")
    _write(found.record, found.text, given.out)
    return 0


def _write(record: Any, text: str, folder: Path) -> None:
    from quotelib.documents.batch.files import file_stems
    from quotelib.documents.quoting import write_documents

    names = write_documents(record, folder, file_stems([record.enquiry_id])[0], text)
    for name in names.values():
        _say(f"  {folder / name}")


def _became(given: argparse.Namespace) -> int:
    from quotelib.register.book import Register
    from quotelib.register.who import named

    register = Register(given.register)
    _say(_line(register.became(given.number, given.outcome, named(given.by), given.note)))
    return 0


def _follow(given: argparse.Namespace) -> int:
    from quotelib.register.book import Register
    from quotelib.register.who import named

    never = given.date.strip().lower() == "never"
    day = None if never else _day(given.date.strip() or "blank", "date")
    _say(_line(Register(given.register).follow(given.number, day, named(given.by))))
    return 0


def _approve(given: argparse.Namespace) -> int:
    from quotelib.catalogue.price_list import load_price_list
    from quotelib.documents.quoting import read_date
    from quotelib.register.approving import approve
    from quotelib.register.book import Register

    price_list, date = load_price_list(given.prices or None), read_date(given.date)
    register = Register(given.register)
    stock = _left_for(register, given.number, price_list, date)
    made = approve(register, given.number, given.codes, given.by, stock, date, given.note)
    return _told(made, given.out)


def _left_for(
    register: "Register", number: str, price_list: "PriceList", date: dt.date
) -> "PriceList":
    """Take off the stock what other quotes keep."""
    quote = register.revision(number).standing
    kept = register.kept(date)
    return price_list.with_less_stock(kept.but_for((quote.enquiry_id, quote.customer)))


def _revise(given: argparse.Namespace) -> int:
    from quotelib.catalogue.price_list import load_price_list
    from quotelib.documents.quoting import read_date
    from quotelib.promise.difference import lines
    from quotelib.register.book import Register
    from quotelib.register.revising import answer_again, says_the_same
    from quotelib.register.who import named

    price_list, date = load_price_list(given.prices or None), read_date(given.date)
    register = Register(given.register)
    before = register.revision(given.number)
    if before.standing.outcome != "open":
        raise register.closed(given.number, before.standing.outcome)
    request = None
    if given.enquiries is not None:
        request = _asked(given.enquiries, before.standing, price_list)
    stock = _left_for(register, given.number, price_list, date)
    came = answer_again(before.record, request, stock, date)
    if came.record is None:
        _say(f"{before.record.numbered} stays as it is; it cannot be revised so:")
        _say("\n".join(f"  {reason.code}: {reason.words}" for reason in came.answer.reasons))
        return 1
    if says_the_same(before.record, came.record) and date <= before.record.valid_until:
        _say(f"{before.record.numbered} stays as it is: nothing is otherwise.")
        if given.out is not None:
            _write(before.record, before.text, given.out)
        return 0
    made = register.revise(before, came.record, named(given.by))
    if came.difference is not None:
        _say("\n".join(lines(came.difference)))
    return _told(made, given.out)


def is_number(text: str) -> bool:
    """Tell whether something is the number of a quote."""
    year, dash, position = text.partition("-")
    return bool(dash) and len(year) == 4 and (year + position).isdecimal()


def again(given: argparse.Namespace) -> tuple[list[str], list[str]]:
    """Give a quote of the register once more, at today's prices and under a number of its own."""
    from quotelib.catalogue.price_list import load_price_list
    from quotelib.documents.again import told
    from quotelib.documents.batch.files import file_stems
    from quotelib.documents.quoting import read_date, write_documents
    from quotelib.register.book import Register
    from quotelib.register.revising import once_more
    from quotelib.register.who import named

    price_list, date = load_price_list(given.prices), read_date(given.date)
    register = Register(given.register or "register")
    came = once_more(register, given.record, price_list, date, named(given.by))
    if came.record is None:
        return list(told(came)), []
    (stem,) = file_stems([came.record.enquiry_id])
    written = write_documents(came.record, given.out, stem, came.record.to_json())
    return list(told(came)), list(written.values())


def _asked(path: Path, quote: "Standing", price_list: "PriceList") -> "Request":
    """Find the enquiry of a quote in a file."""
    from quotelib.enquiry.reading import read_enquiries

    for one in read_enquiries(path, price_list):
        if one.enquiry_id == quote.enquiry_id:
            if one.request is None:
                raise InputError([problem for row in one.rows for problem in row.problems])
            if one.request.first.customer == quote.customer:
                return one.request
    why = f"has no enquiry {quote.enquiry_id} of {quote.customer}, as {quote.number} has"
    raise InputError([Problem(path.name, None, "", "", why, "write what is asked now under that")])


def _told(made: "Given", out: Path | None) -> int:
    record = made.record
    held = "; ".join(f"{reason.code}: {reason.words}" for reason in record.internal.hold_reasons)
    state = f"held ({held})" if held else "quoted"
    news = {"as it was": "as given before"}.get(made.news, made.news)
    _say(f"{record.numbered} for {shown(record.customer)}: {news}, {state}")
    if out is not None:
        _write(record, made.text, out)
    return 0
