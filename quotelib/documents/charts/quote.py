"""What do the charts of a quote look like: capacity, levels, price, speed, time, risk, rebuild.

Those of "What it will do" are None where nothing is known that could be drawn.
"""

import math
from collections.abc import Sequence

from quotelib.documents.charts import drawing as d
from quotelib.predict.shown import Chance, LevelLoss
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import ArrayLaid, ArrayShown
from quotelib.text import amount, figure, percent, share, tb
from quotelib.units import TB

_CAPACITY = {"usable": d.BLUE, "redundancy": d.ORANGE, "spares": d.SKY, "reserve": d.GREY}
_PRICE = {
    "Chassis": d.SKY, "Controller": d.ORANGE, "Drives": d.BLUE,
    "Accessories": d.GREEN, "Services": d.YELLOW, "Freight": d.GREY,
}  # fmt: skip
_KINDS = {"proposed": d.BLUE, "offered": d.SKY, "not offered": "#FFFFFF"}
# Lines differ in dashes as well as colour, so that greyscale keeps them apart.
_COLOURS = (d.BLUE, d.VERMILLION, d.GREEN, d.ORANGE)
_DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3])
_FAR_APART = 10
_TIME = {
    "drives": d.BLUE, "links to the drives": d.SKY, "controller": d.ORANGE, "host link": d.GREEN,
    "inside flash": d.GREY,
}  # fmt: skip


def capacity_chart(array: ArrayLaid, of: str = "") -> d.Drawing:
    """Show where the raw capacity goes."""
    rows = []
    for part in array.capacity.shares:
        shown = tb(part.bytes) if part.bytes >= TB / 100 else "under 0.01"
        label = f"{shown} TB, {share(part.pct)}"
        rows.append(d.bar(part.name, part.bytes / TB, label, part.kind))
    heading = d.headed(f"Where the {tb(array.capacity.raw_bytes)} TB on the drives go", of)
    return d.bars(rows, heading, "TB (10¹² bytes)", colours=_CAPACITY)


def level_chart(array: ArrayLaid, of: str = "") -> d.Drawing | None:
    """Show how the levels compare for an array's drives; None where there is only one."""
    if len(array.levels) < 2:
        return None
    heading = "The same member drives at each level: usable capacity and failures survived"
    rows = []
    for level in array.levels:
        kind, more = "offered", ""
        if level.proposed:
            kind, more = "proposed", " ◄ proposed"
        elif not level.offered:
            kind, more = "not offered", " (not on this controller)"
        survives = f"survives any {level.survives}" if level.survives else "survives none"
        name, label = f"{level.label}, {level.members} drives", f"{tb(level.usable_bytes)} TB"
        rows.append(d.bar(name, level.usable_bytes / TB, f"{label}, {survives}{more}", kind))
    axis = "usable TB (10¹² bytes)"
    return d.bars(rows, d.headed(heading, of), axis, colours=_KINDS, room=1.75)


def price_chart(record: QuoteRecord) -> d.Drawing | None:
    """Show what makes up the price; None where that is one thing or nothing."""
    rows = []
    for part in record.price_shares:
        label = amount(part.amount) + ("" if part.pct is None else f"  ({share(part.pct)})")
        rows.append(d.bar(part.name, float(part.amount), label, part.name))
    if len(rows) < 2:
        return None
    colours = {part.name: _PRICE.get(part.name, d.PURPLE) for part in record.price_shares}
    heading = "What makes up the price, before discount and tax"
    words = d.listed(f"{heading}, in {record.currency}", rows)
    return d.bars(rows, heading, record.currency, colours=colours, words=words)


def _names_beside(ends: Sequence[d.Spec], at: float, low: float, high: float) -> list[d.Spec]:
    """Write the name of each line in the right margin, joined to its end by a thin rule.

    All lines end at the same number of operations under way, so by Little's law the one with
    less throughput ends higher: the rules never cross, nor do they cross the lines.
    """
    apart = (high / low) ** (1 / 14)
    rows, above = [], math.inf
    for end in sorted(ends, key=lambda row: -row["ms"]):
        above = min(end["ms"], above / apart)
        rows.append({**end, "to_iops": at, "to_ms": above})
    lift = max(1.0, low * apart / above)
    rows = [{**row, "to_ms": row["to_ms"] * lift} for row in rows]
    to = {"x2": {"field": "to_iops"}, "y2": {"field": "to_ms"}}
    rules = d.layer("rule", to, rows=rows, color=d.GREY, strokeDash=[2, 2])
    # Black: green and orange letters are too pale on white to read (WCAG 2 AA).
    place = {"x": d.quantity("to_iops"), "y": d.quantity("to_ms"), "text": d.name("name")}
    return [rules, d.layer("text", place, rows=rows, align="left", dx=4, fontSize=11)]


