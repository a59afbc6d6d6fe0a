"""How much power does it draw, and how much heat does it give off."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require
from quotelib.units import HOURS_PER_YEAR

BTU_PER_HOUR_PER_WATT = 3.412  # NIST SP 811, appendix B: 1 Btu(IT)/h is 0.293 071 1 W


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
