"""How often does a simulated array lose data: a second opinion beside the chain.

It shares no code and no equation with the chain: lifetimes and repairs are drawn one by one, from
Weibull distributions, overlaps are counted, and so are the unreadable sectors that each rebuild
meets while nothing is left to correct them. An array that lost a sector goes on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv

from quotelib.units import HOURS_PER_YEAR

FloatArray = NDArray[np.float64]

_SLOTS_AT_A_TIME = 400_000


@dataclass(frozen=True)
class Weibull:
    """A Weibull distribution of times.

    Parameters
    ----------
    scale_hours : float
        Time by which 63.2 % have ended, above zero.
    shape : float
        Below 1: early ends prevail; 1: exponential, and the scale is the mean; above 1: wear-out.

    Raises
    ------
    ValueError
        A parameter that is not above zero and finite.
    """

    scale_hours: float
    shape: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what is no distribution."""
        for name in ("scale_hours", "shape"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0):
                raise ValueError(f"{name} is {value}; right would be a finite number above 0")

    def draw(self, rng: np.random.Generator, count: int) -> FloatArray:
        """Draw some times, in hours."""
        base = rng.standard_exponential(count)
        return self.scale_hours * (base if self.shape == 1.0 else base ** (1.0 / self.shape))


@dataclass(frozen=True)
class Simulated:
    """What a simulation found.

    Parameters
    ----------
    losses, trials : int
        Arrays that lost any data, and arrays simulated.
    probability, low, high : float
        Their ratio, and its exact (Clopper and Pearson) confidence interval.
    arrays : int
        Those lost as a whole: more drives failed at once in a group than it survives.
    array_low, array_high : float
        Confidence interval of that chance.
    strips, strips_error : float
        Unreadable sectors met in rebuilds that nothing corrects, before the group is lost: mean of
        an array, and its standard error.
    confidence : float
        Of the intervals.
    """

    losses: int
    trials: int
    probability: float
    low: float
    high: float
    arrays: int
    array_low: float
    array_high: float
    strips: float
    strips_error: float
    confidence: float


def interval(losses: int, trials: int, confidence: float = 0.99) -> tuple[float, float]:
    """Exact confidence interval of a proportion.

    Parameters
    ----------
    losses, trials : int
        Counts, ``0 <= losses <= trials``, at least one trial.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    low, high : float
        Covers the true proportion with at least that confidence.

    Raises
    ------
    ValueError
        Counts or a confidence that cannot be.

    Notes
    -----
    Clopper and Pearson, Biometrika 26, 1934.
    """
    if trials < 1 or not 0 <= losses <= trials:
        raise ValueError(f"{losses} of {trials}: right would be 0 to {max(trials, 1)} losses")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence is {confidence}; right would be between 0 and 1")
    tail = (1.0 - confidence) / 2.0
    low = 0.0 if losses == 0 else float(betaincinv(losses, trials - losses + 1, tail))
    high = 1.0 if losses == trials else float(betaincinv(losses + 1, trials - losses, 1.0 - tail))
    return low, high


