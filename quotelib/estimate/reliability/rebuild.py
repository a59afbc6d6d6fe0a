"""How long an array is exposed after a drive has failed: replacement, then rebuild."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, together
from quotelib.estimate.performance.load import REBUILD_SHARE
from quotelib.estimate.shape import ArrayShape

# Until a rebuild onto a hot spare starts. Common practice, no source.
SPARE_START_HOURS = 0.25
# Until somebody has put a new drive in where there is no hot spare. Common practice, no source.
ATTENDED_SWAP_HOURS = 24.0


@dataclass(frozen=True)
class RebuildWindow:
    """Hours from a drive failure to full redundancy; every field has the broadcast shape.

    Parameters
    ----------
    sources : ndarray of float
        Drives read to fill the new one; NaN without redundancy.
    rate_mb_s : ndarray of float
        Rate at which the new drive fills while the host is idle.
    loaded_share : ndarray of float
        Part of the drives' time the rebuild gets while the host goes on.
    idle_hours, loaded_hours : ndarray of float
        Rebuild alone, with an idle host and with one that goes on working.
    delay_hours : ndarray of float
        Before the rebuild starts.
    exposed_idle_hours, exposed_loaded_hours : ndarray of float
        Delay and rebuild together.
    """

    sources: FloatArray
    rate_mb_s: FloatArray
    loaded_share: FloatArray
    idle_hours: FloatArray
    loaded_hours: FloatArray
    delay_hours: FloatArray
    exposed_idle_hours: FloatArray
    exposed_loaded_hours: FloatArray


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
    return np.asarray(size / (rate * part * 1e6) / 3600)


def loaded_share(drive_utilisation: ArrayLike, floor: ArrayLike = REBUILD_SHARE) -> FloatArray:
    """Part of the drives' time a rebuild gets while the host goes on: what it leaves, or the floor.

    Parameters
    ----------
    drive_utilisation : array_like of float
        Share of time the host keeps the drives busy, 0 to 1.
    floor : array_like of float
        Share the controller keeps for the rebuild however busy the host is, above 0, at most 1;
        common practice, no source.
    """
    # Rounding may put a saturated drive a hair above 1.
    busy = number("drive utilisation", drive_utilisation, at_least=0, at_most=1 + 1e-9)
    least = number("share kept for the rebuild", floor, above=0, at_most=1)
    return np.asarray(np.maximum(1 - busy, least))


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
    drive_utilisation: ArrayLike = 1.0,
    spares: ArrayLike = 0,
    floor: ArrayLike = REBUILD_SHARE,
    swap_hours: ArrayLike = ATTENDED_SWAP_HOURS,
    spare_start_hours: ArrayLike = SPARE_START_HOURS,
) -> RebuildWindow:
    """Hours of an array from a drive failure to full redundancy.

    Idle and loaded are the ends of a range, not a forecast of any one day. Without redundancy the
    hours are infinite and the rate 0.

    Parameters
    ----------
    member_bytes, target_write_mb_s, source_read_mb_s, link_mb_s, controller_mb_s, links_at_once
        As in `rebuild_hours` and `rebuild_rate_mb_s`.
    drive_utilisation, floor
        As in `loaded_share`; by default a host that keeps the drives busy all the time.
    spares, swap_hours, spare_start_hours
        As in `replacement_delay_hours`.
    """
    sources = rebuild_sources(shape)
    redundant = ~np.isnan(sources)
    rate = rebuild_rate_mb_s(
        np.where(redundant, sources, 1.0),
        target_write_mb_s,
        source_read_mb_s,
        link_mb_s,
        controller_mb_s,
        links_at_once,
    )
    share = loaded_share(drive_utilisation, floor)
    idle = np.where(redundant, rebuild_hours(member_bytes, rate), np.inf)
    loaded = np.where(redundant, rebuild_hours(member_bytes, rate, share), np.inf)
    delay = replacement_delay_hours(spares, swap_hours, spare_start_hours)
    return RebuildWindow(
        **together(
            sources=sources,
            rate_mb_s=np.where(redundant, rate, 0.0),
            loaded_share=share,
            idle_hours=idle,
            loaded_hours=loaded,
            delay_hours=delay,
            exposed_idle_hours=delay + idle,
            exposed_loaded_hours=delay + loaded,
        )
    )
