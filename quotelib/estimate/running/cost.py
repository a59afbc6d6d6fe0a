"""What does the power cost in a year."""

from decimal import Decimal

from quotelib.units import HOURS_PER_YEAR


def cost_per_year(watts: float | Decimal, price_per_kwh: Decimal) -> Decimal:
    """Cost of a year's energy, in the tariff's currency, exact and not yet rounded.

    Cooling and the supply's own losses are not in it.

    Parameters
    ----------
    watts : float or Decimal
        Mean power, finite, zero or more; a float counts as the shortest decimal that means it.
    price_per_kwh : Decimal
        Tariff in some currency per kilowatt-hour, zero or more.

    Raises
    ------
    TypeError
        A tariff that is not a Decimal: money is never a float.
    """
    if not isinstance(price_per_kwh, Decimal):
        raise TypeError("price_per_kwh must be a Decimal: money is never a float")
    power = watts if isinstance(watts, Decimal) else Decimal(repr(float(watts)))
    for name, value in (("watts", power), ("price_per_kwh", price_per_kwh)):
        if not value.is_finite() or value < 0:
            raise ValueError(f"{name} is {value}; right would be a number of zero or more")
    return power * HOURS_PER_YEAR / 1000 * price_per_kwh
