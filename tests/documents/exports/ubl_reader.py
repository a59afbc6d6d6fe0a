"""A second reader: what a UBL quotation comes to by EN 16931's rules, from the XML alone.

It shares no code with what writes them, nor its library for XML. The rules are those of
EN 16931-1, 6.4; each is named where it is worked out. Status of all that are named in this file:
seen, in public copies of the standard's validation artefacts. An invoice is meant there; a
quotation has the same sums under the same names.
"""

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal

from quotelib.catalogue.terms import minor_digits
from quotelib.documents.exports.ubl import quotation
from quotelib.promise.record import QuoteRecord

_URN = "urn:oasis:names:specification:ubl:schema:xsd:"
NAMES = {
    "cbc": f"{_URN}CommonBasicComponents-2",
    "cac": f"{_URN}CommonAggregateComponents-2",
}
_NO_REASON, _REASON = {"S", "AA", "Z"}, {"E", "AE", "K", "G", "O"}


def _amount(node: ET.Element, path: str) -> Decimal:
    found = node.find(path, NAMES)
    return Decimal(0) if found is None else Decimal(found.text or "")


def _text(node: ET.Element, path: str) -> str:
    return node.findtext(path, "", NAMES)


def _tax(node: ET.Element, name: str) -> tuple[str, str]:
    return _text(node, f"cac:{name}/cbc:ID"), _text(node, f"cac:{name}/cbc:Percent")


