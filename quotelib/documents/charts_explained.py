"""What do the estimates look like on their way to a quote: tables and charts for an engineer.

For the notebook that explains them. Figures are rounded here, so that the notebook shows the
same on every processor.
"""

import math
from collections.abc import Sequence
from typing import Any

import altair as alt

from quotelib.documents.charts import BLACK, BLUE, GREEN, GREY, VERMILLION, WIDTH, Figure
from quotelib.documents.charts_outlook import POWERS, log_ticks
from quotelib.quote.estimate_facts import number, one

_DIGITS = 5
_INSIDE = 390  # pixels, with room at the right for names


def table(columns: Sequence[str], *rows: Sequence[Any], digits: int = 3) -> Any:
    """Make a table of figures as people write them.

    Parameters
    ----------
    columns : sequence of str
        The first one's cells name the rows.
    *rows : sequence
        Text is left as it is; numbers are written with significant digits, small whole ones in
        full.
    digits : int
        How many.

    Returns
    -------
    pandas.DataFrame
        Of text.
    """
    import pandas as pd

    def text(cell: Any) -> str:
        if isinstance(cell, str):
            return cell
        figure = one(cell)
        return f"{figure:.0f}" if figure == int(figure) < 1000 else number(figure, digits)

    data = pd.DataFrame([[text(cell) for cell in row] for row in rows], columns=list(columns))
    return data.set_index(columns[0])


def _rounded(value: float) -> float:
    return float(f"{float(value):.{_DIGITS}g}")


def throughput_chart(
    outstanding: Sequence[int],
    solved: Sequence[float],
    low: Sequence[float],
    bound: Sequence[float],
    knee: float,
) -> Figure:
    """Draw throughput against the operations under way, between its low end and its bound.

    Parameters
    ----------
    outstanding : sequence of int
    solved, low, bound : sequence of float
        Operations a second.
    knee : float
        Operations under way where the bound bends.

    Returns
    -------
    Figure
    """
    import pandas as pd

    lines = {
        "bound nothing can pass": (bound, VERMILLION, [6, 3]),
        "mean value analysis": (solved, BLUE, [1, 0]),
        "low end": (low, GREEN, [2, 2]),
    }
    data = pd.DataFrame(
        {"name": name, "n": int(n), "iops": _rounded(y)}
        for name, (values, _, _) in lines.items()
        for n, y in zip(outstanding, values, strict=True)
    )
    most, last = float(data["iops"].max()), int(max(outstanding))
    x = alt.X(
        "n:Q",
        title="operations under way",
        scale=alt.Scale(domain=[0, last], nice=False),
        axis=alt.Axis(tickCount=8),
    )
    y = alt.Y(
        "iops:Q",
        title="operations a second",
        scale=alt.Scale(domain=[0, most * 1.1], nice=False),
        axis=alt.Axis(format="~s", tickCount=6),
    )
    names = list(lines)
    drawn = (
        alt.Chart(data)
        .mark_line(strokeWidth=2)
        .encode(
            x=x,
            y=y,
            color=alt.Color(
                "name:N",
                legend=None,
                scale=alt.Scale(domain=names, range=[c for _, c, _ in lines.values()]),
            ),
            strokeDash=alt.StrokeDash(
                "name:N",
                legend=None,
                scale=alt.Scale(domain=names, range=[d for _, _, d in lines.values()]),
            ),
            tooltip=["name:N", "n:Q", "iops:Q"],
        )
    )
    ends = data[data["n"] == last].sort_values("iops", ascending=False).to_dict("records")
    above = math.inf
    for end in ends:
        above = end["iops"] = min(end["iops"], above - most / 16)  # a line of text apart
    labels = (
        alt.Chart(pd.DataFrame(ends))
        .mark_text(align="left", dx=5, fontSize=11)
        .encode(x=x, y=y, text="name:N")
    )
    bend = pd.DataFrame([{"n": _rounded(knee), "iops": 0.0, "to": most * 1.1}])
    at = alt.Chart(bend).mark_rule(color=GREY, strokeDash=[2, 2]).encode(x=x, y=y, y2="to:Q")
    said = (
        alt.Chart(bend)
        .mark_text(align="left", dx=5, dy=-8, fontSize=11)
        .encode(x=x, y=y, text=alt.value(f"knee: {number(knee, 2)}"))
    )
    title = "Throughput as more operations are under way at once"
    words = (
        f"{title}: from {number(solved[0])} a second with one to {number(solved[-1])} with {last}, "
        f"between {number(low[-1])} and {number(bound[-1])}; the knee is at {number(knee, 2)}."
    )
    chart = alt.layer(at, drawn, labels, said).properties(
        title=alt.Title(title, anchor="start", fontSize=13), width=_INSIDE, height=240
    )
    return Figure(chart, words)


def range_chart(
    rows: Sequence[tuple[str, float, float, float]],
    title: str,
    axis: str,
    *,
    bars: str = "range",
    beside: tuple[str, Sequence[float]] | None = None,
) -> Figure:
    """Draw values with their ranges on a logarithmic scale.

    Parameters
    ----------
    rows : sequence of (str, float, float, float)
        Name, value, low and high, all above zero.
    title, axis : str
    bars : str
        What the range is.
    beside : (str, sequence of float), optional
        What a second method says for each row, and its name.

    Returns
    -------
    Figure
    """
    import pandas as pd

    data = pd.DataFrame(
        {
            "name": name,
            "value": _rounded(value),
            "low": _rounded(low),
            "high": _rounded(high),
            "label": number(value, 2),
        }
        for name, value, low, high in rows
    )
    others = [] if beside is None else [_rounded(v) for v in beside[1]]
    low = min([float(data["low"].min()), *others]) / 1.6
    high = max([float(data["high"].max()), *others]) * 1.6
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    order = list(data["name"])
    y = alt.Y("name:N", sort=order, title=None, axis=alt.Axis(labelLimit=220, labelFontSize=12))
    ticks = alt.Axis(values=log_ticks(low, high), labelExpr=POWERS)
    base = alt.Chart(data).encode(y=y)
    span = base.mark_rule(strokeWidth=3, color=GREY).encode(
        x=alt.X("low:Q", scale=scale, title=axis, axis=ticks), x2="high:Q"
    )
    points = base.mark_point(filled=True, size=70, opacity=1, color=BLUE, stroke=BLACK).encode(
        x=alt.X("value:Q", scale=scale), tooltip=["name:N", "value:Q", "low:Q", "high:Q"]
    )
    labels = base.mark_text(dy=-15, fontSize=11).encode(
        x=alt.X("value:Q", scale=scale), text="label:N"
    )
    layers: list[Any] = [span, points, labels]
    shown = "; ".join(
        f"{name} {number(value, 2)} ({number(lo, 2)} to {number(hi, 2)})"
        for name, value, lo, hi in rows
    )
    words = f"{title}, {axis}: {shown}."
    subtitle = f"dots: value; bars: {bars}"
    if beside is not None:
        also = pd.DataFrame({"name": order, "value": others})
        layers.append(
            alt.Chart(also)
            .mark_point(shape="diamond", size=220, filled=False, strokeWidth=2, color=VERMILLION)
            .encode(y=y, x=alt.X("value:Q", scale=scale))
        )
        subtitle += f"; open diamonds: {beside[0]}"
        words += f" Beside it {beside[0]}: {', '.join(number(v, 2) for v in others)}."
    chart = alt.layer(*layers).properties(
        title=alt.Title(title, subtitle=subtitle, anchor="start", fontSize=13),
        width=WIDTH - 60,
        height=alt.Step(42),
    )
    return Figure(chart, words)
