"""How long an array is exposed after a drive has failed: replacement, then rebuild."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require, together
from quotelib.estimate.performance.load import REBUILD_SHARE
from quotelib.estimate.shape import ArrayShape
from quotelib.units import MB, MIB

# Until a rebuild onto a hot spare starts. Common practice, no source.
SPARE_START_HOURS = 0.25
# Until somebody has put a new drive in where there is no hot spare. Common practice, no source.
ATTENDED_SWAP_HOURS = 24.0

# Share of the drives' time that the host takes where nobody said. Common practice, no source.
DAY_UTILISATION = 0.5
# Bytes of a drive that a rebuild moves before it lets the host in, where the host leaves it room,
# and at the least. Common practice, no source.
CHUNK_BYTES = 4 * MIB
LEAST_CHUNK_BYTES = 1 * MIB


@dataclass(frozen=True)
class RebuildWindow:
    """Hours from a drive failure to full redundancy; every field has the broadcast shape.

    Parameters
    ----------
    sources : ndarray of float
        Drives read to fill the new one; NaN without redundancy.
    rate_mb_s, mean_rate_mb_s : ndarray of float
        Rate at which the new drive fills while the host is idle: on the outer tracks, and as the
        mean of all tracks.
    loaded_share, busy_share : ndarray of float
        Part of the mean rate that is left while the host goes on as on any day, and while it keeps
        the drives busy all the time.
    idle_hours, loaded_hours, busy_hours : ndarray of float
        Rebuild alone: at the rim's rate with an idle host; as on any day; with busy drives.
    delay_hours : ndarray of float
        Before the rebuild starts.
    exposed_idle_hours, exposed_loaded_hours, exposed_busy_hours : ndarray of float
        Delay and rebuild together.
    """

    sources: FloatArray
    rate_mb_s: FloatArray
    mean_rate_mb_s: FloatArray
    loaded_share: FloatArray
    busy_share: FloatArray
    idle_hours: FloatArray
    loaded_hours: FloatArray
    busy_hours: FloatArray
    delay_hours: FloatArray
    exposed_idle_hours: FloatArray
    exposed_loaded_hours: FloatArray
    exposed_busy_hours: FloatArray


def rebuild_sources(shape: ArrayShape) -> FloatArray:
    """Drives that must be read from end to end to fill a new one.

    1 for a mirror, drives of the span less its parity drives otherwise, NaN without redundancy. Any
    g - p blocks of a stripe give the rest: Chen et al., ACM Computing Surveys 26(2), 1994,
    sections 3.2 and 3.3.
    """
    parity = shape.group_drives - shape.parity_per_span
    sources = np.where(shape.mirrored, 1.0, parity)
    return np.where(shape.redundant, sources, np.nan)


def rebuild_rate_mb_s(
    sources: ArrayLike,
    target_write_mb_s: ArrayLike,
    source_read_mb_s: ArrayLike,
    link_mb_s: ArrayLike = np.inf,
    controller_mb_s: ArrayLike = np.inf,
    links_at_once: ArrayLike = np.inf,
) -> FloatArray:
    """Rate at which a new drive can be filled while nothing else goes on, in MB/s.

    All sources are read side by side, a byte of each for a byte written, so the least of: the
    target's write rate, a source's read rate, a drive's link, and over (sources + 1) streams the
    controller's rate and the links that its lanes carry at once. Derived here; no source.

    Parameters
    ----------
    sources : array_like of float
        Drives read, at least 1; see `rebuild_sources`.
    target_write_mb_s, source_read_mb_s : array_like of float
        Sustained rates of one drive, above zero.
    link_mb_s, controller_mb_s : array_like of float
        Link of one drive, and data the controller moves; infinity where no limit is stated.
    links_at_once : array_like of float
        As in `performance.load.DataPath`.
    """
    reads = number("drives read for a rebuild", sources, at_least=1)
    write = number("target write rate in MB/s", target_write_mb_s, above=0)
    read = number("source read rate in MB/s", source_read_mb_s, above=0)
    link = number("drive link in MB/s", link_mb_s, above=0, infinite=True)
    controller = number("controller limit in MB/s", controller_mb_s, above=0, infinite=True)
    lanes = number("drive links at once", links_at_once, above=0, infinite=True)
    share = link * np.minimum(lanes / (reads + 1), 1.0)
    return np.asarray(
        np.minimum(np.minimum(write, read), np.minimum(share, controller / (reads + 1)))
    )


def rebuild_hours(
    member_bytes: ArrayLike, rate_mb_s: ArrayLike, share: ArrayLike = 1.0
) -> FloatArray:
    """Hours to fill a new drive: bytes / (rate x share x 10^6 x 3600).

    The whole member is written, used or not; an array that knows what is in use may be faster.

    Parameters
    ----------
    member_bytes, rate_mb_s : array_like of float
        Bytes of a member that belong to the array, and rate of an undisturbed rebuild; above zero.
    share : array_like of float
        Part of the drives' time the rebuild gets, above 0, at most 1.
    """
    size = number("member bytes", member_bytes, above=0)
    rate = number("rebuild rate in MB/s", rate_mb_s, above=0)
    part = number("share of drive time for the rebuild", share, above=0, at_most=1)
    return np.asarray(size / (rate * part * MB) / 3600)


def chunk_efficiency(
    chunk_bytes: ArrayLike, rate_mb_s: ArrayLike, position_ms: ArrayLike
) -> FloatArray:
    """Share of its time that a rebuild moves data where it positions anew at every chunk.

    ``transfer / (transfer + position)``. A share of the drives' time is no share of their rate, as
    the model of a disk as so many operations a second has it: Holland and Gibson, ASPLOS 1992.

    Parameters
    ----------
    chunk_bytes, rate_mb_s : array_like of float
        Moved at a time, and the rate at which that is done; above zero.
    position_ms : array_like of float
        Seek and half a turn, at least zero; zero for flash.
    """
    chunk = number("chunk of a rebuild in bytes", chunk_bytes, above=0)
    rate = number("rebuild rate in MB/s", rate_mb_s, above=0)
    position = number("positioning in ms", position_ms, at_least=0)
    transfer_ms = chunk / (rate * 1e3)
    return np.asarray(transfer_ms / (transfer_ms + position))


def share_left(
    drive_utilisation: ArrayLike,
    host_ops_per_s: ArrayLike = 0.0,
    position_ms: ArrayLike = 0.0,
    least: ArrayLike = REBUILD_SHARE,
) -> FloatArray:
    """Share of its rate that the host leaves a rebuild: ``1 - U - operations x position``.

    The host's operations take the share U of the drives' time, and each of them sends the rebuild
    back to where it was. Derived here; no source. The controller keeps `least` for the rebuild.

    Parameters
    ----------
    drive_utilisation : array_like of float
        Share of time the host keeps the drives busy, 0 to 1.
    host_ops_per_s : array_like of float
        Operations of one drive that interrupt the rebuild, at least zero.
    position_ms : array_like of float
        As for `chunk_efficiency`.
    least : array_like of float
        Above 0, at most 1: share of the drives' time the controller keeps for the rebuild, times
        the `chunk_efficiency`.
    """
    # Rounding may put a saturated drive a hair above 1.
    busy = number("drive utilisation", drive_utilisation, at_least=0, at_most=1 + 1e-9)
    operations = number("host operations a second", host_ops_per_s, at_least=0)
    position = number("positioning in ms", position_ms, at_least=0)
    kept = number("share kept for the rebuild", least, above=0, at_most=1)
    return np.asarray(np.maximum(1 - busy - operations * position / 1e3, kept))


def replacement_delay_hours(
    spares: ArrayLike,
    swap_hours: ArrayLike = ATTENDED_SWAP_HOURS,
    spare_start_hours: ArrayLike = SPARE_START_HOURS,
) -> FloatArray:
    """Hours between a failure and the start of the rebuild.

    Parameters
    ----------
    spares : array_like of int
        Hot spares at hand, at least 0.
    swap_hours, spare_start_hours : array_like of float
        Delay without and with a spare, at least 0; the defaults are common practice, no source.
    """
    at_hand = number("hot spares", spares, at_least=0, whole=True)
    swap = number("hours to swap a drive", swap_hours, at_least=0)
    start = number("hours to start on a spare", spare_start_hours, at_least=0)
    return np.where(np.isnan(at_hand), np.nan, np.where(at_hand > 0, start, swap))


def rebuild_window(
    shape: ArrayShape,
    member_bytes: ArrayLike,
    target_write_mb_s: ArrayLike,
    source_read_mb_s: ArrayLike,
    *,
    link_mb_s: ArrayLike = np.inf,
    controller_mb_s: ArrayLike = np.inf,
    links_at_once: ArrayLike = np.inf,
    drive_utilisation: ArrayLike = DAY_UTILISATION,
    host_ops_per_s: ArrayLike = 0.0,
    position_ms: ArrayLike = 0.0,
    rim_to_mean: ArrayLike = 1.0,
    chunk_bytes: ArrayLike = CHUNK_BYTES,
    least_chunk_bytes: ArrayLike = LEAST_CHUNK_BYTES,
    spares: ArrayLike = 0,
    floor: ArrayLike = REBUILD_SHARE,
    swap_hours: ArrayLike = ATTENDED_SWAP_HOURS,
    spare_start_hours: ArrayLike = SPARE_START_HOURS,
) -> RebuildWindow:
    """Hours of an array from a drive failure to full redundancy, as a range.

    Low end: bytes divided by the tightest rate, the drives' being their rim's, with an idle host.
    Value: the mean of the tracks, and what the host's day leaves (`share_left`). High end: drives
    kept busy all the time, so that the rebuild has its kept share of their time, in small chunks
    each of which it has to find anew. That the controller keeps that share is taken for granted: a
    simulation in which rebuild and host wait in one queue (docs/estimates_against_simulation.md)
    has flash beside long streams rebuilt up to four times as slowly. Faster parts never lengthen
    any of the three. Without redundancy the hours are infinite and the rates 0.

    Parameters
    ----------
    member_bytes, target_write_mb_s, source_read_mb_s, link_mb_s, controller_mb_s, links_at_once
        As in `rebuild_hours` and `rebuild_rate_mb_s`; the drives' rates are those of their rim.
    drive_utilisation, host_ops_per_s, position_ms
        As in `share_left`: what a usual day takes of a member.
    rim_to_mean : array_like of float
        `performance.service.RIM_TO_MEAN` for disks, 1 for flash; above 0, at most 1. Of the
        drives' own rates only.
    chunk_bytes, least_chunk_bytes : array_like of float
        Moved at a time, as a rule and where the host presses hardest, which is no more.
    floor : array_like of float
        Share of the drives' time the controller keeps for the rebuild however busy the host is: its
        priority. Above 0, at most 1; common practice, no source.
    spares, swap_hours, spare_start_hours
        As in `replacement_delay_hours`.
    """
    sources = rebuild_sources(shape)
    redundant = ~np.isnan(sources)
    reads = np.where(redundant, sources, 1.0)
    inner = number("mean rate over the rim's", rim_to_mean, above=0, at_most=1)
    kept = number("share kept for the rebuild", floor, above=0, at_most=1)
    write = number("target write rate in MB/s", target_write_mb_s, above=0)
    read = number("source read rate in MB/s", source_read_mb_s, above=0)
    chunk, least = np.asarray(chunk_bytes), np.asarray(least_chunk_bytes)
    require(~(least > chunk), "the least chunk of a rebuild must be no larger than the usual one")
    way = (link_mb_s, controller_mb_s, links_at_once)
    rim = rebuild_rate_mb_s(reads, write, read, *way)
    mean = rebuild_rate_mb_s(reads, write * inner, read * inner, *way)
    day = kept * chunk_efficiency(chunk, mean, position_ms)
    loaded = share_left(drive_utilisation, host_ops_per_s, position_ms, day)
    busy = kept * chunk_efficiency(least, mean, position_ms)
    hours = [
        np.where(redundant, rebuild_hours(member_bytes, rate, share), np.inf)
        for rate, share in ((rim, 1.0), (mean, loaded), (mean, busy))
    ]
    delay = replacement_delay_hours(spares, swap_hours, spare_start_hours)
    return RebuildWindow(
        **together(
            sources=sources,
            rate_mb_s=np.where(redundant, rim, 0.0),
            mean_rate_mb_s=np.where(redundant, mean, 0.0),
            loaded_share=loaded,
            busy_share=busy,
            idle_hours=hours[0],
            loaded_hours=hours[1],
            busy_hours=hours[2],
            delay_hours=delay,
            exposed_idle_hours=delay + hours[0],
            exposed_loaded_hours=delay + hours[1],
            exposed_busy_hours=delay + hours[2],
        )
    )
