"""What a quote says about losing data: the chance, its range, and how much."""

from dataclasses import dataclass, fields, replace
from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, common_shape, number
from quotelib.estimate.reliability.field_rates import AFTER_FAILURE_1994, MttfRange, mttf_range
from quotelib.estimate.reliability.loss import Loss, loss_probability, mean_hours_to_loss
from quotelib.estimate.reliability.protection import Protection, unreadable_probability


@dataclass(frozen=True)
class Risk:
    """Everything a quote says about losing data, each figure in the common shape.

    Parameters
    ----------
    mttf : MttfRange
        Lifetimes of a drive the cases below rest on.
    loss : Loss
        Expected: the more prudent of data sheet and mean field rate.
    best, worst : Loss
        At the longest lifetime, and at the shortest with the rebuild under host load.
    array_low, array_high : ndarray
        Chance of losing the array at the most hopeful and the worst published failure rate.
    loss_low, loss_high : ndarray
        The same, of losing any data.
    array_correlated, loss_correlated : ndarray
        As `loss.array` and `loss.any_data` if, after a first failure, the others fail
        `after_failure_factor` times as often.
    rebuild_unreadable : ndarray
        Chance that one rebuild without redundancy left meets an unreadable sector; zero for an
        array without redundancy, which has no rebuild.
    tb_lost, tb_lost_low, tb_lost_high : ndarray
        Mean terabytes lost over the years. The high end lets an unreadable sector cost the array.
    mttdl_hours : ndarray
        Mean time to data loss, expected; show it only with `MTTDL_CAUTION`.
    """

    mttf: MttfRange
    loss: Loss
    best: Loss
    worst: Loss
    array_low: FloatArray
    array_high: FloatArray
    loss_low: FloatArray
    loss_high: FloatArray
    array_correlated: FloatArray
    loss_correlated: FloatArray
    rebuild_unreadable: FloatArray
    tb_lost: FloatArray
    tb_lost_low: FloatArray
    tb_lost_high: FloatArray
    mttdl_hours: FloatArray


@dataclass(frozen=True)
class TbLost:
    """Mean amount of data lost, in terabytes; both ends are common practice, no source."""

    low: FloatArray  # an unreadable sector costs its strip
    high: FloatArray  # it costs the array, as with controllers that give up a rebuild


def expected_tb_lost(
    loss: Loss, *, usable_tb: ArrayLike, striped: ArrayLike, strip_tb: ArrayLike
) -> TbLost:
    """Mean amount of data lost over the years of `loss`, as a range.

    ``usable x chance of losing the array + strip x strips lost``: the magnitude of data loss of
    Greenan, Plank and Wylie, HotStorage 2010, before they divide it by the capacity.

    Parameters
    ----------
    loss : Loss
        From `loss_probability`.
    usable_tb : array_like
        Usable capacity of the whole array, taken as full, at least zero.
    striped : array_like of bool
        True where losing one group loses the array; False for drives used one by one, without
        redundancy.
    strip_tb : array_like
        What an unreadable sector costs where the controller goes on: its strip, at least zero.
    """
    usable = number("usable_tb", usable_tb, at_least=0)
    strip = np.minimum(number("strip_tb", strip_tb, at_least=0), usable)
    whole = np.asarray(striped, dtype=bool)
    # drives used one by one: the mean of a sum is the sum of the means
    high = usable * np.where(whole, loss.any_data, loss.group)
    low = usable * np.where(whole, loss.array, loss.group) + strip * loss.strips
    return TbLost(*(np.minimum(end, usable) for end in (low, np.maximum(low, high))))


def assess(
    protection: Protection,
    years: ArrayLike,
    *,
    media: ArrayLike,
    usable_tb: ArrayLike,
    striped: ArrayLike,
    strip_tb: ArrayLike,
    rebuild_hours_high: ArrayLike | None = None,
    after_failure_factor: float = AFTER_FAILURE_1994,
) -> Risk:
    """Work out every figure a quote gives about losing data, with its range.

    Low, expected and high come from the failure rates in `field_rates.mttf_range`.

    Parameters
    ----------
    protection : Protection
        With the data sheet's figure in `mttf_hours`, and the rebuild time without host load.
    years : array_like
        Years in service, zero or more.
    media : array_like of str
        ``"hdd"`` or ``"ssd"``: whose field rates give the range.
    usable_tb, striped, strip_tb : array_like
        As for `expected_tb_lost`.
    rebuild_hours_high : array_like, optional
        Rebuild time under host load, for the high end; else as in `protection`.
    after_failure_factor : float
        For `Risk.loss_correlated`; by default that of Chen et al. 1994, Table 4.

    Raises
    ------
    ValueError
        As for `Protection`; also where the range of failure rates reaches one that a drive could
        not be repaired under.
    """
    mttf = mttf_range(protection.mttf_hours, media)
    expected = replace(protection, mttf_hours=mttf.expected)
    high_hours = protection.rebuild_hours if rebuild_hours_high is None else rebuild_hours_high
    best, loss, worst, correlated = _losses(
        [
            replace(protection, mttf_hours=mttf.best),
            expected,
            replace(protection, mttf_hours=mttf.worst, rebuild_hours=high_hours),
            replace(expected, after_failure_factor=after_failure_factor),
        ],
        years,
    )
    lost = partial(
        expected_tb_lost,
        usable_tb=usable_tb,
        striped=striped,
        strip_tb=strip_tb,
    )
    tb_lost = lost(loss).low
    n, k = (np.asarray(x, dtype=np.float64) for x in (protection.members, protection.redundancy))
    return Risk(
        mttf=mttf,
        loss=loss,
        best=best,
        worst=worst,
        # where two ends of the range meet, rounding must not turn them round
        array_low=np.minimum(best.array, loss.array),
        array_high=np.maximum(worst.array, loss.array),
        loss_low=np.minimum(best.any_data, loss.any_data),
        loss_high=np.maximum(worst.any_data, loss.any_data),
        array_correlated=np.maximum(correlated.array, loss.array),
        loss_correlated=np.maximum(correlated.any_data, loss.any_data),
        rebuild_unreadable=unreadable_probability(
            np.where(k > 0, n - k, 0.0), protection.drive_bytes, protection.bit_error_rate
        ),
        tb_lost=tb_lost,
        tb_lost_low=np.minimum(lost(best).low, tb_lost),
        tb_lost_high=np.maximum(lost(worst).high, tb_lost),
        mttdl_hours=mean_hours_to_loss(expected),
    )


def _losses(cases: list[Protection], years: ArrayLike) -> list[Loss]:
    """Work out several variations in one go, which for a single quote saves most of the time."""
    time = np.asarray(years, dtype=np.float64)
    lead = common_shape(time, *(np.empty(p.shape) for p in cases))
    beside = {
        f.name: np.stack([np.broadcast_to(getattr(p, f.name), lead) for p in cases])
        for f in fields(Protection)
        if f.init
    }
    found = loss_probability(Protection(**beside), time)
    return [
        Loss(**{f.name: getattr(found, f.name)[i] for f in fields(Loss)}) for i in range(len(cases))
    ]
