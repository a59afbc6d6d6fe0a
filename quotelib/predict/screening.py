"""What would each build do: the estimates that take part in the choice, for all at once."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.slots import host_link_mb_s
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Workload
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import loss_probability
from quotelib.predict import inputs
from quotelib.units import KIB, MB


class Screened(NamedTuple):
    """What the choice needs to know of a build; None: not known.

    Parameters
    ----------
    host_iops, host_mb_s
        Of its slowest array, under the workload.
    loss_pct
        Chance that any of its arrays loses data within the years of the terms.
    """

    host_iops: float | None
    host_mb_s: float | None
    loss_pct: float | None


def screen(builds: Sequence[Build], workload: Workload | None, terms: Terms) -> list[Screened]:
    """Estimate what the choice needs to know of each build; see `forecast.forecast`."""
    load = workload or inputs.NEUTRAL
    # The same key, the same estimates: each different array is worked out once.
    places: dict[tuple[int, tuple[int, ...], str], float | None] = {}
    different: dict[tuple[object, ...], int] = {}
    arrays: list[tuple[Array, float | None]] = []
    rows: list[tuple[int, ...]] = []
    for build in builds:
        row = []
        members = tuple(array.layout.members for array in build.arrays)
        for array in build.arrays:
            place = (id(build.parts), members, array.controller.sku)
            if place not in places:
                places[place] = host_link_mb_s(build, array.controller)
            key = (array.drive.sku, array.controller.sku, array.layout, places[place])
            if key not in different:
                different[key] = len(arrays)
                arrays.append((array, places[place]))
            row.append(different[key])
        rows.append(tuple(row))
    if not arrays:
        return [Screened(None, None, None) for _ in builds]
    iops, loss = _estimates(arrays, load, float(terms.risk.years))
    block_mb = float(load.block_kib) * KIB / MB
    known = {
        row: _screened([iops[i] for i in row], [loss[i] for i in row], block_mb)
        for row in set(rows)
    }
    return [known[row] for row in rows]


def _estimates(
    arrays: Sequence[tuple[Array, float | None]], load: Workload, years: float
) -> tuple[list[float], list[float]]:
    f = inputs.inputs(arrays)
    mixed = inputs.throughput(f, inputs.load_of(load))
    window = inputs.rebuild(f, mixed.drive_utilisation)
    protection = inputs.protection(f, window)
    expected = mttf_range(protection.mttf_hours, inputs.media(f)).expected
    loss = loss_probability(replace(protection, mttf_hours=expected), years).any_data
    return np.asarray(mixed.iops).tolist(), np.asarray(loss).tolist()


def _screened(iops: list[float], loss: list[float], block_mb: float) -> Screened:
    slowest = min(iops) if not any(map(math.isnan, iops)) else None
    # One array's chance as it is: the way round by the product would cost small ones digits.
    lost = loss[0] if len(loss) == 1 else 1 - math.prod(1 - chance for chance in loss)
    return Screened(
        slowest,
        None if slowest is None else slowest * block_mb,
        None if math.isnan(lost) else 100 * lost,
    )
