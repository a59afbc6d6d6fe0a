"""What do the charts of "What it will do" look like: speed, time, risk, rebuild.

Each gives a `Figure`, or None where nothing is known that could be drawn.
"""

import math
from typing import Any

import altair as alt

from quotelib.documents.charts import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    SKY,
    VERMILLION,
    WIDTH,
    Figure,
    bars,
)
from quotelib.quote.estimate_facts import number, raised
from quotelib.quote.record import QuoteRecord

# Lines differ in dashes as well as colour, so that greyscale keeps them apart.
_LINES = ((BLUE, [1, 0]), (VERMILLION, [6, 3]), (GREEN, [2, 2]), (ORANGE, [8, 3, 2, 3]))


def _title(text: str) -> alt.Title:
    return alt.Title(text, anchor="start", fontSize=13)


def log_ticks(low: float, high: float) -> list[float]:
    """List round figures of a logarithmic axis: 1, 2, 5 or, of a long one, powers of ten."""
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    digits = (1, 2, 5) if math.log10(high / low) < _LONG_DECADES else (1,)
    step = max(1, math.ceil((last - first) / _MOST_TICKS)) if digits == (1,) else 1
    # Counted from above, so that 100 % stays a tick however far down the axis goes.
    every = (d * 10.0**e for e in range(last, first - 1, -step) for d in digits)
    return sorted(float(f"{tick:.1g}") for tick in every if low <= tick <= high)


# Small figures as powers of ten: a row of noughts is hard to count.
POWERS = (
    "datum.value < 0.0009 ? {"
    + ", ".join(f"'{-n}': '10{raised(-n)}'" for n in range(4, 16))
    + "}[round(log(datum.value) / LN10)] : format(datum.value, '~g')"
)
_LONG_DECADES = 2.5
_MOST_TICKS = 7
_LEADER = [2, 2]
_FAR_APART = 10


def _names_beside(
    ends: Any, x: alt.X, y: alt.Y, at: float, low: float, high: float
) -> list[alt.Chart]:
    """Write the name of each line in the right margin, joined to its end by a thin rule.

    All lines end at the same number of operations under way, so by Little's law the one with
    less throughput ends higher: the rules never cross, nor do they cross the lines.
    """
    import pandas as pd

    apart = (high / low) ** (1 / 14)
    rows, above = [], math.inf
    for end in ends.sort_values("ms", ascending=False).to_dict("records"):
        above = min(end["ms"], above / apart)
        rows.append({**end, "to_iops": at, "to_ms": above})
    lift = max(1.0, low * apart / rows[-1]["to_ms"])
    data = pd.DataFrame([{**row, "to_ms": row["to_ms"] * lift} for row in rows])
    base = alt.Chart(data)
    x2, y2 = x.copy(), y.copy()
    x2.shorthand, y2.shorthand = "to_iops:Q", "to_ms:Q"
    rules = base.mark_rule(color=GREY, strokeDash=_LEADER).encode(
        x=x, y=y, x2="to_iops:Q", y2="to_ms:Q"
    )
    # Black: green and orange letters are too pale on white to read (WCAG 2 AA).
    names = base.mark_text(align="left", dx=4, fontSize=11).encode(x=x2, y=y2, text="name:N")
    return [rules, names]


