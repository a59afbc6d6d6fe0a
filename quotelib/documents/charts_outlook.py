"""What do the charts of "What it will do" look like: speed, time, risk, rebuild.

Each gives a `Figure`, or None where nothing is known that could be drawn.
"""

import math
from collections.abc import Sequence

from quotelib.documents.charts import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    POWERS,
    SKY,
    VERMILLION,
    WIDTH,
    Figure,
    Spec,
    bars,
    layer,
    log_ticks,
    name,
    named,
    quantity,
    title,
    told_apart,
)
from quotelib.quote.estimate_facts import number
from quotelib.quote.record import QuoteRecord

# Lines differ in dashes as well as colour, so that greyscale keeps them apart.
_LINES = ((BLUE, [1, 0]), (VERMILLION, [6, 3]), (GREEN, [2, 2]), (ORANGE, [8, 3, 2, 3]))


_LEADER = [2, 2]
_FAR_APART = 10


def _names_beside(ends: Sequence[Spec], at: float, low: float, high: float) -> list[Spec]:
    """Write the name of each line in the right margin, joined to its end by a thin rule.

    All lines end at the same number of operations under way, so by Little's law the one with
    less throughput ends higher: the rules never cross, nor do they cross the lines.
    """
    apart = (high / low) ** (1 / 14)
    rows, above = [], math.inf
    for end in sorted(ends, key=lambda row: -row["ms"]):
        above = min(end["ms"], above / apart)
        rows.append({**end, "to_iops": at, "to_ms": above})
    lift = max(1.0, low * apart / rows[-1]["to_ms"])
    rows = [{**row, "to_ms": row["to_ms"] * lift} for row in rows]
    to = {"x2": {"field": "to_iops"}, "y2": {"field": "to_ms"}}
    rules = layer("rule", to, rows=rows, color=GREY, strokeDash=_LEADER)
    # Black: green and orange letters are too pale on white to read (WCAG 2 AA).
    place = {"x": quantity("to_iops"), "y": quantity("to_ms"), "text": name("name")}
    return [rules, layer("text", place, rows=rows, align="left", dx=4, fontSize=11)]


def response_chart(record: QuoteRecord) -> Figure | None:
    """Show response time against throughput, with the workload's point marked."""
    outlook = record.outlook
    if not outlook.curves:
        return None
    rows: list[Spec] = [
        {
            "name": curve.name,
            "iops": point.iops,
            "ms": point.response_ms,
            "outstanding": point.outstanding,
            "here": point.outstanding == outlook.outstanding,
        }
        for curve in outlook.curves
        for point in curve.points
    ]
    names = [curve.name for curve in outlook.curves]
    lines = dict(zip(names, _LINES, strict=False))
    colour = told_apart({line: colour for line, (colour, _) in lines.items()}, "name")
    dash = told_apart({line: dash for line, (_, dash) in lines.items()}, "name")
    tips = [
        name("name", title="build"),
        quantity("outstanding"),
        quantity("iops", title="operations a second", format=",.0f"),
        quantity("ms", title="response, ms", format=",.3g"),
    ]
    reached = [max(point.iops for point in curve.points) for curve in outlook.curves]
    right = max(reached) * 1.06
    low, high = min(row["ms"] for row in rows) * 0.85, max(row["ms"] for row in rows) * 1.15
    if min(reached) * _FAR_APART < max(reached):
        # Disks beside flash: on a linear axis they would all stand at nought.
        least = min(row["iops"] for row in rows) * 0.9
        ticks: Spec = {"values": log_ticks(least, right)}
        scale: Spec = {"type": "log", "domain": [least, right], "nice": False}
        across = "operations a second (log scale)"
    else:
        ticks, scale = {"tickCount": 6}, {"domain": [0, right], "nice": False}
        across = "operations a second"
    end = max(point.outstanding for point in outlook.curves[0].points)
    under = f"dots: your load, {outlook.outstanding} operations under way; lines go on to {end:,}"
    ends = [row for row in rows if row["outstanding"] == end]
    chart = {
        "data": {"values": rows},
        "title": title("Response time against throughput as the load rises", subtitle=under),
        "width": WIDTH - 130,
        "height": 250,
        "encoding": {
            "x": quantity("iops", title=across, axis={"format": "~s", **ticks}, scale=scale),
            "y": quantity(
                "ms",
                title="response time, ms",
                scale={"type": "log", "domain": [low, high], "nice": False},
                axis={"format": "~g", "values": log_ticks(low, high)},
            ),
        },
        "layer": [
            *_names_beside(ends, right, low, high),
            layer(
                "line",
                {"color": colour, "strokeDash": dash, "order": quantity("outstanding")},
                strokeWidth=2,
            ),
            layer(
                "point",
                {"color": colour, "tooltip": tips},
                rows=[row for row in rows if row["here"]],
                filled=True,
                size=70,
                stroke=BLACK,
                opacity=1,
            ),
        ],
    }
    first = outlook.curves[0].points
    words = (
        f"Response time against throughput for {', '.join(names)}. The proposed build goes from "
        f"{first[0].iops:.0f} operations a second at {first[0].response_ms:.3g} ms to "
        f"{first[-1].iops:.0f} at {first[-1].response_ms:.3g} ms; dots mark your load."
    )
    return Figure(chart, words)


