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
    arrays: Sequence[inputs.Behind],
    workload: Workload | None,
    terms: Terms,
    known: dict[object, Screened] | None = None,
) -> list[Screened]:
    """Estimate what the choice needs to know of each array; see `forecast.forecast`.

    Parameters
    ----------
    known : dict, optional
        What came of the same price list and workload before; what is new is added.
    """
    known = {} if known is None else known
    keys = [_key(one) for one in arrays]
    # The same key, the same estimates: each different array is worked out once.
    new = {key: one for key, one in zip(keys, arrays, strict=True) if key not in known}
    if new:
        load, years = workload or inputs.NEUTRAL, float(terms.risk.years)
        known.update(zip(new, _estimates(list(new.values()), load, years), strict=True))
    return [known[key] for key in keys]


def _key(one: inputs.Behind) -> tuple[object, ...]:
    array = one.array
    return array.drive.sku, array.controller.sku, array.layout, one.host_mb_s, one.sharing


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
