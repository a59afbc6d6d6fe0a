"""How likely is it that data are lost, over years, and how much."""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.checks import FloatArray, number
from quotelib.estimate.reliability import chain
from quotelib.estimate.reliability.protection import Batch, Protection
from quotelib.units import HOURS_PER_YEAR

MTTDL_CAUTION = (
    "A mean time to data loss of thousands of years does not mean that the array lasts that "
    "long: it only restates a small yearly chance under ideal conditions, and says nothing about "
    "fire, theft, mistakes or faulty software."
)

Solve = Callable[[chain.Shape, NDArray[np.intp]], None]

_THREADS_FROM = 20_000  # elements; below, starting threads costs more than it brings


@dataclass(frozen=True)
class Loss:
    """What is lost over the years asked for: chances, and a mean number.

    Parameters
    ----------
    array : ndarray
        Chance of losing the array: in some group more drives are failed at once than it survives
        (of drives used one by one: one of them fails).
    any_data : ndarray
        Chance of losing any data: the array, or what lies around a sector that cannot be read in
        a rebuild with nothing left to correct it.
    group : ndarray
        As `array`, of one group.
    strips : ndarray
        Mean number of such sectors while their group lasts, of all groups; each costs its strip.
    """

    array: FloatArray
    any_data: FloatArray
    group: FloatArray
    strips: FloatArray


def any_of_groups(one_group: ArrayLike, groups: ArrayLike) -> FloatArray:
    """Probability that at least one of several independent groups is lost.

    ``1 - (1 - p) ** groups``, without its rounding; p from 0 to 1, at least 1 group.
    """
    p = number("one_group", one_group, at_least=0, at_most=1)
    count = number("groups", groups, at_least=1, whole=True)
    with np.errstate(divide="ignore"):
        return np.asarray(-np.expm1(count * np.log1p(-p)))


def chance_of_loss(protection: Protection, years: ArrayLike) -> FloatArray:
    """Chance of losing any data over some years of an array that is healthy on its first day.

    The continuous-time Markov chain of one group (see `chain`) solved for its transient
    absorption (see `markov`). Groups are composed as independent, exactly:
    ``1 - (1 - p) ** groups``. Spares shared by several groups tie these together: each group's
    chain counts the spares the others take, and as groups suffer a shortage together, composing
    them as independent rather counts too much than too little (against a simulation of every
    spare, at failure rates a hundred times those of products: within some per cent).
    Without redundancy: ``1 - exp(-members * years / mttf)``; read errors in ordinary use are not
    counted.

    Left out: fire, theft, mistakes, controllers, software, batches of bad drives other than by
    `after_failure_factor`, wear with age, and bad sectors that scrubbing finds in time.

    Parameters
    ----------
    protection : Protection
        With a `bit_error_rate` of zero the chance is that of losing the array.
    years : array_like
        Years in service, of 8760 hours, zero or more. Broadcasts against `protection`.

    Returns
    -------
    ndarray
        One element's result never depends on another's.
    """
    b = protection.batch(number("years", years, at_least=0) * HOURS_PER_YEAR)
    (group,), _ = _solved(b, counted=False)
    lost = np.where((b.redundancy > 0) & np.isnan(b.sectors), np.nan, group)
    return any_of_groups(lost, b.count).reshape(b.lead)


def loss_probability(protection: Protection, years: ArrayLike) -> Loss:
    """Say what is lost: `chance_of_loss` without read errors and with them, and strips.

    The array is lost by the chain without read errors: a rebuild that meets a bad sector goes on,
    and the array may be lost later. Were it the end, more errors would hide losses of the array.

    Strips: critical rebuilds until then times the sectors one of them meets on average; as a mean
    it holds for errors in clusters too. A group goes on being counted when another one has taken
    the array with it, which is too much by less than the chance of that.

    Parameters
    ----------
    protection, years
        As for `chance_of_loss`. Without the error rate of a redundant array only `Loss.array` and
        `Loss.group` are known.
    """
    return loss_and_mean(protection, years, False)[0]


