"""Operations a second and response time of an array under a mixed load."""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import partial
from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, IntArray
from quotelib.estimate.performance.load import (
    NO_SERVICE,
    NOT_KNOWN,
    REBUILD_SHARE,
    DataPath,
    Load,
    check_state,
    checked_load,
    checked_path,
)
from quotelib.estimate.performance.queueing import (
    Network,
    asymptotic_bounds,
    balanced_bounds,
    knee_customers,
    mean_value_analysis,
)
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.performance.stations import Stations, stations
from quotelib.estimate.shape import ArrayShape

# Service times may be this much longer than the datasheet suggests. Common practice, no source.
SERVICE_MARGIN = 0.2

# Arrays worked on at once: small enough for the processor's cache.
_CHUNK = 8_192

_Given = TypeVar("_Given", ArrayShape, DriveTimes, DataPath, Load)


@dataclass(frozen=True)
class MixedThroughput:
    """Random-mix performance of arrays; every field has the broadcast shape.

    Parameters
    ----------
    iops : ndarray of float
        Host operations a second by mean value analysis.
    iops_low : ndarray of float
        The lesser of `iops_lagging` and `iops_balanced`.
    iops_bound : ndarray of float
        Asymptotic upper bound: nothing with these service times can do more.
    iops_lagging : ndarray of float
        As `iops`, with drive times longer by `SERVICE_MARGIN` and with the wait for the slowest
        of several drives.
    iops_balanced : ndarray of float
        Pessimistic balanced bound.
    response_ms, response_low_ms, response_high_ms : ndarray of float
        Time of one host operation, and the times that belong to `iops_bound` and `iops_low`.
    knee_outstanding : ndarray of float
        Outstanding operations beyond which more of them mostly wait.
    drive_utilisation : ndarray of float
        Busy share of the busiest drives.
    drives_ms, links_ms, controller_ms, host_link_ms, fixed_ms : ndarray of float
        Where the response time goes; they add up to it.
    drives_demand_ms, links_demand_ms, controller_demand_ms, host_link_demand_ms : ndarray of float
        How long one host operation keeps the busiest of each busy; the inverse of the largest
        bounds the operations a second.
    bottleneck : ndarray of int
        Index into `STATIONS` of the busiest station; `NOT_KNOWN` if an input is not known,
        `NO_SERVICE` if the array has lost its data.
    """

    iops: FloatArray
    iops_low: FloatArray
    iops_bound: FloatArray
    iops_lagging: FloatArray
    iops_balanced: FloatArray
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
    bottleneck: IntArray


# What is left of an array that has lost its data; all other figures are not known.
_LOST = {name: 0.0 for name in MixedThroughput.__annotations__ if name.startswith("iops")}
_LOST["bottleneck"] = NO_SERVICE


def _with_slower(met: Stations, network: Network) -> Network:
    """Put beside each network one whose drives lag, to be solved in one go.

    Links, controller and host link are standards or rated limits: they do not lag.
    """
    slow = network.demands.copy()
    slow[[name in ("drives", "hit_drives") for name in met.listed]] *= 1 + SERVICE_MARGIN
    further = np.broadcast_to(met.mix.slowest_s, network.shape).ravel()
    return Network(
        np.concatenate([network.demands, slow], axis=1),
        np.concatenate([network.copies, network.copies], axis=1),
        np.concatenate([network.customers, network.customers]),
        np.concatenate([network.think, network.think + further]),
        (2, *network.shape),
    )


