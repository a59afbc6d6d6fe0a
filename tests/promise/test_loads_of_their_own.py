"""A workload with a customer's own numbers is quoted as one that the price list has."""

from dataclasses import replace
from types import MappingProxyType

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.load import load_of
from quotelib.promise.again import again
from tests.promise.quoted_before import TODAY, quoted
from tests.small_list import price_list

PRICES = price_list()
CELL = "files;read_pct=20;outstanding=64;writes_gb_per_day=900"
ASKED = {"usable_tb": "6", "survive": "1", "media": "hdd"}


def listing() -> PriceList:
    """Give the price list whose workload has those numbers."""
    workloads = {**PRICES.workloads, "files": load_of(CELL, PRICES.workloads)}
    return replace(PRICES, workloads=MappingProxyType(workloads), fingerprint="another")


def test_estimates_are_those_of_a_list_that_has_the_numbers() -> None:
    own, there = (
        quoted(PRICES, {**ASKED, "workload": CELL}),
        quoted(listing(), {**ASKED, "workload": "files"}),
    )
    plain = quoted(PRICES, {**ASKED, "workload": "files"})
    figures = [
        {e.key: e.value for e in record.servers[0].arrays[0].estimates}
        for record in (own, there, plain)
    ]
    assert figures[0] == figures[1] != figures[2]
    assert own.totals == there.totals


def test_the_record_says_what_they_are_and_holds_the_cell() -> None:
    record = quoted(PRICES, {**ASKED, "workload": CELL})
    assert record.rows[0].cells["workload"] == CELL
    load = record.servers[0].arrays[0].outlook.load
    assert (load.read_pct, load.outstanding) == (20, 64)
    words = "20 % reads, 64 outstanding and 900 GB written a day"
    assert load.description == f"Files, here with {words}"
    # The same again, a fortnight later, is for the same load.
    answered = again(record, PRICES, TODAY)
    assert answered.answer.record is not None
    assert answered.answer.record.rows[0].cells["workload"] == CELL
    (wish,) = (w for w in record.servers[0].arrays[0].asked if w.label == "Workload")
    assert words in wish.asked
