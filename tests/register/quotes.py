"""Quotes to give: all for one pinned build of the small list, which takes no search."""

import datetime as dt

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord

DATE = dt.date(2026, 11, 28)
PINS = {"chassis": "BOX-4", "controller": "BOARD", "drive": "DISK-4T", "members": "2", "level": "1"}


def made(
    price_list: PriceList, enquiry_id: str = "A", date: dt.date = DATE, **cells: str
) -> QuoteRecord:
    """Answer an enquiry of some number."""
    row = {"enquiry_id": enquiry_id, "customer": "Invented", **PINS, **cells}
    record = answer(price_list, read_request([row], price_list), date).record
    assert record is not None
    return record
