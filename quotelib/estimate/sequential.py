"""Sequential MB/s of an array, from the tightest of drives, links, controller and slot."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.array_io import ArrayShape
from quotelib.estimate.checks import FloatArray, IntArray, number
from quotelib.estimate.load import (
    NO_SERVICE,
    NOT_KNOWN,
    REBUILD_SHARE,
    Path,
    check_state,
    checked_path,
)


@dataclass(frozen=True)
class SequentialThroughput:
    """Sequential rates of arrays; every field has the broadcast shape.

    Parameters
    ----------
    read_mb_s, write_mb_s : ndarray of float
        Host data a second, counting only the drives' worth of data.
    read_best_mb_s : ndarray of float
        Reads if the controller also reads from mirrors and parity drives at once.
    read_bottleneck, write_bottleneck : ndarray of int
        Index into `load.STATIONS` of the tightest part for `read_mb_s` and `write_mb_s`,
        or `load.NOT_KNOWN`, `load.NO_SERVICE`.
    """

    read_mb_s: FloatArray
    read_best_mb_s: FloatArray
    write_mb_s: FloatArray
    read_bottleneck: IntArray
    write_bottleneck: IntArray


def _tightest(
    drives: FloatArray, rate: FloatArray, path: Path, shape: tuple[int, ...]
) -> tuple[FloatArray, IntArray]:
    limits = np.stack(
        [
            np.broadcast_to(limit, shape)
            for limit in (
                drives * rate,
                drives * np.asarray(path.link_mb_s),
                np.asarray(path.controller_mb_s),
                np.asarray(path.host_link_mb_s),
            )
        ]
    )
    least = limits.min(axis=0)
    code = np.where(np.isnan(least), NOT_KNOWN, limits.argmin(axis=0))
    return np.asarray(least), code.astype(np.int8)


def sequential_throughput(
    shape: ArrayShape,
    read_mb_s: ArrayLike,
    write_mb_s: ArrayLike,
    path: Path,
    *,
    state: str = "normal",
    rebuild_share: ArrayLike = REBUILD_SHARE,
) -> SequentialThroughput:
    """Sequential MB/s of arrays.

    Parameters
    ----------
    shape : ArrayShape
        The arrays.
    read_mb_s, write_mb_s : array_like of float
        Sustained rates of one drive.
    path : Path
        Links, controller and slot; infinity where no limit is stated.
    state, rebuild_share
        As in `performance.mixed_throughput`.

    Returns
    -------
    SequentialThroughput
        NaN where a rate is NaN; 0 for an array that has lost its data.

    Raises
    ------
    ValueError
        A rate not above zero, an unknown state, a share outside its limits.

    Notes
    -----
    Drives' worth of data x the rate of one (Arpaci-Dusseau, Operating Systems: Three Easy
    Pieces, ch. 38), capped by the links of those drives, the controller and the slot. The
    better read figure counts every drive (Chen et al., ACM Computing Surveys 26(2), 1994,
    Table 3). With a drive missing, stripes still come whole from the survivors; a striped
    stream waits for the group that lost one, so a rebuild slows all of it. Drives without an
    array are added up, which takes as many streams. Outer tracks are faster and inner tracks
    slower than the sustained rate.
    """
    host_share = check_state(state, rebuild_share)
    path = checked_path(path)
    read = np.asarray(number("drive read rate in MB/s", read_mb_s, above=0) * host_share)
    write = np.asarray(number("drive write rate in MB/s", write_mb_s, above=0) * host_share)
    data = shape.data_members
    best = shape.members if state == "normal" else shape.groups * (shape.group_drives - 1)
    full = np.broadcast_shapes(
        shape.groups.shape,
        data.shape,
        read.shape,
        write.shape,
        *(np.shape(limit) for limit in (path.link_mb_s, path.controller_mb_s)),
        np.shape(path.host_link_mb_s),
    )
    if state != "normal":
        path = replace(path, controller_mb_s=np.asarray(path.controller_mb_s) * host_share)
    read_rate, read_code = _tightest(data, read, path, full)
    best_rate, _ = _tightest(np.asarray(best), read, path, full)
    write_rate, write_code = _tightest(data, write, path, full)
    if state != "normal":
        alive = np.broadcast_to(shape.redundant, full)
        read_rate, best_rate, write_rate = (
            np.where(alive, rate, 0.0) for rate in (read_rate, best_rate, write_rate)
        )
        read_code, write_code = (
            np.where(alive, code, NO_SERVICE).astype(np.int8) for code in (read_code, write_code)
        )
    return SequentialThroughput(read_rate, best_rate, write_rate, read_code, write_code)
