"""How much power, heat and money does it take to run."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require
from quotelib.units import HOURS_PER_YEAR

BTU_PER_HOUR_PER_WATT = 3.412  # NIST SP 811, appendix B: 1 Btu(IT)/h is 0.293 071 1 W


def drives_watts(drives: ArrayLike, watts_each: ArrayLike) -> FloatArray:
    """Power of equal drives.

    Parameters
    ----------
    drives : array_like of int
        Members and spares, zero or more.
    watts_each : array_like
        Idle or active watts of one, zero or more.

    Returns
    -------
    ndarray
        Watts. NaN in, NaN out.

    Raises
    ------
    ValueError
        A negative number.
    """
    return np.asarray(
        number("drives", drives, at_least=0, whole=True)
        * number("watts_each", watts_each, at_least=0)
    )


def mean_watts(idle_w: ArrayLike, active_w: ArrayLike, active_share: ArrayLike) -> FloatArray:
    """Power between idle and active.

    Parameters
    ----------
    idle_w, active_w : array_like
        Watts; active at least as much as idle.
    active_share : array_like
        Share of the time at work, 0 to 1.

    Returns
    -------
    ndarray
        Watts: ``idle + (active - idle) * share``. NaN in, NaN out.

    Raises
    ------
    ValueError
        Negative watts, active below idle, or a share outside 0 to 1.
    """
    idle = number("idle_w", idle_w, at_least=0)
    active = number("active_w", active_w, at_least=0)
    share = number("active_share", active_share, at_least=0, at_most=1)
    require(~(active < idle), "active_w must be at least idle_w")
    # Rounding must not carry it past an end.
    return np.asarray(np.clip(idle * (1.0 - share) + active * share, idle, active))


def heat_btu_per_hour(watts: ArrayLike) -> FloatArray:
    """Heat the room must carry away: all power ends as heat.

    Parameters
    ----------
    watts : array_like
        Zero or more.

    Returns
    -------
    ndarray
        British thermal units an hour, 3.412 a watt. NaN in, NaN out.

    Raises
    ------
    ValueError
        Negative watts.

    Notes
    -----
    NIST Special Publication 811, appendix B.
    """
    return np.asarray(BTU_PER_HOUR_PER_WATT * number("watts", watts, at_least=0))


def kwh_per_year(watts: ArrayLike) -> FloatArray:
    """Energy of a year of 8760 hours without a break.

    Parameters
    ----------
    watts : array_like
        Mean power, zero or more.

    Returns
    -------
    ndarray
        Kilowatt-hours. NaN in, NaN out.

    Raises
    ------
    ValueError
        Negative watts.
    """
    return np.asarray(number("watts", watts, at_least=0) * HOURS_PER_YEAR / 1000.0)


def cost_per_year(watts: float | Decimal, price_per_kwh: Decimal) -> Decimal:
    """Cost of a year's energy, exact and not yet rounded.

    Parameters
    ----------
    watts : float or Decimal
        Mean power, finite, zero or more; a float counts as the shortest decimal that means it.
    price_per_kwh : Decimal
        Tariff in some currency per kilowatt-hour, zero or more.

    Returns
    -------
    Decimal
        In the tariff's currency. Cooling and the supply's own losses are not in it.

    Raises
    ------
    ValueError
        A negative or non-finite number.
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


def supply_share(watts: ArrayLike, supply_w: ArrayLike) -> FloatArray:
    """Share of the power supply's rating that is in use.

    Parameters
    ----------
    watts : array_like
        Zero or more.
    supply_w : array_like
        Rated output of the supply, above zero.

    Returns
    -------
    ndarray
        1 is all of it; above 1 cannot be built. NaN in, NaN out.

    Raises
    ------
    ValueError
        Negative watts, or a supply that is not above zero.
    """
    return np.asarray(number("watts", watts, at_least=0) / number("supply_w", supply_w, above=0))
