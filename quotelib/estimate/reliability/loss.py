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
    """Probabilities over the years asked for.

    Parameters
    ----------
    any_data : ndarray
        That any data are lost.
    by_drives : ndarray
        That some group first loses data because more drives fail than it has redundancy for:
        the whole array goes (of drives used one by one: that drive's data).
    by_sector : ndarray
        That some group first loses data because a rebuild without redundancy left meets an
        unreadable sector: a strip's worth, or the array where a controller gives up.
    group_by_drives, group_by_sector : ndarray
        The same for a single group.
    """

    any_data: FloatArray
    by_drives: FloatArray
    by_sector: FloatArray
    group_by_drives: FloatArray
    group_by_sector: FloatArray


def any_of_groups(one_group: ArrayLike, groups: ArrayLike) -> FloatArray:
    """Probability that at least one of several independent groups is lost.

    ``1 - (1 - p) ** groups``, without its rounding; p from 0 to 1, at least 1 group.
    """
    p = number("one_group", one_group, at_least=0, at_most=1)
    count = number("groups", groups, at_least=1, whole=True)
    with np.errstate(divide="ignore"):
        return np.asarray(-np.expm1(count * np.log1p(-p)))


def loss_probability(protection: Protection, years: ArrayLike) -> Loss:
    """Chance of losing data over some years of an array that is healthy on its first day.

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
    years : array_like
        Years in service, of 8760 hours, zero or more. Broadcasts against `protection`.

    Returns
    -------
    Loss
        One element's result never depends on another's.
    """
    b = protection.batch(number("years", years, at_least=0) * HOURS_PER_YEAR)
    by_drives, by_sector = np.full((2, b.hours.size), np.nan)
    known = b.known()
    bare = known & (b.redundancy == 0)
    g = b.groups
    by_drives[bare] = -np.expm1(-g.members[bare] * g.failures_per_hour[bare] * b.hours[bare])
    by_sector[bare] = 0.0

    def solve(shape: chain.Shape, picked: NDArray[np.intp]) -> None:
        found = chain.loss(shape, g.take(picked), b.hours[picked])
        by_drives[picked], by_sector[picked] = found[chain.BY_DRIVES], found[chain.BY_SECTOR]

    _each_piece(b, known & (b.redundancy > 0), solve)

    def of_array(one_group: FloatArray) -> FloatArray:
        return any_of_groups(one_group, b.count).reshape(b.lead)

    return Loss(
        any_data=of_array(np.minimum(by_drives + by_sector, 1.0)),
        by_drives=of_array(by_drives),
        by_sector=of_array(by_sector),
        group_by_drives=by_drives.reshape(b.lead),
        group_by_sector=by_sector.reshape(b.lead),
    )


def mean_hours_to_loss(protection: Protection) -> FloatArray:
    """Mean time to the first loss of data (MTTDL) in hours. Never show it without `MTTDL_CAUTION`.

    Exact for one group, and the mean of one divided by the number of groups for several, which is
    exact in the limit of rare losses. Infinite where nothing can fail.
    """
    b = protection.batch(np.zeros(()))
    result = np.full(b.hours.size, np.nan)
    known = b.known()
    bare = known & (b.redundancy == 0)
    g = b.groups
    with np.errstate(divide="ignore"):
        result[bare] = 1.0 / (g.members[bare] * g.failures_per_hour[bare])

    def solve(shape: chain.Shape, picked: NDArray[np.intp]) -> None:
        result[picked] = chain.mean_hours_to_loss(shape, g.take(picked))

    _each_piece(b, known & (b.redundancy > 0), solve)
    return np.asarray((result / b.count).reshape(b.lead))


def _each_piece(b: Batch, wanted: NDArray[np.bool_], solve: Solve) -> None:
    if np.count_nonzero(wanted) < _THREADS_FROM:
        for shape, picked in b.pieces(wanted):
            solve(shape, picked)
        return
    # numpy lets go of the interpreter lock, so threads share the arrays and use every core
    with ThreadPoolExecutor(min(os.cpu_count() or 1, 8)) as pool:
        list(pool.map(lambda piece: solve(*piece), b.pieces(wanted)))