def wrong_with(data: bytes, places: int) -> Iterator[str]:
    """Find what does not follow the rules, each with the rule's name."""
    root = ET.fromstring(data)
    lines = root.findall("cac:QuotationLine/cac:LineItem", NAMES)
    beside = root.findall("cac:AllowanceCharge", NAMES)
    away = [one for one in beside if _text(one, "cbc:ChargeIndicator") == "false"]
    more = [one for one in beside if _text(one, "cbc:ChargeIndicator") == "true"]
    due = root.find("cac:QuotedMonetaryTotal", NAMES)
    taxes = root.findall("cac:TaxTotal/cac:TaxSubtotal", NAMES)
    assert due is not None and len(away) + len(more) == len(beside)
    cent = Decimal(1).scaleb(-places)

    lines_net = [_amount(line, "cbc:LineExtensionAmount") for line in lines]
    allowances = sum((_amount(one, "cbc:Amount") for one in away), Decimal(0))
    charges = sum((_amount(one, "cbc:Amount") for one in more), Decimal(0))
    without = sum(lines_net) - allowances + charges
    tax = sum((_amount(one, "cbc:TaxAmount") for one in taxes), Decimal(0))
    paid = _amount(due, "cbc:PrepaidAmount"), _amount(due, "cbc:PayableRoundingAmount")
    sums = {
        "BR-CO-10": (_amount(due, "cbc:LineExtensionAmount"), sum(lines_net)),
        "BR-CO-11": (_amount(due, "cbc:AllowanceTotalAmount"), allowances),
        "BR-CO-12": (_amount(due, "cbc:ChargeTotalAmount"), charges),
        "BR-CO-13": (_amount(due, "cbc:TaxExclusiveAmount"), without),
        "BR-CO-14": (_amount(root, "cac:TaxTotal/cbc:TaxAmount"), tax),
        "BR-CO-15": (_amount(due, "cbc:TaxInclusiveAmount"), without + tax),
        "BR-CO-16": (_amount(due, "cbc:PayableAmount"), without + tax - paid[0] + paid[1]),
    }
    yield from (f"{rule}: {a} is not {b}" for rule, (a, b) in sums.items() if a != b)

    # BR-S-08, BR-Z-08 and so on: what is taxed is all that has the tax; BR-CO-17: and how much.
    groups = [_tax(one, "TaxCategory") for one in taxes]
    used = [_tax(line, "Item/cac:ClassifiedTaxCategory") for line in lines]
    used += [_tax(one, "TaxCategory") for one in beside]
    if set(used) - set(groups) or len(set(groups)) != len(groups):
        yield f"BR-CO-18: {used} against {groups}"
    for group, one in zip(groups, taxes, strict=True):
        own = [net for net, of in zip(lines_net, used, strict=False) if of == group]
        own += [-_amount(b, "cbc:Amount") for b in away if _tax(b, "TaxCategory") == group]
        own += [_amount(b, "cbc:Amount") for b in more if _tax(b, "TaxCategory") == group]
        taxable, code = _amount(one, "cbc:TaxableAmount"), group[0]
        if taxable != sum(own):
            yield f"BR-{code}-08: {taxable} is not {sum(own)}"
        rate = Decimal(group[1] or 0)
        if _amount(one, "cbc:TaxAmount") != (taxable * rate / 100).quantize(cent, ROUND_HALF_UP):
            yield f"BR-CO-17: {taxable} at {rate} %"
        reason = _text(one, "cac:TaxCategory/cbc:TaxExemptionReason")
        if bool(reason) is not (code in _REASON) or code not in _REASON | _NO_REASON:
            yield f"BR-{code}-10: the reason is {reason!r}"
        if (rate > 0) is not (code in {"S", "AA"}) or bool(group[1]) is (code == "O"):
            yield f"BR-{code}-05: the rate is {group[1]!r}"

    numbers = [_text(line, "cbc:ID") for line in lines]
    if len(set(numbers)) < len(numbers) or not all(numbers):
        yield f"BR-21: {numbers}"
    for line, net in zip(lines, lines_net, strict=True):
        price, each = _amount(line, "cac:Price/cbc:PriceAmount"), _amount(line, "cbc:Quantity")
        base = _amount(line, "cac:Price/cbc:BaseQuantity")
        quantity = line.find("cbc:Quantity", NAMES)
        if quantity is None or quantity.get("unitCode") != "C62":
            yield "BR-22, BR-23: no quantity with a unit"
        if not _text(line, "cac:Item/cbc:Name").strip():
            yield "BR-25: no name"
        if price < 0:
            yield f"BR-27: {price}"
        # The definition of BT-131, here without allowances of a line.
        if net != (each * price / base).quantize(cent, ROUND_HALF_UP):
            yield f"BT-131: {each} x {price} is not {net}"
    for one in beside:
        if not _text(one, "cbc:AllowanceChargeReason"):
            yield "BR-33, BR-38: no reason"
        if _text(one, "cbc:MultiplierFactorNumeric"):
            share = _amount(one, "cbc:BaseAmount") * _amount(one, "cbc:MultiplierFactorNumeric")
            if _amount(one, "cbc:Amount") != (share / 100).quantize(cent, ROUND_HALF_UP):
                yield "BT-92: not its percentage of its base"
    written = {node.get("currencyID") for node in root.iter() if node.get("currencyID")}
    if written != {_text(root, "cbc:PricingCurrencyCode")}:
        yield f"several currencies: {written}"


def totals(data: bytes) -> dict[str, Decimal]:
    """Read the sums by the names that a record has for them."""
    root = ET.fromstring(data)
    due = "cac:QuotedMonetaryTotal/cbc:"
    return {
        "lines_total": _amount(root, f"{due}LineExtensionAmount"),
        "discount": _amount(root, f"{due}AllowanceTotalAmount"),
        "freight": _amount(root, f"{due}ChargeTotalAmount"),
        "net": _amount(root, f"{due}TaxExclusiveAmount"),
        "tax": _amount(root, "cac:TaxTotal/cbc:TaxAmount"),
        "gross": _amount(root, f"{due}PayableAmount"),
    }


def check_sums(name: str, record: QuoteRecord) -> None:
    """Check that a record's quotation adds up by the rules, and to what the record says."""
    data = quotation(record)
    assert list(wrong_with(data, minor_digits(record.currency) or 0)) == [], name
    for what, amount in totals(data).items():
        assert amount == getattr(record.totals, what), f"{name}, {what}"
    assert quotation(record) == data, f"{name}: other bytes"
