"""Which numbers do the estimates need of a build: parts and layouts as arrays.

The one way from builds to `quotelib.estimate`, for a single quote and for a hundred thousand
candidates alike, so that both get the same figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.build.build import Build
from quotelib.build.seat import host_link_mb_s
from quotelib.build.speed import drive_link_mb_s
from quotelib.catalogue.parts import Controller, Drive, Workload
from quotelib.estimate.performance.load import REBUILD_SHARE, DataPath, Load
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput
from quotelib.estimate.performance.service import DriveTimes, disk_times, flash_times
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.protection import Protection
from quotelib.estimate.reliability.rebuild import (
    ATTENDED_SWAP_HOURS,
    RebuildWindow,
    rebuild_window,
)
from quotelib.estimate.shape import ArrayShape, group_shape
from quotelib.units import KIB

Floats = NDArray[np.float64]

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


@dataclass(frozen=True)
class Figures:
    """Numbers of some builds; every field has one element a build. NaN: not known.

    Parameters
    ----------
    striped : ndarray of bool
        False for drives passed through, which are lost one by one.
    shape : ArrayShape
    path : DataPath
        Infinite where no limit is stated.
    seek_ms, rpm, read_mb_s, write_mb_s, read_iops, write_iops : ndarray
        Of one drive.
    flash : ndarray of bool
    mttf_hours, bit_error_rate : ndarray
        As data sheets state them.
    member_bytes, drive_bytes, usable_bytes, spares : ndarray
    """

    striped: NDArray[np.bool_]
    shape: ArrayShape
    path: DataPath
    seek_ms: Floats
    rpm: Floats
    read_mb_s: Floats
    write_mb_s: Floats
    read_iops: Floats
    write_iops: Floats
    flash: NDArray[np.bool_]
    mttf_hours: Floats
    bit_error_rate: Floats
    member_bytes: Floats
    drive_bytes: Floats
    usable_bytes: Floats
    spares: Floats


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _drive_row(drive: Drive, controller: Controller) -> tuple[float, ...]:
    nan, inf = float("nan"), float("inf")
    return (
        _or(drive_link_mb_s(drive, controller), inf),
        _or(controller.max_mb_s, inf),
        _or(controller.max_iops, inf),
        _or(drive.seek_ms, nan),
        _or(drive.rpm, nan),
        drive.read_mb_s,
        drive.write_mb_s,
        _or(drive.read_iops, nan),
        _or(drive.write_iops, nan),
        float(drive.media == "ssd"),
        _or(drive.mttf_hours, nan),
        _or(drive.bit_error_rate, nan),
    )


def figures(builds: Sequence[Build]) -> Figures:
    """Lay builds out as arrays.

    Parameters
    ----------
    builds : sequence of Build
        Without ``stop`` findings.

    Returns
    -------
    Figures
    """
    rows: dict[tuple[str, str], tuple[float, ...]] = {}
    table = np.empty((len(builds), 12))
    layout = np.empty((len(builds), 8))
    for i, build in enumerate(builds):
        key = (build.drive.sku, build.controller.sku)
        row = rows.get(key)
        if row is None:
            row = rows[key] = _drive_row(build.drive, build.controller)
        table[i] = row
        rule, plan = build.layout.rule, build.layout
        layout[i] = (
            plan.members,
            plan.spans,
            rule.parity_per_span,
            rule.copies,
            _or(host_link_mb_s(build.parts, plan.members), float("inf")),
            build.member_bytes,
            build.drive_bytes,
            plan.spares,
        )
    link, controller_mb_s, controller_iops, seek, rpm = table.T[:5]
    read, write, read_iops, write_iops, flash, mttf, errors = table.T[5:]
    members, spans, parity, copies, host, member_bytes, drive_bytes, spares = layout.T
    shape = ArrayShape(members, spans, parity, copies)
    return Figures(
        striped=np.array([b.layout.rule.is_array for b in builds], dtype=bool),
        shape=shape,
        path=DataPath(link, controller_mb_s, controller_iops, host),
        seek_ms=seek,
        rpm=rpm,
        read_mb_s=read,
        write_mb_s=write,
        read_iops=read_iops,
        write_iops=write_iops,
        flash=flash > 0,
        mttf_hours=mttf,
        bit_error_rate=errors,
        member_bytes=member_bytes,
        drive_bytes=drive_bytes,
        usable_bytes=shape.data_members * member_bytes,
        spares=spares,
    )


def load_of(workload: Workload, *, read_share: float | None = None, **more: Any) -> Load:
    """Turn a workload into what the estimates take; `read_share` makes it reads or writes only."""
    share = float(workload.read_pct) / 100 if read_share is None else read_share
    given = {
        "random_share": float(workload.random_pct) / 100,
        "block_bytes": float(workload.block_kib) * KIB,
        "outstanding": workload.outstanding,
    }
    return Load(read_share=share, **{**given, **more})


def drive_times(f: Figures, block_bytes: float) -> DriveTimes:
    """Service times of the drives at a block size, disks and flash side by side."""
    with np.errstate(invalid="ignore"):
        disk = disk_times(
            block_bytes,
            np.where(f.flash, 1.0, f.seek_ms),
            np.where(f.flash, 1.0, f.rpm),
            f.read_mb_s,
            f.write_mb_s,
        )
        flash = flash_times(
            block_bytes,
            np.where(f.flash, f.read_iops, 1.0),
            np.where(f.flash, f.write_iops, 1.0),
            f.read_mb_s,
            f.write_mb_s,
        )
    return DriveTimes(
        *(
            np.where(f.flash, getattr(flash, field.name), getattr(disk, field.name))
            for field in fields(DriveTimes)
        )
    )


def throughput(
    f: Figures, load: Load, state: str = "normal", rebuild_share: ArrayLike = REBUILD_SHARE
) -> MixedThroughput:
    """Operations a second and response times under a load."""
    times = drive_times(f, float(np.asarray(load.block_bytes)))
    return mixed_throughput(f.shape, times, f.path, load, state=state, rebuild_share=rebuild_share)


def rebuild(f: Figures, utilisation: Floats) -> RebuildWindow:
    """How long a rebuild takes, the drives being this busy with the host's work."""
    return rebuild_window(
        f.shape,
        f.member_bytes,
        f.write_mb_s,
        f.read_mb_s,
        link_mb_s=f.path.link_mb_s,
        controller_mb_s=f.path.controller_mb_s,
        drive_utilisation=np.clip(utilisation, 0.0, 1.0),
        spares=f.spares,
    )


