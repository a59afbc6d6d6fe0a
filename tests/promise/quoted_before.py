"""Quotes of an earlier day, and price lists that changed since."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord

THEN, TODAY = dt.date(2026, 11, 1), dt.date(2026, 11, 15)
OVER = dt.date(2026, 11, 10)
"""A last day to order between the two."""
_FILES = ("drives", "controllers", "chassis", "accessories", "options", "services")
Row = dict[str, str]


def quoted(prices: PriceList, *rows: Row, date: dt.date = THEN) -> QuoteRecord:
    """Quote some rows; the first has number and customer."""
    first = {"enquiry_id": "E-1", "customer": "Somebody (invented)"}
    every = [first | rows[0], *({"enquiry_id": "E-1"} | row for row in rows[1:])]
    made = answer(prices, read_request(every, prices), date, alternatives=False).record
    assert made is not None
    return made


def with_words(record: QuoteRecord, *changes: Row) -> list[Row]:
    """Give the rows of a record with some cells otherwise, row by row."""
    rows = [dict(row.cells) for row in record.rows]
    for row, change in zip(rows, changes, strict=False):
        row |= change
    return rows


def listed(prices: PriceList, sku: str, **values: Any) -> PriceList:
    """Give a price list on which one thing is otherwise."""
    for file in _FILES:
        things = dict(getattr(prices, file))
        if sku in things:
            things[sku] = things[sku].model_copy(update=values)
            return _with(prices, file, things, f"{sku} {values}")
    raise KeyError(sku)


def without(prices: PriceList, sku: str) -> PriceList:
    """Give a price list from which one thing is gone."""
    for file in _FILES:
        things = dict(getattr(prices, file))
        if things.pop(sku, None):
            return _with(prices, file, things, f"no {sku}")
    raise KeyError(sku)


def _with(prices: PriceList, file: str, things: dict[str, Any], mark: str) -> PriceList:
    new: dict[str, Any] = {file: MappingProxyType(things)}
    return replace(prices, **new, fingerprint=f"{prices.fingerprint} {mark}")


def dearer(prices: PriceList, sku: str, by: str) -> PriceList:
    """Give a price list on which one thing costs so much more."""
    for file in _FILES:
        if sku in getattr(prices, file):
            price = getattr(prices, file)[sku].unit_price
            return listed(prices, sku, unit_price=price + Decimal(by))
    raise KeyError(sku)
