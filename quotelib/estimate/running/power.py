"""How much power does it draw, and how much heat does it give off."""

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require
from quotelib.units import HOURS_PER_YEAR

BTU_PER_HOUR_PER_WATT = 3.412  # NIST SP 811, appendix B: 1 Btu(IT)/h is 0.293 071 1 W


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