def time_chart(record: QuoteRecord) -> Figure | None:
    """Show where the time of one operation goes."""
    shares = record.outlook.time_shares
    if not shares:
        return None
    total = sum(share.ms for share in shares)
    rows = [
        {
            "name": share.name,
            "value": share.ms,
            "label": f"{share.ms:.3g} ms, {100 * share.ms / total:.0f} %",
            "kind": share.name,
        }
        for share in shares
    ]
    colours = {
        "drives": BLUE,
        "links to the drives": SKY,
        "controller": ORANGE,
        "host link": GREEN,
        "inside flash": GREY,
    }
    words = f"Where the {total:.3g} ms of an operation go: " + "; ".join(
        f"{row['name']} {row['label']}" for row in rows
    )
    heading = f"Where the {total:.3g} ms of one operation go, waiting included"
    return bars(rows, heading, "ms", colours=colours, words=words)


def _percent(value: float) -> str:
    return f"{number(value, 2)} %"


def loss_chart(record: QuoteRecord) -> Figure | None:
    """Show the chance of losing data at each level, with its range, on a log scale."""
    losses = record.outlook.level_losses
    if not losses:
        return None
    floor = 1e-9  # a log scale has no zero
    rows: list[Spec] = [
        {
            "name": f"{loss.label}, {loss.members} drives",
            "value": max(loss.value, floor),
            "low": max(loss.low, floor),
            "high": max(loss.high, floor),
            "label": _percent(loss.value) + (" ◄ proposed" if loss.proposed else ""),
            "kind": "proposed" if loss.proposed else "other",
        }
        for loss in losses
    ]
    low = min(row["low"] for row in rows) / 1.5
    high = max(*(row["high"] * 1.5 for row in rows), 100.0)
    scale = {"type": "log", "domain": [low, high], "nice": False}
    axis = {"values": log_ticks(low, high), "labelExpr": POWERS}
    colour = told_apart({"proposed": BLUE, "other": GREY})
    x = quantity("value", scale=scale)
    across = {
        "x": quantity("low", scale=scale, axis=axis, title="per cent (log scale)"),
        "x2": {"field": "high"},
        "color": colour,
    }
    tips = [
        name("name", title="level"),
        quantity("value", title="%", format=".3g"),
        quantity("low", format=".3g"),
        quantity("high", format=".3g"),
    ]
    # Beyond this the longest label would leave the plot.
    edge = high / (high / low) ** 0.16
    sides = {
        "center": [row for row in rows if row["value"] <= edge],
        "right": [row for row in rows if row["value"] > edge],
    }
    years = record.outlook.years
    chart = {
        "data": {"values": rows},
        "title": title(f"Chance of losing data within {years} years, with its range"),
        "width": WIDTH,
        "height": {"step": 36},
        "encoding": {"y": named("name", [row["name"] for row in rows])},
        "layer": [
            layer("rule", across, strokeWidth=3),
            layer(
                "point",
                {"x": x, "color": colour, "tooltip": tips},
                filled=True,
                size=80,
                opacity=1,
                stroke=BLACK,
            ),
            *(
                layer(
                    "text",
                    {"x": x, "text": name("label")},
                    rows=part,
                    dy=-12,
                    fontSize=11,
                    align=align,
                )
                for align, part in sides.items()
                if part
            ),
        ],
    }
    words = f"Chance of losing data within {years} years: " + "; ".join(
        f"{r['name']} {r['label']} ({_percent(r['low'])} to {_percent(r['high'])})" for r in rows
    )
    return Figure(chart, words)


def rebuild_chart(record: QuoteRecord) -> Figure | None:
    """Show the time from a failure to full redundancy, with and without a hot spare."""
    stages = record.outlook.rebuild_stages
    if not stages:
        return None
    rows = [
        {
            "case": stage.case,
            "stage": stage.stage,
            "start": stage.start_hours,
            "end": stage.end_hours,
        }
        for stage in stages
    ]
    last: dict[str, float] = {}
    for stage in stages:
        last[stage.case] = max(stage.end_hours, last.get(stage.case, 0.0))
    ends = [{"case": case, "end": h, "label": f"{h:.3g} h"} for case, h in last.items()]
    scale = {"domain": [0, max(last.values()) * 1.15], "nice": False}
    colour = told_apart(
        {"waiting": "#FFFFFF", "rebuild, idle host": BLUE, "more under your load": SKY},
        "stage",
        title=None,
        legend={"orient": "top", "symbolStrokeColor": BLACK},
    )
    span = {
        "x": quantity("start", scale=scale, title="hours"),
        "x2": {"field": "end"},
        "color": {**colour, "sort": colour["scale"]["domain"]},
        "tooltip": [name("case"), name("stage"), quantity("start"), quantity("end")],
    }
    label = {"x": quantity("end", scale=scale), "text": name("label")}
    chart = {
        "data": {"values": rows},
        "title": title("From a drive failure to full redundancy"),
        "width": WIDTH,
        "height": {"step": 34},
        "encoding": {"y": named("case", list(last))},
        "layer": [
            layer("bar", span, stroke=BLACK, strokeWidth=0.6),
            layer("text", label, rows=ends, align="left", dx=5, fontSize=12),
        ],
    }
    words = "From a drive failure to full redundancy: " + "; ".join(
        f"{row['case']} {row['label']}" for row in ends
    )
    return Figure(chart, words)
