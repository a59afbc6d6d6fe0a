"""What the price list says of a customer fills in what the first row of a quote leaves blank."""

import datetime as dt

import pytest

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.quoting import quote
from quotelib.enquiry.reading import read_request
from quotelib.errors import InputError
from quotelib.promise.record import QuoteRecord

KNOWN = "Moorklang-Archiv Nebelsiel e. V."


def asked(**cells: str) -> QuoteRecord:
    return quote({"enquiry_id": "E", "usable_tb": "10", **cells}, date="2026-11-28")


def test_tax_code_and_reference_of_a_known_customer() -> None:
    record = asked(customer=KNOWN)
    assert (record.totals.tax_code, record.customer_ref) == ("G", "MK 1986")
    assert record.buyer == load_price_list().customers[KNOWN]
    assert record.date == dt.date(2026, 11, 28)


def test_what_the_row_says_counts() -> None:
    record = asked(customer=KNOWN, tax_code="S", customer_ref="by telephone")
    assert (record.totals.tax_code, record.customer_ref) == ("S", "by telephone")


def test_somebody_else_has_neither() -> None:
    record = asked(customer=f"{KNOWN} (another)")
    assert (record.buyer, record.totals.tax_code, record.customer_ref) == (None, None, "")


def test_further_rows_may_say_the_same_and_nothing_else() -> None:
    first = {"enquiry_id": "E", "customer": KNOWN, "usable_tb": "10"}
    parts = {"enquiry_id": "E", "customer": KNOWN, "parts": "DRV-HDD-8T-SAS"}
    prices = load_price_list()
    for code in ("", "G"):
        request = read_request([first, {**parts, "tax_code": code}], prices)
        assert request.deal.tax_code == "G"
    with pytest.raises(InputError) as caught:
        read_request([first, {**parts, "tax_code": "S"}], prices)
    (problem,) = caught.value.problems
    assert (problem.column, problem.row) == ("tax_code", 2)
