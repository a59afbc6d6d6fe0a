"""What will it do: the estimates of a quote, the charts' figures, and what they mean in words."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from quotelib.build.build import Build, Layout
from quotelib.build.levels import LEVELS
from quotelib.catalogue.parts import Terms, Workload
from quotelib.estimate.reliability.loss import MTTDL_CAUTION
from quotelib.quote import figures
from quotelib.quote.alternatives import Other
from quotelib.quote.estimate_facts import number, one
from quotelib.quote.look import Outlook, risk_of
from quotelib.quote.outlook_record import (
    Curve,
    CurvePoint,
    EstimateFacts,
    LevelLoss,
    OutlookFacts,
    RebuildStage,
    TimeShare,
)
from quotelib.quote.power_estimates import power_estimates
from quotelib.quote.risk_estimates import rebuild_estimates, risk_estimates, unknown_risk
from quotelib.quote.speed_estimates import speed_estimates
from quotelib.quote.wear_estimates import wear_estimates
from quotelib.units import plain

_CURVES = 3
"""Other builds drawn beside the proposal; more would not be readable."""

_ODDS_BELOW_PCT = 0.01
"""Smaller chances are said as one in so many too, which people can picture."""


def estimates(o: Outlook, terms: Terms) -> Iterator[EstimateFacts]:
    """List the estimates of a quote, in the order of the page."""
    yield from speed_estimates(o)
    yield from rebuild_estimates(o)
    yield from risk_estimates(o)
    yield from wear_estimates(o)
    yield from power_estimates(o, terms)


def outlook(o: Outlook, others: tuple[Other, ...], terms: Terms) -> OutlookFacts:
    """Put together what the charts and sentences show.

    Parameters
    ----------
    o : Outlook
        Of the proposed build.
    others : tuple of Other
        Alternatives; the first few are drawn beside it.
    terms : Terms

    Returns
    -------
    OutlookFacts
    """
    return OutlookFacts(
        workload_words=_workload_words(o),
        words=tuple(_words(o)),
        outstanding=o.workload.outstanding,
        years=plain(terms.risk.years),
        curves=tuple(_curves(o, others)),
        time_shares=tuple(_time_shares(o)),
        level_losses=tuple(_level_losses(o)),
        rebuild_stages=tuple(_rebuild_stages(o)),
        mttdl_caution=MTTDL_CAUTION,
    )


def _workload_words(o: Outlook) -> str:
    w = o.workload
    mix = (
        f"{plain(w.read_pct)} % reads, {plain(w.random_pct)} % random, blocks of "
        f"{plain(w.block_kib)} KiB, {w.outstanding} operations outstanding"
    )
    if o.named:
        return f"Estimated for the workload {w.name} ({w.description}): {mix}."
    return (
        "No workload was named, so these estimates are for small random operations, two reads for "
        f"each write ({mix}). Tell us yours and we estimate again."
    )


_BOTTLENECKS = {
    "drives": "the drives themselves set the limit",
    "drive links": "the links to the drives set the limit",
    "controller": "the controller sets the limit",
    "host link": "the controller's slot sets the limit",
}


def _words(o: Outlook) -> Iterator[str]:
    iops, response = one(o.mixed.iops), one(o.mixed.response_ms)
    if math.isfinite(iops):
        yield (
            f"Under this load it does about {number(iops, 2)} operations a second and answers each "
            f"in about {number(response, 2)} ms; {_BOTTLENECKS.get(o.bottleneck, 'nothing known')}."
        )
        knee = one(o.mixed.knee_outstanding)
        if o.workload.outstanding > 1.2 * knee:
            yield (
                f"From about {number(knee, 2)} operations outstanding, more of them mostly wait: "
                f"the {o.workload.outstanding} of this load are past that point."
            )
        elif o.workload.outstanding > 0.8 * knee:
            yield (
                f"That is about as much as it does without a queue: from about {number(knee, 2)} "
                f"operations outstanding they begin to wait, and this load has "
                f"{o.workload.outstanding}."
            )
        else:
            yield (
                f"It has room: operations begin to queue from about {number(knee, 2)} outstanding, "
                f"this load has {o.workload.outstanding}."
            )
    else:
        yield "How fast it is cannot be said: a rate is missing in the price list."
    survives = o.build.layout.rule.survives
    if survives:
        slow, again = one(o.degraded.iops), one(o.window.exposed_loaded_hours)
        if math.isfinite(slow) and math.isfinite(again):
            yield (
                f"With a drive failed it goes on at about {number(slow, 2)} operations a second, "
                f"and about {number(again, 2)} hours later it is whole again."
            )
    loss = 100 * one(o.risk.loss.any_data)
    if math.isfinite(loss):
        low, high = 100 * one(o.risk.loss_low), 100 * one(o.risk.loss_high)
        odds = f", 1 in {number(100 / loss, 2)}" if 0 < loss < _ODDS_BELOW_PCT else ""
        yield (
            f"The chance of losing data to failing drives within {o.years:g} years is about "
            f"{number(loss, 2)} %{odds} ({number(low, 2)} to {number(high, 2)} %), fire, theft and "
            "mistakes not counted."
        )
    else:
        yield f"The chance of losing data is {unknown_risk(o)}"


def _curve(name: str, build: Build, workload: Workload, *, proposed: bool) -> Curve | None:
    most = max(4 * workload.outstanding, 32)
    marks = np.unique(np.round(np.geomspace(1, most, 30))).astype(int)
    marks = np.unique([*marks, workload.outstanding])
    f = figures.figures([build])
    load = figures.load_of(workload, outstanding=marks)
    found = figures.throughput(f, load)
    if not np.isfinite(found.iops).all():
        return None
    points = (
        CurvePoint(outstanding=int(n), iops=float(f"{x:.6g}"), response_ms=float(f"{r:.6g}"))
        for n, x, r in zip(marks, found.iops, found.response_ms, strict=True)
    )
    return Curve(name=name, proposed=proposed, points=tuple(points))


def _curves(o: Outlook, others: tuple[Other, ...]) -> Iterator[Curve]:
    own = _curve(f"proposed: {o.build.layout.rule.label}", o.build, o.workload, proposed=True)
    if own is None:
        return
    yield own
    drawn = 0
    for other in others:
        if drawn < _CURVES and other.facts.open_advice == ():
            title = other.facts.title
            label = other.build.layout.rule.label
            name = title if title == label else f"{title}: {label}"
            curve = _curve(name, other.build, o.workload, proposed=False)
            if curve is not None:
                drawn += 1
                yield curve


def _time_shares(o: Outlook) -> Iterator[TimeShare]:
    for name, ms in (
        ("drives", o.mixed.drives_ms),
        ("links to the drives", o.mixed.links_ms),
        ("controller", o.mixed.controller_ms),
        ("host link", o.mixed.host_link_ms),
        ("inside flash", o.mixed.fixed_ms),
    ):
        if one(ms) > 0:
            yield TimeShare(name=name, ms=float(f"{one(ms):.6g}"))


def _level_losses(o: Outlook) -> Iterator[LevelLoss]:
    """Assess these drives at each level that takes as many of them, or nearly."""
    layout = o.build.layout
    builds = []
    for level in LEVELS.values():
        members = next((n for n in range(layout.members, 0, -1) if level.spans_for(n)), None)
        if members is None or (members < layout.members - 1 and level.name != "1"):
            continue
        spans = layout.spans if level.name == layout.level else level.spans_for(members)[0]
        spares = layout.spares if level.survives else 0
        builds.append(
            Build(o.build.parts, Layout(level.name, members, spans, spares, layout.strip_kib))
        )
    f = figures.figures(builds)
    mixed = figures.throughput(f, figures.load_of(o.workload))
    window = figures.rebuild(f, mixed.drive_utilisation)
    risk = risk_of(f, window, o.build, o.years)
    for i, build in enumerate(builds):
        value = 100 * float(risk.loss.any_data[i])
        if not math.isfinite(value):
            continue
        yield LevelLoss(
            level=build.layout.level,
            label=build.layout.rule.label,
            members=build.layout.members,
            value=float(f"{value:.6g}"),
            low=float(f"{100 * risk.loss_low[i]:.6g}"),
            high=float(f"{100 * risk.loss_high[i]:.6g}"),
            proposed=build.layout.level == layout.level,
        )


def _rebuild_stages(o: Outlook) -> Iterator[RebuildStage]:
    """Lay out the time from a failure to full redundancy, with and without a hot spare."""
    if not o.build.layout.rule.survives or not math.isfinite(one(o.window.loaded_hours)):
        return
    has = o.build.layout.spares
    for spares, case in ((1, "with a hot spare"), (0, "without a hot spare")):
        f = replace(o.f, spares=np.array([float(spares)]))
        window = figures.rebuild(f, o.mixed.drive_utilisation)
        wait, idle = one(window.delay_hours), one(window.idle_hours)
        loaded = one(window.loaded_hours)
        mine = " (proposed)" if bool(has) == bool(spares) else ""
        start = 0.0
        for stage, hours in (
            ("waiting", wait),
            ("rebuild, idle host", idle),
            ("more under your load", max(loaded - idle, 0.0)),
        ):
            if hours > 0:
                yield RebuildStage(
                    case=case + mine,
                    stage=stage,
                    start_hours=float(f"{start:.6g}"),
                    end_hours=float(f"{start + hours:.6g}"),
                )
            start += hours