def _evaluate(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    state: str,
    host_share: FloatArray,
) -> dict[str, FloatArray | IntArray]:
    """Give every field of `MixedThroughput`, by name."""
    met = stations(shape, times, path, load, state, host_share)
    many = np.asarray(load.outstanding, dtype=np.float64)
    network = met.network(many)
    both = mean_value_analysis(_with_slower(met, network))
    iops, lagging = both.throughput_per_s
    bound = asymptotic_bounds(network).high_per_s
    balanced = balanced_bounds(network).low_per_s
    low = np.minimum(lagging, balanced)

    by_station = np.moveaxis(both.residence_s[0] * 1e3, -1, 0)
    spent = dict(zip(met.listed, by_station, strict=True))
    busy = {
        name: np.broadcast_to(np.where(x.copies > 0, x.demand_s, 0.0), iops.shape)
        for name, x in met.listed.items()
    }
    for healthy, hit in (("drives", "hit_drives"), ("links", "hit_links")):
        if hit in busy:
            spent[healthy] = spent[healthy] + spent[hit]
            busy[healthy] = np.maximum(busy[healthy], busy[hit])
    order = ("drives", "links", "controller", "host_link")  # of `STATIONS`
    busiest = np.argmax(np.stack([busy[name] for name in order]), axis=0)
    wait = np.broadcast_to(met.mix.fixed_s, iops.shape) * 1e3
    found: dict[str, FloatArray | IntArray] = {
        "iops": iops,
        "iops_low": low,
        "iops_bound": bound,
        "iops_lagging": lagging,
        "iops_balanced": balanced,
        "response_ms": both.response_s[0] * 1e3 + wait,
        "response_low_ms": many / bound * 1e3,
        "response_high_ms": many / low * 1e3,
        "knee_outstanding": knee_customers(network),
        "drive_utilisation": iops * busy["drives"],
        "fixed_ms": wait,
        **{f"{name}_ms": spent[name] for name in order},
        **{f"{name}_demand_ms": busy[name] * 1e3 for name in order},
        "bottleneck": np.where(np.isnan(iops), NOT_KNOWN, busiest).astype(np.int8),
    }
    if state == "normal":
        return found
    alive = np.broadcast_to(shape.redundant, iops.shape)
    return {name: np.where(alive, x, _LOST.get(name, np.nan)) for name, x in found.items()}


def mixed_throughput(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    *,
    state: str = "normal",
    rebuild_share: ArrayLike = REBUILD_SHARE,
) -> MixedThroughput:
    """Operations a second and response time of arrays under a mixed load.

    Mean value analysis (Reiser and Lavenberg 1980) over the network described in
    `stations`, with bounds of Lazowska et al. 1984. Against a simulation with disk-like times
    (tests) the low end and the bound enclose every case. Left out: caches, reordering of
    queued commands by disks (they do better at depth), bursts, uneven use of the drives; and,
    but for the low end, the wait for the slowest of several drives.

    Parameters
    ----------
    times : DriveTimes
        One drive at the load's block size.
    state : {"normal", "degraded", "rebuilding"}
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
    path, load = checked_path(path), checked_load(load)
    full = np.broadcast_shapes(
        share.shape,
        *(np.shape(getattr(x, f.name)) for x in (shape, times, path, load) for f in fields(x)),
    )
    size = int(np.prod(full, dtype=np.int64))

    def flat(given: ArrayLike) -> FloatArray:
        array = np.asarray(given, dtype=np.float64)
        return array.reshape(1) if array.size == 1 else np.broadcast_to(array, full).reshape(-1)

    shape, times = _each(shape, flat), _each(times, flat)
    path, load, share = _each(path, flat), _each(load, flat), flat(share)
    found: dict[str, Any] = {
        f.name: np.empty(size, np.int8 if f.name == "bottleneck" else np.float64)
        for f in fields(MixedThroughput)
    }
    for start in range(0, size, _CHUNK):
        part = slice(start, min(start + _CHUNK, size))
        cut = partial(_cut, part=part)
        given = (_each(shape, cut), _each(times, cut), _each(path, cut), _each(load, cut))
        answers = _evaluate(*given, state, cut(share))
        for name, answer in answers.items():
            found[name][part] = answer
    return MixedThroughput(**{name: array.reshape(full) for name, array in found.items()})


def _cut(array: ArrayLike, part: slice) -> FloatArray:
    flat = np.asarray(array)
    return flat if flat.size == 1 else flat[part]


def _each(given: _Given, change: Callable[[ArrayLike], FloatArray]) -> _Given:
    return replace(given, **{f.name: change(getattr(given, f.name)) for f in fields(given)})
