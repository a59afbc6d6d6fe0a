"""What does it take to run: power and its cost, heat, wear of flash, mass to lift."""

from decimal import Decimal

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require
from quotelib.units import HOURS_PER_YEAR

LIFTING_CONSTANT_KG = 23.0
"""Most for one person in an ideal posture: less away from the body, low, high or often.

Source: Waters, Putz-Anderson, Garg, Applications Manual for the Revised NIOSH Lifting Equation,
DHHS (NIOSH) 94-110, 1994: load constant 23 kg (51 lb). Lifting limits differ by country: local
rules come first.
"""

BTU_PER_HOUR_PER_WATT = 3.412  # NIST SP 811, appendix B: 1 Btu(IT)/h is 0.293 071 1 W
DAYS_PER_YEAR = 365
_GB_PER_TB = 1000.0


def mean_watts(idle_w: ArrayLike, active_w: ArrayLike, active_share: ArrayLike) -> FloatArray:
    """Power between idle and active, in watts: ``idle + (active - idle) * share``.

    Parameters
    ----------
    idle_w, active_w : array_like
        Watts, at least zero; active at least as much as idle.
    active_share : array_like
        Share of the time at work, 0 to 1.
    """
    idle = number("idle_w", idle_w, at_least=0)
    active = number("active_w", active_w, at_least=0)
    share = number("active_share", active_share, at_least=0, at_most=1)
    require(~(active < idle), "active_w must be at least idle_w")
    # Rounding must not carry it past an end.
    return np.asarray(np.clip(idle * (1.0 - share) + active * share, idle, active))


def heat_btu_per_hour(watts: ArrayLike) -> FloatArray:
    """Heat the room must carry away, in BTU an hour, as all power ends as heat: 3.412 for each of
    these watts, zero or more. Source: NIST Special Publication 811, appendix B.
    """
    return np.asarray(BTU_PER_HOUR_PER_WATT * number("watts", watts, at_least=0))


def kwh_per_year(watts: ArrayLike) -> FloatArray:
    """Energy of a year of 8760 hours without a break, in kWh; mean watts, zero or more."""
    return np.asarray(number("watts", watts, at_least=0) * HOURS_PER_YEAR / 1000.0)


def supply_share(watts: ArrayLike, supply_w: ArrayLike) -> FloatArray:
    """Share of the supply's rated watts, above zero, that is in use; above 1 cannot be built."""
    return np.asarray(number("watts", watts, at_least=0) / number("supply_w", supply_w, above=0))


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


def rated_writes_tb(
    capacity_gb: ArrayLike, writes_per_day: ArrayLike, warranty_years: ArrayLike
) -> FloatArray:
    """Terabytes a drive may be written over its rated life: capacity x writes a day x 365 x years.

    JEDEC JESD218 rates endurance in terabytes written under the workloads of JESD219; a workload of
    small random writes wears faster, a sequential one slower.

    Parameters
    ----------
    capacity_gb, writes_per_day, warranty_years : array_like
        Capacity as advertised, rated whole-drive writes a day, years they are for; above zero.
    """
    return np.asarray(
        number("capacity_gb", capacity_gb, above=0)
        * number("writes_per_day", writes_per_day, above=0)
        * DAYS_PER_YEAR
        * number("warranty_years", warranty_years, above=0)
        / _GB_PER_TB
    )


def drive_writes_gb_per_day(
    host_gb_per_day: ArrayLike, array_write_factor: ArrayLike, drives: ArrayLike
) -> FloatArray:
    """Gigabytes a day each member drive is written.

    Parameters
    ----------
    host_gb_per_day : array_like
        What the host writes, zero or more.
    array_write_factor : array_like
        Bytes written to all drives for one byte from the host, at least 1: 1 without redundancy,
        2 for mirrors; for parity it depends on the size of the writes.
    drives : array_like of int
        Members that share the writes, at least 1.
    """
    return np.asarray(
        number("host_gb_per_day", host_gb_per_day, at_least=0)
        * number("array_write_factor", array_write_factor, at_least=1)
        / number("drives", drives, at_least=1, whole=True)
    )


def years_to_rating(rated_tb: ArrayLike, drive_gb_per_day: ArrayLike) -> FloatArray:
    """Years of 365 days until a drive has taken its rated writes; infinite if it is not written.

    Reaching the rating ends a warranty, not necessarily the drive.

    Parameters
    ----------
    rated_tb, drive_gb_per_day : array_like
        From `rated_writes_tb`, above zero, and `drive_writes_gb_per_day`, zero or more.
    """
    rated = number("rated_tb", rated_tb, above=0)
    daily = number("drive_gb_per_day", drive_gb_per_day, at_least=0)
    with np.errstate(divide="ignore"):
        return np.asarray(rated * _GB_PER_TB / (daily * DAYS_PER_YEAR))
