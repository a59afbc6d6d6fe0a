"""A UBL quotation is valid against the published schema, and adds up by another reader's rules."""

import datetime as dt
import xml.etree.ElementTree as ET
from decimal import Decimal
from pathlib import Path

import pytest
from lxml import etree

from quotelib.documents.exports.ubl import quotation
from quotelib.documents.exports.xlsx import items
from quotelib.documents.making import ubl_quotation
from quotelib.errors import NotExported
from quotelib.promise.record import QuoteRecord
from tests import orders

from . import quoted
from .ubl_reader import NAMES, check_sums, wrong_with


def _read(record: QuoteRecord) -> ET.Element:
    return ET.fromstring(quotation(record))


def _all(record: QuoteRecord, path: str) -> list[str | None]:
    return [node.text for node in _read(record).iterfind(path, NAMES)]


def test_odd_quotes_are_valid(schema: etree.XMLSchema) -> None:
    for name, record in quoted.odd().items():
        assert schema.validate(etree.fromstring(quotation(record))), f"{name}: {schema.error_log}"


def test_the_schema_finds_fault_with_another_order(schema: etree.XMLSchema) -> None:
    root = etree.fromstring(quotation(orders.order(orders.LOOSE)))
    root.append(root[1])
    assert not schema.validate(root)


def test_odd_quotes_add_up_from_the_xml_alone() -> None:
    for name, record in quoted.odd().items():
        check_sums(name, record)


@pytest.mark.parametrize(
    ("of", "rule"),
    [("cac:QuotationLine/cac:LineItem/cbc:LineExtensionAmount", "BR-CO-10"),
     ("cac:AllowanceCharge/cbc:Amount", "BR-CO-11"),
     ("cac:QuotedMonetaryTotal/cbc:TaxExclusiveAmount", "BR-CO-13"),
     ("cac:QuotedMonetaryTotal/cbc:PayableAmount", "BR-CO-16"),
     ("cac:TaxTotal/cac:TaxSubtotal/cbc:TaxAmount", "BR-CO-17")],
)  # fmt: skip
def test_the_second_reader_finds_a_cent(of: str, rule: str) -> None:
    root = _read(orders.order([orders.SEVERAL[0] | {"tax_code": "S"}, *orders.SEVERAL[1:]]))
    node = root.find(of, NAMES)
    assert node is not None and node.text is not None
    node.text = str(Decimal(node.text) + Decimal("0.01"))
    found = list(wrong_with(ET.tostring(root), 2))
    assert any(said.startswith(rule) for said in found), found


def test_a_trade_in_is_a_quantity_below_nothing_at_a_price_above() -> None:
    root = _read(orders.order(orders.SEVERAL))
    (line,) = (
        item
        for item in root.iterfind("cac:QuotationLine/cac:LineItem", NAMES)
        if item.findtext("cac:Item/cbc:Name", "", NAMES) == "Old server taken back"
    )
    told = ("cbc:Quantity", "cac:Price/cbc:PriceAmount", "cbc:LineExtensionAmount")
    assert [line.findtext(path, "", NAMES) for path in told] == ["-2", "120.00", "-240.00"]
    assert line.find("cac:Item/cac:SellersItemIdentification", NAMES) is None


def test_lines_say_which_server_they_are_for_where_there_are_several() -> None:
    record = orders.order(orders.SEVERAL)
    notes = _all(record, "cac:QuotationLine/cbc:Note")
    items = [item.name for item in record.items]
    assert list(dict.fromkeys(notes)) == ["Server A", "Server B", *items]
    ids = _all(record, "cac:QuotationLine/cbc:ID")
    assert ids == [str(n) for n in range(1, len(ids) + 1)]
    assert _all(orders.order(orders.LOOSE), "cac:QuotationLine/cbc:Note") == []


def test_a_quote_with_nothing_to_charge_for_is_valid(schema: etree.XMLSchema) -> None:
    record = orders.order([{"line": "Advice", "line_price": "0"}])
    bare = quoted.changed(record, items=[])
    assert schema.validate(etree.fromstring(quotation(bare))), schema.error_log
    assert list(wrong_with(quotation(bare), 2)) == []


