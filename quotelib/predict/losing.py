"""How likely is loss, and how much of it: the array, or a strip around a bad sector."""

import math
from collections.abc import Iterator
from functools import partial
from typing import Literal

import numpy as np

from quotelib.estimate.reliability.field_rates import FIELD_SOURCES
from quotelib.predict.estimate import Estimate, Inputs, made, one, six
from quotelib.predict.forecast import Forecast
from quotelib.predict.shown import Chance, Loss
from quotelib.predict.speed import UNKNOWN_SPEED
from quotelib.text import figure, percent, size
from quotelib.units import HOURS_PER_YEAR, KIB

CHAIN = (
    "Continuous-time Markov chain of a group of drives, solved without subtraction (O'Cinneide, "
    "Numer. Math. 65, 1993), over the years asked for (after Greenan, Plank and Wylie, HotStorage "
    "2010)"
)

_TEN_TIMES = "if drives fail ten times as often after a first failure"

_ODDS_BELOW_PCT = 0.01
"""Smaller chances are said as one in so many too, which people can picture."""


def _unknown(o: Forecast, *, array: bool = False) -> str:
    """Say why the risk is not known, where it is not; of losing the `array`, or any data."""
    if o.array.drive.bit_error_rate is None and o.array.layout.rule.survives and not array:
        return "not known: the price list gives no bit_error_rate for the drive."
    if np.isnan(one(o.window.loaded_hours)):
        return f"not known: {UNKNOWN_SPEED[0].lower()}{UNKNOWN_SPEED[1:]}"
    return "not known: the drive's MTTF is no longer than a replacement and rebuild take."


