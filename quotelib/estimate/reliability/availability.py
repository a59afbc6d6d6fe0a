"""How long is the data away: after a loss the drives are replaced and a backup is read back."""

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.changing import COPY_MB_S
from quotelib.estimate.checks import FloatArray, number
from quotelib.units import HOURS_PER_YEAR

# Until somebody has noticed a loss and put drives in: on site, the next day, after a weekend.
# Common practice, no source.
NOTICE_HOURS = (4.0, 24.0, 72.0)

# Many small files come back more slowly than one long stream. Common practice, no source.
SMALL_FILES = 2.0


def restore_rates_mb_s(stated_mb_s: float | None = None) -> tuple[float, float, float]:
    """Give the fastest, usual and slowest rate of a restore, in MB/s.

    Without a stated rate the payload of Ethernet at 10, 2.5 and 1 Gbit/s; a stated one holds, and
    half of it at the slowest.
    """
    if stated_mb_s is None:
        fast, usual, slow = COPY_MB_S
        return fast, usual, slow
    rate = float(number("restore rate in MB/s", stated_mb_s, above=0))
    return rate, rate, rate / SMALL_FILES


def losses_per_year(chance: ArrayLike, years: ArrayLike) -> FloatArray:
    """Mean number of losses a year behind a chance of at least one over some years.

    ``-log(1 - chance) / years``: losses that arrive at a constant rate, put right each time.

    Parameters
    ----------
    chance : array_like of float
        0 to 1; infinitely many for 1.
    years : array_like of float
        Above zero.
    """
    p = number("chance", chance, at_least=0, at_most=1)
    span = number("years", years, above=0)
    with np.errstate(divide="ignore"):
        return np.asarray(-np.log1p(-p) / span)


def hours_without_data(losses_a_year: ArrayLike, hours_each: ArrayLike) -> FloatArray:
    """Expected hours of a year without the data: ``8760 r D / (8760 + r D)``.

    Of an alternating renewal process with a mean of 8760 / r hours until a loss and D hours until
    all is back: unavailability is D / (MTTF + D) (Barlow and Proschan, Mathematical Theory of
    Reliability, 1965). For rare losses it is their number times their hours.

    Parameters
    ----------
    losses_a_year : array_like of float
        r, at least zero; infinite counts as without data all the year.
    hours_each : array_like of float
        D, at least zero and finite.
    """
    rate = number("losses a year", losses_a_year, at_least=0, infinite=True)
    each = number("hours until the data is back", hours_each, at_least=0)
    with np.errstate(invalid="ignore"):
        away = rate * each  # never times no hours stays no hours
    away = np.where((each == 0) & np.isinf(rate), 0.0, away)
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / (1.0 / away + 1.0 / HOURS_PER_YEAR))
