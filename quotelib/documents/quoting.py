"""How does a person or a notebook get a record: from cells, a folder and a date."""

import datetime as dt
from collections.abc import Mapping

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.pages import run_notebook, to_html
from quotelib.errors import InputError, Problem
from quotelib.quote.answer import Answer, answer
from quotelib.quote.enquiry import COLUMNS, read_enquiry
from quotelib.quote.record import QuoteRecord


class NoQuote(Exception):  # noqa: N818 - it is an answer more than an error
    """An enquiry that nothing answers; says which demand or finding is in the way."""

    def __init__(self, answered: Answer) -> None:
        self.answer = answered
        super().__init__(f"No quote: {answered.reason}")

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the reason, not our code."""
        return [
            "No quote can be made of this enquiry:",
            *(f"  {r.code}: {r.words}" for r in self.answer.reasons),
        ]


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


def quote(cells: Mapping[str, str], prices: str = "", date: str = "") -> QuoteRecord:
    """Make a quote record.

    Parameters
    ----------
    cells : mapping of str to str
        The enquiry by column; blank ones are not given.
    prices : str
        Folder of the price list; the starter list where blank.
    date : str
        Of the quote, YYYY-MM-DD; today where blank.

    Returns
    -------
    QuoteRecord

    Raises
    ------
    InputError
        Where the price list, the enquiry or the date cannot be read.
    NoQuote
        Where nothing answers the enquiry.
    """
    price_list = load_price_list(prices or None)
    given = {column: str(cell) for column, cell in cells.items() if str(cell).strip()}
    answered = answer(price_list, read_enquiry(given, price_list), read_date(date))
    if answered.record is None:
        raise NoQuote(answered)
    return answered.record


def parameters(record: QuoteRecord, prices: str) -> dict[str, str]:
    """Give the notebook parameters that lead to a record."""
    return {
        "prices": prices,
        "date": record.date.isoformat(),
        **{column: record.enquiry.get(column, "") for column in COLUMNS},
    }


def quote_page(record: QuoteRecord, prices: str) -> str:
    """Render the page a customer gets.

    Parameters
    ----------
    record : QuoteRecord
    prices : str
        Folder of the price list it was made from; blank for the starter list.

    Returns
    -------
    str
        HTML.
    """
    notebook = run_notebook("quote", parameters(record, prices))
    draft = "Draft quote" if record.draft else "Quote"
    title = f"{draft} {record.quote_number} for {record.customer}"
    return to_html(notebook, title=title, kind="quote")


def bench_page(record: QuoteRecord, prices: str) -> str:
    """Render the sheet that the bench works from; it has no prices.

    Parameters
    ----------
    record : QuoteRecord
    prices : str
        Folder of the price list it was made from; blank for the starter list.

    Returns
    -------
    str
        HTML.
    """
    notebook = run_notebook("bench_sheet", parameters(record, prices))
    title = f"Bench sheet {record.quote_number} for {record.customer}"
    return to_html(notebook, title=title, kind="bench")
