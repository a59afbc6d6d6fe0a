"""What do the charts of "What it will do" look like: speed, time, risk, rebuild.

Each gives a `Figure`, or None where nothing is known that could be drawn.
"""

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
from quotelib.quote.record import QuoteRecord

# Lines differ in dashes as well as colour, so that greyscale keeps them apart.
_LINES = ((BLUE, [1, 0]), (VERMILLION, [6, 3]), (GREEN, [2, 2]), (ORANGE, [8, 3, 2, 3]))


def _title(text: str) -> alt.Title:
    return alt.Title(text, anchor="start", fontSize=13)


def response_chart(record: QuoteRecord) -> Figure | None:
    """Show response time against throughput, with the workload's point marked."""
    import pandas as pd

    outlook = record.outlook
    if not outlook.curves:
        return None
    rows: list[dict[str, Any]] = []
    for curve in outlook.curves:
        for point in curve.points:
            rows.append(
                {
                    "name": curve.name,
                    "iops": point.iops,
                    "ms": point.response_ms,
                    "outstanding": point.outstanding,
                    "here": point.outstanding == outlook.outstanding,
                }
            )
    data = pd.DataFrame(rows)
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
    most, slowest = float(data["iops"].max()), float(data["ms"].max())
    quickest = float(data["ms"].min())
    x = alt.X(
        "iops:Q",
        title="operations a second",
        axis=alt.Axis(format="~s", tickCount=6),
        scale=alt.Scale(domain=[0, most * 1.08], nice=False),
    )
    # Room above the curves for their names, which stand at their upper ends.
    room = (slowest / quickest) ** 0.3
    y = alt.Y(
        "ms:Q",
        title="response time, ms",
        scale=alt.Scale(type="log", domain=[quickest * 0.8, slowest * room], nice=False),
        axis=alt.Axis(format="~g", tickCount=6),
    )
    base = alt.Chart(data, title=_title("Response time against throughput as the load rises"))
    drawn = base.mark_line(strokeWidth=2).encode(
        x=x, y=y, color=colour, strokeDash=dash, order="outstanding:Q"
    )
    marked = (
        base.transform_filter("datum.here")
        .mark_point(filled=True, size=80, stroke=BLACK, opacity=1)
        .encode(x=x, y=y, color=colour, tooltip=tips)
    )
    layers = [drawn, marked]
    ends = data.groupby("name", sort=False).tail(1).sort_values("iops")
    height = 0
    previous = -most
    for _, end in ends.iterrows():
        near = float(end["iops"]) - previous < 0.3 * most
        height = height + 1 if near else 0
        previous = float(end["iops"])
        late = previous > 0.8 * most
        layers.append(
            alt.Chart(pd.DataFrame([end]))
            .mark_text(align="right" if late else "center", dy=-8 - 13 * height, fontSize=11)
            .encode(x=x, y=y, color=colour, text="name:N")
        )
    own = data[data["here"] & (data["name"] == names[0])]
    right = bool(float(own["iops"].iloc[0]) > 0.6 * most)
    layers.append(
        alt.Chart(own)
        .mark_text(align="right" if right else "left", dx=-10 if right else 10, dy=14, fontSize=12)
        .encode(x=x, y=y, text=alt.value(f"your load: {outlook.outstanding} outstanding"))
    )
    first = outlook.curves[0].points
    words = (
        f"Response time against throughput for {', '.join(names)}. The proposed build goes from "
        f"{first[0].iops:.0f} operations a second at {first[0].response_ms:.3g} ms to "
        f"{first[-1].iops:.0f} at {first[-1].response_ms:.3g} ms; dots mark your load."
    )
    chart = alt.layer(*layers).properties(width=WIDTH, height=250)
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
    return f"{value:.2g} %" if value >= 1e-3 else f"{value:.0e} %".replace("e-0", "e-")


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
    scale = alt.Scale(type="log", domain=[low / 1.5, max(high * 1.5, 100.0)], nice=False)
    axis = alt.Axis(format="~g", tickCount=6)
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
    labels = base.mark_text(dy=-9, fontSize=11, align="center").encode(
        x=alt.X("value:Q", scale=scale), text="label:N"
    )
    words = f"Chance of losing data within {years} years: " + "; ".join(
        f"{r['name']} {r['label']} ({_percent(r['low'])} to {_percent(r['high'])})" for r in rows
    )
    chart = (span + points + labels).properties(width=WIDTH, height=alt.Step(34))
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
