"""How long is it exposed, and how likely is loss: rebuild and risk."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from quotelib.estimate.reliability.field_rates import FIELD_SOURCES
from quotelib.estimate.reliability.rebuild import ATTENDED_SWAP_HOURS, SPARE_START_HOURS
from quotelib.predict.estimate import Estimate, Inputs, made, one
from quotelib.predict.forecast import Forecast, drive_inputs
from quotelib.predict.speed import LEVEL_COSTS, UNKNOWN_SPEED
from quotelib.text import figure
from quotelib.units import HOURS_PER_YEAR

CHAIN = (
    "Continuous-time Markov chain of a group of drives, solved without subtraction (O'Cinneide, "
    "Numer. Math. 65, 1993), over the years asked for (after Greenan, Plank and Wylie, HotStorage "
    "2010)"
)


def rebuild_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of the rebuild; none for an array without redundancy."""
    if not o.array.layout.rule.survives:
        return
    spares, window, busy = o.array.layout.spares, o.window, o.busy
    inputs = (
        ("bytes to write", f"{o.array.member_bytes:,}"),
        ("rate with an idle host", f"{figure(one(window.rate_mb_s))} MB/s"),
        *drive_inputs(o),
    )
    row = partial(made, "rebuild", unit="h", missing=UNKNOWN_SPEED)
    yield row(
        "rebuild_hours",
        "rebuild of one drive while your workload goes on",
        values=(window.idle_hours, window.loaded_hours, busy.loaded_hours),
        basis="Bytes of the drive divided by the tightest of its write rate, its link, the reads "
        "it needs and the controller. Low end: idle host; value: your workload goes on and the "
        "rebuild gets what is left, but three tenths at least; high end: drives kept busy all "
        "the time (share: common practice, no source).",
        sources=("bytes divided by rate", f"reads needed: {LEVEL_COSTS[0]}"),
        inputs=inputs,
    )
    wait = SPARE_START_HOURS if spares else ATTENDED_SWAP_HOURS
    how = "a hot spare starts" if spares else "somebody has replaced the drive"
    yield row(
        "exposed_hours",
        "from a failure to full redundancy",
        values=(window.exposed_idle_hours, window.exposed_loaded_hours, busy.exposed_loaded_hours),
        basis=f"{wait:g} h until {how} (common practice, no source), then the rebuild.",
        sources=("bytes divided by rate",),
        inputs=(("hot spares", str(spares)), *inputs),
    )


def unknown_risk(o: Forecast) -> str:
    """Say why the risk is not known, where it is not."""
    if o.array.drive.bit_error_rate is None and o.array.layout.rule.survives:
        return "not known: the price list gives no bit_error_rate for the drive."
    if np.isnan(one(o.window.loaded_hours)):
        return f"not known: {UNKNOWN_SPEED[0].lower()}{UNKNOWN_SPEED[1:]}"
    return "not known: the drive's MTTF is no longer than a replacement and rebuild take."


def risk_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of losing data."""
    drive, layout, r = o.array.drive, o.array.layout, o.risk
    field = FIELD_SOURCES[drive.media]
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
    span = (
        "Value: the shorter lifetime of data sheet and field mean. Low end: the longer of the two; "
        if drive.mttf_hours
        else "The data sheet states no lifetime, so value and low end: the mean published field "
        "rate; "
    )
    span += "high end: the worst published field rate, with the rebuild under load."
    row = partial(made, "risk", inputs=inputs, missing=unknown_risk(o), digits=2)
    yield row(
        "loss_pct",
        f"chance of losing data within {o.years:g} years",
        "%",
        (100 * r.loss_low, 100 * r.loss.any_data, 100 * r.loss_high),
        basis="Failures, replacements, rebuilds and unreadable sectors as a chain of states; spans "
        f"composed exactly. {span} Left out: fire, theft, mistakes, software.",
        sources=(CHAIN, f"field rates: {field[0]}", *field[1:]),
    )
    yield row(
        "loss_correlated_pct",
        "the same, if drives fail ten times as often after a first failure",
        "%",
        (np.nan, 100 * r.loss_correlated, np.nan),
        basis="A sensitivity, not a forecast: drives of one batch under one load fail together.",
        sources=("factor: Chen et al. 1994, Table 4", "that it happens: Maneas et al., FAST 2020"),
    )
    if layout.rule.survives:
        yield row(
            "unreadable_pct",
            "chance that a rebuild without redundancy left meets an unreadable sector",
            "%",
            (np.nan, 100 * r.rebuild_unreadable, np.nan),
            basis="1 - (1 - rate) ^ bits read, with the data sheet's ceiling as the rate.",
            sources=("binomial", "data sheet"),
        )
    yield row(
        "tb_lost",
        f"mean amount lost within {o.years:g} years",
        "TB",
        (r.tb_lost_low, r.tb_lost, r.tb_lost_high),
        basis="Chance of loss times what it costs: the array where drives fail; where a sector "
        "cannot be read, its strip (value, low end) or the array (high end).",
        sources=("after Greenan, Plank and Wylie, HotStorage 2010",),
    )
    yield row(
        "mttdl_years",
        "mean time to data loss",
        "years",
        (np.nan, r.mttdl_hours / HOURS_PER_YEAR, np.nan),
        basis="Mean of the same chain; see the sentence on what it does not mean.",
        sources=(CHAIN,),
    )
