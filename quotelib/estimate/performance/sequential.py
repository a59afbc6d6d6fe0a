"""Sequential MB/s of an array, from the tightest of drives, links, controller and slot."""

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
    read_best_mb_s, write_best_mb_s : ndarray of float
        Reads if the controller also reads from mirrors and parity drives at once; writes if the
        controller's limit counts the host's data only.
    drives_read_mb_s, drives_write_mb_s : ndarray of float
        The drives' worth of data.
    links_read_mb_s, links_write_mb_s, controller_mb_s, host_link_mb_s : ndarray of float
        The other limits, of which the least counts: the drives' links, the controller, its slot.
    read_bottleneck, write_bottleneck : ndarray of int
        Index into `load.STATIONS` of the tightest part for `read_mb_s` and `write_mb_s`,
        or `load.NOT_KNOWN`, `load.NO_SERVICE`.
    """

    read_mb_s: FloatArray
    read_best_mb_s: FloatArray
    write_mb_s: FloatArray
    write_best_mb_s: FloatArray
    drives_read_mb_s: FloatArray
    drives_write_mb_s: FloatArray
    links_read_mb_s: FloatArray
    links_write_mb_s: FloatArray
    controller_mb_s: FloatArray
    host_link_mb_s: FloatArray
    read_bottleneck: IntArray
    write_bottleneck: IntArray


def _tightest(
    drives: FloatArray, links: FloatArray, controller: FloatArray, host_link: FloatArray
) -> tuple[FloatArray, IntArray]:
    limits = np.stack([drives, links, controller, host_link])  # in the order of `STATIONS`
    least = np.asarray(limits.min(axis=0))
    code = np.where(np.isnan(least), NOT_KNOWN, limits.argmin(axis=0))
    return least, code.astype(np.int8)


def sequential_throughput(
    shape: ArrayShape,
    read_mb_s: ArrayLike,
    write_mb_s: ArrayLike,
    path: DataPath,
    *,
    state: str = "normal",
    rebuild_share: ArrayLike = REBUILD_SHARE,
) -> SequentialThroughput:
    """Sequential MB/s of arrays; 0 for one that has lost its data.

    Drives' worth of data x the rate of one (Arpaci-Dusseau, Operating Systems: Three Easy
    Pieces, ch. 38), capped by the links of those drives, the controller and the slot. Where lanes
    are shared, as many links as they carry at once, on which writes send copies and parity too; so
    they do through the controller. The better read figure counts every drive (Chen et al., ACM
    Computing Surveys 26(2), 1994, Table 3). With a drive missing, stripes still come whole from the
    survivors; a striped stream waits for the group that lost one, so a rebuild slows all of it.
    Drives without an array are added up, which takes as many streams. Rates are those at the rim
    of a disk: inner tracks are slower.

    Parameters
    ----------
    read_mb_s, write_mb_s : array_like of float
        Sustained rates of one drive, above zero.
    path, state, rebuild_share
        As in `mixed.mixed_throughput`.
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
    lanes = np.asarray(path.links_at_once)
    written = np.asarray(shape.members / data)  # drives' worth that go out for one of data
    limits = together(
        drives_read_mb_s=np.asarray(data * read),
        drives_write_mb_s=np.asarray(data * write),
        links_read_mb_s=np.asarray(np.minimum(data, lanes) * link),
        links_write_mb_s=np.asarray(np.minimum(data, lanes / written) * link),
        controller_mb_s=controller,
        host_link_mb_s=host,
    )
    ends = (limits["controller_mb_s"], limits["host_link_mb_s"])
    reads, read_code = _tightest(limits["drives_read_mb_s"], limits["links_read_mb_s"], *ends)
    out = limits["drives_write_mb_s"], limits["links_write_mb_s"]
    # What the controller moves to the drives: copies and parity too.
    writes, write_code = _tightest(*out, ends[0] / written, ends[1])
    best_writes, _ = _tightest(*out, *ends)
    full = ends[0].shape
    ways = (most * read, np.minimum(most, lanes) * link)
    drives, links = (np.broadcast_to(way, full) for way in ways)
    best, _ = _tightest(drives, links, *ends)
    alive = np.asarray(True) if state == "normal" else np.broadcast_to(shape.redundant, full)
    return SequentialThroughput(
        read_mb_s=np.where(alive, reads, 0.0),
        read_best_mb_s=np.where(alive, best, 0.0),
        write_mb_s=np.where(alive, writes, 0.0),
        write_best_mb_s=np.where(alive, best_writes, 0.0),
        read_bottleneck=np.where(alive, read_code, NO_SERVICE).astype(np.int8),
        write_bottleneck=np.where(alive, write_code, NO_SERVICE).astype(np.int8),
        **limits,
    )