def response_chart(record: QuoteRecord) -> Figure | None:
    """Show response time against throughput, with the workload's point marked."""
    import pandas as pd

    outlook = record.outlook
    if not outlook.curves:
        return None
    data = pd.DataFrame(
        {
            "name": curve.name,
            "iops": point.iops,
            "ms": point.response_ms,
            "outstanding": point.outstanding,
            "here": point.outstanding == outlook.outstanding,
        }
        for curve in outlook.curves
        for point in curve.points
    )
    names = [curve.name for curve in outlook.curves]
    lines = _LINES[: len(names)]
    colour = alt.Color(
        "name:N", legend=None, scale=alt.Scale(domain=names, range=[c for c, _ in lines])
    )
    dash = alt.StrokeDash(
        "name:N", legend=None, scale=alt.Scale(domain=names, range=[d for _, d in lines])
    )
    tips = [
        alt.Tooltip("name:N", title="build"),
        alt.Tooltip("outstanding:Q"),
        alt.Tooltip("iops:Q", title="operations a second", format=",.0f"),
        alt.Tooltip("ms:Q", title="response, ms", format=",.3g"),
    ]
    most = float(data["iops"].max())
    low, high = float(data["ms"].min()) * 0.85, float(data["ms"].max()) * 1.15
    reached = data.groupby("name")["iops"].max()
    if float(reached.min()) * _FAR_APART < most:
        # Disks beside flash: on a linear axis they would all stand at nought.
        least = float(data["iops"].min()) * 0.9
        x_axis = alt.Axis(format="~s", values=log_ticks(least, most * 1.06))
        x_scale = alt.Scale(type="log", domain=[least, most * 1.06], nice=False)
        x_title = "operations a second (log scale)"
    else:
        x_axis = alt.Axis(format="~s", tickCount=6)
        x_scale = alt.Scale(domain=[0, most * 1.06], nice=False)
        x_title = "operations a second"
    x = alt.X("iops:Q", title=x_title, axis=x_axis, scale=x_scale)
    y = alt.Y(
        "ms:Q",
        title="response time, ms",
        scale=alt.Scale(type="log", domain=[low, high], nice=False),
        axis=alt.Axis(format="~g", values=log_ticks(low, high)),
    )
    end = max(point.outstanding for point in outlook.curves[0].points)
    title = alt.Title(
        "Response time against throughput as the load rises",
        subtitle=f"dots: your load, {outlook.outstanding} operations under way; "
        f"lines go on to {end:,}",
        anchor="start",
        fontSize=13,
    )
    base = alt.Chart(data, title=title)
    drawn = base.mark_line(strokeWidth=2).encode(
        x=x, y=y, color=colour, strokeDash=dash, order="outstanding:Q"
    )
    marked = (
        base.transform_filter("datum.here")
        .mark_point(filled=True, size=70, stroke=BLACK, opacity=1)
        .encode(x=x, y=y, color=colour, tooltip=tips)
    )
    ends = data[data["outstanding"] == end]
    beside = _names_beside(ends, x, y, most * 1.06, low, high)
    first = outlook.curves[0].points
    words = (
        f"Response time against throughput for {', '.join(names)}. The proposed build goes from "
        f"{first[0].iops:.0f} operations a second at {first[0].response_ms:.3g} ms to "
        f"{first[-1].iops:.0f} at {first[-1].response_ms:.3g} ms; dots mark your load."
    )
    chart = alt.layer(*beside, drawn, marked).properties(width=WIDTH - 130, height=250)
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
    title = f"Where the {total:.3g} ms of one operation go, waiting included"
    return bars(rows, title, "ms", colours=colours, words=words)


def _percent(value: float) -> str:
    return f"{number(value, 2)} %"


