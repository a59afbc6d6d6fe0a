"""What do the estimates look like on their way to a quote: tables and charts for an engineer.

For the notebook that explains them. Figures are rounded here, so that the notebook shows the
same on every processor.
"""

import math
from collections.abc import Sequence
from typing import Any

from quotelib.documents.charts import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    POWERS,
    VERMILLION,
    WIDTH,
    Figure,
    layer,
    log_ticks,
    name,
    named,
    quantity,
    title,
    told_apart,
)
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
    lines = {
        "bound nothing can pass": (bound, VERMILLION, [6, 3]),
        "mean value analysis": (solved, BLUE, [1, 0]),
        "low end": (low, GREEN, [2, 2]),
    }
    rows = [
        {"name": line, "n": int(n), "iops": _rounded(y)}
        for line, (values, _, _) in lines.items()
        for n, y in zip(outstanding, values, strict=True)
    ]
    most, last = max(_rounded(y) for values, _, _ in lines.values() for y in values), rows[-1]["n"]
    ends, above = [], math.inf
    for line, values in sorted(
        ((line, values) for line, (values, _, _) in lines.items()), key=lambda pair: -pair[1][-1]
    ):
        above = min(_rounded(values[-1]), above - most / 16)  # a line of text apart
        ends.append({"name": line, "n": last, "iops": above})
    bend = [{"n": _rounded(knee), "iops": 0.0, "to": most * 1.1}]
    heading = "Throughput as more operations are under way at once"
    words = (
        f"{heading}: from {number(solved[0])} a second with one to {number(solved[-1])} with "
        f"{last}, between {number(low[-1])} and {number(bound[-1])}; the knee is at "
        f"{number(knee, 2)}."
    )
    beside = {"align": "left", "dx": 5, "fontSize": 11}
    chart = {
        "data": {"values": rows},
        "title": title(heading),
        "width": _INSIDE,
        "height": 240,
        "encoding": {
            "x": quantity(
                "n",
                title="operations under way",
                scale={"domain": [0, last], "nice": False},
                axis={"tickCount": 8},
            ),
            "y": quantity(
                "iops",
                title="operations a second",
                scale={"domain": [0, most * 1.1], "nice": False},
                axis={"format": "~s", "tickCount": 6},
            ),
        },
        "layer": [
            layer("rule", {"y2": {"field": "to"}}, rows=bend, color=GREY, strokeDash=[2, 2]),
            layer(
                "line",
                {
                    "color": told_apart({n: colour for n, (_, colour, _) in lines.items()}, "name"),
                    "strokeDash": told_apart({n: dash for n, (*_, dash) in lines.items()}, "name"),
                    "tooltip": [name("name"), quantity("n"), quantity("iops")],
                },
                strokeWidth=2,
            ),
            layer("text", {"text": name("name")}, rows=ends, **beside),
            layer(
                "text", {"text": {"value": f"knee: {number(knee, 2)}"}}, rows=bend, dy=-8, **beside
            ),
        ],
    }
    return Figure(chart, words)


def range_chart(
    rows: Sequence[tuple[str, float, float, float]],
    heading: str,
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
    heading, axis : str
    bars : str
        What the range is.
    beside : (str, sequence of float), optional
        What a second method says for each row, and its name.

    Returns
    -------
    Figure
    """
    values = [
        {
            "name": row,
            "value": _rounded(value),
            "low": _rounded(low),
            "high": _rounded(high),
            "label": number(value, 2),
        }
        for row, value, low, high in rows
    ]
    others = [] if beside is None else [_rounded(v) for v in beside[1]]
    least = min([*(_rounded(row[2]) for row in rows), *others]) / 1.6
    most = max([*(_rounded(row[3]) for row in rows), *others]) * 1.6
    scale = {"type": "log", "domain": [least, most], "nice": False}
    ticks = {"values": log_ticks(least, most), "labelExpr": POWERS}
    x = quantity("value", scale=scale)
    across = {
        "x": quantity("low", scale=scale, title=axis, axis=ticks),
        "x2": {"field": "high"},
    }
    tips = [name("name"), quantity("value"), quantity("low"), quantity("high")]
    layers = [
        layer("rule", across, strokeWidth=3, color=GREY),
        layer(
            "point",
            {"x": x, "tooltip": tips},
            filled=True,
            size=70,
            opacity=1,
            color=BLUE,
            stroke=BLACK,
        ),
        layer("text", {"x": x, "text": name("label")}, dy=-15, fontSize=11),
    ]
    shown = "; ".join(
        f"{row} {number(value, 2)} ({number(low, 2)} to {number(high, 2)})"
        for row, value, low, high in rows
    )
    words = f"{heading}, {axis}: {shown}."
    subtitle = f"dots: value; bars: {bars}"
    if beside is not None:
        also = [{"name": row[0], "value": other} for row, other in zip(rows, others, strict=True)]
        diamond = {"shape": "diamond", "size": 220, "filled": False, "strokeWidth": 2}
        layers.append(layer("point", {"x": x}, rows=also, color=VERMILLION, **diamond))
        subtitle += f"; open diamonds: {beside[0]}"
        words += f" Beside it {beside[0]}: {', '.join(number(v, 2) for v in others)}."
    chart = {
        "data": {"values": values},
        "title": title(heading, subtitle=subtitle),
        "width": WIDTH - 60,
        "height": {"step": 42},
        "encoding": {"y": named("name", [row[0] for row in rows])},
        "layer": layers,
    }
    return Figure(chart, words)
