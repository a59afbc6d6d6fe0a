"""What will an array do: its estimates, the figures of its charts, and what they mean in words."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from quotelib.build.build import Build
from quotelib.build.layout import Array, Layout
from quotelib.catalogue.work import Workload
from quotelib.estimate.performance.cases import CACHE_ANSWER_MS, CONTROLLER_MS, VALUE
from quotelib.estimate.performance.day import BUSY_HOURS
from quotelib.estimate.reliability.loss import MTTDL_CAUTION
from quotelib.levels import LEVELS
from quotelib.predict import inputs, workings
from quotelib.predict.availability import availability_estimates
from quotelib.predict.estimate import Estimate, one, six
from quotelib.predict.exposure import rebuild_estimates
from quotelib.predict.forecast import Forecast, risk_of
from quotelib.predict.losing import chance, loss_words, losses, risk_estimates
from quotelib.predict.running import wear_estimates
from quotelib.predict.shown import (
    Curve,
    CurvePoint,
    LevelLoss,
    LoadShown,
    Outlook,
    RebuildStage,
    TimeShare,
)
from quotelib.predict.speed import SHARED_LANES, held_back, speed_estimates
from quotelib.text import figure, sentence
from quotelib.units import plain

_CURVES = 3
"""Other builds drawn beside the proposal; more would not be readable."""


def array_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of an array, in the order of the page."""
    for listed in (
        speed_estimates,
        rebuild_estimates,
        risk_estimates,
        availability_estimates,
        wear_estimates,
    ):
        yield from listed(o)


def outlook(o: Forecast) -> Outlook:
    """Put together what the charts and sentences about an array show."""
    own = f"proposed: {o.array.layout.rule.label}"
    curve = _curve(own, o.build, o.array, o.workload, proposed=True)
    shares = tuple(_time_shares(o))
    return Outlook(
        workload_words=_workload_words(o),
        load=_load(o),
        words=tuple(_words(o)),
        outstanding=o.workload.outstanding,
        operation_ms=six(sum(share.ms for share in shares)),
        years=f"{o.years:g}",
        losses=tuple(losses(o)),
        curves=() if curve is None else (curve,),
        time_shares=shares,
        level_losses=tuple(_level_losses(o)),
        rebuild_stages=tuple(_rebuild_stages(o)),
        mttdl_caution=MTTDL_CAUTION,
    )


def with_others(
    own: Outlook,
    others: Sequence[tuple[str, Build]],
    workload: Workload | None,
    place: int = 0,
) -> Outlook:
    """Draw other builds beside an array; one without a curve of its own stays as it is.

    Parameters
    ----------
    others : sequence of (str, Build)
        What speaks for each, and the build; the first few are drawn.
    workload : Workload or None
        None: the neutral load.
    place : int
        Of the array among those of its server.
    """
    if not own.curves:
        return own
    drawn: list[Curve] = []
    for title, build in others:
        if len(drawn) == _CURVES:
            break
        array = build.arrays[place]
        label = array.layout.rule.label
        name = title if title == label else f"{title}: {label}"
        curve = _curve(name, build, array, workload or workings.NEUTRAL, proposed=False)
        if curve is not None:
            drawn.append(curve)
    return own.model_copy(update={"curves": (*own.curves, *drawn)})


def _load(o: Forecast) -> LoadShown:
    w = o.workload
    return LoadShown(
        name=w.name if o.named else "",
        description=w.description if o.named else "",
        read_pct=w.read_pct,
        random_pct=w.random_pct,
        block_kib=w.block_kib,
        outstanding=w.outstanding,
    )


def _workload_words(o: Forecast) -> str:
    w = o.workload
    mix = (
        f"{plain(w.read_pct)} % reads, {plain(w.random_pct)} % random, blocks of "
        f"{plain(w.block_kib)} KiB, {w.outstanding} operations outstanding"
    )
    if o.named:
        return f"Estimated for this use: {w.description} ({mix})."
    return (
        "No workload was named, so these estimates are for small random operations, two reads for "
        f"each write ({mix}). Tell us yours and we estimate again."
    )


_BOTTLENECKS = {
    "drives": "the drives themselves set the limit",
    "drive links": "the links to the drives set the limit",
    SHARED_LANES: "the lanes that the drives share behind the expander set the limit",
    "controller": "the controller sets the limit",
    "host link": "the controller's slot sets the limit",
}


def _words(o: Forecast) -> Iterator[str]:
    iops, response = one(o.mixed.iops), one(o.mixed.response_ms)
    if math.isfinite(iops):
        limit = _BOTTLENECKS.get(held_back(o, o.mixed.bottleneck), "nothing known")
        yield (
            f"Under this load it does about {figure(iops, 2)} operations a second and answers each "
            f"in about {figure(response, 2)} ms; {limit}."
        )
        knee, many = one(o.mixed.knee_outstanding), o.workload.outstanding
        about = f"from about {figure(knee, 2)}"
        if knee == 1 and many > 1:
            yield "One operation outstanding keeps it busy: more of them mostly wait."
        elif many > 1.2 * knee:
            yield (
                f"{sentence(about)} operations outstanding, more of them mostly wait: "
                f"the {many} of this load are past that point."
            )
        elif many > 0.8 * knee:
            yield (
                f"That is about as much as it does without a queue: {about} operations "
                f"outstanding they begin to wait, and this load has {many}."
            )
        else:
            yield (
                f"It has room: operations begin to queue {about} outstanding, this load has {many}."
            )
        yield from _day_words(o)
    else:
        yield "How fast it is cannot be said: a rate of the drive is not stated."
    if o.array.layout.rule.survives:
        slow, again = one(o.degraded.iops), one(o.window.exposed_loaded_hours)
        if math.isfinite(slow) and math.isfinite(again):
            yield (
                f"With a drive failed it goes on at about {figure(slow, 2)} operations a second, "
                f"and about {figure(again, 2)} hours later it is whole again."
            )
    yield loss_words(o)


