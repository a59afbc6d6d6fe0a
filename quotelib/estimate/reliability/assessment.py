"""What a quote says about losing data: the chance, its range, and how much."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, common_shape, number
from quotelib.estimate.reliability.field_rates import AFTER_FAILURE_1994, MttfRange, mttf_range
from quotelib.estimate.reliability.latent_errors import SCRUB_DAYS, ErrorRates, error_rates
from quotelib.estimate.reliability.loss import Loss, loss_and_mean
from quotelib.estimate.reliability.protection import Protection, unreadable_probability
from quotelib.units import HOURS_PER_YEAR


@dataclass(frozen=True)
class Risk:
    """Everything a quote says about losing data, each figure in the common shape.

    Parameters
    ----------
    mttf : MttfRange
        Lifetimes of a drive the cases below rest on.
    errors : ErrorRates
        Unreadable sectors per bit that they rest on.
    loss : Loss
        Expected: the more prudent of data sheet and mean field rate.
    best, worst : Loss
        At the ends of rebuild and unreadable sectors, with the best lifetime, and with the worst
        published one or that expected in a bad batch, in which the other drives of a group fail
        `after_failure_factor` times as often after a first failure: figure by figure the worse.
    array_low, array_high : ndarray
        Chance of losing the array in the best and the worst case.
    loss_low, loss_high : ndarray
        The same, of losing any data.
    rebuild_unreadable, rebuild_unreadable_low, rebuild_unreadable_high : ndarray
        Chance that one rebuild without redundancy left meets an unreadable sector; zero for an
        array without redundancy, which has no rebuild.
    tb_lost, tb_lost_low, tb_lost_high : ndarray
        Mean terabytes lost over the years. The high end lets an unreadable sector cost the array.
    mttdl_hours : ndarray
        Mean time to data loss, expected; show it only with `MTTDL_CAUTION`.
    """

    mttf: MttfRange
    errors: ErrorRates
    loss: Loss
    best: Loss
    worst: Loss
    array_low: FloatArray
    array_high: FloatArray
    loss_low: FloatArray
    loss_high: FloatArray
    rebuild_unreadable: FloatArray
    rebuild_unreadable_low: FloatArray
    rebuild_unreadable_high: FloatArray
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
    rebuild_hours_low: ArrayLike | None = None,
    rebuild_hours_high: ArrayLike | None = None,
    scrub_hours: ArrayLike | None = None,
    after_failure_factor: float = AFTER_FAILURE_1994,
) -> Risk:
    """Work out every figure a quote gives about losing data, with its range.

    Parameters
    ----------
    protection : Protection
        With the data sheet's figures in `mttf_hours` and `bit_error_rate`, and the expected rebuild
        time.
    years : array_like
        Years in service, zero or more.
    media : array_like of str
        ``"hdd"`` or ``"ssd"``: whose field rates give the range.
    usable_tb, striped, strip_tb : array_like
        As for `expected_tb_lost`.
    rebuild_hours_low, rebuild_hours_high : array_like, optional
        Rebuild time at the ends of its range; else as in `protection`.
    scrub_hours : array_like, optional
        Between two scrubs. Not stated: once a month at the low end, never at the high end.
    after_failure_factor : float
        In a bad batch, at the high end; by default that of Chen et al. 1994, Table 4. It does not
        come on top of the worst lifetime, which would multiply what is rare.

    Raises
    ------
    ValueError
        As for `Protection`; also where the range of failure rates reaches one that a drive could
        not be repaired under.
    """
    mttf = mttf_range(protection.mttf_hours, media)
    service_hours = number("years", years, at_least=0) * HOURS_PER_YEAR
    errors = error_rates(
        protection.bit_error_rate,
        protection.drive_bytes,
        media,
        scrub_hours=SCRUB_DAYS * 24 if scrub_hours is None else scrub_hours,
        unscrubbed_hours=service_hours if scrub_hours is None else scrub_hours,
    )
    hours = protection.rebuild_hours
    slow = {
        "rebuild_hours": hours if rebuild_hours_high is None else rebuild_hours_high,
        "bit_error_rate": errors.high,
    }
    quick = {
        "rebuild_hours": hours if rebuild_hours_low is None else rebuild_hours_low,
        "bit_error_rate": errors.low,
    }
    factor = {"after_failure_factor": after_failure_factor}
    (loss, best, poor, batch), mean = _losses(
        protection,
        [
            {"mttf_hours": mttf.expected},
            {"mttf_hours": mttf.best, **quick},
            {"mttf_hours": mttf.worst, **slow},
            {"mttf_hours": mttf.expected, **slow, **factor},
        ],
        years,
    )
    worst = Loss(*(np.maximum(getattr(poor, f.name), getattr(batch, f.name)) for f in fields(Loss)))
    lost = partial(
        expected_tb_lost,
        usable_tb=usable_tb,
        striped=striped,
        strip_tb=strip_tb,
    )
    tb_lost = lost(loss).low
    n, k = (np.asarray(x, dtype=np.float64) for x in (protection.members, protection.redundancy))
    unreadable = [
        unreadable_probability(np.where(k > 0, n - k, 0.0), protection.drive_bytes, rate)
        for rate in (errors.low, errors.expected, errors.high)
    ]
    return Risk(
        mttf=mttf,
        errors=errors,
        loss=loss,
        best=best,
        worst=worst,
        # where two ends of the range meet, rounding must not turn them round
        array_low=np.minimum(best.array, loss.array),
        array_high=np.maximum(worst.array, loss.array),
        loss_low=np.minimum(best.any_data, loss.any_data),
        loss_high=np.maximum(worst.any_data, loss.any_data),
        rebuild_unreadable=unreadable[1],
        rebuild_unreadable_low=unreadable[0],
        rebuild_unreadable_high=unreadable[2],
        tb_lost=tb_lost,
        tb_lost_low=np.minimum(lost(best).low, tb_lost),
        tb_lost_high=np.maximum(lost(worst).high, tb_lost),
        mttdl_hours=mean,
    )


def _losses(
    protection: Protection, cases: Sequence[Mapping[str, ArrayLike]], years: ArrayLike
) -> tuple[list[Loss], FloatArray]:
    """Work out variations in one go, for one quote most of the time saved; mean of the first."""
    time = np.asarray(years, dtype=np.float64)
    given = [np.asarray(value) for case in cases for value in case.values()]
    lead = common_shape(time, np.empty(protection.shape), *given)
    beside = {}
    for f in fields(Protection):
        if f.init:
            beside[f.name] = laid = np.empty((len(cases), *lead))
            laid[:] = getattr(protection, f.name)
            for row, case in enumerate(cases):
                if f.name in case:
                    laid[row] = case[f.name]
    first = np.zeros((len(cases), *(1 for _ in lead)), dtype=bool)
    first[0] = True
    found, means = loss_and_mean(Protection(**beside), time, first)
    losses = [
        Loss(**{f.name: getattr(found, f.name)[i] for f in fields(Loss)}) for i in range(len(cases))
    ]
    return losses, means[0]
