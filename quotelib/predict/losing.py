"""How likely is loss, and how much of it: the array, or a strip around a bad sector."""

import math
from collections.abc import Iterator
from functools import partial
from typing import Literal

import numpy as np

from quotelib.estimate.reliability.field_rates import FIELD_SOURCES
from quotelib.estimate.reliability.latent_errors import LATENT_SOURCES, SCRUB_DAYS
from quotelib.estimate.reliability.rebuild import ATTENDED_SWAP_HOURS
from quotelib.predict.estimate import Estimate, Inputs, made, one, six
from quotelib.predict.forecast import Forecast
from quotelib.predict.shown import Chance, Loss
from quotelib.predict.speed import UNKNOWN_SPEED
from quotelib.text import count, figure, percent, size
from quotelib.units import HOURS_PER_YEAR, KIB

CHAIN = (
    "Continuous-time Markov chain of a group of drives, solved without subtraction (O'Cinneide, "
    "Numer. Math. 65, 1993), over the years asked for (after Greenan, Plank and Wylie, HotStorage "
    "2010)"
)

_TOGETHER = (
    "factor after a first failure: Chen et al. 1994, Table 4",
    "that drives fail together: Maneas et al., FAST 2020",
)

_ODDS_BELOW_PCT = 0.01
"""Smaller chances are said as one in so many too, which people can picture."""


def unknown(o: Forecast, *, array: bool = False) -> str:
    """Say why the risk is not known, where it is not; of losing the `array`, or any data."""
    if o.array.drive.bit_error_rate is None and o.array.layout.rule.survives and not array:
        return "not known: no rate of unreadable sectors is stated for the drive."
    if np.isnan(one(o.window.busy_hours)):
        return f"not known: {UNKNOWN_SPEED[0].lower()}{UNKNOWN_SPEED[1:]}"
    return "not known: the drive's MTTF is no longer than a replacement and rebuild take."


def risk_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of losing data: the array first, then any data, then how much."""
    inputs, within = _inputs(o), f"within {o.years:g} years"
    r, survives = o.risk, o.array.layout.rule.survives
    field = FIELD_SOURCES[o.array.drive.media]
    row = partial(made, "risk", inputs=inputs, missing=unknown(o), digits=2)
    rates = (f"field rates: {field[0]}", *field[1:], *(_TOGETHER if survives else ()))
    latent = LATENT_SOURCES[o.array.drive.media] if survives else ()
    chances = partial(row, unit="%")
    span, sectors = _span(o), _sectors(o)
    yield chances(
        "array_loss_pct",
        f"chance of losing {_whole(o)} {within}",
        values=(100 * r.array_low, 100 * r.loss.array, 100 * r.array_high),
        basis="Failures, replacements and rebuilds as a chain of states; spans composed exactly. A "
        "rebuild that meets an unreadable sector goes on; a controller that gives it up loses the "
        f"array as often as any data. {span} Left out: fire, theft, mistakes, software.",
        sources=(CHAIN, *rates),
        missing=unknown(o, array=True),
    )
    yield chances(
        "loss_pct",
        f"chance of losing any data {within}",
        values=(100 * r.loss_low, 100 * r.loss.any_data, 100 * r.loss_high),
        basis="The same chain, ended by a rebuild without redundancy that meets an unreadable "
        f"sector too, which costs a strip. {span} {sectors} Left out: fire, theft, mistakes, "
        "software."
        if survives
        else f"As of {_whole(o)}: without redundancy they are one. {span}",
        sources=(CHAIN, *rates, *latent),
    )
    if survives:
        yield row(
            "unreadable_pct",
            "chance that a rebuild without redundancy left meets an unreadable sector",
            "%",
            (
                100 * r.rebuild_unreadable_low,
                100 * r.rebuild_unreadable,
                100 * r.rebuild_unreadable_high,
            ),
            basis=f"1 - (1 - rate) ^ bits read. {sectors}",
            sources=("binomial", "data sheet", *latent),
        )
        yield row(
            "strips_lost",
            f"mean number of strips lost to unreadable sectors {within}",
            "",
            (r.best.strips, r.loss.strips, r.worst.strips),
            basis="Rebuilds without redundancy left, counted in the chain, times the unreadable "
            "sectors that one meets on average; an array that is lost meets no more of them. "
            f"{span} {sectors}",
            sources=(
                CHAIN,
                "rewards of a chain: Howard, Dynamic Probabilistic Systems, 1971",
                *latent,
            ),
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
        window, days = o.window, o.terms.scrub_days
        ends = (window.idle_hours, window.loaded_hours, window.busy_hours)
        low, value, high = map(one, ends)
        known = f"{figure(value)} h ({figure(low)} to {figure(high)})"
        inputs = (
            *inputs,
            ("rebuild", "not known" if math.isnan(low + value + high) else known),
            ("until a drive is replaced", f"{ATTENDED_SWAP_HOURS:g} h where no hot spare is left"),
            ("scrub", "interval not stated" if days is None else f"every {count(days, 'day')}"),
        )
    return inputs


def _span(o: Forecast) -> str:
    span = (
        "Value: the shorter lifetime of data sheet and field mean. Low end: the longer of the two; "
        if o.array.drive.mttf_hours
        else "The data sheet states no lifetime, so value and low end: the mean published field "
        "rate; "
    )
    if not o.array.layout.rule.survives:
        return f"{span}high end: the worst published field rate."
    return (
        f"{span}high end: the worse of two, the worst published field rate, or a bad batch, in "
        "which the other drives of a group fail ten times as often after a first failure. Value "
        "and ends with those of the rebuild."
    )


def _sectors(o: Forecast) -> str:
    """Say what the range of unreadable sectors rests on."""
    days = o.terms.scrub_days
    every = f"scrubbed every {count(days or int(SCRUB_DAYS), 'day')}"
    low = f"{every}, as stated" if days else f"{every} (common practice, no source)"
    high = every if days else "never scrubbed"
    return (
        "Unreadable sectors: the data sheet's ceiling; low end: as few as the field found, "
        f"{low}, where that is less; high end: the worst model of the field, {high}, where that is "
        "more."
    )


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
        return f"The chance of losing {_whole(o)} is {unknown(o, array=True)}"
    said = (
        f"The chance of losing {whole.what}, {whole.amount}, to failing drives within "
        f"{o.years:g} years is about {whole.shown} ({whole.shown_range})"
    )
    for some in others:
        if some.chance is None:
            return f"{said}. That of losing any data is {unknown(o)}"
        said += (
            f"; that of losing any data, {some.amount}, is about {some.shown} ({some.shown_range})"
        )
    return f"{said}. Fire, theft and mistakes are not counted."
