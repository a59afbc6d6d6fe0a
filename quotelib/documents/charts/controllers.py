"""What does each controller cost against what it lets through: one chart of a comparison."""

from collections.abc import Collection, Sequence

from quotelib.documents.charts import drawing as d
from quotelib.promise.compared import ControllerComparison, ControllerRow
from quotelib.text import figure, gb_s, money

_KINDS = {
    "raid": ("array controller", d.BLUE, "circle"),
    "chipset": ("chipset controller", d.ORANGE, "square"),
    "pass_through": ("pass-through adapter", d.GREEN, "triangle-up"),
}
_PLOT, _NAMES, _STEP = 400, 230, 17


def drawable(comparison: ControllerComparison) -> list[ControllerRow]:
    """Give the rows that a chart can show: those with a build, a price and a known rate."""
    return [r for r in comparison.rows if r.net is not None and r.tightest_gb_s is not None]


def controller_chart(comparison: ControllerComparison, of: str = "") -> d.Drawing | None:
    """Draw net price against the tightest link of each controller that fits.

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
            "label": _label(row),
            "spread": high - place / height * (high - low),
        }
        for row, net, place in zip(shown, nets, places, strict=True)
    ]
    most = max(rate for row in shown for rate in (row.tightest_gb_s or 0, row.drives_gb_s or 0))
    rates = {row.drives_gb_s for row in shown}
    many = f", {comparison.builds} builds" if comparison.builds > 1 else ""
    layers = _layers(
        {row["kind"] for row in rows},
        f"net, {comparison.currency}{many}",
        [low, high],
        most * 1.08,
        # The line of the drives: where what they can do together is the same in every row.
        rates.pop() if len(rates) == 1 else None,
    )
    heading = d.headed("What each controller costs, and what it lets through", of)
    words = "Net price against the tightest link of each controller that fits: " + "; ".join(
        _told(row, comparison.currency) for row in reversed(shown)
    )
    return d.chart(rows, heading, words, layers, height=height, width=_PLOT + _NAMES)


def spread(wanted: Sequence[float], step: float, room: float) -> list[float]:
    """Move labels apart: at least a step between them, each as near its place as that allows.

    Places are given, and given back, in rising order; `room` is the height there is.
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


def _label(row: ControllerRow) -> str:
    # Price and rate stand in the table: letters are what drawing takes its time for.
    if row.chosen:
        return f"{row.sku} ◄ chosen"
    return f"{row.sku} (needs a yes)" if row.findings else row.sku


def _told(row: ControllerRow, currency: str) -> str:
    assert row.net is not None and row.tightest_gb_s is not None
    return f"{_label(row)} {money(row.net, currency)}, {gb_s(1000 * row.tightest_gb_s)}"


def _layers(
    kinds: Collection[object], cost: str, domain: list[float], most: float, drives: float | None
) -> list[d.Spec]:
    # Names stand in the right of the plot, beyond the fastest: each joined to its mark by a line.
    reach = most * (_PLOT + _NAMES) / _PLOT
    step = next((s for s in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50) if most / s <= 6), most / 5)
    ticks = [t for t in (round(step * i, 6) for i in range(int(most / step) + 1)) if t <= most]
    plain = {"grid": False, "domain": False}
    x = d.quantity(
        "gb_s",
        title="tightest of links and controller, GB/s (10⁹ bytes a second)",
        scale={"domain": [0, reach], "nice": False},
        axis={"values": ticks, "format": ".2~f", "titleAnchor": "start", **plain},
    )
    scale = {"domain": domain, "zero": False, "nice": False}
    y = d.quantity("net", title=cost, scale=scale, axis={"tickCount": 5, "grid": False})
    there = [kind for kind in _KINDS.values() if kind[0] in kinds]
    legend: d.Spec = {"title": None, "legend": {"orient": "top"}}
    at = {"value": _PLOT + 18}
    leader = {"x": x, "y": y, "x2": at, "y2": {"field": "spread", "title": cost}}
    mark = {
        "x": x,
        "y": y,
        "color": d.told_apart({kind: colour for kind, colour, _ in there}, **legend),
        "shape": d.told_apart({kind: shape for kind, _, shape in there}, **legend),
        "tooltip": [d.name("label")],
    }
    label = {"x": at, "y": d.quantity("spread", scale=scale, title=cost), "text": d.name("label")}
    layers = [
        d.layer("rule", leader, stroke=d.GREY, strokeWidth=0.8),
        d.layer("point", mark, size=85, strokeWidth=0.7, **d.DOT),
        d.layer("text", label, align="left", dx=4, fontSize=11.5),
    ]
    if drives is None:
        return layers
    line = [{"gb_s": drives, "label": f"drives together {figure(drives)}"}]
    written = {"x": x, "y": {"value": -3}, "text": d.name("label")}
    return [
        d.layer("rule", {"x": x}, rows=line, strokeDash=[5, 3], stroke=d.BLACK),
        d.layer("text", written, rows=line, align="center", baseline="bottom", fontSize=11),
        *layers,
    ]
