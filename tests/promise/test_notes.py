"""What is noted of an offer as such: no tax, and parts sold for the last time."""

import datetime as dt

from quotelib.catalogue.price_list import PriceList
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from tests.asking import order
from tests.small_list import TABLES, change, copy, price_list

DATE = dt.date(2026, 11, 28)  # valid for 30 days, to 28 December


def record(prices: PriceList, **cells: str) -> QuoteRecord:
    made = answer(prices, order(prices, usable_tb="4", survive="1", **cells), DATE).record
    assert made is not None
    return made


def found(made: QuoteRecord, code: str) -> list[str]:
    return [note.words for note in made.servers[0].findings if note.code == code]


def test_a_total_without_tax_is_called_one(small: PriceList) -> None:
    assert len(found(record(small), "tax_missing")) == 1
    assert found(record(small, tax_code="S"), "tax_missing") == []


def test_a_part_that_can_be_had_for_the_last_time_before_the_quote_ends() -> None:
    for day, notes in (("2026-12-28", 1), ("2026-12-29", 0), ("2025-01-01", 1), ("", 0)):
        tables = copy(TABLES)
        change(tables, "DISK-8T", last_buy=day, replaced_by="DISK-4T")
        for row in tables["drives.csv"]:
            row.setdefault("last_buy", "")
            row.setdefault("replaced_by", "")
        made = record(price_list(tables), drive="DISK-8T", members="2", level="1")
        words = found(made, "last_buy_near")
        assert len(words) == notes, day
        assert all("DISK-8T" in said and "DISK-4T takes its place" in said for said in words)


def test_what_the_customer_has_is_not_bought() -> None:
    tables = copy(TABLES)
    change(tables, "DISK-8T", last_buy="2026-12-01")
    for row in tables["drives.csv"]:
        row.setdefault("last_buy", "")
    pins = {"drive": "DISK-8T", "members": "2", "level": "1", "owned": "drive"}
    assert found(record(price_list(tables), **pins), "last_buy_near") == []