def response_chart(array: ArrayShown, of: str = "") -> d.Drawing | None:
    """Show response time against throughput, with the workload's point marked."""
    outlook = array.outlook
    if not outlook.curves:
        return None
    rows: list[d.Spec] = [
        {"name": curve.name, "iops": p.iops, "ms": p.response_ms, "outstanding": p.outstanding}
        for curve in outlook.curves
        for p in curve.points
    ]
    names = [curve.name for curve in outlook.curves]
    colour = d.told_apart(dict(zip(names, _COLOURS, strict=False)), "name")
    dash = d.told_apart(dict(zip(names, _DASHES, strict=False)), "name")
    tips = [
        d.name("name", title="build"),
        d.quantity("outstanding"),
        d.quantity("iops", title="operations a second", format=",.0f"),
        d.quantity("ms", title="response, ms", format=",.3g"),
    ]
    reached = [max(point.iops for point in curve.points) for curve in outlook.curves]
    right = max(reached) * 1.06
    low, high = min(row["ms"] for row in rows) * 0.85, max(row["ms"] for row in rows) * 1.15
    if min(reached) * _FAR_APART < max(reached):
        # Disks beside flash: on a linear axis they would all stand at nought.
        least = min(row["iops"] for row in rows) * 0.9
        ticks: d.Spec = {"values": d.log_ticks(least, right)}
        scale, across = d.log_scale(least, right), "operations a second (log scale)"
    else:
        ticks, scale = {"tickCount": 6}, {"domain": [0, right], "nice": False}
        across = "operations a second"
    end = max(point.outstanding for point in outlook.curves[0].points)
    under = f"dots: your load, {outlook.outstanding} operations under way; lines go on to {end:,}"
    ends = [row for row in rows if row["outstanding"] == end]
    here = [row for row in rows if row["outstanding"] == outlook.outstanding]
    line = {"color": colour, "strokeDash": dash, "order": d.quantity("outstanding")}
    upward, log = {"format": "~g", "values": d.log_ticks(low, high)}, d.log_scale(low, high)
    heading = d.headed("Response time against throughput as the load rises", of)
    x = d.quantity("iops", title=across, axis={"format": "~s", **ticks}, scale=scale)
    y = d.quantity("ms", title="response time, ms", axis=upward, scale=log)
    layers = [
        *_names_beside(ends, right, low, high),
        d.layer("line", line, strokeWidth=2),
        d.layer("point", {"color": colour, "tooltip": tips}, rows=here, size=70, **d.DOT),
    ]
    first = outlook.curves[0].points
    words = (
        f"{heading} for {', '.join(names)}. The proposed build goes from "
        f"{figure(first[0].iops)} operations a second at {figure(first[0].response_ms)} ms to "
        f"{figure(first[-1].iops)} at {figure(first[-1].response_ms)} ms; dots mark your load."
    )
    inside = d.WIDTH - 130
    return d.chart(rows, heading, words, layers, height=250, width=inside, under=under, x=x, y=y)


def time_chart(array: ArrayShown, of: str = "") -> d.Drawing | None:
    """Show where the time of one operation goes."""
    outlook = array.outlook
    if not outlook.time_shares:
        return None
    rows = [
        d.bar(p.name, p.ms, f"{figure(p.ms)} ms, {share(p.pct)}", p.name)
        for p in outlook.time_shares
    ]
    heading = f"Where the {figure(outlook.operation_ms)} ms of one operation go, waiting included"
    return d.bars(rows, d.headed(heading, of), "ms", colours=_TIME)