def _day_words(o: Forecast) -> Iterator[str]:
    """Say how a write is answered from a cache, and how much of its time a day takes."""
    if one(o.f.serving.cached):
        answer = figure(one(CONTROLLER_MS[VALUE] + CACHE_ANSWER_MS[VALUE]), 2)
        yield (
            "That is with the cache full, as it is when writes never pause. While it has room a "
            f"write is answered in about {answer} ms."
        )
    if o.day.told and o.open is not None:
        busy, late = one(o.day.utilisation), one(o.open.p95_ms[0])
        said = (
            f"What the workload writes a day comes to {figure(o.day.iops, 2)} operations a second "
            f"on average, which keeps the drives busy {figure(100 * busy, 2)} % of the time"
        )
        if math.isfinite(late):
            said += (
                f". If they all come within {BUSY_HOURS[0]:g} hours, 95 of 100 are answered within "
                f"{figure(late, 2)} ms"
            )
        elif o.day.iops < one(o.mixed.iops):
            said += f". Within {BUSY_HOURS[0]:g} hours alone it could not do them"
        else:
            said = (
                "What the workload writes a day is more than this array can take, however evenly "
                "it comes"
            )
        yield f"{said}."


def _curve(
    name: str, build: Build, array: Array, workload: Workload, *, proposed: bool
) -> Curve | None:
    most = max(4 * workload.outstanding, 32)
    marks = np.unique(np.round(np.geomspace(1, most, 30))).astype(int)
    marks = np.unique([*marks, workload.outstanding])
    f = inputs.inputs([inputs.behind(build, array)])
    found = workings.throughput(f, workings.load_of(workload, outstanding=marks))
    if not np.isfinite(found.iops).all():
        return None
    points = (
        CurvePoint(outstanding=int(n), iops=six(x), response_ms=six(r))
        for n, x, r in zip(marks, found.iops, found.response_ms, strict=True)
    )
    return Curve(name=name, proposed=proposed, points=tuple(points))


def _time_shares(o: Forecast) -> Iterator[TimeShare]:
    mixed = o.mixed
    cached, flash = one(o.f.serving.cached) > 0, bool(o.f.flash[0])
    inside = "answers from the cache" if cached else "inside flash"
    parts = {
        "drives": mixed.drives_ms,
        "links to the drives": mixed.links_ms,
        "controller": mixed.controller_ms,
        "host link": mixed.host_link_ms,
        "flash and cache" if cached and flash else inside: mixed.fixed_ms,
    }
    known = {name: one(ms) for name, ms in parts.items() if one(ms) > 0}
    whole = sum(known.values())
    for name, ms in known.items():
        yield TimeShare(name=name, ms=six(ms), pct=six(100 * ms / whole))


def _level_losses(o: Forecast) -> Iterator[LevelLoss]:
    """Assess these drives at each level that takes as many of them, or nearly.

    An array that is there already has the level it has.
    """
    layout, place = o.array.layout, o.build.arrays.index(o.array)
    tried: list[inputs.Behind] = []
    own = o.array.action != "new"
    for level in (level for level in LEVELS.values() if not own or level.name == layout.level):
        members = next((n for n in range(layout.members, 0, -1) if level.spans_for(n)), None)
        if members is None or (members < layout.members - 1 and level.max_per_span is None):
            continue
        spans = layout.spans if level.name == layout.level else level.spans_for(members)[0]
        spares = layout.spares if level.survives else 0
        layouts = [array.layout for array in o.build.arrays]
        layouts[place] = Layout(level.name, members, spans, spares, layout.strip_kib)
        build = o.build.with_layouts(*layouts)
        tried.append(inputs.behind(build, build.arrays[place]))
    f = inputs.inputs(tried)
    mixed = workings.throughput(f, workings.load_of(o.workload))
    window = workings.rebuild(f, workings.day(o.workload, mixed))
    risk = risk_of(f, window, o.array, o.terms)
    for i, (array, *_) in enumerate(tried):
        whole = chance(risk.array_low[i], risk.loss.array[i], risk.array_high[i])
        if whole is not None:
            yield LevelLoss(
                level=array.layout.level,
                label=array.layout.rule.label,
                members=array.layout.members,
                whole="array" if array.layout.rule.is_array else "a drive",
                array=whole,
                any_data=chance(risk.loss_low[i], risk.loss.any_data[i], risk.loss_high[i]),
                proposed=array.layout.level == layout.level,
            )


def _rebuild_stages(o: Forecast) -> Iterator[RebuildStage]:
    """Lay out the time from a failure to full redundancy, with and without a hot spare."""
    if not o.array.layout.rule.survives or not math.isfinite(one(o.window.loaded_hours)):
        return
    for spares, case in ((1, "with a hot spare"), (0, "without a hot spare")):
        f = replace(o.f, spares=np.array([float(spares)]))
        window = workings.rebuild(f, o.day)
        wait, idle = one(window.delay_hours), one(window.idle_hours)
        loaded = one(window.loaded_hours)
        if bool(spares) == bool(o.array.layout.spares):
            case += " (proposed)"
        start = 0.0
        for stage, hours in (
            ("waiting", wait),
            ("rebuild, idle host", idle),
            ("more under your load", max(loaded - idle, 0.0)),
        ):
            end = start + hours
            if hours > 0:
                yield RebuildStage(
                    case=case, stage=stage, start_hours=six(start), end_hours=six(end)
                )
            start = end
