"""What does each controller cost against what it lets through: one chart of a comparison."""

from collections.abc import Collection, Sequence

from quotelib.documents.charts import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    Figure,
    Spec,
    layer,
    name,
    quantity,
    title,
    told_apart,
)
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
    shown = sorted(drawable(comparison), key=lambda row: (-(row.net or 0), row.sku))
    if len(shown) < 2:
        return None
    height = max(170, _STEP * len(shown))
    nets = [float(row.net or 0) for row in shown]
    span = (max(nets) - min(nets)) or max(nets) or 1.0
    low, high = min(nets) - span * 0.08, max(nets) + span * 0.08
    places = spread([(high - net) / (high - low) * height for net in nets], _STEP, height)
    rows = [
        {
            "net": net,
            "gb_s": row.tightest_gb_s,
            "kind": _KINDS[row.kind][0],
            "label": _label(row, comparison.currency),
            "spread": high - place / height * (high - low),
        }
        for row, net, place in zip(shown, nets, places, strict=True)
    ]
    most = max(rate for row in shown for rate in (row.tightest_gb_s or 0, row.drives_gb_s or 0))
    many = f", {comparison.builds} builds" if comparison.builds > 1 else ""
    chart = {
        "data": {"values": rows},
        "title": title("What each controller costs, and what it lets through"),
        "width": _PLOT + _NAMES,
        "height": height,
        "layer": _layers(
            {row["kind"] for row in rows},
            f"net, {comparison.currency}{many}",
            [low, high],
            most * 1.08,
            _drives(shown),
        ),
    }
    words = "Net price against the tightest link of each controller that fits: " + "; ".join(
        str(row["label"]) for row in reversed(rows)
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
        text += " ◄ chosen"
    elif row.findings:
        text += " (needs a yes)"
    return text


def _drives(rows: Sequence[ControllerRow]) -> float | None:
    """Give what the drives can do together, where it is the same in every row."""
    rates = {row.drives_gb_s for row in rows}
    return rates.pop() if len(rates) == 1 else None


def _layers(
    kinds: Collection[object], cost: str, domain: list[float], most: float, drives: float | None
) -> list[Spec]:
    # Names stand in the right of the plot, beyond the fastest: each joined to its mark by a line.
    reach = most * (_PLOT + _NAMES) / _PLOT
    ticks = [tick for tick in _ticks(most) if tick <= most]
    x = quantity(
        "gb_s",
        title="tightest of links and controller, GB/s (10⁹ bytes a second)",
        scale={"domain": [0, reach], "nice": False},
        axis={
            "values": ticks,
            "format": ".2~f",
            "titleAnchor": "start",
            "grid": False,
            "domain": False,
        },
    )
    scale = {"domain": domain, "zero": False, "nice": False}
    y = quantity("net", title=cost, scale=scale, axis={"tickCount": 5, "grid": False})
    there = [kind for kind in _KINDS.values() if kind[0] in kinds]
    legend: Spec = {"title": None, "legend": {"orient": "top"}}
    at = {"value": _PLOT + 18}
    layers = [
        layer(
            "rule",
            {"x": x, "y": y, "x2": at, "y2": {"field": "spread", "title": cost}},
            stroke=GREY,
            strokeWidth=0.8,
        ),
        layer(
            "point",
            {
                "x": x,
                "y": y,
                "color": told_apart({kind: colour for kind, colour, _ in there}, **legend),
                "shape": told_apart({kind: shape for kind, _, shape in there}, **legend),
                "tooltip": [name("label")],
            },
            filled=True,
            size=85,
            stroke=BLACK,
            strokeWidth=0.7,
            opacity=1,
        ),
        layer(
            "text",
            {"x": at, "y": quantity("spread", scale=scale, title=cost), "text": name("label")},
            align="left",
            dx=4,
            fontSize=11.5,
        ),
    ]
    if drives is None:
        return layers
    line = [{"gb_s": drives, "label": f"drives together {drives:.1f}"}]
    written = {"x": x, "y": {"value": -3}, "text": name("label")}
    return [
        layer("rule", {"x": x}, rows=line, strokeDash=[5, 3], stroke=BLACK),
        layer("text", written, rows=line, align="center", baseline="bottom", fontSize=11),
        *layers,
    ]


def _ticks(most: float) -> list[float]:
    step = next(
        (s for s in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50) if most / s <= 6),
        most / 5,
    )
    return [round(step * i, 6) for i in range(int(most / step) + 1)]
