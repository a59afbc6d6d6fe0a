"""Orders of several things on one quote, answered from the starter list."""

import datetime as dt
from functools import cache

from quotelib.catalogue.price_list import load_price_list
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord

DATE = dt.date(2026, 11, 25)
Cells = dict[str, str]
_FIRST = {"enquiry_id": "ORD-77", "customer": "Pottery of Invention"}

LOOSE: list[Cells] = [{"parts": "DRV-HDD-8T-SAS*2;CBL-12G-CD;CPM-BATTERY"}]
SERVICES: list[Cells] = [
    {"services": "SVC-MIGRATE;SVC-ONSITE-1Y*2", "line": "Survey of the room", "line_price": "200"},
]
BOX: list[Cells] = [
    {"chassis": "CHS-2U-12L", "options": "CPU-16C-150W*2;MEM-32G-2*4", "builds": "3"},
]
PLAIN: list[Cells] = [{"usable_tb": "6", "survive": "1"}]
SEVERAL: list[Cells] = [
    {"usable_tb": "20", "survive": "2", "server": "A", "array": "data", "builds": "2",
     "services": "SVC-ONSITE-3Y;SVC-MIGRATE"},
    {"usable_tb": "0.2", "survive": "1", "server": "A", "array": "boot"},
    BOX[0] | {"server": "B"},
    {"parts": "DRV-HDD-8T-SAS*2;CBL-12G-CD", "note": "a note that stays in the house"},
    {"line": "Old server taken back", "line_price": "-120", "line_quantity": "2",
     "line_cost": "13.37"},
]  # fmt: skip


@cache
def _made(rows: tuple[tuple[tuple[str, str], ...], ...]) -> QuoteRecord:
    prices = load_price_list()
    cells = [{"enquiry_id": _FIRST["enquiry_id"], **dict(row)} for row in rows]
    made = answer(prices, read_request([_FIRST | cells[0], *cells[1:]], prices), DATE)
    assert made.record is not None, made.reason
    return made.record


def order(rows: list[Cells]) -> QuoteRecord:
    """Answer rows of one quote; its number and customer are added."""
    return _made(tuple(tuple(row.items()) for row in rows))
