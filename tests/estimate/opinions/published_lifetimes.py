"""What published closed formulas say about the mean time to data loss; all times in hours."""

from __future__ import annotations

import math

from quotelib.units import HOURS_PER_YEAR


def group_mttf_1988(
    mttf: float, mttr: float, data_drives: float, group_data: float, group_check: float
) -> float:
    """Array of groups that each survive one failure: MTTF^2 / ((D + C D / G) (G + C - 1) MTTR).

    Patterson, Gibson, Katz, SIGMOD 1988.
    """
    drives = data_drives + group_check * data_drives / group_data
    return mttf**2 / (drives * (group_data + group_check - 1) * mttr)


def two_drives_1994(first: float, second: float, mttr: float, drives: float, group: float) -> float:
    """Second drive of a single-parity group during repair: MTTF1 MTTF2 / (N (G - 1) MTTR).

    Chen, Lee, Gibson, Katz, Patterson, ACM Computing Surveys 26(2), 1994, sections 3.4.1, 3.4.5.
    """
    return first * second / (drives * (group - 1) * mttr)


def three_drives_1994(mttf: float, mttr: float, drives: float, group: float) -> float:
    """Three drives of a double-parity group: MTTF^3 / (N (G - 1) (G - 2) MTTR^2).

    Failed drives are repaired one after the other. Chen et al. 1994, section 3.4.1.
    """
    return mttf**3 / (drives * (group - 1) * (group - 2) * mttr**2)


def drive_and_sector_1994(mttf: float, drives: float, group: float, readable: float) -> float:
    """Rebuild meets an unreadable sector: MTTF / (N (1 - p^(G - 1))). Section 3.4.3, Table 4."""
    return mttf / (drives * -math.expm1((group - 1) * math.log(readable)))


def single_parity_2010(devices: int, fail: float, repair: float) -> float:
    """Exact for exponential times: (mu + (2 n - 1) lambda) / (n (n - 1) lambda^2).

    Greenan, Plank, Wylie, HotStorage 2010.
    """
    return (repair + (2 * devices - 1) * fail) / (devices * (devices - 1) * fail**2)


def single_parity_within_1992(devices: int, fail: float, repair: float, hours: float) -> float:
    """Chance of loss within a time: 1 - (s1 exp(s2 t) - s2 exp(s1 t)) / (s1 - s2).

    s1 and s2 are the roots of s^2 + (repair + (2 n - 1) fail) s + n (n - 1) fail^2 = 0. Gibson,
    Redundant Disk Arrays, MIT Press, 1992, chapter 5 (memory; re-derived by Laplace transform).
    """
    total, ends = repair + (2 * devices - 1) * fail, devices * (devices - 1) * fail**2
    root = math.sqrt(total**2 - 4 * ends)
    slow, fast = -2 * ends / (total + root), -(total + root) / 2
    return 1 - (fast * math.exp(slow * hours) - slow * math.exp(fast * hours)) / (fast - slow)


def parallel_repair_1988(mttf: float, mttr: float, devices: int, redundancy: int) -> float:
    """All failed drives repaired at once: k! (n - k - 1)! / n! * MTTF^(k + 1) / MTTR^k.

    For repairs much shorter than lifetimes. Angus, IEEE Transactions on Reliability 37(3), 1988.
    """
    ways = math.factorial(redundancy) * math.factorial(devices - redundancy - 1)
    return ways / math.factorial(devices) * mttf ** (redundancy + 1) / mttr**redundancy


def first_of(*mean_hours: float) -> float:
    """Mean time to the first of several independent, rare causes."""
    return 1 / sum(1 / mean for mean in mean_hours)


def chance_within(mean_hours: float, years: float) -> float:
    """Probability that something with a constant rate happens within some years."""
    return -math.expm1(-years * HOURS_PER_YEAR / mean_hours)
