"""How is money counted: exact decimals, rounded to the minor unit where the contract says."""

from contextlib import AbstractContextManager
from decimal import Context, Decimal, localcontext

from quotelib.catalogue.terms import minor_digits
from quotelib.units import round_half_away

# Cells carry at most 30 digits; a product of a few of them stays exact in this many.
_EXACT = Context(prec=200)


def digits(currency: str) -> int:
    """Count a currency's decimals (ISO 4217); raise ValueError for a code that is none."""
    places = minor_digits(currency)
    if places is None:
        raise ValueError(f"{currency!r} is not an ISO 4217 currency with a minor unit")
    return places


def to_minor(currency: str, *factors: Decimal | int) -> Decimal:
    """Multiply exactly and round half away from zero to the currency's minor unit."""
    with exact():
        amount = Decimal(1)
        for factor in factors:
            amount *= factor
        return round_half_away(amount, digits(currency))


def exact() -> AbstractContextManager[Context]:
    """Open a decimal context wide enough that no product or sum of ours is rounded in it."""
    return localcontext(_EXACT)


def share(currency: str, amount: Decimal, pct: Decimal) -> Decimal:
    """Take a percentage of an amount, rounded to the minor unit."""
    return to_minor(currency, amount, pct, Decimal("0.01"))
