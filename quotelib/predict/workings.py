"""What comes of the numbers of some arrays: throughput, a day, rebuild, and what the risk rests on.

The one way from `inputs` to `quotelib.estimate`: page, choice and charts get the same figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.catalogue.work import Workload
from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.day import (
    BUSY_HOURS,
    OpenResponse,
    day_operations_per_s,
    open_response,
)
from quotelib.estimate.performance.drive_work import pieces
from quotelib.estimate.performance.load import REBUILD_SHARE, Load
from quotelib.estimate.performance.mixed import MixedThroughput, Unqueued, mixed_throughput
from quotelib.estimate.performance.service import (
    RIM_TO_MEAN,
    DriveTimes,
    disk_times,
    flash_times,
    position_ms,
)
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.protection import Protection
from quotelib.estimate.reliability.rebuild import (
    ATTENDED_SWAP_HOURS,
    DAY_UTILISATION,
    RebuildWindow,
    rebuild_window,
)
from quotelib.estimate.shape import group_shape
from quotelib.predict.inputs import Inputs
from quotelib.units import KIB

NEUTRAL = Workload.model_validate(
    {
        "name": "neutral",
        "description": "nothing was said: small random operations, two reads for each write",
        "read_pct": "67",
        "random_pct": "100",
        "block_kib": "4",
        "outstanding": "32",
        "writes_gb_per_day": "0",
    }
)
"""Load for an enquiry that names none; every estimate that rests on it says so."""


def load_of(workload: Workload, outstanding: ArrayLike | None = None) -> Load:
    """Turn a workload into what the estimates take; `outstanding` replaces its own."""
    return Load(
        read_share=float(workload.read_pct) / 100,
        random_share=float(workload.random_pct) / 100,
        block_bytes=float(workload.block_kib) * KIB,
        outstanding=workload.outstanding if outstanding is None else outstanding,
    )


def drive_times(f: Inputs, block_bytes: ArrayLike) -> DriveTimes:
    """Service times of the drives at a host's block size, disks and flash side by side."""
    rates = (f.read_mb_s, f.write_mb_s)
    piece = pieces(f.shape, block_bytes, f.serving.strip_bytes).piece_bytes
    # Each kind is worked out for all and then picked; what the other lacks counts as one.
    seek, rpm = (np.where(f.flash, 1.0, x) for x in (f.seek_ms, f.rpm))
    reads, writes = (np.where(f.flash, x, 1.0) for x in (f.read_iops, f.write_iops))
    with np.errstate(invalid="ignore"):
        disk = disk_times(piece, seek, rpm, *rates)
        flash = flash_times(piece, reads, writes, *rates)
    names = (field.name for field in fields(DriveTimes))
    return DriveTimes(*(np.where(f.flash, getattr(flash, n), getattr(disk, n)) for n in names))


def throughput(
    f: Inputs,
    load: Load,
    state: str | Sequence[str] = "normal",
    rebuild_share: ArrayLike = REBUILD_SHARE,
    times: DriveTimes | None = None,
) -> MixedThroughput:
    """Operations a second and response times under a load; `times` are those of its block."""
    times = times or drive_times(f, load.block_bytes)
    return mixed_throughput(
        f.shape, times, f.path, load, f.serving, state=state, rebuild_share=rebuild_share
    )


@dataclass(frozen=True)
class Day:
    """What the host asks over a day, of some arrays.

    Parameters
    ----------
    told : bool
        Whether the workload says how much is written. If not, nothing else is known.
    iops : float
        Host operations a second, on average.
    utilisation : ndarray of float
        Share of time that keeps the drives busy, at most 1; NaN: not known.
    drive_ops_per_s : ndarray of float
        Operations of each drive.
    """

    told: bool
    iops: float
    utilisation: FloatArray
    drive_ops_per_s: FloatArray


def day(workload: Workload, mixed: MixedThroughput | Unqueued) -> Day:
    """Say how busy the day is that a workload writes of, given what one of its operations costs."""
    load = load_of(workload)
    rate = day_operations_per_s(
        float(workload.writes_gb_per_day), load.block_bytes, load.read_share
    )
    busy = np.minimum(rate * mixed.drives_alone_ms / 1e3, 1.0)
    told = bool(np.isfinite(rate).all())
    return Day(told, float(rate), busy, np.asarray(rate * mixed.drive_operations))


def open_day(f: Inputs, load: Load, day: Day, times: DriveTimes | None = None) -> OpenResponse:
    """Response times of one array if the day's operations come within each of `BUSY_HOURS`."""
    rates = day.iops * 24 / np.array(BUSY_HOURS)
    times = times or drive_times(f, load.block_bytes)
    return open_response(f.shape, times, load, f.serving, rates[:, None])


def rebuild(f: Inputs, day: Day | None = None) -> RebuildWindow:
    """How long a rebuild takes beside the host's work of a day.

    A day of which it is not known how busy it is takes `DAY_UTILISATION`, whatever it consists of.
    """
    told = day if day is not None and day.told else None
    busy, often = (told.utilisation, told.drive_ops_per_s) if told else (np.nan, np.nan)
    known = ~np.isnan(busy)
    seek, rpm = (np.where(f.flash, 1.0, x) for x in (f.seek_ms, f.rpm))
    return rebuild_window(
        f.shape,
        f.member_bytes,
        f.write_mb_s,
        f.read_mb_s,
        link_mb_s=f.path.link_mb_s,
        controller_mb_s=f.path.controller_mb_s,
        links_at_once=f.path.links_at_once,
        drive_utilisation=np.where(known, busy, DAY_UTILISATION),
        host_ops_per_s=np.where(known, often, 0.0),
        position_ms=np.where(f.flash, 0.0, position_ms(seek, rpm)),
        rim_to_mean=np.where(f.flash, 1.0, RIM_TO_MEAN),
        spares=f.spares,
    )


def protection(f: Inputs, window: RebuildWindow) -> Protection:
    """Say what the risk depends on: the rebuild is that of a usual day, as the page shows it.

    Where a drive does not outlive its replacement and rebuild, no model of repair means anything:
    the rebuild counts as unknown, and with it the risk.
    """
    redundant = f.shape.redundant
    repair = np.where(redundant, window.busy_hours, 0.0) + ATTENDED_SWAP_HOURS
    worst = mttf_range(f.mttf_hours, media(f)).worst
    with np.errstate(invalid="ignore"):
        hours = np.where(worst > repair, window.loaded_hours, np.nan)
    groups = group_shape(f.shape, f.striped)
    return Protection(
        members=groups.members,
        redundancy=groups.redundancy,
        groups=groups.groups,
        spares=f.spares,
        mttf_hours=f.mttf_hours,
        # Without redundancy there is no rebuild and its hours are not looked at.
        rebuild_hours=np.where(redundant, hours, 1.0),
        replacement_hours=ATTENDED_SWAP_HOURS,
        drive_bytes=f.drive_bytes,
        bit_error_rate=f.bit_error_rate,
    )


def media(f: Inputs) -> NDArray[np.str_]:
    """Name the medium of each array's drives, as the field rates know it."""
    return np.where(f.flash, "ssd", "hdd")