def loss_chart(array: ArrayShown, of: str = "") -> d.Drawing | None:
    """Show the chances of losing the array, and any data, at each level, on a log scale.

    None where nothing is known, or an array that is there has the level it has.
    """
    losses = array.outlook.level_losses
    if not losses or array.action != "new":
        return None
    rows = [
        _chance_row(loss, what, found)
        for loss in losses
        for what, found in (("array", loss.array), ("any data", loss.any_data))
        # Without redundancy they are one.
        if found is not None and (what == "array" or found != loss.array)
    ]
    low = min(row["low"] for row in rows) / 1.5
    high = max(*(row["high"] * 1.5 for row in rows), 100.0)
    x, across = d.ranged(low, high, "per cent (log scale)")
    colour = d.told_apart({"proposed": d.BLUE, "other": d.GREY})
    shape = d.told_apart({"array": "circle", "any data": "diamond"}, "what")
    offset = d.name("what", sort=["array", "any data"])
    ends = [d.quantity(end, format=".3g") for end in ("low", "high")]
    tips = [
        d.name("name", title="level"),
        d.name("what", title="lost"),
        d.quantity("value", title="%", format=".3g"),
        *ends,
    ]
    # Beyond this the longest label would leave the plot.
    edge = high / (high / low) ** 0.2
    sides = {
        "center": [row for row in rows if row["value"] <= edge],
        "right": [row for row in rows if row["value"] > edge],
    }
    written = {"x": x, "text": d.name("label")}
    heading = f"Chance of losing the array, and any data, within {array.outlook.years} years"
    heading = d.headed(heading, of)
    layers = [
        d.layer("rule", {**across, "color": colour}, strokeWidth=3),
        d.layer("point", {"x": x, "color": colour, "shape": shape, "tooltip": tips}, size=80,
                **d.DOT),
        *(
            d.layer("text", written, rows=part, dy=-12, fontSize=11, align=align)
            for align, part in sides.items()
            if part
        ),
    ]  # fmt: skip
    words = f"{heading}: " + "; ".join(
        f"{r['name']} {r['label']} ({percent(r['low'])} to {percent(r['high'])})" for r in rows
    )
    under = "circles: the array; diamonds: any data, which may be no more than a strip"
    steps = {"step": 24, "for": "offset"}
    return d.chart(
        rows, heading, words, layers, height=steps, under=under, y=d.named(rows), yOffset=offset
    )


def _chance_row(loss: LevelLoss, what: str, found: Chance) -> d.Spec:
    floor = 1e-9  # a log scale has no zero
    said = loss.whole if what == "array" else what
    return {
        "name": f"{loss.label}, {loss.members} drives",
        "what": what,
        **{key: max(getattr(found, key), floor) for key in ("value", "low", "high")},
        "label": f"{said}: {percent(found.value)}" + (" ◄ proposed" if loss.proposed else ""),
        "kind": "proposed" if loss.proposed else "other",
    }


def rebuild_chart(array: ArrayShown, of: str = "") -> d.Drawing | None:
    """Show the time from a failure to full redundancy, with and without a hot spare."""
    stages = array.outlook.rebuild_stages
    if not stages:
        return None
    rows = [
        {"name": s.case, "stage": s.stage, "start": s.start_hours, "end": s.end_hours}
        for s in stages
    ]
    last = {stage.case: stage.end_hours for stage in stages}  # they come one after the other
    ends = [{"name": case, "end": h, "label": f"{figure(h)} h"} for case, h in last.items()]
    scale = {"domain": [0, max(last.values()) * 1.15], "nice": False}
    heading = d.headed("From a drive failure to full redundancy", of)
    colour = d.told_apart(
        {"waiting": "#FFFFFF", "rebuild, idle host": d.BLUE, "more under your load": d.SKY},
        "stage",
        title=None,
        legend={"orient": "top", "symbolStrokeColor": d.BLACK},
    )
    span = {
        "x": d.quantity("start", scale=scale, title="hours"),
        "x2": {"field": "end"},
        "color": {**colour, "sort": colour["scale"]["domain"]},
        "tooltip": [d.name("name"), d.name("stage"), d.quantity("start"), d.quantity("end")],
    }
    label = {"x": d.quantity("end", scale=scale), "text": d.name("label")}
    layers = [
        d.layer("bar", span, stroke=d.BLACK, strokeWidth=0.6),
        d.layer("text", label, rows=ends, align="left", dx=5, fontSize=12),
    ]
    words = d.listed(heading, ends)
    return d.chart(rows, heading, words, layers, height={"step": 34}, y=d.named(ends))
