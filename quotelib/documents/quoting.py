"""How do people come to a record and its files: from a file, or from an enquiry by hand."""

import datetime as dt
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from quotelib.bounded import read_text
from quotelib.catalogue.price_list import load_price_list
from quotelib.enquiry.reading import read_request
from quotelib.errors import InputError, Problem, shown
from quotelib.promise.answer import Answer, answer
from quotelib.promise.record import QuoteRecord


class NoQuote(Exception):  # noqa: N818 - it is an answer more than an error
    """An enquiry that nothing answers; says which demand or finding is in the way."""

    def __init__(self, answered: Answer) -> None:
        self.answer = answered
        super().__init__(f"No quote: {answered.reason}")

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the reason, not our code."""
        reasons = (f"  {reason.code}: {reason.words}" for reason in self.answer.reasons)
        return ["No quote can be made of this enquiry:", *reasons]


def read_date(text: str) -> dt.date:
    """Read a date as YYYY-MM-DD; blank is today.

    Raises
    ------
    InputError
        For anything else.
    """
    if not text.strip():
        return dt.date.today()
    try:
        date = dt.date.fromisoformat(text.strip())
    except ValueError:
        date = dt.date.min
    if not 2000 <= date.year < 3000:
        right = "write it as YYYY-MM-DD, such as 2026-03-31"
        raise InputError([Problem("date", None, "", text, "is not a date of a quote", right)])
    return date


Cells = Mapping[str, object]
"""A row of an enquiry, by column."""


def quote(enquiry: Cells | Sequence[Cells], prices: str = "", date: str = "") -> QuoteRecord:
    """Make a quote record.

    Parameters
    ----------
    enquiry : mapping, or a sequence of them
        Its row by column, or its rows; blank cells are not given.
    prices, date : str
        Folder of the price list, and YYYY-MM-DD; the starter list and today where blank.

    Raises
    ------
    InputError
        Where the price list, the enquiry (a column nobody knows too) or the date cannot be read.
    NoQuote
        Where nothing answers the enquiry.
    """
    price_list = load_price_list(prices or None)
    given = [
        {column: str(cell) for column, cell in row.items() if str(cell).strip()}
        for row in ([enquiry] if isinstance(enquiry, Mapping) else enquiry)
    ]
    day = read_date(date)
    answered = answer(price_list, read_request(given, price_list, date=day), day)
    if answered.record is None:
        raise NoQuote(answered)
    return answered.record


def read_record(file: str | Path) -> QuoteRecord:
    """Read the file of a record.

    Raises
    ------
    InputError
        Where it cannot be read, or holds no record as this program writes it.
    """
    path = Path(file)
    try:
        return _parsed(read_text(path))
    except (OSError, UnicodeDecodeError) as error:
        why, right = f"cannot be read ({error})", "name the file of a record"
        raise InputError([Problem(path.name, None, "", "", why, right)]) from None
    except ValidationError as error:
        first = error.errors()[0]
        where = shown(".".join(map(str, first["loc"])))
        right = "give a record as this program wrote it, unchanged"
        value = shown(str(first["input"]), 80)
        raise InputError([Problem(path.name, None, where, value, first["msg"], right)]) from None


@lru_cache(maxsize=2)
def _parsed(text: str) -> QuoteRecord:
    # Three pages are made of each record.
    return QuoteRecord.model_validate_json(text)


def record_of(
    record: str | Path, enquiry: Cells | Sequence[Cells], prices: str = "", date: str = ""
) -> QuoteRecord:
    """Give a notebook its record: of a file where there is one, else of an enquiry by hand.

    Parameters
    ----------
    record : path
        Of the file of a record: nothing else counts then, and no price list is read. Blank:
        the record is made of the rest, as by `quote`.

    Raises
    ------
    InputError, NoQuote
        As in `read_record` and `quote`.
    """
    return read_record(record) if str(record).strip() else quote(enquiry, prices, date)
