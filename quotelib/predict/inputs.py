"""Which numbers do the estimates need of a build: parts and layouts as arrays.

The one way from builds to `quotelib.estimate`, for a single quote and for a hundred thousand
candidates alike, so that both get the same figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.slots import host_link_mb_s
from quotelib.build.speed import drive_link_mb_s, links_at_once
from quotelib.catalogue.parts import Controller, Drive
from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.load import DataPath, Serving
from quotelib.estimate.shape import ArrayShape, array_shape
from quotelib.units import KIB


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


def drive_row(drive: Drive, controller: Controller, backplane: str) -> tuple[float, ...]:
    """Give what the estimates need to know of a drive on a controller: a row for `of_numbers`."""
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
            row = rows[key] = drive_row(drive, array.controller, backplane)
        table[i] = row
        rule, plan = array.layout.rule, array.layout
        layout[i] = (plan.members, plan.spans, rule.parity_per_span, rule.copies, plan.spares,
                     _or(host_mb_s, np.inf), arrays_there, array.member_bytes,
                     array.drive_bytes, plan.strip_kib * KIB if rule.is_array else np.inf,
                     protected)  # fmt: skip
    striped = np.array([array.layout.rule.is_array for array, *_ in arrays], dtype=bool)
    return of_numbers(table, layout, striped)


def of_numbers(table: FloatArray, layout: FloatArray, striped: NDArray[np.bool_]) -> Inputs:
    """Put the numbers of some arrays together.

    Parameters
    ----------
    table : ndarray, one row an array
        What `drive_row` gives.
    layout : ndarray, one row an array
        Members, spans, members' worth of parity in a span, copies, spares; payload rate of the
        host link (infinite: not known), how many arrays share it; bytes of a member and of a drive,
        of a strip (infinite: drives passed through), and whether the cache answers writes.
    """
    link, lanes, controller_mb_s, controller_iops, flash, *sheet = table.T
    members, spans, parity, copies, spares, host, sharing, member_bytes, *rest = layout.T
    drive_bytes, strip_bytes, cached = rest
    shape = array_shape(members, spans, parity, copies)
    return Inputs(
        striped=striped,
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