def loss_and_mean(
    protection: Protection, years: ArrayLike, mean_of: ArrayLike
) -> tuple[Loss, FloatArray]:
    """Give `loss_probability`, and `mean_hours_to_loss` of the elements `mean_of` (else NaN).

    All in one go, which for a single quote saves most of the time.
    """
    b = protection.batch(number("years", years, at_least=0) * HOURS_PER_YEAR)
    wanted = np.broadcast_to(np.asarray(mean_of), b.lead).ravel()
    both = np.concatenate([np.zeros_like(wanted), wanted])
    chances, means = _solved(b.twice(), counted=True, mean_of=both)
    (group, any_data), (critical, _) = chances.reshape(2, 2, -1)
    sectors = np.where(b.redundancy > 0, b.sectors, 0.0)
    # Rounding must not make the part likelier than the whole.
    any_data = np.where(np.isnan(sectors), np.nan, np.maximum(any_data, group))
    loss = Loss(
        array=any_of_groups(group, b.count).reshape(b.lead),
        any_data=any_of_groups(any_data, b.count).reshape(b.lead),
        group=group.reshape(b.lead),
        strips=(b.count * critical * sectors).reshape(b.lead),
    )
    return loss, mean_of_groups(b, np.where(wanted, means[group.size :], np.nan))


def mean_hours_to_loss(protection: Protection) -> FloatArray:
    """Mean time to the first loss of data (MTTDL) in hours. Never show it without `MTTDL_CAUTION`.

    Exact for one group, and the mean of one divided by the number of groups for several, which is
    exact in the limit of rare losses. Infinite where nothing can fail.
    """
    b = protection.batch(np.zeros(()))
    _, means = _solved(b, counted=False, mean_of=np.ones(b.hours.shape, dtype=bool))
    return mean_of_groups(b, means)


def mean_of_groups(b: Batch, one_group: FloatArray) -> FloatArray:
    """Divide the mean hours of one group by their number; not known without the error rate."""
    known = (b.redundancy == 0) | ~np.isnan(b.sectors)
    return np.where(known, one_group / b.count, np.nan).reshape(b.lead)


def _solved(
    b: Batch, *, counted: bool, mean_of: NDArray[np.bool_] | None = None
) -> tuple[FloatArray, FloatArray]:
    """Give the chance of loss of one group and, if counted, its critical rebuilds; mean hours."""
    found = np.full((1 + counted, b.hours.size), np.nan)
    means = np.full(b.hours.size, np.nan)
    known, g = b.known(), b.groups
    bare, redundant = known & (b.redundancy == 0), known & (b.redundancy > 0)
    if bare.any():
        fails = g.members[bare] * g.failures_per_hour[bare]
        found[:, bare] = 0.0
        found[0, bare] = -np.expm1(-fails * b.hours[bare])
        with np.errstate(divide="ignore"):
            means[bare] = 1.0 / fails

    def solve(shape: chain.Shape, picked: NDArray[np.intp]) -> None:
        rates = chain.rates(shape, g.take(picked))
        found[:, picked] = chain.loss(rates, b.hours[picked], counted=counted)
        if mean_of is not None and (wanted := mean_of[picked]).any():
            means[picked[wanted]] = chain.mean_hours_to_loss(rates, wanted)

    _each_piece(b, redundant, solve)
    return found, means


def _each_piece(b: Batch, wanted: NDArray[np.bool_], solve: Solve) -> None:
    if np.count_nonzero(wanted) < _THREADS_FROM:
        for shape, picked in b.pieces(wanted):
            solve(shape, picked)
        return
    # numpy lets go of the interpreter lock, so threads share the arrays and use every core
    with ThreadPoolExecutor(min(os.cpu_count() or 1, 8)) as pool:
        list(pool.map(lambda piece: solve(*piece), b.pieces(wanted)))
