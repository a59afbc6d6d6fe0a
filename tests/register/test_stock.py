"""What quotes keep of the stock, and what is answered with what is left."""

from __future__ import annotations

import datetime as dt
import pickle
from typing import Any

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.register.book import Register
from tests import small_list
from tests.register.quotes import DATE, made

NEXT = ("NEXT", "Invented")


def test_open_and_ordered_quotes_keep_their_parts(register: Register, record: Any) -> None:
    register.give([record("A"), record("B", builds="3")], "Kim")

    def kept(day: dt.date = DATE) -> int:
        return register.kept(day).but_for(NEXT)["DISK-4T"]

    assert kept() == 2 + 6
    (second,) = register.give([record("A", builds="2")], "Kim")  # the last revision alone counts
    assert kept() == 4 + 6
    over = second.record.valid_until + dt.timedelta(days=1)
    assert kept(over) == 0
    register.became("2026-0002", "ordered", "Kim")
    assert kept(over) == 6  # what is ordered is kept, however long it takes
    register.became("2026-0001", "declined", "Kim")
    assert kept() == 6
    register.became("2026-0002", "delivered", "Kim")
    assert kept() == 0


def test_a_quote_keeps_nothing_from_itself_nor_from_what_is_asked_with_it(
    register: Register, record: Any
) -> None:
    register.give([record("A"), record("B"), record("C")], "Kim")
    register.became("2026-0003", "ordered", "Kim")
    kept = register.kept(DATE)
    together = {("A", "Invented"), ("B", "Invented"), ("C", "Invented")}
    assert kept.but_for(("A", "Invented"))["DISK-4T"] == 4
    assert kept.but_for(("A", "Invented"), together)["DISK-4T"] == 2  # C's, which is ordered
    assert kept.but_for(("C", "Invented"), together)["DISK-4T"] == 0


def test_a_list_with_less_stock_is_another_list(small: PriceList) -> None:
    stock = small.drives["DISK-4T"].stock
    less = small.with_less_stock({"DISK-4T": 3, "NOT-OURS": 9, "BOX-4": 10**6})
    assert less.drives["DISK-4T"].stock == stock - 3
    assert less.chassis["BOX-4"].stock == 0
    assert less.drives["DISK-8T"] is small.drives["DISK-8T"]
    assert small.drives["DISK-4T"].stock == stock
    assert less.fingerprint == small.fingerprint
    assert less != small
    assert hash(less) != hash(small)
    same = small.with_less_stock({"DISK-4T": 3, "BOX-4": 10**6})
    assert same == less and hash(same) == hash(less)
    # Off twice is off by both, and that is another list again.
    twice = less.with_less_stock({"DISK-4T": 2})
    assert twice.drives["DISK-4T"].stock == stock - 5 and twice != less
    assert small.with_less_stock({}) is small
    arrived = pickle.loads(pickle.dumps(less))
    assert arrived == less and arrived.drives["DISK-4T"].stock == stock - 3


@pytest.fixture
def ten_drives() -> PriceList:
    """Give the small list with ten of one drive in stock, and plenty of all else."""
    tables = small_list.copy()
    for rows in tables.values():
        for row in rows:
            if "stock" in row:
                row["stock"] = "10" if row["sku"] == "DISK-4T" else "1000"
    return small_list.price_list(tables)


def test_an_answer_goes_by_what_is_left(ten_drives: PriceList) -> None:
    asked = {"builds": "5"}  # two drives each
    assert made(ten_drives, **asked).servers[0].lead_days == 0
    late = made(ten_drives.with_less_stock({"DISK-4T": 1}), **asked)
    assert late.servers[0].lead_days == ten_drives.drives["DISK-4T"].lead_days > 0
    assert late.price_list_fingerprint == ten_drives.fingerprint
    # The one is not what is remembered for the other.
    assert made(ten_drives, **asked).servers[0].lead_days == 0


@pytest.mark.parametrize("held", [False, True])
def test_two_who_want_the_last_drives(
    register: Register, ten_drives: PriceList, held: bool
) -> None:
    if held:
        register.give([made(ten_drives, "A", builds="5")], "Kim")
    left = ten_drives.with_less_stock(register.kept(DATE).but_for(("B", "Invented")))
    assert (made(left, "B").servers[0].lead_days > 0) == held
