"""Sequential MB/s of an array, from the tightest of drives, links, controller and slot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, IntArray, number, together
from quotelib.estimate.performance.load import (
    NO_SERVICE,
    NOT_KNOWN,
    REBUILD_SHARE,
    DataPath,
    check_state,
    checked_path,
)
from quotelib.estimate.shape import ArrayShape


@dataclass(frozen=True)
class SequentialThroughput:
    """Sequential rates of arrays; every field has the broadcast shape.

    Parameters
    ----------
    read_mb_s, write_mb_s : ndarray of float
        Host data a second, counting only the drives' worth of data.
    read_best_mb_s : ndarray of float
        Reads if the controller also reads from mirrors and parity drives at once.
    drives_read_mb_s, drives_write_mb_s, links_mb_s, controller_mb_s, host_link_mb_s : ndarray
        The limits of which the least counts: the drives' worth of data, their links, the
        controller, its slot.
    read_bottleneck, write_bottleneck : ndarray of int
        Index into `load.STATIONS` of the tightest part for `read_mb_s` and `write_mb_s`,
        or `load.NOT_KNOWN`, `load.NO_SERVICE`.
    """

    read_mb_s: FloatArray
    read_best_mb_s: FloatArray
    write_mb_s: FloatArray
    drives_read_mb_s: FloatArray
    drives_write_mb_s: FloatArray
    links_mb_s: FloatArray
    controller_mb_s: FloatArray
    host_link_mb_s: FloatArray
    read_bottleneck: IntArray
    write_bottleneck: IntArray


@dataclass(frozen=True)
class _Tightest:
    mb_s: FloatArray
    bottleneck: IntArray


def _tightest(
    drives: FloatArray, links: FloatArray, controller: FloatArray, host_link: FloatArray
) -> _Tightest:
    limits = np.stack([drives, links, controller, host_link])  # in the order of `STATIONS`
    least = np.asarray(limits.min(axis=0))
    code = np.where(np.isnan(least), NOT_KNOWN, limits.argmin(axis=0))
    return _Tightest(least, code.astype(np.int8))


def sequential_throughput(
    shape: ArrayShape,
    read_mb_s: ArrayLike,
    write_mb_s: ArrayLike,
    path: DataPath,
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
    path : DataPath
        Links, controller and slot; infinity where no limit is stated.
    state, rebuild_share
        As in `mixed.mixed_throughput`.

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
    link, host = np.asarray(path.link_mb_s), np.asarray(path.host_link_mb_s)
    controller = np.asarray(path.controller_mb_s)
    if state != "normal":
        controller = controller * host_share
    data = shape.data_members
    most = np.asarray(
        shape.members if state == "normal" else shape.groups * (shape.group_drives - 1)
    )
    limits = together(
        drives_read_mb_s=np.asarray(data * read),
        drives_write_mb_s=np.asarray(data * write),
        links_mb_s=np.asarray(data * link),
        controller_mb_s=controller,
        host_link_mb_s=host,
    )
    ends = (limits["controller_mb_s"], limits["host_link_mb_s"])
    reads = _tightest(limits["drives_read_mb_s"], limits["links_mb_s"], *ends)
    writes = _tightest(limits["drives_write_mb_s"], limits["links_mb_s"], *ends)
    full = ends[0].shape
    best = _tightest(np.broadcast_to(most * read, full), np.broadcast_to(most * link, full), *ends)
    alive = np.asarray(True) if state == "normal" else np.broadcast_to(shape.redundant, full)
    return SequentialThroughput(
        read_mb_s=np.where(alive, reads.mb_s, 0.0),
        read_best_mb_s=np.where(alive, best.mb_s, 0.0),
        write_mb_s=np.where(alive, writes.mb_s, 0.0),
        read_bottleneck=np.where(alive, reads.bottleneck, NO_SERVICE).astype(np.int8),
        write_bottleneck=np.where(alive, writes.bottleneck, NO_SERVICE).astype(np.int8),
        **limits,
    )
