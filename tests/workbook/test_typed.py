"""What people type into number fields, and what is understood by it."""

from pathlib import Path

import pytest

from quotelib.enquiry.columns import COLUMNS
from quotelib.workbook.page import Workbook
from quotelib.workbook.typed import read

KNOWN = ("GBP", "EUR", "JPY", "KWD")
UNDERSTOOD = [
    ("max_price", "9,000", "9000"),
    ("max_price", "GBP 9000", "9000"),
    ("max_price", "gbp 9,000.50", "9000.50"),
    ("max_price", "£9,000", "9000"),
    ("max_price", "9 000 GBP", "9000"),
    ("max_price", "9\u202f000", "9000"),
    ("max_price", "1'234'567.8", "1234567.8"),
    ("line_price", "-1,300", "-1300"),
    ("usable_tb", "40 TB", "40"),
    ("usable_tb", "40 TiB", "43.98046511104"),
    ("discount_pct", "5 %", "5"),
    ("discount_pct", "5%", "5"),
    ("max_watts", "300W", "300"),
    ("host_iops", "20,000", "20000"),
]
ASKED_ABOUT = [
    ("max_price", "EUR 9000", "choose EUR as the currency"),
    ("max_price", "9000 €", "choose EUR as the currency"),
    ("max_price", "$9000", "Which dollars?"),
    ("max_price", "9000,50", "Is 9000.50 meant?"),
    ("usable_tb", "1,5", "Is 1.5 meant?"),
]
LEFT_ALONE = [
    ("max_price", "9000"), ("max_price", "9000.50"), ("max_price", "90,00,0"),
    ("max_price", "nine thousand"), ("usable_tb", "GBP 40"), ("usable_tb", "1,2345,678"),
    ("max_price", ""), ("customer", "9,000"), ("note", "GBP 9000"), ("max_price", "XYZ 9000"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "cell"), UNDERSTOOD)
def test_understood(name: str, text: str, cell: str) -> None:
    got = read(COLUMNS[name], text, "GBP", KNOWN)
    assert got == (cell, f"Read as {cell}.")
    assert COLUMNS[name].parse(got.cell) is not None


@pytest.mark.parametrize(("name", "text", "words"), ASKED_ABOUT)
def test_asked_about(name: str, text: str, words: str) -> None:
    got = read(COLUMNS[name], text, "GBP", KNOWN)
    assert got.cell == text and words in got.said


@pytest.mark.parametrize(("name", "text"), LEFT_ALONE)
def test_left_alone(name: str, text: str) -> None:
    assert read(COLUMNS[name], text, "GBP", KNOWN) == (text, "")


def test_on_the_page(copy_of_small: Path, tmp_path: Path) -> None:
    """It is answered, copied and kept as a file has it; what was typed stays in its field."""
    page = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
    fields = page.form.fields
    fields["usable_tb"].value = "20 TB"
    fields["max_price"].value = "GBP 9,000"
    record = page.results.record
    assert record is not None
    assert record.rows[0].cells["usable_tb"] == "20"
    assert record.rows[0].cells["max_price"] == "9000"
    assert fields["max_price"].value == "GBP 9,000"
    assert fields["max_price"].notice == "Read as 9000."
    assert ",20," in page.blocks.copy.value and "GBP 9" not in page.blocks.copy.value
    # In another currency it means something else: it is asked about, not converted.
    fields["currency"].value = "EUR"
    assert page.results.record is None
    assert "choose GBP as the currency" in fields["max_price"].notice
    assert fields["max_price"].error
    fields["currency"].value = "GBP"
    again = page.results.record
    assert again is not None and again.totals == record.totals
    fields["max_price"].value = "9000"
    assert fields["max_price"].notice == ""


def test_what_the_list_says_of_a_customer(copy_of_small: Path, tmp_path: Path) -> None:
    """A blank tax code and reference are filled in, and the form says so beside them."""
    head = "customer,address,contact,tax_id,tax_code,reference\n"
    text = f"{head}Known Mills (invented),1 Weir Lane,,,S,KM-7\n"
    (copy_of_small / "customers.csv").write_text(text, "utf-8")
    page = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
    fields = page.form.fields
    fields["usable_tb"].value = "20"
    assert fields["tax_code"].notice == fields["customer_ref"].notice == ""
    fields["customer"].value = "Known Mills (invented)"
    assert fields["tax_code"].notice == "From the list of customers: S."
    assert fields["customer_ref"].notice == "From the list of customers: KM-7."
    record = page.results.record
    assert record is not None and record.totals.tax_code == "S"
    fields["customer_ref"].value = "Their own"
    assert fields["customer_ref"].notice == ""
    fields["customer"].value = "Somebody else"
    assert fields["tax_code"].notice == ""
