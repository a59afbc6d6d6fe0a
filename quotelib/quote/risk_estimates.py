"""How long is it exposed, and how likely is loss: rebuild and risk."""

from collections.abc import Iterator

import numpy as np

from quotelib.estimate.reliability.field_rates import FIELD_SOURCES
from quotelib.estimate.reliability.rebuild import ATTENDED_SWAP_HOURS, SPARE_START_HOURS
from quotelib.quote.estimate_facts import facts, made, number, one
from quotelib.quote.look import Outlook, drive_inputs
from quotelib.quote.outlook_record import EstimateFacts
from quotelib.quote.speed_estimates import LEVEL_COSTS, UNKNOWN_SPEED
from quotelib.units import HOURS_PER_YEAR

CHAIN = (
    "Continuous-time Markov chain of a group of drives, solved without subtraction (O'Cinneide, "
    "Numer. Math. 65, 1993), over the years asked for (after Greenan, Plank and Wylie, HotStorage "
    "2010)"
)


def rebuild_estimates(o: Outlook) -> Iterator[EstimateFacts]:
    """List the estimates of the rebuild; none for an array without redundancy."""
    if not o.build.layout.rule.survives:
        return
    spares = o.build.layout.spares
    inputs = (
        ("bytes to write", f"{o.build.member_bytes:,}"),
        ("rate with an idle host", f"{number(one(o.window.rate_mb_s))} MB/s"),
        *drive_inputs(o),
    )
    basis = (
        "Bytes of the drive divided by the tightest of its write rate, its link, the reads it "
        "needs and the controller. Low end: idle host; value: your workload goes on and the "
        "rebuild gets what is left, but three tenths at least; high end: drives kept busy all "
        "the time (share: common practice, no source)."
    )
    yield facts(
        "rebuild_hours",
        "rebuild",
        made(
            "rebuild of one drive while your workload goes on",
            "h",
            (o.window.idle_hours, o.window.loaded_hours, o.busy.loaded_hours),
            basis,
            "bytes divided by rate; reads needed: " + LEVEL_COSTS,
            inputs,
            UNKNOWN_SPEED,
        ),
    )
    wait = SPARE_START_HOURS if spares else ATTENDED_SWAP_HOURS
    how = "a hot spare starts" if spares else "somebody has replaced the drive"
    yield facts(
        "exposed_hours",
        "rebuild",
        made(
            "from a failure to full redundancy",
            "h",
            (
                o.window.exposed_idle_hours,
                o.window.exposed_loaded_hours,
                o.busy.exposed_loaded_hours,
            ),
            f"{wait:g} h until {how} (common practice, no source), then the rebuild.",
            "bytes divided by rate",
            (("hot spares", str(spares)), *inputs),
            UNKNOWN_SPEED,
        ),
    )


def unknown_risk(o: Outlook) -> str:
    """Say why the risk is not known, where it is not."""
    if o.build.drive.bit_error_rate is None and o.build.layout.rule.survives:
        return "not known: the price list gives no bit_error_rate for the drive."
    if np.isnan(one(o.window.loaded_hours)):
        return f"not known: {UNKNOWN_SPEED[0].lower()}{UNKNOWN_SPEED[1:]}"
    return "not known: the drive's MTTF is no longer than a replacement and rebuild take."


def risk_estimates(o: Outlook) -> Iterator[EstimateFacts]:
    """List the estimates of losing data."""
    drive, layout, r = o.build.drive, o.build.layout, o.risk
    field = FIELD_SOURCES[drive.media]
    sheet = f"{drive.mttf_hours:,.0f} h" if drive.mttf_hours else "not stated"
    errors = "not stated" if drive.bit_error_rate is None else f"{drive.bit_error_rate:g} a bit"
    inputs: tuple[tuple[str, str], ...] = (
        ("MTTF on the data sheet", sheet),
        ("unreadable sectors on the data sheet", errors),
        ("members and spares", f"{layout.members} and {layout.spares}"),
        ("years", f"{o.years:g}"),
    )
    if layout.rule.survives:
        hours = number(one(o.window.exposed_idle_hours))
        inputs = (*inputs, ("hours to replace and rebuild, idle", hours))
    missing = unknown_risk(o)
    span = (
        "Value: the shorter lifetime of data sheet and field mean. Low end: the longer of the two; "
        if drive.mttf_hours
        else "The data sheet states no lifetime, so value and low end: the mean published field "
        "rate; "
    )
    span += "high end: the worst published field rate, with the rebuild under load."
    yield facts(
        "loss_pct",
        "risk",
        made(
            f"chance of losing data within {o.years:g} years",
            "%",
            (100 * r.loss_low, 100 * r.loss.any_data, 100 * r.loss_high),
            "Failures, replacements, rebuilds and unreadable sectors as a chain of states; spans "
            f"composed exactly. {span} Left out: fire, theft, mistakes, software.",
            f"{CHAIN}; field rates: {field}",
            inputs,
            missing,
        ),
        2,
    )
    yield facts(
        "loss_correlated_pct",
        "risk",
        made(
            "the same, if drives fail ten times as often after a first failure",
            "%",
            (np.nan, 100 * r.loss_correlated, np.nan),
            "A sensitivity, not a forecast: drives of one batch under one load fail together.",
            "factor: Chen et al. 1994, Table 4; that it happens: Maneas et al., FAST 2020",
            inputs,
            missing,
        ),
        2,
    )
    if layout.rule.survives:
        yield facts(
            "unreadable_pct",
            "risk",
            made(
                "chance that a rebuild without redundancy left meets an unreadable sector",
                "%",
                (np.nan, 100 * r.rebuild_unreadable, np.nan),
                "1 - (1 - rate) ^ bits read, with the data sheet's ceiling as the rate.",
                "binomial; data sheet",
                inputs,
                missing,
            ),
            2,
        )
    yield facts(
        "tb_lost",
        "risk",
        made(
            f"mean amount lost within {o.years:g} years",
            "TB",
            (r.tb_lost_low, r.tb_lost, r.tb_lost_high),
            "Chance of loss times what it costs: the array where drives fail; where a sector "
            "cannot be read, its strip (value, low end) or the array (high end).",
            "after Greenan, Plank and Wylie, HotStorage 2010",
            inputs,
            missing,
        ),
        2,
    )
    yield facts(
        "mttdl_years",
        "risk",
        made(
            "mean time to data loss",
            "years",
            (np.nan, r.mttdl_hours / HOURS_PER_YEAR, np.nan),
            "Mean of the same chain; see the sentence on what it does not mean.",
            CHAIN,
            inputs,
            missing,
        ),
        2,
    )