def test_who_when_and_how_are_told() -> None:
    known = {"customer": "Coquebruine, musée des horloges boiteuses", "currency": "EUR"}
    record = orders.order([orders.BOX[0] | known])
    assert record.buyer is not None and record.buyer.tax_id
    record = quoted.changed(record, ship_date="2026-12-18", customer_ref="HB-12", revision=2)
    party = "cac:BuyerCustomerParty/cac:Party"
    said = {
        "cbc:ID": record.quote_number,
        "cbc:IssueDate": "2026-11-25",
        "cbc:Note": "Revision 2",
        "cbc:PricingCurrencyCode": "EUR",
        "cac:ValidityPeriod/cbc:EndDate": record.valid_until.isoformat(),
        "cac:RequestForQuotationDocumentReference/cbc:ID": "HB-12",
        "cac:SellerSupplierParty/cac:Party/cac:PartyName/cbc:Name": record.seller.name,
        "cac:SellerSupplierParty//cac:AddressLine/cbc:Line": record.seller.address,
        "cac:SellerSupplierParty//cac:PartyTaxScheme/cbc:CompanyID": record.seller.tax_id,
        "cac:SellerSupplierParty//cac:PartyLegalEntity/cbc:CompanyID": record.seller.company_number,
        f"{party}/cac:PartyName/cbc:Name": record.customer,
        f"{party}//cac:AddressLine/cbc:Line": record.buyer.address,
        f"{party}/cac:PartyTaxScheme/cbc:CompanyID": record.buyer.tax_id,
        f"{party}/cac:Contact/cbc:Name": record.buyer.contact,
        "cac:Delivery/cac:Despatch/cbc:EstimatedDespatchDate": "2026-12-18",
        "cac:DeliveryTerms/cbc:ID": "DAP",
        "cac:DeliveryTerms/cac:DeliveryLocation/cbc:Description":
            "the customer's door, unloaded at ground level",
        "cac:PaymentMeans/cbc:InstructionNote": record.seller.bank,
    }  # fmt: skip
    assert _all(record, "cac:TaxTotal//cbc:TaxExemptionReason") == [
        "Free of tax as an export in this example."
    ]
    for path, text in said.items():
        assert _all(record, path) == [text], path
    conditions = _all(record, "cac:TransactionConditions/cbc:Description")
    assert record.offer_terms.payment in conditions
    assert set(record.offer_terms.exclusions) <= set(conditions)


def test_a_draft_says_so_first() -> None:
    held = quoted.changed(orders.order(orders.LOOSE), draft=True, outcome="held", revision=3)
    assert [str(note)[:24] for note in _all(held, "cbc:Note")] == [
        "Draft, not yet an offer:", "Revision 3",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("own", "pct", "reasons", "code", "name", "percent", "reason"),
    [
        ("S", "20", {}, "S", None, "20", None),
        ("AA", "5", {}, "AA", None, "5", None),
        ("Z", "0", {"Z": "Zero here."}, "Z", None, "0", None),
        ("G", "0", {"G": "An export."}, "G", None, "0", "An export."),
        ("G", "0", {}, "G", None, "0", "Export outside the area of the tax"),
        ("AE", "0", {}, "AE", None, "0", "Reverse charge: the customer accounts for the tax"),
        ("ODD", "8.875", {}, "S", "ODD", "8.875", None),
        ("Z", "20", {}, "S", "Z", "20", None),
        ("S", "0", {}, "Z", "S", "0", None),
        ("FREE", "0", {"FREE": "A charity."}, "E", "FREE", "0", "A charity."),
        (None, "0", {}, "O", None, None, "No tax code was given: all amounts are without tax."),
    ],
)
def test_taxes_are_told_by_the_code_list(
    own: str | None, pct: str, reasons: dict[str, str], code: str, name: str | None,
    percent: str | None, reason: str | None,
) -> None:  # fmt: skip
    record = quoted.changed(
        orders.order(orders.LOOSE), totals__tax_code=own, totals__tax_pct=pct,
        offer_terms__tax_reasons=reasons,
    )  # fmt: skip
    (category,) = _read(record).iterfind("cac:TaxTotal//cac:TaxCategory", NAMES)
    found = ("ID", "Name", "Percent", "TaxExemptionReason")
    told = [category.findtext(f"cbc:{one}", None, NAMES) for one in found]
    assert told == [code, name, percent, reason]
    # EN 16931, BR-Z-10 (seen): zero-rated has no reason there; it is said all the same.
    assert _all(record, "cbc:Note") == (["Zero here."] if reasons.get("Z") else [])


def test_characters_that_xml_does_not_take_are_shown_as_such(schema: etree.XMLSchema) -> None:
    name = "Null\x00 bell\x07 \x1b[31m & <b> ]]> \ufffe end"
    record = quoted.changed(orders.order(orders.LOOSE), customer=name, customer_ref="a\nb\x0b")
    data = quotation(record)
    assert schema.validate(etree.fromstring(data)), schema.error_log
    (read,) = _all(record, "cac:BuyerCustomerParty//cac:PartyName/cbc:Name")
    assert read == "Null\ufffd bell\ufffd \ufffd[31m & <b> ]]> \ufffd end"


def test_money_that_is_none_is_not_exported() -> None:
    record = quoted.changed(orders.order(orders.LOOSE), currency="1000")
    for export in (quotation, items):
        with pytest.raises(NotExported, match="'1000' is not an ISO 4217 currency"):
            export(record)


def test_a_record_file_is_enough(tmp_path: Path) -> None:
    record = orders.order(orders.BOX)
    file = tmp_path / "r.json"
    file.write_text(record.to_json(), "utf-8")
    assert ubl_quotation(file) == quotation(record)
    assert dt.date.fromisoformat(str(_all(record, "cbc:IssueDate")[0])) == record.date
