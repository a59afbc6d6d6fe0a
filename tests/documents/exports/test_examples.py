"""Every example quote as a quotation and as a workbook: valid, and with the record's sums."""

from lxml import etree

from quotelib.documents.exports.ubl import quotation

from . import quoted, sheet_reader, ubl_reader
from .ubl_reader import NAMES


def test_there_are_all_kinds_of_quotes() -> None:
    records = list(quoted.examples().values())
    assert len(records) > 48
    assert any(record.draft for record in records) and any(r.totals.discount for r in records)
    assert {"GBP", "EUR"} <= {record.currency for record in records}
    assert any(line.amount < 0 for r in records for item in r.items for line in item.lines)
    assert any(not record.servers for record in records)


def test_every_quotation_is_valid(schema: etree.XMLSchema) -> None:
    for name, record in quoted.examples().items():
        assert schema.validate(etree.fromstring(quotation(record))), f"{name}: {schema.error_log}"


def test_every_quotation_adds_up_from_the_xml_alone() -> None:
    for name, record in quoted.examples().items():
        ubl_reader.check_sums(name, record)


def test_every_workbook_adds_up_with_and_without_working_out() -> None:
    for name, record in quoted.examples().items():
        sheet_reader.check_sums(name, record)


def test_what_the_customer_owns_is_no_line() -> None:
    some = False
    for record in quoted.examples().values():
        lines = [line for one in (*record.servers, *record.items) for line in one.lines]
        sold = {line.sku for line in lines if line.sku}
        owned = {p.sku for server in record.servers for p in server.parts if p.owned} - sold
        found = etree.fromstring(quotation(record)).iterfind(
            "cac:QuotationLine//cac:SellersItemIdentification/cbc:ID", NAMES
        )
        told = {node.text for node in found}
        assert told == sold and not owned & told
        some = some or bool(owned)
    assert some
