"""What published closed formulas say about the mean time to data loss, one function each.

They are here to check the chain against and to explain it, not to quote from.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require
from quotelib.units import HOURS_PER_YEAR


def group_mttf_1988(
    mttf_hours: ArrayLike,
    mttr_hours: ArrayLike,
    data_drives: ArrayLike,
    group_data_drives: ArrayLike,
    group_check_drives: ArrayLike,
) -> FloatArray:
    """Mean time to failure of an array of groups that each survive one failure.

    Parameters
    ----------
    mttf_hours, mttr_hours : array_like
        Mean time to failure and to repair of a drive.
    data_drives : array_like
        Data drives in the whole array, D.
    group_data_drives, group_check_drives : array_like
        Data and check drives in a group, G and C.

    Returns
    -------
    ndarray
        Hours: ``MTTF^2 / ((D + C D / G) (G + C - 1) MTTR)``.

    Raises
    ------
    ValueError
        A number that is not above zero.

    Notes
    -----
    Patterson, Gibson, Katz, SIGMOD 1988.
    """
    mttf, mttr = _above_zero(mttf_hours=mttf_hours, mttr_hours=mttr_hours)
    d, g, c = _above_zero(
        data_drives=data_drives,
        group_data_drives=group_data_drives,
        group_check_drives=group_check_drives,
    )
    return np.asarray(mttf**2 / ((d + c * d / g) * (g + c - 1) * mttr))


def two_drives_1994(
    first_mttf_hours: ArrayLike,
    second_mttf_hours: ArrayLike,
    mttr_hours: ArrayLike,
    drives: ArrayLike,
    group_drives: ArrayLike,
) -> FloatArray:
    """Mean time until a second drive of a single-parity group fails during repair.

    Parameters
    ----------
    first_mttf_hours, second_mttf_hours : array_like
        Mean time to failure of a drive, and of one while another of its group is unrepaired.
    mttr_hours : array_like
        Mean time to repair.
    drives, group_drives : array_like
        All drives N, and those of one group G, with parity.

    Returns
    -------
    ndarray
        Hours: ``MTTF1 MTTF2 / (N (G - 1) MTTR)``.

    Raises
    ------
    ValueError
        A number that is not above zero, or groups of one drive.

    Notes
    -----
    Chen, Lee, Gibson, Katz, Patterson, ACM Computing Surveys 26(2), 1994, sections 3.4.1, 3.4.5.
    """
    first, second, mttr = _above_zero(
        first_mttf_hours=first_mttf_hours,
        second_mttf_hours=second_mttf_hours,
        mttr_hours=mttr_hours,
    )
    n, g = _above_zero(drives=drives, group_drives=group_drives)
    require(g > 1, "group_drives must be above 1: a group has a data drive and parity")
    return np.asarray(first * second / (n * (g - 1) * mttr))


def three_drives_1994(
    mttf_hours: ArrayLike, mttr_hours: ArrayLike, drives: ArrayLike, group_drives: ArrayLike
) -> FloatArray:
    """Mean time until three drives of a double-parity group are failed together.

    Parameters
    ----------
    mttf_hours, mttr_hours : array_like
        Of a drive. Failed drives are repaired one after the other.
    drives, group_drives : array_like
        All drives N, and those of one group G, with parity.

    Returns
    -------
    ndarray
        Hours: ``MTTF^3 / (N (G - 1) (G - 2) MTTR^2)``.

    Raises
    ------
    ValueError
        A number that is not above zero, or groups of two drives or fewer.

    Notes
    -----
    Chen et al. 1994, section 3.4.1.
    """
    mttf, mttr = _above_zero(mttf_hours=mttf_hours, mttr_hours=mttr_hours)
    n, g = _above_zero(drives=drives, group_drives=group_drives)
    require(g > 2, "group_drives must be above 2: a group has a data drive and two of parity")
    return np.asarray(mttf**3 / (n * (g - 1) * (g - 2) * mttr**2))


def crash_and_drive_1994(
    system_mttf_hours: ArrayLike,
    system_mttr_hours: ArrayLike,
    mttf_hours: ArrayLike,
    drives: ArrayLike,
) -> FloatArray:
    """Mean time until a drive fails before the parity left wrong by a crash is put right.

    Parameters
    ----------
    system_mttf_hours, system_mttr_hours : array_like
        Mean time between crashes and to make parity consistent again.
    mttf_hours : array_like
        Of a drive.
    drives : array_like
        All drives.

    Returns
    -------
    ndarray
        Hours: ``MTTF_system MTTF / (N MTTR_system)``.

    Raises
    ------
    ValueError
        A number that is not above zero.

    Notes
    -----
    Chen et al. 1994, section 3.4.2 and Table 4. A write-back cache without protection makes
    every power failure such a crash.
    """
    system, repair, mttf, n = _above_zero(
        system_mttf_hours=system_mttf_hours,
        system_mttr_hours=system_mttr_hours,
        mttf_hours=mttf_hours,
        drives=drives,
    )
    return np.asarray(system * mttf / (n * repair))


def drive_and_sector_1994(
    mttf_hours: ArrayLike,
    drives: ArrayLike,
    group_drives: ArrayLike,
    whole_drive_readable: ArrayLike,
) -> FloatArray:
    """Mean time until the rebuild of a single-parity group meets an unreadable sector.

    Parameters
    ----------
    mttf_hours : array_like
        Of a drive.
    drives, group_drives : array_like
        All drives N, and those of one group G, with parity.
    whole_drive_readable : array_like
        Probability p that a drive can be read from end to end.

    Returns
    -------
    ndarray
        Hours: ``MTTF / (N (1 - p^(G - 1)))``.

    Raises
    ------
    ValueError
        A number that is not above zero, a probability above 1, or groups of one drive.

    Notes
    -----
    Chen et al. 1994, section 3.4.3 and Table 4.
    """
    mttf, n, g = _above_zero(mttf_hours=mttf_hours, drives=drives, group_drives=group_drives)
    p = number("whole_drive_readable", whole_drive_readable, above=0, at_most=1)
    require(g > 1, "group_drives must be above 1: a group has a data drive and parity")
    with np.errstate(divide="ignore"):
        return np.asarray(mttf / (n * -np.expm1((g - 1) * np.log(p))))


def single_parity_2010(
    devices: ArrayLike, failures_per_hour: ArrayLike, repairs_per_hour: ArrayLike
) -> FloatArray:
    """Mean time to data loss of one single-parity group, exact for exponential times.

    Parameters
    ----------
    devices : array_like
        Drives n in the group, with parity.
    failures_per_hour, repairs_per_hour : array_like
        Lambda of one drive, and mu.

    Returns
    -------
    ndarray
        Hours: ``(mu + (2 n - 1) lambda) / (n (n - 1) lambda^2)``.

    Raises
    ------
    ValueError
        A number that is not above zero, or one drive.

    Notes
    -----
    Greenan, Plank, Wylie, HotStorage 2010.
    """
    n, fail, repair = _above_zero(
        devices=devices, failures_per_hour=failures_per_hour, repairs_per_hour=repairs_per_hour
    )
    require(n > 1, "devices must be above 1: a group has a data drive and parity")
    return np.asarray((repair + (2 * n - 1) * fail) / (n * (n - 1) * fail**2))


def parallel_repair_1988(
    mttf_hours: ArrayLike, mttr_hours: ArrayLike, devices: int, redundancy: int
) -> FloatArray:
    """Mean time to data loss of a group whose failed drives are all repaired at once.

    Parameters
    ----------
    mttf_hours, mttr_hours : array_like
        Of a drive.
    devices, redundancy : int
        Drives n in the group, and failed ones k it survives.

    Returns
    -------
    ndarray
        Hours: ``k! (n - k - 1)! / n! * MTTF^(k + 1) / MTTR^k``, for repairs much shorter than
        lifetimes.

    Raises
    ------
    ValueError
        A number that is not above zero, or no drive left to hold data.

    Notes
    -----
    Angus, IEEE Transactions on Reliability 37(3), 1988. Agrees with the 1994 formulas for no and
    for one redundant drive, and is `k!` times as long beyond.
    """
    mttf, mttr = _above_zero(mttf_hours=mttf_hours, mttr_hours=mttr_hours)
    if not 0 <= redundancy < devices:
        raise ValueError(f"redundancy is {redundancy}; right would be 0 to {devices - 1}")
    ways = math.factorial(redundancy) * math.factorial(devices - redundancy - 1)
    return np.asarray(ways / math.factorial(devices) * mttf ** (redundancy + 1) / mttr**redundancy)


def first_of(mean_hours: ArrayLike) -> FloatArray:
    """Mean time to the first of several independent, rare causes, along the last axis.

    Parameters
    ----------
    mean_hours : array_like, shape (..., causes)
        Mean time to each.

    Returns
    -------
    ndarray, shape (...)
        Hours: one over the sum of the rates.

    Raises
    ------
    ValueError
        A mean that is not above zero.
    """
    means = number("mean_hours", mean_hours, above=0, infinite=True)
    return np.asarray(1.0 / (1.0 / means).sum(axis=-1))


def chance_within(mean_hours: ArrayLike, years: ArrayLike) -> FloatArray:
    """Probability that something with a constant rate happens within some years of 8760 hours.

    Parameters
    ----------
    mean_hours : array_like
        Mean time to it.
    years : array_like
        The time.

    Returns
    -------
    ndarray
        ``1 - exp(-years / mean)``.

    Raises
    ------
    ValueError
        A mean that is not above zero, or years below zero.
    """
    mean = number("mean_hours", mean_hours, above=0, infinite=True)
    return np.asarray(-np.expm1(-number("years", years, at_least=0) * HOURS_PER_YEAR / mean))


def _above_zero(**given: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(number(name, value, above=0) for name, value in given.items())
