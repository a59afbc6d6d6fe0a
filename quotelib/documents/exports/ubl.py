"""How is a quote written as an OASIS UBL 2.1 Quotation: from its record, and from nothing else.

Sums follow EN 16931's order, as the record's do. Something taken in payment, a line with a price
below nothing, is a line of negative quantity: EN 16931 allows no negative price (BR-27), but a
quantity below nothing, and so the sum of lines stays the record's. As an allowance it would be a
discount, which it is not.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from lxml import etree

from quotelib.documents.exports.characters import for_xml
from quotelib.documents.exports.money import places
from quotelib.documents.exports.tax_category import TaxCategory, tax_category
from quotelib.pricing.lines import Line
from quotelib.promise.record import QuoteRecord
from quotelib.text import sentence
from quotelib.units import plain

_URN = "urn:oasis:names:specification:ubl:schema:xsd:"
_NAMES = {
    None: f"{_URN}Quotation-2",
    "cac": f"{_URN}CommonAggregateComponents-2",
    "cbc": f"{_URN}CommonBasicComponents-2",
}
_PIECE = "C62"  # UN/ECE Recommendation 20: one; services of ours are counted too, none by the hour
_DISCOUNT, _FREIGHT = "95", "FC"  # UNCL 5189 and UNCL 7161 (status: seen)
_NOT_DEFINED = "1"  # UNCL 4461: how it is paid is agreed in words
_NOTHING = Line("", "", "Nothing is charged for", 1, Decimal(0), Decimal(0))

_Node = etree._Element


def quotation(record: QuoteRecord) -> bytes:
    """Write the quotation of a record; the same record gives the same bytes.

    Raises
    ------
    NotExported
        Where its currency is none.
    """
    places(record)  # all amounts of a record have them
    root = etree.Element(f"{{{_NAMES[None]}}}Quotation", nsmap=_NAMES)
    tax = tax_category(record)
    lines = list(_lines(record)) or [("", _NOTHING)]
    _say(root, "UBLVersionID", "2.1")
    _say(root, "ID", record.quote_number)
    _say(root, "IssueDate", record.date.isoformat())
    for note in _notes(record, tax):
        _say(root, "Note", note)
    _say(root, "PricingCurrencyCode", record.currency)
    _say(root, "LineCountNumeric", str(len(lines)))
    valid = _part(root, "ValidityPeriod")
    _say(valid, "StartDate", record.date.isoformat())
    _say(valid, "EndDate", record.valid_until.isoformat())
    if record.customer_ref:
        _say(_part(root, "RequestForQuotationDocumentReference"), "ID", record.customer_ref)
    _parties(root, record)
    _conditions(root, record)
    _allowances(root, record, tax)
    _tax_total(root, record, tax)
    _totals(root, record)
    for number, (of, line) in enumerate(lines, 1):
        _line(root, str(number), of, line, record.currency, tax)
    written: bytes = etree.tostring(root, pretty_print=True, xml_declaration=True, encoding="UTF-8")
    return written


def _part(parent: _Node, name: str) -> _Node:
    return etree.SubElement(parent, f"{{{_NAMES['cac']}}}{name}")


def _say(parent: _Node, name: str, text: str | None, **attributes: str) -> None:
    if text:
        etree.SubElement(parent, f"{{{_NAMES['cbc']}}}{name}", attributes).text = for_xml(text)


def _pay(parent: _Node, name: str, amount: Decimal, currency: str) -> None:
    _say(parent, name, format(amount, "f"), currencyID=currency)


def _lines(record: QuoteRecord) -> Iterator[tuple[str, Line]]:
    """Give every line with what it is for; blank where the quote is for one thing."""
    for of, server in record.by_server():
        yield from ((of, line) for line in server.lines)
    for item in record.items:
        of = item.name if record.servers or len(record.items) > 1 else ""
        yield from ((of, line) for line in item.lines)


def _notes(record: QuoteRecord, tax: TaxCategory) -> Iterator[str]:
    if record.draft:
        yield "Draft, not yet an offer: the seller still has to confirm it; figures may change."
    if record.revision > 1:
        yield f"Revision {record.revision}"
    if tax.remark:
        yield tax.remark


def _parties(root: _Node, record: QuoteRecord) -> None:
    seller, buyer = record.seller, record.buyer
    _party(
        _part(root, "SellerSupplierParty"), seller.name, seller.address, seller.contact,
        seller.tax_id, seller.company_number,
    )  # fmt: skip
    known = (buyer.address, buyer.contact, buyer.tax_id) if buyer else (None, None, None)
    _party(_part(root, "BuyerCustomerParty"), record.customer, *known)


def _party(
    parent: _Node, name: str, address: str | None, contact: str | None, tax_id: str | None,
    company_number: str | None = None,
) -> None:  # fmt: skip
    party = _part(parent, "Party")
    _say(_part(party, "PartyName"), "Name", name)
    if address:  # it is given in one line, and nobody here takes it apart
        _say(_part(_part(party, "PostalAddress"), "AddressLine"), "Line", address)
    if tax_id:
        scheme = _part(party, "PartyTaxScheme")
        _say(scheme, "CompanyID", tax_id)
        _say(_part(scheme, "TaxScheme"), "ID", "VAT")
    legal = _part(party, "PartyLegalEntity")
    _say(legal, "RegistrationName", name)
    _say(legal, "CompanyID", company_number)
    if contact:
        _say(_part(party, "Contact"), "Name", contact)


def _conditions(root: _Node, record: QuoteRecord) -> None:
    terms = record.offer_terms
    if record.ship_date:
        despatch = _part(_part(root, "Delivery"), "Despatch")
        _say(despatch, "EstimatedDespatchDate", record.ship_date.isoformat())
    if terms.delivery:
        rule, _, place = terms.delivery.partition(" ")  # as its type has made sure
        delivery = _part(root, "DeliveryTerms")
        _say(delivery, "ID", rule, schemeName="Incoterms 2020")
        _say(_part(delivery, "DeliveryLocation"), "Description", place)
    if record.seller.bank:
        means = _part(root, "PaymentMeans")
        _say(means, "PaymentMeansCode", _NOT_DEFINED)
        _say(means, "InstructionNote", record.seller.bank)
    agreed = [*filter(None, (terms.payment, terms.warranty)), *terms.exclusions, *terms.conditions]
    if said := [*agreed, *record.terms]:
        conditions = _part(root, "TransactionConditions")
        for sentence_ in said:
            _say(conditions, "Description", sentence_)


def _allowances(root: _Node, record: QuoteRecord, tax: TaxCategory) -> None:
    totals, currency = record.totals, record.currency
    if totals.discount:
        allowance = _part(root, "AllowanceCharge")
        _say(allowance, "ChargeIndicator", "false")
        _say(allowance, "AllowanceChargeReasonCode", _DISCOUNT)
        _say(allowance, "AllowanceChargeReason", sentence(record.discount_words))
        _say(allowance, "MultiplierFactorNumeric", plain(totals.discount_pct))
        _pay(allowance, "Amount", totals.discount, currency)
        _pay(allowance, "BaseAmount", totals.lines_total - totals.once_total, currency)
        _category(allowance, "TaxCategory", tax)
    if totals.freight:
        charge = _part(root, "AllowanceCharge")
        _say(charge, "ChargeIndicator", "true")
        _say(charge, "AllowanceChargeReasonCode", _FREIGHT)
        _say(charge, "AllowanceChargeReason", "Freight")
        _pay(charge, "Amount", totals.freight, currency)
        _category(charge, "TaxCategory", tax)


def _category(parent: _Node, name: str, tax: TaxCategory, *, reason: bool = False) -> None:
    category = _part(parent, name)
    _say(category, "ID", tax.code, schemeID="UNCL5305")
    _say(category, "Name", tax.own)
    if tax.pct is not None:
        _say(category, "Percent", plain(tax.pct))
    if reason:
        _say(category, "TaxExemptionReason", tax.reason)
    _say(_part(category, "TaxScheme"), "ID", "VAT")


def _tax_total(root: _Node, record: QuoteRecord, tax: TaxCategory) -> None:
    total = _part(root, "TaxTotal")
    _pay(total, "TaxAmount", record.totals.tax, record.currency)
    subtotal = _part(total, "TaxSubtotal")
    _pay(subtotal, "TaxableAmount", record.totals.net, record.currency)
    _pay(subtotal, "TaxAmount", record.totals.tax, record.currency)
    _category(subtotal, "TaxCategory", tax, reason=True)


def _totals(root: _Node, record: QuoteRecord) -> None:
    totals, total = record.totals, _part(root, "QuotedMonetaryTotal")
    sums: Sequence[tuple[str, Decimal, bool]] = (
        ("LineExtensionAmount", totals.lines_total, True),
        ("TaxExclusiveAmount", totals.net, True),
        ("TaxInclusiveAmount", totals.gross, True),
        ("AllowanceTotalAmount", totals.discount, bool(totals.discount)),
        ("ChargeTotalAmount", totals.freight, bool(totals.freight)),
        ("PayableAmount", totals.gross, True),
    )
    for name, amount, there in sums:
        if there:
            _pay(total, name, amount, record.currency)


def _line(
    root: _Node, number: str, of: str, line: Line, currency: str, tax: TaxCategory
) -> None:  # fmt: skip
    quoted = _part(root, "QuotationLine")
    _say(quoted, "ID", number)
    _say(quoted, "Note", sentence(of))
    made = _part(quoted, "LineItem")
    back = -1 if line.unit_price < 0 else 1
    _say(made, "ID", number)
    _say(made, "Quantity", str(back * line.quantity), unitCode=_PIECE)
    _pay(made, "LineExtensionAmount", line.amount, currency)
    price = _part(made, "Price")
    _pay(price, "PriceAmount", back * line.unit_price, currency)
    _say(price, "BaseQuantity", "1", unitCode=_PIECE)
    item = _part(made, "Item")
    _say(item, "Name", line.description)
    if line.sku:
        _say(_part(item, "SellersItemIdentification"), "ID", line.sku)
    _category(item, "ClassifiedTaxCategory", tax)