def simulate(
    trials: int,
    years: float,
    *,
    members: int,
    redundancy: int,
    groups: int = 1,
    life: Weibull,
    rebuild: Weibull,
    replacement: Weibull | None,
    unreadable: float,
    seed: int,
    confidence: float = 0.99,
) -> Simulated:
    """Run many arrays through their years and count those that lose data.

    Parameters
    ----------
    trials : int
        Arrays to simulate, at least 1.
    years : float
        Years in service, of 8760 hours, above zero.
    members, redundancy, groups : int
        Drives in a group, failed drives it survives, number of groups.
    life : Weibull
        Of a drive, from the failure of the one it replaces.
    rebuild : Weibull
        Time to fill a replacement.
    replacement : Weibull or None
        Time until a failed drive is replaced; None for at once, as with spares at hand.
    unreadable : float
        Probability that a rebuild without redundancy left meets an unreadable sector; their number
        is Poisson's.
    seed : int
        The same seed gives the same result.
    confidence : float
        Of the interval returned.

    Returns
    -------
    Simulated
        The counts and their interval.

    Raises
    ------
    ValueError
        Numbers that cannot be; the message says what would be right.

    Notes
    -----
    A drive that fails while it is being filled is replaced and filled anew. All failed drives
    of a group are repaired at the same time. A pool of spares that can run dry is not simulated.
    """
    if trials < 1 or not (np.isfinite(years) and years > 0):
        raise ValueError("trials must be at least 1 and years finite and above 0")
    if members < 1 or groups < 1 or not 0 <= redundancy < members:
        raise ValueError(
            f"{groups} groups of {members} with redundancy {redundancy}: right would be at least "
            "one group of more members than redundancy"
        )
    if not 0 <= unreadable < 1:
        raise ValueError(f"unreadable is {unreadable}; right would be between 0 and 1")
    sectors_each = -np.log1p(-unreadable) if redundancy else 0.0
    rng = np.random.default_rng(seed)
    horizon = years * HOURS_PER_YEAR
    per_trial = members * groups
    batch = max(1, _SLOTS_AT_A_TIME // per_trial)
    losses = arrays = 0
    strips = np.zeros(trials)
    for start in range(0, trials, batch):
        count = min(batch, trials - start)
        slot, time = _failures(rng, life, count * per_trial, horizon)
        group = slot // members
        # too few failures in the whole time cannot lose anything
        enough = redundancy if unreadable and redundancy else redundancy + 1
        many = np.bincount(group, minlength=count * groups)[group] >= enough
        slot, time, group = slot[many], time[many], group[many]
        repair = rebuild.draw(rng, slot.size)
        if replacement is not None:
            repair += replacement.draw(rng, slot.size)
        failed = _failed_together(slot, group, time, time + repair)
        lost = failed > redundancy
        # the events of a group stand in order of time: those before its end
        end = np.full(count * groups, slot.size)
        np.minimum.at(end, group[lost], np.flatnonzero(lost))
        critical = (failed == redundancy) & (np.arange(slot.size) < end[group])
        bad = np.where(critical, rng.poisson(sectors_each, slot.size), 0)
        strips[start : start + count] = np.bincount(group // groups, bad, count)
        arrays += np.unique(group[lost] // groups).size
        losses += np.unique(group[lost | (bad > 0)] // groups).size
    low, high = interval(losses, trials, confidence)
    array_low, array_high = interval(arrays, trials, confidence)
    return Simulated(
        losses=losses,
        trials=trials,
        probability=losses / trials,
        low=low,
        high=high,
        arrays=arrays,
        array_low=array_low,
        array_high=array_high,
        strips=float(strips.mean()),
        strips_error=float(strips.std()) / trials**0.5,
        confidence=confidence,
    )


def _failures(
    rng: np.random.Generator, life: Weibull, slots: int, horizon: float
) -> tuple[NDArray[np.intp], FloatArray]:
    """Draw every failure before the horizon; sorted by slot, then time."""
    # compare before raising to a power: most first lives outlast the horizon
    first = rng.standard_exponential(slots)
    slot = np.flatnonzero(first < (horizon / life.scale_hours) ** life.shape)
    time = life.scale_hours * first[slot] ** (1.0 / life.shape)
    slots_found, times_found = [slot], [time]
    while slot.size:
        time = time + life.draw(rng, slot.size)
        early = time < horizon
        slot, time = slot[early], time[early]
        slots_found.append(slot)
        times_found.append(time)
    slot, time = np.concatenate(slots_found), np.concatenate(times_found)
    order = np.lexsort((time, slot))
    return slot[order], time[order]


def _failed_together(
    slot: NDArray[np.intp], group: NDArray[np.intp], time: FloatArray, end: FloatArray
) -> NDArray[np.intp]:
    """Count, at every failure, the failed slots of its group; sorts `group` alike in place."""
    # a slot that fails again before it is repaired counts once: its newer repair takes over
    if slot.size:
        again = slot[1:] == slot[:-1]
        end[:-1][again] = np.minimum(end[:-1][again], time[1:][again])
    order = np.lexsort((time, group))
    group[:] = group[order]
    time, end = time[order], end[order]
    failed = np.ones(slot.size, dtype=np.intp)
    earlier = np.arange(slot.size)
    lag = 0
    while earlier.size:
        lag += 1
        earlier = earlier[earlier + lag < slot.size]
        later = earlier + lag
        # events are in order of time, so a repair that is over stays over
        still = (group[later] == group[earlier]) & (end[earlier] > time[later])
        earlier = earlier[still]
        failed[earlier + lag] += 1
    return failed
