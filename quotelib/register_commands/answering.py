"""Answer a quote of the register anew: revise it, say yes to what holds it, give it once more."""

import argparse
import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from quotelib.errors import InputError, Problem, shown
from quotelib.register_commands.exporting import exports_of, ready_for
from quotelib.register_commands.saying import write
from quotelib.terminal import say

if TYPE_CHECKING:
    from quotelib.catalogue.price_list import PriceList
    from quotelib.enquiry.request import Request
    from quotelib.register.book import Register
    from quotelib.register.giving import Given
    from quotelib.register.standing import Standing


def approve(given: argparse.Namespace) -> int:
    """Say yes to what holds a quote."""
    from quotelib.catalogue.price_list import load_price_list
    from quotelib.documents.quoting import read_date
    from quotelib.register.approving import approve as accept
    from quotelib.register.book import Register

    price_list, date = load_price_list(given.prices or None), read_date(given.date)
    ready_for(given)
    register = Register(given.register)
    stock = _left_for(register, given.number, price_list, date)
    made = accept(register, given.number, given.codes, given.by, stock, date, given.note)
    return _told(made, given)


def _left_for(
    register: "Register", number: str, price_list: "PriceList", date: dt.date
) -> "PriceList":
    """Take off the stock what other quotes keep."""
    quote = register.revision(number).standing
    kept = register.kept(date)
    return price_list.with_less_stock(kept.but_for((quote.enquiry_id, quote.customer)))


def revise(given: argparse.Namespace) -> int:
    """Answer a quote anew under its number, its parts kept as far as can be."""
    from quotelib.catalogue.price_list import load_price_list
    from quotelib.documents.quoting import read_date
    from quotelib.promise.difference import lines
    from quotelib.register.book import Register
    from quotelib.register.revising import answer_again, says_the_same
    from quotelib.register.who import named

    price_list, date = load_price_list(given.prices or None), read_date(given.date)
    ready_for(given)
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
        say(f"{before.record.numbered} stays as it is; it cannot be revised so:")
        say("\n".join(f"  {reason.code}: {reason.words}" for reason in came.answer.reasons))
        return 1
    if says_the_same(before.record, came.record) and date <= before.record.valid_until:
        say(f"{before.record.numbered} stays as it is: nothing is otherwise.")
        if given.out is not None:
            write(before.record, before.text, given.out, exports_of(given))
        return 0
    made = register.revise(before, came.record, named(given.by))
    if came.difference is not None:
        say("\n".join(lines(came.difference)))
    return _told(made, given)


def is_number(text: str) -> bool:
    """Tell whether something is the number of a quote."""
    year, dash, position = text.partition("-")
    return bool(dash) and len(year) == 4 and (year + position).isdecimal()


def again(given: argparse.Namespace) -> list[str]:
    """Give a quote of the register once more, at today's prices and under a number of its own.

    Gives the files; none where it cannot be had as it was.
    """
    from quotelib.catalogue.price_list import load_price_list
    from quotelib.documents.again import told
    from quotelib.documents.batch.files import file_stems
    from quotelib.documents.making import write_documents
    from quotelib.documents.quoting import read_date
    from quotelib.register.book import Register
    from quotelib.register.revising import once_more
    from quotelib.register.who import named

    price_list, date = load_price_list(given.prices), read_date(given.date)
    exports = ready_for(given)
    register = Register(given.register or "register")
    came = once_more(register, given.record, price_list, date, named(given.by))
    # Said first: it is given, whatever becomes of its files.
    say("\n".join(told(came)))
    if came.record is None:
        return []
    (stem,) = file_stems([came.record.enquiry_id])
    text = came.record.to_json()
    written = write_documents(came.record, given.out, stem, text, exports=exports)
    return list(written.values())


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


def _told(made: "Given", given: argparse.Namespace) -> int:
    record = made.record
    held = "; ".join(f"{reason.code}: {reason.words}" for reason in record.internal.hold_reasons)
    state = f"held ({held})" if held else "quoted"
    news = {"as it was": "as given before"}.get(made.news, made.news)
    say(f"{record.numbered} for {shown(record.customer)}: {news}, {state}")
    if given.out is not None:
        write(record, made.text, given.out, exports_of(given))
    return 0
