"""What would each build do: the estimates that take part in the choice, for all at once."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Workload
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import loss_probability
from quotelib.predict import inputs
from quotelib.units import KIB, MB


class Screened(NamedTuple):
    """What the choice needs to know of an array under its workload; None: not known.

    Parameters
    ----------
    loss_pct
        Chance that it loses data within the years of the terms.
    """

    host_iops: float | None
    host_mb_s: float | None
    response_ms: float | None
    loss_pct: float | None


def screen(
    arrays: Sequence[inputs.Behind], workload: Workload | None, terms: Terms
) -> list[Screened]:
    """Estimate what the choice needs to know of each array; see `forecast.forecast`."""
    load = workload or inputs.NEUTRAL
    # The same key, the same estimates: each different array is worked out once.
    places: dict[tuple[object, ...], int] = {}
    different: list[inputs.Behind] = []
    rows = []
    for one in arrays:
        array = one.array
        key = (array.drive.sku, array.controller.sku, array.layout, one.host_mb_s, one.sharing)
        if key not in places:
            places[key] = len(different)
            different.append(one)
        rows.append(places[key])
    if not different:
        return []
    known = _estimates(different, load, float(terms.risk.years))
    return [known[row] for row in rows]


def _estimates(arrays: Sequence[inputs.Behind], load: Workload, years: float) -> list[Screened]:
    f = inputs.inputs(arrays)
    mixed = inputs.throughput(f, inputs.load_of(load))
    window = inputs.rebuild(f, mixed.drive_utilisation)
    protection = inputs.protection(f, window)
    expected = mttf_range(protection.mttf_hours, inputs.media(f)).expected
    loss = loss_probability(replace(protection, mttf_hours=expected), years).any_data
    iops = np.asarray(mixed.iops)
    found = (iops, iops * float(load.block_kib) * KIB / MB, mixed.response_ms, 100 * loss)
    columns = [np.broadcast_to(column, len(arrays)).tolist() for column in found]
    return [Screened(*map(_known, row)) for row in zip(*columns, strict=True)]


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
