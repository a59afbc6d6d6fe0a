"""Operations a second and response time of an array under a mixed load."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, IntArray, with_each
from quotelib.estimate.performance.cases import LOW, VALUE
from quotelib.estimate.performance.load import (
    NO_SERVICE,
    NOT_KNOWN,
    REBUILD_SHARE,
    DataPath,
    Load,
    Serving,
    check_state,
    checked_load,
    checked_path,
    checked_serving,
)
from quotelib.estimate.performance.mean_values import mean_value_analysis
from quotelib.estimate.performance.queueing import knee_customers
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.performance.stations import Stations, stations
from quotelib.estimate.shape import ArrayShape

# Arrays worked on at once: small enough for the processor's cache.
_CHUNK = 8_192


@dataclass(frozen=True)
class MixedThroughput:
    """Random-mix performance of arrays; every field has the broadcast shape.

    Parameters
    ----------
    iops : ndarray of float
        Host operations a second by mean value analysis.
    iops_low : ndarray of float
        The same, as the low ends in `cases` have it.
    iops_bound : ndarray of float
        Asymptotic upper bound at the high ends in `cases`.
    response_ms, response_low_ms, response_high_ms : ndarray of float
        Time of one host operation, and the times that belong to `iops_bound` and `iops_low`.
    knee_outstanding : ndarray of float
        Outstanding operations beyond which more of them mostly wait; at least one.
    drive_utilisation : ndarray of float
        Busy share of the busiest drives.
    drives_ms, links_ms, controller_ms, host_link_ms, fixed_ms : ndarray of float
        Where the response time goes; they add up to it.
    drives_demand_ms, links_demand_ms, controller_demand_ms, host_link_demand_ms : ndarray of float
        How long one host operation keeps the busiest of each busy, with the queue that there is
        and with what is done after it was answered.
    drives_alone_ms : ndarray of float
        How long one host operation keeps the busiest drives busy with nothing queued.
    drive_operations : ndarray of float
        Operations of each drive, on average, that one host operation causes.
    bottleneck : ndarray of int
        Index into `STATIONS` of the busiest station; `NOT_KNOWN` if an input is not known,
        `NO_SERVICE` if the array has lost its data.
    """

    iops: FloatArray
    iops_low: FloatArray
    iops_bound: FloatArray
    response_ms: FloatArray
    response_low_ms: FloatArray
    response_high_ms: FloatArray
    knee_outstanding: FloatArray
    drive_utilisation: FloatArray
    drives_ms: FloatArray
    links_ms: FloatArray
    controller_ms: FloatArray
    host_link_ms: FloatArray
    fixed_ms: FloatArray
    drives_demand_ms: FloatArray
    links_demand_ms: FloatArray
    controller_demand_ms: FloatArray
    host_link_demand_ms: FloatArray
    drives_alone_ms: FloatArray
    drive_operations: FloatArray
    bottleneck: IntArray


# What is left of an array that has lost its data; all other figures are not known.
_LOST = {name: 0.0 for name in MixedThroughput.__annotations__ if name.startswith("iops")}
_LOST["bottleneck"] = NO_SERVICE


def _evaluate(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    serving: Serving,
    hurt: FloatArray,
    host_share: FloatArray,
    size: int,
) -> dict[str, FloatArray | IntArray]:
    """Give every field of `MixedThroughput`, by name."""
    met = stations(shape, times, path, load, serving, hurt, host_share)
    many = np.asarray(load.outstanding, dtype=np.float64)
    network = met.network(many, size, slice(VALUE, LOW + 1))
    both = mean_value_analysis(network)
    bound = met.bounded(many, size)
    iops = np.minimum(both.throughput_per_s[VALUE], bound)
    low = np.minimum(both.throughput_per_s[LOW], iops)
    response = many / iops * 1e3

    by_station = both.residence_s[VALUE].T * 1e3
    spent = dict(zip(met.listed, by_station, strict=True))
    used = dict(zip(met.listed, both.busy_s[VALUE].T, strict=True))
    busy = {name: np.where(_value(x.copies) > 0, used[name], 0.0) for name, x in met.listed.items()}
    for healthy, hit in (("drives", "hit_drives"), ("links", "hit_links")):
        if hit in busy:
            spent[healthy] = spent[healthy] + spent[hit]
            busy[healthy] = np.maximum(busy[healthy], busy[hit])
    order = ("drives", "links", "controller", "host_link")  # of `STATIONS`
    busiest = np.argmax(np.stack([busy[name] for name in order]), axis=0)
    apart = _value(met.apart_s) * 1e3 + 0.0 * iops
    # What is left is the wait for a cache that is full: for the busiest part to catch up.
    known = np.stack([spent[name] for name in order])
    rest = np.maximum(response - known.sum(axis=0) - apart, 0.0)
    known = known + rest * (np.arange(len(order))[:, None] == busiest)
    found: dict[str, FloatArray | IntArray] = {
        "iops": iops,
        "iops_low": low,
        "iops_bound": bound,
        "response_ms": response,
        "response_low_ms": many / bound * 1e3,
        "response_high_ms": many / low * 1e3,
        "knee_outstanding": np.maximum(knee_customers(network)[VALUE], 1.0),
        "drive_utilisation": np.minimum(iops * busy["drives"], 1.0),
        "fixed_ms": apart,
        **{f"{name}_ms": ms for name, ms in zip(order, known, strict=True)},
        **{f"{name}_demand_ms": busy[name] * 1e3 for name in order},
        "drives_alone_ms": _alone_ms(met),
        "drive_operations": _value(met.operations) / shape.members,
        "bottleneck": np.where(np.isnan(iops), NOT_KNOWN, busiest).astype(np.int8),
    }
    if not hurt.any():
        return found
    alive = np.broadcast_to(shape.redundant | (hurt == 0), iops.shape)
    return {name: np.where(alive, x, _LOST.get(name, np.nan)) for name, x in found.items()}


@dataclass(frozen=True)
class Unqueued:
    """What is known of sound arrays without solving their networks; fields of `MixedThroughput`."""

    iops_bound: FloatArray
    drives_alone_ms: FloatArray
    drive_operations: FloatArray


def unqueued(
    shape: ArrayShape, times: DriveTimes, path: DataPath, load: Load, serving: Serving
) -> Unqueued:
    """Give what takes no mean value analysis, of sound arrays, at a quarter of the time.

    Every argument has one element an array, or one for all; for the rest see `mixed_throughput`.
    """
    path, load, serving = checked_path(path), checked_load(load), checked_serving(serving)
    parts = (shape, times, path, load, serving)
    (size,) = np.broadcast_shapes(
        (1,), *(np.shape(getattr(x, f.name)) for x in parts for f in fields(x))
    )

    def flat(given: ArrayLike) -> FloatArray:
        array = np.asarray(given, dtype=np.float64)
        return array.reshape(1) if array.size == 1 else np.broadcast_to(array, size)

    shape, times = with_each(shape, flat), with_each(times, flat)
    path, load, serving = with_each(path, flat), with_each(load, flat), with_each(serving, flat)
    found = np.empty((3, size))
    for start in range(0, size, _CHUNK):
        part = slice(start, min(start + _CHUNK, size))
        cut = partial(_cut, part=part)
        here, some = with_each(shape, cut), with_each(load, cut)
        met = stations(
            here, with_each(times, cut), with_each(path, cut), some, with_each(serving, cut),
            np.zeros(1), np.ones(1),
        )  # fmt: skip
        many = np.asarray(some.outstanding, dtype=np.float64)
        found[0, part] = met.bounded(many, part.stop - start)
        found[1, part] = _alone_ms(met)
        found[2, part] = _value(met.operations) / here.members
    return Unqueued(*found)


def _value(three: FloatArray) -> FloatArray:
    """Take the value of value, low and high end; what is one for all three is that."""
    return three[VALUE] if three.ndim == 2 else three


def _alone_ms(met: Stations) -> FloatArray:
    """Give how long an operation keeps a drive of the whole groups busy by itself."""
    drives = met.listed["drives"]
    return _value(np.asarray(drives.demand_s + drives.position_s + drives.behind_s)) * 1e3


def mixed_throughput(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    serving: Serving | None = None,
    *,
    state: str | Sequence[str] = "normal",
    rebuild_share: ArrayLike = REBUILD_SHARE,
) -> MixedThroughput:
    """Operations a second and response time of arrays under a mixed load.

    Mean value analysis (Reiser and Lavenberg 1980) over the network described in
    `stations`, with bounds of Lazowska et al. 1984. It is what the array does while its host never
    pauses: a write cache is full then, and what it gains is the order in which it empties. Left
    out: data read or written again while it is in a cache, bursts, uneven use of the drives.

    It is held against a simulation of arms, platters and queues, which lies in the range in all
    but a few of 135 cases (docs/estimates_against_simulation.md). Where the two part by more than a
    third: for partial stripes written through to disks the simulation is believed, as several
    queues that have to meet wait longer for each other than one spread of service says; for small
    writes into a cache before flash this is, as the simulation's cache answers in a few hundredths
    of a millisecond and makers state about a tenth.

    Parameters
    ----------
    times : DriveTimes
        One drive at the size of a piece of the load's block, see `drive_work.pieces`.
    state : {"normal", "degraded", "rebuilding"}, or a list of them for one axis of arrays
        Degraded: one drive is gone from one group. Rebuilding: in addition a rebuild takes its
        share of that group's drives and of the controller.
    rebuild_share : array_like of float
        That share, at least 0, below 1; the default is common practice, no source.

    Returns
    -------
    MixedThroughput
        An array without redundancy that has lost a drive gives 0 operations and no response time
        (NaN).
    """
    share = check_state(state, rebuild_share)
    states = [state] if isinstance(state, str) else state
    hurt = np.array([float(one != "normal") for one in states])
    path, load = checked_path(path), checked_load(load)
    serving = checked_serving(serving or Serving())
    parts = (shape, times, path, load, serving)
    full = np.broadcast_shapes(
        share.shape,  # with an axis for several states
        *(np.shape(getattr(x, f.name)) for x in parts for f in fields(x)),
    )
    size = int(np.prod(full, dtype=np.int64))

    def flat(given: ArrayLike) -> FloatArray:
        array = np.asarray(given, dtype=np.float64)
        return array.reshape(1) if array.size == 1 else np.broadcast_to(array, full).reshape(-1)

    shape, times = with_each(shape, flat), with_each(times, flat)
    path, load, share = with_each(path, flat), with_each(load, flat), flat(share)
    serving, hurt = with_each(serving, flat), flat(hurt)
    whole_share, whole_hurt = share, hurt
    found: dict[str, Any] = {
        f.name: np.empty(size, np.int8 if f.name == "bottleneck" else np.float64)
        for f in fields(MixedThroughput)
    }
    for start in range(0, size, _CHUNK):
        part = slice(start, min(start + _CHUNK, size))
        given = shape, times, path, load, serving
        if size > _CHUNK:
            cut = partial(_cut, part=part)
            given = (with_each(shape, cut), with_each(times, cut), with_each(path, cut),
                     with_each(load, cut), with_each(serving, cut))  # fmt: skip
            share, hurt = cut(whole_share), cut(whole_hurt)
        answers = _evaluate(*given, hurt, share, part.stop - start)
        for name, answer in answers.items():
            found[name][part] = answer
    return MixedThroughput(**{name: array.reshape(full) for name, array in found.items()})


def _cut(array: ArrayLike, part: slice) -> FloatArray:
    flat = np.asarray(array)
    return flat if flat.size == 1 else flat[part]