def repairable(f: Figures, window: RebuildWindow) -> NDArray[np.bool_]:
    """Tell where a drive lives longer than its replacement and rebuild take.

    Where it does not, no model of repair means anything and the risk is not known.
    """
    redundant = f.shape.redundant
    repair = np.where(redundant, window.loaded_hours, 0.0) + ATTENDED_SWAP_HOURS
    worst = mttf_range(f.mttf_hours, np.where(f.flash, "ssd", "hdd")).worst
    with np.errstate(invalid="ignore"):
        return np.asarray(~redundant | (worst > repair))


def protection(f: Figures, window: RebuildWindow) -> Protection:
    """Say what the risk depends on; where no repair can work, drives count as unknown."""
    groups = group_shape(f.shape, f.striped)
    fine = repairable(f, window)
    return Protection(
        members=groups.members,
        redundancy=groups.redundancy,
        groups=groups.groups,
        spares=f.spares,
        mttf_hours=f.mttf_hours,
        # Without redundancy there is no rebuild and its hours are not looked at.
        rebuild_hours=np.where(f.shape.redundant, np.where(fine, window.idle_hours, np.nan), 1.0),
        replacement_hours=ATTENDED_SWAP_HOURS,
        drive_bytes=f.drive_bytes,
        bit_error_rate=f.bit_error_rate,
    )