def loss_chart(record: QuoteRecord) -> Figure | None:
    """Show the chance of losing data at each level, with its range, on a log scale."""
    import pandas as pd

    losses = record.outlook.level_losses
    if not losses:
        return None
    floor = 1e-9  # a log scale has no zero
    rows: list[dict[str, Any]] = [
        {
            "name": f"{loss.label}, {loss.members} drives",
            "value": max(loss.value, floor),
            "low": max(loss.low, floor),
            "high": max(loss.high, floor),
            "label": _percent(loss.value) + (" ◀ proposed" if loss.proposed else ""),
            "kind": "proposed" if loss.proposed else "other",
        }
        for loss in losses
    ]
    data = pd.DataFrame(rows)
    order = list(data["name"])
    low, high = float(data["low"].min()), float(data["high"].max())
    years = record.outlook.years
    base = alt.Chart(
        data, title=_title(f"Chance of losing data within {years} years, with its range")
    ).encode(
        y=alt.Y("name:N", sort=order, title=None, axis=alt.Axis(labelLimit=190, labelFontSize=12))
    )
    low, high = low / 1.5, max(high * 1.5, 100.0)
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    axis = alt.Axis(values=log_ticks(low, high), labelExpr=POWERS)
    colour = alt.Color(
        "kind:N",
        scale=alt.Scale(domain=["proposed", "other"], range=[BLUE, GREY]),
        legend=None,
    )
    span = base.mark_rule(strokeWidth=3).encode(
        x=alt.X("low:Q", scale=scale, axis=axis, title="per cent (log scale)"),
        x2="high:Q",
        color=colour,
    )
    points = base.mark_point(filled=True, size=80, opacity=1, stroke=BLACK).encode(
        x=alt.X("value:Q", scale=scale),
        color=colour,
        tooltip=[
            alt.Tooltip("name:N", title="level"),
            alt.Tooltip("value:Q", title="%", format=".3g"),
            alt.Tooltip("low:Q", format=".3g"),
            alt.Tooltip("high:Q", format=".3g"),
        ],
    )
    # Beyond this the longest label would leave the plot.
    edge = high / (high / low) ** 0.16
    side = data["value"] > edge
    labels = [
        alt.Chart(part)
        .mark_text(dy=-12, fontSize=11, align=align)
        .encode(
            y=alt.Y("name:N", sort=order, title=None),
            x=alt.X("value:Q", scale=scale),
            text="label:N",
        )
        for part, align in ((data[~side], "center"), (data[side], "right"))
        if len(part)
    ]
    words = f"Chance of losing data within {years} years: " + "; ".join(
        f"{r['name']} {r['label']} ({_percent(r['low'])} to {_percent(r['high'])})" for r in rows
    )
    chart = alt.layer(span, points, *labels).properties(width=WIDTH, height=alt.Step(36))
    return Figure(chart, words)


def rebuild_chart(record: QuoteRecord) -> Figure | None:
    """Show the time from a failure to full redundancy, with and without a hot spare."""
    import pandas as pd

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
    data = pd.DataFrame(rows)
    ends = data.groupby("case", sort=False)["end"].max().reset_index()
    ends["label"] = [f"{hours:.3g} h" for hours in ends["end"]]
    names = ["waiting", "rebuild, idle host", "more under your load"]
    order = list(dict.fromkeys(data["case"]))
    y = alt.Y("case:N", sort=order, title=None, axis=alt.Axis(labelLimit=210, labelFontSize=12))
    most = float(data["end"].max())
    scale = alt.Scale(domain=[0, most * 1.15], nice=False)
    drawn = (
        alt.Chart(data, title=_title("From a drive failure to full redundancy"))
        .mark_bar(stroke=BLACK, strokeWidth=0.6)
        .encode(
            y=y,
            x=alt.X("start:Q", scale=scale, title="hours"),
            x2="end:Q",
            color=alt.Color(
                "stage:N",
                title=None,
                sort=names,
                scale=alt.Scale(domain=names, range=["#FFFFFF", BLUE, SKY]),
                legend=alt.Legend(orient="top", symbolStrokeColor=BLACK, labelLimit=240),
            ),
            tooltip=["case:N", "stage:N", "start:Q", "end:Q"],
        )
    )
    labels = (
        alt.Chart(ends)
        .mark_text(align="left", dx=5, fontSize=12)
        .encode(y=y, x=alt.X("end:Q", scale=scale), text="label:N")
    )
    words = "From a drive failure to full redundancy: " + "; ".join(
        f"{row['case']} {row['label']}" for row in ends.to_dict("records")
    )
    return Figure((drawn + labels).properties(width=WIDTH, height=alt.Step(34)), words)
