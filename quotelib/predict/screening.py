"""What would each build do: the estimates that take part in the choice, for all at once."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from quotelib.catalogue.terms import RiskTerms, Terms
from quotelib.catalogue.work import Workload
from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.mixed import MixedThroughput, Unqueued, unqueued
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import chance_of_loss
from quotelib.estimate.reliability.protection import Protection
from quotelib.predict import inputs, workings
from quotelib.units import KIB, MB


class Screened(NamedTuple):
    """What the choice needs to know of an array under its workload; None: not known.

    Parameters
    ----------
    loss_pct
        Chance that it loses any data within the years of the terms.
    array_over_pct
        Chance that it loses the array within them, where that is above the limit from which the
        terms advise against it; None otherwise.
    """

    host_iops: float | None
    host_mb_s: float | None
    response_ms: float | None
    loss_pct: float | None
    array_over_pct: float | None


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
        load = workload or workings.NEUTRAL
        known.update(zip(new, _estimates(list(new.values()), load, terms.risk), strict=True))
    return [known[key] for key in keys]


def _key(one: inputs.Behind) -> tuple[object, ...]:
    array = one.array
    mixed = array.drive_before and (array.drive_before.sku, array.have_drives)
    return array.drive.sku, mixed, array.controller.sku, array.layout, *one[1:]


def array_loss_pct(
    arrays: Sequence[inputs.Behind], workload: Workload | None, terms: Terms
) -> list[float | None]:
    """Estimate the chance that each array is lost within the years of the terms; see `screen`."""
    f, load = inputs.inputs(arrays), workload or workings.NEUTRAL
    mixed = workings.throughput(f, workings.load_of(load))
    found = _array_pct(_protection(f, workings.day(load, mixed)), terms.risk)
    return [_known(value) for value in found.tolist()]


def _estimates(arrays: Sequence[inputs.Behind], load: Workload, terms: RiskTerms) -> list[Screened]:
    columns = [column.tolist() for column in columns_of(inputs.inputs(arrays), load, terms)]
    return [Screened(*map(_known, row)) for row in zip(*columns, strict=True)]


def columns_of(f: inputs.Inputs, load: Workload, terms: RiskTerms) -> list[FloatArray]:
    """Estimate what `Screened` holds, a column a field; NaN: not known."""
    mixed = workings.throughput(f, workings.load_of(load))
    return [*_speed(f, load, mixed.iops, mixed.response_ms), *_risk(f, load, terms, mixed)]


def speed_of(f: inputs.Inputs, load: Workload) -> list[FloatArray]:
    """Estimate the rates and times of `Screened`, a column a field; NaN: not known."""
    mixed = workings.throughput(f, workings.load_of(load))
    return _speed(f, load, mixed.iops, mixed.response_ms)


def risk_of(f: inputs.Inputs, load: Workload, terms: RiskTerms) -> list[FloatArray]:
    """Estimate the chances of `Screened`, a column a field; NaN: not known."""
    return _risk(f, load, terms, _unqueued(f, load))


def speed_at_best(f: inputs.Inputs, load: Workload) -> list[FloatArray]:
    """Bound what `speed_of` gives from the better side; a hair is left for the last digit.

    The estimate is held to the same bound, so that none is beyond it.
    """
    iops = _unqueued(f, load).iops_bound * (1 + 1e-9)
    return _speed(f, load, iops, load.outstanding / iops * 1e3)


def _unqueued(f: inputs.Inputs, load: Workload) -> Unqueued:
    of_load = workings.load_of(load)
    times = workings.drive_times(f, of_load.block_bytes)
    return unqueued(f.shape, times, f.path, of_load, f.serving)


def _speed(
    f: inputs.Inputs, load: Workload, iops: FloatArray, response_ms: FloatArray
) -> list[FloatArray]:
    found = (iops, iops * float(load.block_kib) * KIB / MB, response_ms)
    return [np.broadcast_to(column, f.striped.shape) for column in found]


def _risk(
    f: inputs.Inputs, load: Workload, terms: RiskTerms, mixed: MixedThroughput | Unqueued
) -> list[FloatArray]:
    protection = _protection(f, workings.day(load, mixed))
    loss = 100 * chance_of_loss(protection, float(terms.years))
    limit, over = float(terms.advise_loss_pct), np.full(loss.shape, np.nan)
    # The array is lost no more often than any data, so most need no second look.
    doubtful = np.flatnonzero(~(loss <= limit))
    arrays_pct = _array_pct(protection.take(doubtful), terms)
    over[doubtful] = np.where(arrays_pct > limit, arrays_pct, np.nan)
    return [np.broadcast_to(column, f.striped.shape) for column in (loss, over)]


def _protection(f: inputs.Inputs, day: workings.Day) -> Protection:
    sheet = workings.protection(f, workings.rebuild(f, day))
    return replace(sheet, mttf_hours=mttf_range(sheet.mttf_hours, workings.media(f)).expected)


def _array_pct(protection: Protection, terms: RiskTerms) -> FloatArray:
    """Chance of losing the array in per cent: no unreadable sector takes it."""
    return 100 * chance_of_loss(replace(protection, bit_error_rate=0.0), float(terms.years))


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
