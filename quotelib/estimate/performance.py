"""Operations a second and response time of an array under a mixed load."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.array_io import ArrayShape
from quotelib.estimate.checks import FloatArray, IntArray
from quotelib.estimate.load import (
    NO_SERVICE,
    NOT_KNOWN,
    REBUILD_SHARE,
    Load,
    Path,
    check_state,
    checked_load,
    checked_path,
)
from quotelib.estimate.queueing import NetworkInputs, read_network, solve
from quotelib.estimate.queueing_bounds import asymptotic, balanced, knee
from quotelib.estimate.service import DriveTimes
from quotelib.estimate.stations import stations

# Service times may be this much longer than the datasheet suggests. Common practice, no source.
SERVICE_MARGIN = 0.2

# Arrays worked on at once: small enough for the processor's cache.
_CHUNK = 16_384


@dataclass(frozen=True)
class MixedThroughput:
    """Random-mix performance of arrays; every field has the broadcast shape.

    Parameters
    ----------
    iops : ndarray of float
        Host operations a second by mean value analysis.
    iops_low : ndarray of float
        The same with drive times longer by `SERVICE_MARGIN` and with the wait for the slowest
        of several drives, or the pessimistic balanced bound, whichever is less.
    iops_bound : ndarray of float
        Asymptotic upper bound: nothing with these service times can do more.
    response_ms, response_low_ms, response_high_ms : ndarray of float
        Time of one host operation, and the times that belong to `iops_bound` and `iops_low`.
    knee_outstanding : ndarray of float
        Outstanding operations beyond which more of them mostly wait.
    drive_utilisation : ndarray of float
        Busy share of the busiest drives.
    drives_ms, links_ms, controller_ms, host_link_ms, fixed_ms : ndarray of float
        Where the response time goes; they add up to it.
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
    bottleneck: IntArray


def _with_slower(network: NetworkInputs, slowest_s: FloatArray) -> NetworkInputs:
    """Put beside each network one whose drives lag, to be solved in one go.

    Links, controller and host link are standards or rated limits: they do not lag.
    """
    slow = network.demands.copy()
    slow[[0, *range(4, len(slow), 2)]] *= 1 + SERVICE_MARGIN
    further = np.broadcast_to(slowest_s, network.shape).ravel()
    return NetworkInputs(
        np.concatenate([network.demands, slow], axis=1),
        np.concatenate([network.copies, network.copies], axis=1),
        np.concatenate([network.customers, network.customers]),
        np.concatenate([network.think, network.think + further]),
        (2, *network.shape),
    )


def _evaluate(
    shape: ArrayShape,
    times: DriveTimes,
    path: Path,
    load: Load,
    state: str,
    host_share: FloatArray,
) -> tuple[FloatArray | IntArray, ...]:
    demands, copies, fixed, slowest = stations(shape, times, path, load, state, host_share)
    many = np.asarray(load.outstanding, dtype=np.float64)
    network = read_network(demands, many, fixed, copies)
    both = solve(_with_slower(network, slowest))
    throughput, lagging = both.throughput_per_s
    bound = asymptotic(network)
    low = np.minimum(lagging, balanced(network).throughput_low_per_s)
    spent = both.residence_s[0] * 1e3
    if demands.shape[-1] == 6:
        spent = np.concatenate([spent[..., :2] + spent[..., 4:], spent[..., 2:4]], axis=-1)
    present = np.where(copies > 0, demands, 0.0)
    largest = present[..., :4].copy()
    if demands.shape[-1] == 6:
        largest[..., :2] = np.maximum(largest[..., :2], present[..., 4:])
    shape_out = throughput.shape
    wait = np.broadcast_to(fixed, shape_out) * 1e3
    unknown = np.isnan(throughput)
    bottleneck = np.where(unknown, NOT_KNOWN, np.argmax(largest, axis=-1)).astype(np.int8)
    results: list[FloatArray] = [
        throughput,
        low,
        bound.throughput_high_per_s,
        both.response_s[0] * 1e3 + wait,
        many / bound.throughput_high_per_s * 1e3,
        many / low * 1e3,
        knee(network).reshape(shape_out),
        throughput * largest[..., 0],
        *(spent[..., k] for k in range(4)),
        wait,
    ]
    if state == "normal":
        return (*results, bottleneck)
    alive = np.broadcast_to(shape.redundant, shape_out)
    lost = [np.where(alive, r, np.nan) for r in results]
    lost[:3] = [np.where(alive, r, 0.0) for r in results[:3]]
    return (*lost, np.where(alive, bottleneck, NO_SERVICE).astype(np.int8))


def mixed_throughput(
    shape: ArrayShape,
    times: DriveTimes,
    path: Path,
    load: Load,
    *,
    state: str = "normal",
    rebuild_share: ArrayLike = REBUILD_SHARE,
) -> MixedThroughput:
    """Operations a second and response time of arrays under a mixed load.

    Parameters
    ----------
    shape : ArrayShape
        The arrays.
    times : DriveTimes
        One drive at the load's block size.
    path : Path
        Links, controller and slot; infinity where no limit is stated.
    load : Load
        The workload. Everything broadcasts together.
    state : {"normal", "degraded", "rebuilding"}
        Degraded: one drive is gone from one group. Rebuilding: in addition a rebuild takes its
        share of that group's drives and of the controller.
    rebuild_share : array_like of float
        That share; the default is common practice, no source.

    Returns
    -------
    MixedThroughput
        NaN where a rate or share is NaN. An array without redundancy that has lost a drive
        gives 0 operations and no response time (NaN).

    Raises
    ------
    ValueError
        A share outside 0 to 1, a rate or block not above zero, fewer than one outstanding
        operation, an unknown state.

    Notes
    -----
    Mean value analysis (Reiser and Lavenberg 1980) over the network described in
    `stations`, with bounds of Lazowska et al. 1984. Against a simulation with disk-like times
    (tests) the low end and the bound enclose every case. Left out: caches, reordering of
    queued commands by disks (they do better at depth), bursts, uneven use of the drives; and,
    but for the low end, the wait for the slowest of several drives.
    """
    host_share = check_state(state, rebuild_share)
    path, load = checked_path(path), checked_load(load)
    given: list[FloatArray] = [np.asarray(host_share)]
    for record in (shape, times, path, load):
        given += [np.asarray(getattr(record, f.name), dtype=np.float64) for f in fields(record)]
    full = np.broadcast_shapes(*(g.shape for g in given))
    size = int(np.prod(full, dtype=np.int64))
    flat = [g.reshape(1) if g.size == 1 else np.broadcast_to(g, full).reshape(-1) for g in given]
    names = fields(MixedThroughput)
    out: list[Any] = [
        np.empty(size, np.int8 if f.name == "bottleneck" else np.float64) for f in names
    ]
    for start in range(0, size, _CHUNK):
        part = slice(start, min(start + _CHUNK, size))
        share, *values = (f if f.size == 1 else f[part] for f in flat)
        answers = _evaluate(
            ArrayShape(*values[:4]),
            DriveTimes(*values[4:10]),
            Path(*values[10:14]),
            Load(*values[14:]),
            state,
            share,
        )
        for target, answer in zip(out, answers, strict=True):
            target[part] = answer
    return MixedThroughput(*(o.reshape(full) for o in out))
