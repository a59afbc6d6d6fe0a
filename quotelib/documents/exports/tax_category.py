"""What does an open standard call the tax of a quote: the code list UNCL 5305, as EN 16931 uses it.

A price list names its tax codes as it likes. One of the list's own is passed on where its rate
agrees with what the code means; any other is told by its rate, and its own name stands beside.
"""

from decimal import Decimal
from typing import NamedTuple

from quotelib.promise.record import QuoteRecord

# UNCL 5305 (status: seen in generated lists; H: memory): standard, lower and higher rate, and the
# two island taxes that EN 16931 names. EN 16931 itself knows S for every rate above nothing.
_RATED = ("S", "AA", "H", "L", "M")
_AT_ZERO = {
    "Z": "",  # EN 16931, BR-Z-10: this one has no reason
    "E": "Exempt from tax",
    "AE": "Reverse charge: the customer accounts for the tax",
    "K": "Supply within the area of the tax",
    "G": "Export outside the area of the tax",
    "O": "Not subject to tax",
}
"""Codes of nothing to pay, each with the reason it gets where the seller's terms have none."""
_NO_CODE = "No tax code was given: all amounts are without tax."


class TaxCategory(NamedTuple):
    """A tax as UNCL 5305 knows it.

    Parameters
    ----------
    code : str
        Of UNCL 5305.
    own : str
        What the price list calls it, where that is something else.
    pct : Decimal or None
        None where no rate may be stated (EN 16931, BR-O-05).
    reason : str
        Why there is nothing to pay; blank where none is called for, or allowed.
    remark : str
        A reason that the code leaves no place for.
    """

    code: str
    own: str
    pct: Decimal | None
    reason: str
    remark: str


def tax_category(record: QuoteRecord) -> TaxCategory:
    """Say which tax a quote has; all of a quote has the same."""
    own, pct = record.totals.tax_code, record.totals.tax_pct
    if own is None:
        return TaxCategory("O", "", None, _NO_CODE, "")
    said = record.offer_terms.tax_reasons.get(own, "")
    if pct:
        code = own if own in _RATED else "S"
    else:
        code = own if own in _AT_ZERO or own in {"L", "M"} else "E" if said else "Z"
    named = "" if code == own else own
    if pct or code not in _AT_ZERO:
        return TaxCategory(code, named, pct, "", said if not pct else "")
    if code == "Z":
        return TaxCategory(code, named, pct, "", said)
    return TaxCategory(code, named, None if code == "O" else pct, said or _AT_ZERO[code], "")
