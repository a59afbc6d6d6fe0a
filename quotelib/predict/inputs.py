"""Which numbers do the estimates need of a build: parts and layouts as arrays.

The one way from builds to `quotelib.estimate`, for a single quote and for a hundred thousand
candidates alike, so that both get the same figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.slots import host_link_mb_s
from quotelib.build.speed import drive_link_mb_s, links_at_once
from quotelib.catalogue.parts import Controller, Drive
from quotelib.catalogue.work import Workload
from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.day import (
    BUSY_HOURS,
    OpenResponse,
    day_operations_per_s,
    open_response,
)
from quotelib.estimate.performance.drive_work import pieces
from quotelib.estimate.performance.load import REBUILD_SHARE, DataPath, Load, Serving
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput
from quotelib.estimate.performance.service import (
    DriveTimes,
    disk_times,
    flash_times,
    rotational_latency_ms,
)
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.protection import Protection
from quotelib.estimate.reliability.rebuild import ATTENDED_SWAP_HOURS as SWAP_HOURS
from quotelib.estimate.reliability.rebuild import (
    DAY_UTILISATION,
    RIM_TO_MEAN,
    RebuildWindow,
    rebuild_window,
)
from quotelib.estimate.shape import ArrayShape, array_shape, group_shape
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


class Behind(NamedTuple):
    """An array, and what it hangs on.

    Parameters
    ----------
    host_mb_s : float or None
        Payload rate of its controller's host link in MB/s; None: not known.
    sharing : int
        How many arrays its controller runs. Each is given its fair share of the host link and of
        the controller's limits: a bound that it has even while all others work at once.
    backplane : str
        Of the chassis: whether its drives share lanes. Blank: not known.
    protected : bool
        Whether its controller keeps cached writes through a power cut, and so answers them.
    """

    array: Array
    host_mb_s: float | None
    sharing: int = 1
    backplane: str = ""
    protected: bool = False


def behind(build: Build, array: Array) -> Behind:
    """Say what an array of a build that fits hangs on."""
    controller, backplane = array.controller, build.chassis.backplane
    sharing, link = len(build.arrays_on(controller)), host_link_mb_s(build, controller)
    return Behind(array, link, sharing, backplane, answers_writes(build, controller))


def answers_writes(build: Build, controller: Controller) -> bool:
    """Tell whether a controller answers writes once they are in its cache."""
    return bool(controller.cache_mib) and build.is_protected(controller)


@dataclass(frozen=True)
class Inputs:
    """Numbers of some arrays; every field has one element an array. NaN: not known.

    Parameters
    ----------
    striped : ndarray of bool
        False for drives passed through, which are lost one by one.
    path : DataPath
        Infinite where no limit is stated.
    serving : Serving
        Strips, and whether writes are answered from a cache.
    seek_ms, rpm, read_mb_s, write_mb_s, read_iops, write_iops, mttf_hours, bit_error_rate
        Of one drive, as its data sheet states them; `flash` tells which are no disks.
    """

    striped: NDArray[np.bool_]
    shape: ArrayShape
    path: DataPath
    serving: Serving
    flash: NDArray[np.bool_]
    seek_ms: FloatArray
    rpm: FloatArray
    read_mb_s: FloatArray
    write_mb_s: FloatArray
    read_iops: FloatArray
    write_iops: FloatArray
    mttf_hours: FloatArray
    bit_error_rate: FloatArray
    member_bytes: FloatArray
    drive_bytes: FloatArray
    usable_bytes: FloatArray
    spares: FloatArray


_SHEET = ("seek_ms", "rpm", "read_mb_s", "write_mb_s", "read_iops", "write_iops", "mttf_hours",
          "bit_error_rate")  # fmt: skip
"""Fields taken from a drive as they are."""


_LESS_IS_WORSE = ("read_mb_s", "write_mb_s", "read_iops", "write_iops", "mttf_hours", "rpm")
_MORE_IS_WORSE = ("seek_ms", "bit_error_rate")


def member(array: Array) -> Drive:
    """Give the drive that estimates go by: where an array has two kinds, the worse of each figure.

    The slowest member sets the pace of a stripe; a figure that one kind does not state is not
    known of the array.
    """
    kinds = [drive for drive, *_ in array.kinds()]
    return kinds[0] if len(kinds) == 1 else _worse(*kinds)


@lru_cache(maxsize=256)
def _worse(one: Drive, other: Drive) -> Drive:
    pairs = {n: (getattr(one, n), getattr(other, n)) for n in (*_LESS_IS_WORSE, *_MORE_IS_WORSE)}
    figures = {
        name: None if None in both else (min if name in _LESS_IS_WORSE else max)(both)
        for name, both in pairs.items()
    }
    return one.model_copy(update={**figures, "sku": f"{one.sku} and {other.sku}"})


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _drive_row(drive: Drive, controller: Controller, backplane: str) -> tuple[float, ...]:
    limits = (drive_link_mb_s(drive, controller), links_at_once(drive, controller, backplane),
              controller.max_mb_s, controller.max_iops)  # fmt: skip
    return (
        *(_or(limit, np.inf) for limit in limits),
        float(drive.media == "ssd"),
        *(_or(getattr(drive, name), np.nan) for name in _SHEET),
    )


def inputs(arrays: Sequence[Behind]) -> Inputs:
    """Lay arrays of drives out as arrays of numbers."""
    rows: dict[tuple[str, str, str], tuple[float, ...]] = {}
    table = np.empty((len(arrays), 5 + len(_SHEET)))
    layout = np.empty((len(arrays), 11))
    for i, (array, host_mb_s, arrays_there, backplane, protected) in enumerate(arrays):
        drive = array.drive if array.drive_before is None else member(array)
        key = (drive.sku, array.controller.sku, backplane)
        row = rows.get(key)
        if row is None:
            row = rows[key] = _drive_row(drive, array.controller, backplane)
        table[i] = row
        rule, plan = array.layout.rule, array.layout
        layout[i] = (plan.members, plan.spans, rule.parity_per_span, rule.copies, plan.spares,
                     _or(host_mb_s, np.inf), arrays_there, array.member_bytes,
                     array.drive_bytes, plan.strip_kib * KIB if rule.is_array else np.inf,
                     protected)  # fmt: skip
    link, lanes, controller_mb_s, controller_iops, flash, *sheet = table.T
    members, spans, parity, copies, spares, host, sharing, member_bytes, *rest = layout.T
    drive_bytes, strip_bytes, cached = rest
    shape = array_shape(members, spans, parity, copies)
    return Inputs(
        striped=np.array([array.layout.rule.is_array for array, *_ in arrays], dtype=bool),
        shape=shape,
        path=DataPath(
            link, *(x / sharing for x in (controller_mb_s, controller_iops, host, lanes))
        ),
        serving=Serving(strip_bytes, cached),
        flash=flash > 0,
        member_bytes=member_bytes,
        drive_bytes=drive_bytes,
        usable_bytes=shape.data_members * member_bytes,
        spares=spares,
        **dict(zip(_SHEET, sheet, strict=True)),
    )


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


def day(workload: Workload, mixed: MixedThroughput) -> Day:
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
    told = day is not None and day.told
    busy, often = (day.utilisation, day.drive_ops_per_s) if day and told else (np.nan, np.nan)
    known = ~np.isnan(busy)
    turn = rotational_latency_ms(np.where(f.flash, 1.0, f.rpm))
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
        position_ms=np.where(f.flash, 0.0, f.seek_ms + turn),
        rim_to_mean=np.where(f.flash, 1.0, RIM_TO_MEAN),
        spares=f.spares,
    )


def protection(f: Inputs, window: RebuildWindow) -> Protection:
    """Say what the risk depends on: the rebuild is that of a usual day, as the page shows it.

    Where a drive does not outlive its replacement and rebuild, no model of repair means anything:
    the rebuild counts as unknown, and with it the risk.
    """
    redundant = f.shape.redundant
    repair = np.where(redundant, window.busy_hours, 0.0) + SWAP_HOURS
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
        replacement_hours=SWAP_HOURS,
        drive_bytes=f.drive_bytes,
        bit_error_rate=f.bit_error_rate,
    )


def media(f: Inputs) -> NDArray[np.str_]:
    """Name the medium of each array's drives, as the field rates know it."""
    return np.where(f.flash, "ssd", "hdd")
