"""What do the estimates look like on their way to a quote: tables and charts for an engineer.

For the notebook that explains them. Figures are rounded here, so that the notebook shows the
same on every processor.
"""

import math
from collections.abc import Sequence
from typing import Any

from quotelib.documents import sections
from quotelib.documents.charts import drawing as d
from quotelib.notebook.aligned import words_left
from quotelib.predict.estimate import one
from quotelib.promise.record import QuoteRecord
from quotelib.text import figure

_DIGITS = 5
_Rates = Sequence[float]
_INSIDE = 390  # pixels, with room at the right for names


def table(columns: Sequence[str], *rows: Sequence[Any], digits: int = 3) -> sections.Html:
    """Make a table of figures as people write them; cells of the first column name the rows.

    Text is left as it is; numbers get significant digits, small whole ones are written in full.
    """

    def text(cell: Any) -> str:
        if isinstance(cell, str):
            return cell
        value = one(cell)
        return f"{value:.0f}" if value == int(value) < 1000 else figure(value, digits)

    return sections.table([[text(cell) for cell in row] for row in rows], columns, columns[1:])


def estimates(record: QuoteRecord) -> sections.Html:
    """Show the estimates as a quote's annex has them."""
    return words_left(sections.section("estimates", record=record))


def _rounded(value: float) -> float:
    return float(f"{float(value):.{_DIGITS}g}")


def throughput_chart(
    outstanding: Sequence[int], solved: _Rates, low: _Rates, bound: _Rates, knee: float
) -> d.Drawing:
    """Draw throughput against the operations under way, between its low end and its bound.

    `solved`, `low` and `bound` are operations a second, one for each of `outstanding`; `knee` is
    how many are under way where the bound bends.
    """
    lines = {
        "bound nothing can pass": (bound, d.VERMILLION, [6, 3]),
        "mean value analysis": (solved, d.BLUE, [1, 0]),
        "low end": (low, d.GREEN, [2, 2]),
    }
    rows: list[dict[str, Any]] = [
        {"name": line, "n": int(n), "iops": _rounded(y)}
        for line, (values, _, _) in lines.items()
        for n, y in zip(outstanding, values, strict=True)
    ]
    most, last = max(row["iops"] for row in rows), rows[-1]["n"]
    ends, above = [], math.inf
    for line, (values, _, _) in sorted(lines.items(), key=lambda pair: -pair[1][0][-1]):
        above = min(_rounded(values[-1]), above - most / 16)  # a line of text apart
        ends.append({"name": line, "n": last, "iops": above})
    bend = [{"n": _rounded(knee), "iops": 0.0, "to": most * 1.1}]
    heading = "Throughput as more operations are under way at once"
    words = (
        f"{heading}: from {figure(solved[0])} a second with one to {figure(solved[-1])} with "
        f"{last}, between {figure(low[-1])} and {figure(bound[-1])}; the knee is at "
        f"{figure(knee, 2)}."
    )
    across = {"domain": [0, last], "nice": False}
    up = {"domain": [0, most * 1.1], "nice": False}
    at_knee = {"text": {"value": f"knee: {figure(knee, 2)}"}}
    x = d.quantity("n", title="operations under way", scale=across, axis={"tickCount": 8})
    ticks = {"format": "~s", "tickCount": 6}
    y = d.quantity("iops", title="operations a second", scale=up, axis=ticks)
    broken: d.Spec = {"color": d.GREY, "strokeDash": [2, 2]}
    beside = {"align": "left", "dx": 5, "fontSize": 11}
    each = {
        "color": d.told_apart({n: colour for n, (_, colour, _) in lines.items()}, "name"),
        "strokeDash": d.told_apart({n: dash for n, (*_, dash) in lines.items()}, "name"),
        "tooltip": [d.name("name"), d.quantity("n"), d.quantity("iops")],
    }
    layers = [
        d.layer("rule", {"y2": {"field": "to"}}, rows=bend, **broken),
        d.layer("line", each, strokeWidth=2),
        d.layer("text", {"text": d.name("name")}, rows=ends, **beside),
        d.layer("text", at_knee, rows=bend, dy=-8, **beside),
    ]
    return d.chart(rows, heading, words, layers, height=240, width=_INSIDE, x=x, y=y)


def range_chart(
    rows: Sequence[tuple[str, float, float, float]],
    heading: str,
    axis: str,
    *,
    bars: str = "range",
    beside: tuple[str, Sequence[float]] | None = None,
) -> d.Drawing:
    """Draw values with their ranges on a logarithmic scale.

    Rows are of a name, value, low and high, all above zero; `bars` says what the range is, `beside`
    is the name of a second method and what it says for each row.
    """
    values: list[dict[str, Any]] = [
        {"name": row, "label": figure(value, 2)}
        | {"value": _rounded(value), "low": _rounded(low), "high": _rounded(high)}
        for row, value, low, high in rows
    ]
    method, others = ("", []) if beside is None else (beside[0], [_rounded(v) for v in beside[1]])
    least = min([*(row["low"] for row in values), *others]) / 1.6
    most = max([*(row["high"] for row in values), *others]) * 1.6
    x, across = d.ranged(least, most, axis)
    tips = [d.name("name"), d.quantity("value"), d.quantity("low"), d.quantity("high")]
    layers = [
        d.layer("rule", across, strokeWidth=3, color=d.GREY),
        d.layer("point", {"x": x, "tooltip": tips}, size=70, color=d.BLUE, **d.DOT),
        d.layer("text", {"x": x, "text": d.name("label")}, dy=-15, fontSize=11),
    ]
    shown = "; ".join(
        f"{row} {figure(value, 2)} ({figure(low, 2)} to {figure(high, 2)})"
        for row, value, low, high in rows
    )
    words = f"{heading}, {axis}: {shown}."
    subtitle = f"dots: value; bars: {bars}"
    if method:
        also = [{"name": row[0], "value": other} for row, other in zip(rows, others, strict=True)]
        diamond: d.Spec = {"shape": "diamond", "size": 220, "filled": False, "strokeWidth": 2}
        layers.append(d.layer("point", {"x": x}, rows=also, color=d.VERMILLION, **diamond))
        subtitle += f"; open diamonds: {method}"
        words += f" Beside it {method}: {', '.join(figure(v, 2) for v in others)}."
    step, width, y = {"step": 42}, d.WIDTH - 60, d.named(values)
    return d.chart(values, heading, words, layers, height=step, width=width, under=subtitle, y=y)
