"""How do we count: decimal and binary units, and money rounding, kept apart by name."""

from decimal import ROUND_HALF_UP, Context, Decimal

KIB = 2**10  # IEC 80000-13
MIB = 2**20
GIB = 2**30
TIB = 2**40
MB = 10**6
GB = 10**9
TB = 10**12

HOURS_PER_YEAR = 8760  # 365 days, as lifetime data sheets count


# Wide enough for any amount of ours, whatever context the caller works in.
_WIDE = Context(prec=400)


def round_half_away(value: Decimal, places: int) -> Decimal:
    """Round a finite value half away from zero to so many decimals; zero has no sign then."""
    # decimal's ROUND_HALF_UP is symmetric: it rounds the magnitude, so -0.5 becomes -1.
    rounded = value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP, context=_WIDE)
    return rounded if rounded else abs(rounded)


def plain(value: Decimal) -> str:
    """Write a decimal without exponent and without trailing zeros (``12.50`` as ``12.5``)."""
    text = format(value, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text
