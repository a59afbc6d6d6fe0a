"""How many decimals has the money of a quote, where somebody else's program reads it."""

from quotelib.catalogue.terms import minor_digits
from quotelib.errors import NotExported, shown
from quotelib.promise.record import QuoteRecord


def places(record: QuoteRecord) -> int:
    """Count the decimals of a record's currency.

    Raises
    ------
    NotExported
        Where it is none of ISO 4217: the record was edited by hand, and nobody could read it.
    """
    found = minor_digits(record.currency)
    if found is None:
        raise NotExported(f"{shown(record.currency)!r} is not an ISO 4217 currency")
    return found
