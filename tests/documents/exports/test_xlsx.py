"""A workbook of lines has the record's sums, as formulas and as their last results."""

import datetime as dt
import io
import os
import re
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from quotelib.documents.exports.xlsx import items
from quotelib.documents.making import items_workbook
from quotelib.errors import NotExported
from quotelib.promise.record import QuoteRecord
from tests import orders

from . import quoted
from .sheet_reader import Sheet, check_sums, rows_by_label


def _book(record: QuoteRecord, *, results: bool = False) -> Any:
    return openpyxl.load_workbook(io.BytesIO(items(record)), data_only=results)


def _parts(record: QuoteRecord) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(items(record))) as file:
        return {name: file.read(name).decode("utf-8") for name in file.namelist()}


def test_odd_quotes_add_up_with_and_without_working_out() -> None:
    for name, record in quoted.odd().items():
        check_sums(name, record)


def test_a_changed_quantity_goes_through_to_what_is_to_pay() -> None:
    record = orders.order([orders.SEVERAL[0] | {"tax_code": "S"}, *orders.SEVERAL[1:]])
    sheet = _book(record)["Items"]
    rows = rows_by_label(sheet)
    before = check_sums("before", record)["gross"]
    line = record.servers[0].lines[0]
    sheet["D2"] = line.quantity + 1
    pct = Decimal(100) - record.totals.discount_pct
    more = line.unit_price * pct / 100 * Decimal("1.2")
    after = Sheet(sheet).value(f"F{rows['To pay, GBP']}")
    assert abs(after - before - more) < Decimal("0.02")


def test_types_are_right() -> None:
    sheet = _book(orders.order(orders.SEVERAL), results=True)["Items"]
    kinds = {cell.column_letter: cell for cell in sheet[2]}
    assert [kinds[c].data_type for c in "ABCDEF"] == ["s", "s", "s", "n", "n", "n"]
    assert isinstance(kinds["D"].value, int)
    assert kinds["E"].number_format == kinds["F"].number_format == "#,##0.00"
    about = {row[0].value: row[1] for row in _book(orders.order(orders.SEVERAL))["Quote"].rows}
    assert about["Date"].value == dt.datetime(2026, 11, 25) and about["Date"].is_date
    assert about["Quote"].value == "Q-20261125-ORD-77"


@pytest.mark.parametrize(
    ("currency", "how"), [("JPY", "#,##0"), ("KWD", "#,##0.000"), ("EUR", "#,##0.00")]
)
def test_amounts_have_the_decimals_of_their_currency(currency: str, how: str) -> None:
    sheet = _book(orders.order([orders.LOOSE[0] | {"currency": currency}]))["Items"]
    assert {sheet[f"{column}2"].number_format for column in "EF"} == {how}
    assert sheet["E1"].value == f"Unit price, {currency}"


def test_it_prints_on_a4_across_with_its_head_on_every_sheet() -> None:
    sheet = _book(orders.order(orders.LOOSE))["Items"]
    assert sheet.freeze_panes == "A2" and sheet.print_title_rows == "$1:$1"
    assert (sheet.page_setup.orientation, int(sheet.page_setup.paperSize)) == ("landscape", 9)
    assert (sheet.page_setup.fitToWidth or 1, int(sheet.page_setup.fitToHeight)) == (1, 0)
    assert sheet.column_dimensions["C"].width > 40


_FORMULA = '=HYPERLINK("https://x.example","here")'


def test_text_that_starts_like_a_formula_stays_text() -> None:
    rows = [
        {"line": text, "line_price": "1"} for text in ("=1+1", "+1", "-1", "@x", "007", _FORMULA)
    ]
    record = orders.order(rows)
    record = quoted.changed(record, customer=_FORMULA)
    book = _book(record)
    lines = [book["Items"][f"C{n}"] for n in range(2, 2 + len(rows))]
    assert [cell.value for cell in lines] == [row["line"] for row in rows]
    assert {cell.data_type for cell in lines} == {"s"}
    assert _FORMULA in [row[1].value for row in book["Quote"].rows]
    sheets = [text for name, text in _parts(record).items() if name.startswith("xl/worksheets")]
    formulas = [found for text in sheets for found in re.findall(r"<f>(.*?)</f>", text)]
    assert formulas and all(formula.startswith("ROUND(") for formula in formulas)
    assert not any("hyperlink" in text.lower() for text in sheets)


def test_it_names_the_seller_and_nobody_else() -> None:
    record = orders.order(orders.LOOSE)
    properties = _book(record).properties
    assert properties.title == "Quote Q-20261125-ORD-77 for Pottery of Invention"
    assert properties.creator == properties.lastModifiedBy == record.seller.name
    assert properties.created == properties.modified == dt.datetime(2026, 11, 25)
    whole = "".join(_parts(record).values())
    for name in (os.uname().nodename, os.environ.get("USER", "root"), str(Path.cwd())):
        assert f">{name}<" not in whole and str(Path.cwd()) not in whole


def test_the_same_record_gives_the_same_bytes(tmp_path: Path) -> None:
    record = orders.order(orders.BOX)
    file = tmp_path / "r.json"
    file.write_text(record.to_json(), "utf-8")
    assert items_workbook(file) == items(record)


def test_a_draft_says_so() -> None:
    held = quoted.changed(orders.order(orders.LOOSE), draft=True, outcome="held")
    book = _book(held)
    said = [str(cell.value) for cell in book["Items"]["C"]]
    assert said[-1].startswith("Draft, not yet an offer")
    assert book["Quote"]["A1"].value == "Draft quote"
    assert book.properties.title.startswith("Draft quote")


def test_why_no_tax_is_told() -> None:
    record = orders.order([orders.LOOSE[0] | {"tax_code": "G"}])
    about = {row[0].value: row[1].value for row in _book(record)["Quote"].rows}
    assert about["Why no tax"] == "Free of tax as an export in this example."


def test_characters_that_xml_does_not_take_are_shown_as_such() -> None:
    record = quoted.changed(orders.order(orders.LOOSE), customer="a\x00b\ufffec & <d>")
    about = {row[0].value: row[1].value for row in _book(record)["Quote"].rows}
    assert about["Customer"] == "a\ufffdb\ufffdc & <d>"


def test_an_amount_that_a_cell_would_round_is_refused() -> None:
    record = orders.order([{"line": "Much", "line_price": "1.01"}])
    line = record.items[0].lines[0]
    for amount, fine in (("9999999999999.99", True), ("10000000000000.01", False)):
        much = quoted.changed(record, items__0__lines__0__amount=amount)
        assert much.items[0].lines[0].sku == line.sku
        if fine:
            items(much)
        else:
            with pytest.raises(NotExported, match="more digits than a spreadsheet holds"):
                items(much)
