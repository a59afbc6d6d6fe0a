"""What does each controller cost against what it lets through: one chart of a comparison."""

from collections.abc import Sequence

import altair as alt

from quotelib.documents.charts import BLACK, BLUE, FONT, GREEN, GREY, ORANGE, Figure
from quotelib.quote.comparison.record import ControllerComparison, ControllerRow
from quotelib.quote.words import money

_KINDS = {
    "raid": ("array controller", BLUE, "circle"),
    "chipset": ("chipset controller", ORANGE, "square"),
    "pass_through": ("pass-through adapter", GREEN, "triangle-up"),
}
_PLOT, _NAMES, _STEP = 300, 330, 17


def drawable(comparison: ControllerComparison) -> list[ControllerRow]:
    """Give the rows that a chart can show: those with a build, a price and a known rate."""
    return [r for r in comparison.rows if r.net is not None and r.tightest_gb_s is not None]


def controller_chart(comparison: ControllerComparison) -> Figure | None:
    """Draw net price against the tightest link of each controller that fits.

    Parameters
    ----------
    comparison : ControllerComparison

    Returns
    -------
    Figure or None
        None where fewer than two can be drawn: there is nothing to compare.
    """
    import pandas as pd

    shown = sorted(drawable(comparison), key=lambda row: (-(row.net or 0), row.sku))
    if len(shown) < 2:
        return None
    height = max(170, _STEP * len(shown))
    nets = [float(row.net or 0) for row in shown]
    span = (max(nets) - min(nets)) or max(nets) or 1.0
    low, high = min(nets) - span * 0.08, max(nets) + span * 0.08
    ends = [(high - net) / (high - low) * height for net in nets]
    data = pd.DataFrame(
        {
            "sku": [row.sku for row in shown],
            "net": nets,
            "gb_s": [row.tightest_gb_s for row in shown],
            "kind": [_KINDS[row.kind][0] for row in shown],
            "label": [_label(row, comparison.currency) for row in shown],
            "spread": [high - y / height * (high - low) for y in spread(ends, _STEP, height)],
            "weight": ["bold" if row.chosen else "normal" for row in shown],
        }
    )
    most = max(float(data["gb_s"].max()), *(row.drives_gb_s or 0 for row in shown))
    chart = _layers(data, comparison, (low, high), most, height, _drives(shown))
    words = "Net price against the tightest link of each controller that fits: " + "; ".join(
        data["label"][::-1]
    )
    return Figure(chart, words)


def spread(wanted: Sequence[float], step: float, room: float) -> list[float]:
    """Move labels apart: at least a step between them, each as near its place as that allows.

    Parameters
    ----------
    wanted : sequence of float
        Places in rising order.
    step, room : float
        Least distance, and the height there is.

    Returns
    -------
    list of float
        Rising, in the order given.
    """
    groups: list[tuple[float, int]] = []  # centre and number of labels that touch

    def within(centre: float, number: int) -> float:
        half = number * step / 2
        return min(max(centre, half), max(room - half, half))

    for place in wanted:
        centre, number = within(place, 1), 1
        while groups and centre - number * step / 2 < groups[-1][0] + groups[-1][1] * step / 2:
            other, many = groups.pop()
            centre = within((centre * number + other * many) / (number + many), number + many)
            number += many
        groups.append((centre, number))
    return [
        centre + (index - (number - 1) / 2) * step
        for centre, number in groups
        for index in range(number)
    ]


def _label(row: ControllerRow, currency: str) -> str:
    assert row.net is not None
    text = f"{row.sku}: {money(row.net, currency)}, {row.tightest_gb_s:.1f} GB/s"
    if row.chosen:
        text += " ◀ chosen"
    elif row.findings:
        text += " (needs a yes)"
    return text


def _drives(rows: Sequence[ControllerRow]) -> float | None:
    """Give what the drives can do together, where it is the same in every row."""
    rates = {row.drives_gb_s for row in rows}
    return rates.pop() if len(rates) == 1 else None


def _layers(
    data: object,
    comparison: ControllerComparison,
    domain: tuple[float, float],
    most: float,
    height: float,
    drives: float | None,
) -> alt.LayerChart:
    import pandas as pd

    many = f", {comparison.builds} builds" if comparison.builds > 1 else ""
    cost = f"net, {comparison.currency}{many}"
    title = alt.Title(
        "What each controller costs, and what it lets through", anchor="start", fontSize=13
    )
    # Names stand in the right of the plot, beyond the fastest: each joined to its mark by a line.
    full = most * 1.08
    reach = full * (_PLOT + _NAMES) / _PLOT
    ticks = [tick for tick in _ticks(full) if tick <= full]
    x = alt.X(
        "gb_s:Q",
        title="tightest of links and controller, GB/s (10⁹ bytes a second)",
        scale=alt.Scale(domain=[0, reach], nice=False),
        axis=alt.Axis(values=ticks, format=".2~f", titleAnchor="start", grid=False, domain=False),
    )
    y_scale = alt.Scale(domain=list(domain), zero=False, nice=False)
    y = alt.Y(
        "net:Q",
        title=cost,
        scale=y_scale,
        axis=alt.Axis(tickCount=5, grid=False),
    )
    base = alt.Chart(data, title=title)
    kinds = list(dict.fromkeys(name for name, _, _ in _KINDS.values()))
    there = [k for k in kinds if k in set(data["kind"])]  # type: ignore[index]
    colours = {name: colour for name, colour, _ in _KINDS.values()}
    shapes = {name: shape for name, _, shape in _KINDS.values()}
    points = base.mark_point(filled=True, size=85, stroke=BLACK, strokeWidth=0.7, opacity=1).encode(
        x=x,
        y=y,
        color=alt.Color(
            "kind:N",
            title=None,
            scale=alt.Scale(domain=there, range=[colours[k] for k in there]),
            legend=alt.Legend(orient="top"),
        ),
        shape=alt.Shape(
            "kind:N",
            title=None,
            scale=alt.Scale(domain=there, range=[shapes[k] for k in there]),
            legend=alt.Legend(orient="top"),
        ),
        tooltip=["label:N"],
    )
    at = alt.value(_PLOT + 18)
    leaders = base.mark_rule(stroke=GREY, strokeWidth=0.8).encode(
        x=x, y=y, x2=at, y2=alt.Y2("spread:Q", title=cost)
    )
    names = base.mark_text(align="left", dx=4, fontSize=11.5, font=FONT).encode(
        x=at, y=alt.Y("spread:Q", scale=y_scale, title=cost), text="label:N"
    )
    layers = [leaders, points, names]
    if drives is not None:
        line = pd.DataFrame({"gb_s": [drives], "label": [f"drives together {drives:.1f}"]})
        rule = alt.Chart(line).mark_rule(strokeDash=[5, 3], stroke=BLACK).encode(x=x)
        note = (
            alt.Chart(line)
            .mark_text(align="center", baseline="bottom", fontSize=11)
            .encode(x=x, y=alt.value(-3), text="label:N")
        )
        layers = [rule, note, *layers]
    return alt.layer(*layers).properties(width=_PLOT + _NAMES, height=height)


def _ticks(most: float) -> list[float]:
    step = next(
        (s for s in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50) if most / s <= 6),
        most / 5,
    )
    return [round(step * i, 6) for i in range(int(most / step) + 1)]
