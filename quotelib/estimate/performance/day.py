"""What is asked over a day, and how long operations take that come when they like.

The closed loop of `mixed` never pauses: it is the most an array does. Here operations come at a
rate, whatever is still waiting.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, with_each
from quotelib.estimate.performance.cases import CACHE_ANSWER_MS, CONTROLLER_MS, VALUE
from quotelib.estimate.performance.drive_work import normal_work
from quotelib.estimate.performance.load import Load, Serving, checked_load, checked_serving
from quotelib.estimate.performance.operation import SERVICE_SPREAD, blocks, kinds
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.shape import ArrayShape
from quotelib.units import GB

SECONDS_PER_DAY = 86_400.0

_ROUNDS = 6  # of sixteenths of ten standard deviations: the sixth digit

# The day's operations may all come within so many hours: value, low end, high end of a response.
# Common practice, no source: a working day, all day long, half a working day.
BUSY_HOURS = (8.0, 24.0, 4.0)


def day_operations_per_s(
    writes_gb_per_day: ArrayLike, block_bytes: ArrayLike, read_share: ArrayLike
) -> FloatArray:
    """Host operations a second over a day: bytes written / (block x share of writes x 86,400).

    Parameters
    ----------
    writes_gb_per_day : array_like of float
        What the host writes a day in GB; zero says nothing of how busy it is.
    block_bytes : array_like of float
        Size of an operation, above zero.
    read_share : array_like of float
        0 to 1; a load that only reads has no rate that its writes could tell.

    Returns
    -------
    ndarray
        NaN where the writes tell nothing.
    """
    written = number("writes in GB a day", writes_gb_per_day, at_least=0)
    block = number("block in bytes", block_bytes, above=0)
    writing = 1 - number("read share", read_share, at_least=0, at_most=1)
    told = (written > 0) & (writing > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = written * GB / (block * writing * SECONDS_PER_DAY)
    return np.asarray(np.where(told, rate, np.nan))


@dataclass(frozen=True)
class Moments:
    """Mean and variance of a time."""

    mean: FloatArray
    variance: FloatArray


def queue_wait(per_s: ArrayLike, mean_s: ArrayLike, spread: ArrayLike) -> Moments:
    """Wait in front of one server at which customers arrive at random (M/G/1), in seconds.

    Mean: rate x E[S^2] / (2 (1 - utilisation)), Pollaczek and Khinchine; variance: mean^2 + rate x
    E[S^3] / (3 (1 - utilisation)), Takacs. Source: Kleinrock, Queueing Systems 1, 1975, section
    5.7. Third moment as of a gamma distribution with the same mean and spread.

    Parameters
    ----------
    per_s : array_like of float
        Arrivals a second, at least zero.
    mean_s, spread : array_like of float
        Mean service time, at least zero, and its standard deviation over its mean.

    Returns
    -------
    Moments
        Infinite from a utilisation of 1 on.
    """
    rate = number("arrivals a second", per_s, at_least=0)
    mean = number("mean service in s", mean_s, at_least=0)
    square = number("spread of service", spread, at_least=0) ** 2
    second = mean**2 * (1 + square)
    third = mean**3 * (1 + square) * (1 + 2 * square)
    left = 1 - rate * mean
    with np.errstate(divide="ignore", invalid="ignore"):
        wait = np.where(left > 0, rate * second / (2 * left), np.inf)
        variance = np.where(left > 0, wait**2 + rate * third / (3 * left), np.inf)
    unknown = np.isnan(left)
    return Moments(np.where(unknown, np.nan, wait), np.where(unknown, np.nan, variance))


@dataclass(frozen=True)
class OpenResponse:
    """Response times of operations that come at random, in milliseconds; shape (..., M)."""

    mean_ms: FloatArray
    p95_ms: FloatArray
    p99_ms: FloatArray


def open_response(
    shape: ArrayShape, times: DriveTimes, load: Load, serving: Serving, per_s: ArrayLike
) -> OpenResponse:
    """Response times of operations that come at random, and not in a loop.

    Each drive is a queue of its own (`queue_wait`) at which so many operations arrive; an operation
    waits once a round, for each kind a gamma distribution with the mean and variance of what
    varies: waits, and the time of a disk; the times within which 95 and 99 of 100 are answered are
    those of the mixture. Left out: that disks order what is queued, which helps where much is.

    Parameters
    ----------
    shape, times, load, serving
        As in `mixed.mixed_throughput`, for M arrays.
    per_s : array_like of float, shape (R, M) or what broadcasts to it
        Host operations a second.

    Returns
    -------
    OpenResponse
        Infinite where the drives cannot keep up.
    """
    load, serving = checked_load(load), checked_serving(serving)
    shape, times = with_each(shape, np.atleast_1d), with_each(times, np.atleast_1d)
    load, serving = with_each(load, np.atleast_1d), with_each(serving, np.atleast_1d)
    rate = number("operations a second", per_s, at_least=0)
    taken = blocks(shape, times, load, serving)
    work = normal_work(shape, taken.many, taken.cached)
    of = kinds(work, taken, shape, times, serving)
    # Of the three cases the value, shape (4, 1, M); operations of one drive for one of the host's.
    busy, each, steps, rounds = (
        np.broadcast_to(x, np.broadcast_shapes(x.shape, (4, 3, 1)))[:, VALUE, None]
        for x in (of.moved + of.placed, of.operations, of.steps, of.rounds)
    )
    share, awaited = of.share, of.awaited
    drive_ops = (share * each).sum(axis=0) / shape.members
    with np.errstate(invalid="ignore", divide="ignore"):
        mean_s = (share * busy).sum(axis=0) / shape.members / drive_ops / 1e3
        wait = queue_wait(rate * drive_ops, mean_s, SERVICE_SPREAD)
        lone = np.broadcast_to(of.lone, (4, 1, *of.lone.shape[2:]))
        disk = times.position_ms > 0
        # What varies: all of a disk's time, and of flash the waits alone.
        least = np.where(disk, 0.0, steps) + lone
        varies = np.where(disk, steps, 0.0) + rounds * wait.mean * 1e3
        own = np.where(disk, (steps * SERVICE_SPREAD) ** 2 / np.maximum(rounds, 1), 0.0)
        variance = own + rounds * wait.variance * 1e3**2
    answered = np.broadcast_to(share - awaited, awaited.shape)
    weights = np.concatenate(np.broadcast_arrays(awaited, answered))
    least, varies, variance = np.broadcast_arrays(least, varies, variance)
    answer, none = np.full(least.shape, CACHE_ANSWER_MS[VALUE, 0]), np.zeros(least.shape)
    least = np.concatenate([least, answer]) + CONTROLLER_MS[VALUE, 0]
    varies, variance = np.concatenate([varies, none]), np.concatenate([variance, none])
    # What does not come counts for nothing, however long it would take.
    least, varies, variance = (np.where(weights > 0, x, 0.0) for x in (least, varies, variance))
    p95, p99 = _percentiles(weights, least, varies, variance, (0.95, 0.99))
    return OpenResponse(((least + varies) * weights).sum(axis=0), p95, p99)


def _percentiles(
    weights: FloatArray,
    least: FloatArray,
    varies: FloatArray,
    variances: FloatArray,
    parts: tuple[float, ...],
) -> FloatArray:
    """Find the times within which parts of a mixture of gamma distributions lie.

    Each begins at its least, above which it has the mean `varies`. A sixteenth of the range is
    taken time and again: the first at whose end enough lies.
    """
    from scipy.special import gammainc  # takes long to import

    some = weights.any(axis=tuple(range(1, weights.ndim)))  # the others add nothing
    weights, least, varies, variances = (x[some] for x in (weights, least, varies, variances))
    wanted = np.array(parts)[(..., *(None,) * (varies.ndim - 1))]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        most = (least + varies + 10 * np.sqrt(variances)).max(axis=0)
        known = np.isfinite(most)
        # One scale for all rates, so that a higher one never comes out a hair quicker.
        low = np.zeros((len(parts), *most.shape))
        width = np.where(known, most, 1.0).max(axis=0, keepdims=True) / 16
        # What does not vary is there at once.
        scales = np.where(varies > 0, variances / varies, 0.0)
        shapes = np.where(scales > 0, varies / scales, 0.0)[:, None, None]
        scales = np.where(scales > 0, scales, 1.0)[:, None, None]
        least, weights = least[:, None, None], weights[:, None, None]
        steps = np.arange(1.0, 17.0)[(..., *(None,) * low.ndim)]
        for _ in range(_ROUNDS):
            over = low + steps * width - least
            within = gammainc(shapes, np.maximum(over, 0.0) / scales)
            within = np.where(over < 0, 0.0, np.where(shapes > 0, within, 1.0))
            enough = (weights * within).sum(axis=0) >= wanted
            low = low + width * enough.argmax(axis=0)
            width = width / 16
    # The end of the last: there, enough lies.
    found = low + 16 * width
    return np.where(known, found, np.where(np.isnan(most), np.nan, np.inf))
