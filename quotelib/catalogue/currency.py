"""Which currencies are there, and how many decimals has each: ISO 4217."""

from functools import cache

import iso4217


@cache
def minor_digits(code: str) -> int | None:
    """Count the decimals of a currency's minor unit: 2 for EUR, 0 for JPY, 3 for KWD.

    None where the alphabetic code is unknown or has no minor unit (precious metals, test codes).

    Notes
    -----
    From ISO 4217's list one. CLDR's figures follow everyday use instead and differ for some
    currencies (IQD: 0 there, 3 here).
    """
    try:
        exponent: int | None = iso4217.Currency(code).exponent
    except ValueError:
        return None
    return exponent
