"""Records to export: of the example enquiries, of a day's, and of quotes that are odd."""

import datetime as dt
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from quotelib.catalogue.price_list import load_price_list
from quotelib.enquiry.reading import read_enquiries
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from quotelib.resources import demo_enquiries
from tests import orders

DATE = dt.date(2026, 11, 25)


@cache
def _of(file: Path) -> dict[str, QuoteRecord]:
    prices = load_price_list()
    requests = [one.request for one in read_enquiries(file, prices) if one.request is not None]
    made = [answer(prices, request, DATE, alternatives=False).record for request in requests]
    return {record.enquiry_id: record for record in made if record is not None}


def examples() -> dict[str, QuoteRecord]:
    """Answer the example enquiries and those of a day; give the quotes by enquiry."""
    return _of(demo_enquiries()) | _of(demo_enquiries().with_name("a_day.csv"))


def odd() -> dict[str, QuoteRecord]:
    """Give quotes without servers, of several, in other currencies, with and without tax."""
    kinds = {name: getattr(orders, name) for name in ("LOOSE", "SERVICES", "BOX", "SEVERAL")}
    records = {name: orders.order(rows) for name, rows in kinds.items()}
    money = ({"currency": "JPY", "discount_pct": "7.5", "tax_code": "S"},
             {"currency": "KWD", "discount_pct": "2.5", "tax_code": "AA"},
             {"currency": "EUR", "tax_code": "G"}, {"tax_code": "Z"})  # fmt: skip
    for cells in money:
        rows = [orders.SEVERAL[0] | cells, *orders.SEVERAL[1:]]
        if "currency" in cells:
            rows[-1] = rows[-1] | {"line_price": "-120", "line_cost": "13"}
        records[" ".join(cells.values())] = orders.order(rows)
    trade_in = {"line": "Old array taken back", "line_price": "-9000.00"}
    records["more back than due"] = orders.order([orders.LOOSE[0] | {"tax_code": "S"}, trade_in])
    records["only a line"] = orders.order([trade_in | {"tax_code": "S"}])
    return records


def changed(record: QuoteRecord, **parts: Any) -> QuoteRecord:
    """Read a record again of which somebody changed fields; a name may go down: ``totals__tax``."""
    data = record.model_dump(mode="json")
    for name, value in parts.items():
        *way, last = name.split("__")
        inner = data
        for step in way:
            inner = inner[int(step)] if isinstance(inner, list) else inner[step]
        inner[last] = format(value, "f") if isinstance(value, Decimal) else value
    return QuoteRecord.model_validate(data)
