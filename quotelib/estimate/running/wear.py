"""How long until flash drives have taken the writes they are rated for."""

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number

DAYS_PER_YEAR = 365
_GB_PER_TB = 1000.0


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