def risk_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of losing data: the array first, then any data, then how much."""
    inputs, within = _inputs(o), f"within {o.years:g} years"
    r, survives = o.risk, o.array.layout.rule.survives
    field = FIELD_SOURCES[o.array.drive.media]
    row = partial(made, "risk", inputs=inputs, missing=_unknown(o), digits=2)
    chances = partial(row, unit="%", sources=(CHAIN, f"field rates: {field[0]}", *field[1:]))
    ten = partial(
        row,
        unit="%",
        basis="A sensitivity, not a forecast: drives of one batch under one load fail together.",
        sources=("factor: Chen et al. 1994, Table 4", "that it happens: Maneas et al., FAST 2020"),
    )
    span = _span(o)
    yield chances(
        "array_loss_pct",
        f"chance of losing {_whole(o)} {within}",
        values=(100 * r.array_low, 100 * r.loss.array, 100 * r.array_high),
        basis="Failures, replacements and rebuilds as a chain of states; spans composed exactly. A "
        "rebuild that meets an unreadable sector goes on; a controller that gives it up loses the "
        f"array as often as any data. {span} Left out: fire, theft, mistakes, software.",
        missing=_unknown(o, array=True),
    )
    if survives:
        values = (np.nan, 100 * r.array_correlated, np.nan)
        name = f"losing {_whole(o)}, {_TEN_TIMES}"
        yield ten("array_correlated_pct", name, values=values, missing=_unknown(o, array=True))
    yield chances(
        "loss_pct",
        f"chance of losing any data {within}",
        values=(100 * r.loss_low, 100 * r.loss.any_data, 100 * r.loss_high),
        basis="The same chain, ended by a rebuild without redundancy that meets an unreadable "
        f"sector too, which costs a strip. {span} Left out: fire, theft, mistakes, software.",
    )
    name = f"losing any data, {_TEN_TIMES}"
    yield ten("loss_correlated_pct", name, values=(np.nan, 100 * r.loss_correlated, np.nan))
    if survives:
        yield row(
            "unreadable_pct",
            "chance that a rebuild without redundancy left meets an unreadable sector",
            "%",
            (np.nan, 100 * r.rebuild_unreadable, np.nan),
            basis="1 - (1 - rate) ^ bits read, with the data sheet's ceiling as the rate.",
            sources=("binomial", "data sheet"),
        )
        yield row(
            "strips_lost",
            f"mean number of strips lost to unreadable sectors {within}",
            "",
            (r.best.strips, r.loss.strips, r.worst.strips),
            basis="Rebuilds without redundancy left, counted in the chain, times the unreadable "
            f"sectors that one meets on average. {span}",
            sources=(CHAIN, "rewards of a chain: Howard, Dynamic Probabilistic Systems, 1971"),
        )
    yield row(
        "tb_lost",
        f"mean amount lost {within}",
        "TB",
        (r.tb_lost_low, r.tb_lost, r.tb_lost_high),
        basis="Chance of losing the array times what it holds, and a strip for each unreadable "
        "sector. High end: controllers that give up a rebuild there, and lose the array (common "
        "practice, no source).",
        sources=("after Greenan, Plank and Wylie, HotStorage 2010",),
    )
    yield row(
        "mttdl_years",
        "mean time to the first loss of any data",
        "years",
        (np.nan, r.mttdl_hours / HOURS_PER_YEAR, np.nan),
        basis="Mean of the chain of any data; see the sentence on what it does not mean.",
        sources=(CHAIN,),
    )


def _inputs(o: Forecast) -> Inputs:
    drive, layout = o.array.drive, o.array.layout
    sheet = f"{drive.mttf_hours:,.0f} h" if drive.mttf_hours else "not stated"
    errors = "not stated" if drive.bit_error_rate is None else f"{drive.bit_error_rate:g} a bit"
    inputs: Inputs = (
        ("MTTF on the data sheet", sheet),
        ("unreadable sectors on the data sheet", errors),
        ("members and spares", f"{layout.members} and {layout.spares}"),
        ("years", f"{o.years:g}"),
    )
    if layout.rule.survives:
        hours = figure(one(o.window.exposed_idle_hours))
        inputs = (*inputs, ("hours to replace and rebuild, idle", hours))
    return inputs


def _span(o: Forecast) -> str:
    span = (
        "Value: the shorter lifetime of data sheet and field mean. Low end: the longer of the two; "
        if o.array.drive.mttf_hours
        else "The data sheet states no lifetime, so value and low end: the mean published field "
        "rate; "
    )
    return f"{span}high end: the worst published field rate, with the rebuild under load."


def _whole(o: Forecast) -> str:
    return "the array" if o.array.layout.rule.is_array else "a drive and what is on it"


def chance(low: object, value: object, high: object) -> Chance | None:
    """Give a chance in per cent of probabilities; None: not known."""
    found = [six(100 * one(p)) for p in (low, value, high)]
    if not math.isfinite(found[1]):
        return None
    return Chance(low=found[0], value=found[1], high=found[2])


def losses(o: Forecast) -> Iterator[Loss]:
    """Say what may be lost, and how much at once; the most first."""
    r, layout = o.risk, o.array.layout
    whole = chance(r.array_low, r.loss.array, r.array_high)
    if not layout.rule.is_array:
        held = o.array.member_bytes
        yield _loss("drive", "a drive and what is on it", size(held), held, whole)
        return
    held = o.array.usable_bytes
    yield _loss("array", "the array", f"all {size(held)}", held, whole)
    if layout.rule.survives:
        some = chance(r.loss_low, r.loss.any_data, r.loss_high)
        amount = f"as little as a strip of {layout.strip_kib} KiB around an unreadable sector"
        yield _loss("any", "any data", amount, layout.strip_kib * KIB, some)


def _loss(
    kind: Literal["array", "drive", "any"], what: str, amount: str, held: int, found: Chance | None
) -> Loss:
    about, between = ("not known", "") if found is None else _about(found)
    return Loss(
        kind=kind, what=what, amount=amount, bytes=held, chance=found, shown=about,
        shown_range=between,
    )  # fmt: skip


def _about(found: Chance) -> tuple[str, str]:
    odds = ""
    if 0 < found.value < _ODDS_BELOW_PCT:
        odds = f", 1 in {figure(100 / found.value, 2)}"
    between = f"{figure(found.low, 2)} to {percent(found.high)}"
    return f"{percent(found.value)}{odds}", between


def loss_words(o: Forecast) -> str:
    """Say how likely a loss is, and of how much."""
    whole, *others = losses(o)
    if whole.chance is None:
        return f"The chance of losing {_whole(o)} is {_unknown(o, array=True)}"
    said = (
        f"The chance of losing {whole.what}, {whole.amount}, to failing drives within "
        f"{o.years:g} years is about {whole.shown} ({whole.shown_range})"
    )
    for some in others:
        if some.chance is None:
            return f"{said}. That of losing any data is {_unknown(o)}"
        said += (
            f"; that of losing any data, {some.amount}, is about {some.shown} ({some.shown_range})"
        )
    return f"{said}. Fire, theft and mistakes are not counted."
