"""What does a build cost against what it does: those that no other beats, the three named."""

import math
from collections.abc import Iterable, Mapping, Sequence

from quotelib.documents.charts import drawing as d
from quotelib.documents.charts.controllers import spread
from quotelib.levels import LEVELS, place
from quotelib.promise.considered import THREE, Considered, Point
from quotelib.text import both, figure, money, percent, tb

_SHAPES = ("cross", "diamond", "square", "circle", "triangle-up", "triangle-right",
           "triangle-down", "arrow")  # fmt: skip
_SEVERAL = "wedge"
_CALLED = {"least_cost": "our choice", "least_risk": "least risk", "fastest": "fastest"}
_FILLS = {"our choice": d.BLUE, "least risk": d.GREEN, "fastest": d.VERMILLION, "other": "#FFFFFF"}
_PLOT, _NAMES, _HEIGHT, _STEP = 400, 170, 270, 18
_FAR_APART = 10
_PAD = 0.07


def named(point: Point) -> str:
    """Name a point of the three; blank for any other."""
    return both(_CALLED[kind] for kind in THREE if kind in point.kinds)


def front_chart(considered: Considered, of: str = "") -> d.Drawing | None:
    """Draw net price against operations a second of the builds that no other beats.

    None where the speed of fewer than two is known: there is nothing to compare.
    """
    there = [(n, p) for n, p in enumerate(considered.points) if p.host_iops is not None]
    if len(there) < 2:
        return None
    speeds = [p.host_iops or 0.0 for _, p in there]
    nets = [float(p.net) for _, p in there]
    log = min(speeds) > 0 and max(speeds) > _FAR_APART * min(speeds)
    low, high = _widened(min(speeds), max(speeds), log=log)
    first, last = _widened(min(nets), max(nets), log=False)
    rows = [_row(n, point, considered.currency) for n, point in there]
    three = sorted((row for row in rows if row["name"]), key=lambda row: -row["iops"])
    heights = [_down(row["iops"], low, high, log=log) for row in three]
    for row, at in zip(three, spread(heights, _STEP, _HEIGHT), strict=True):
        row["beside"] = _up(at, low, high, log=log)
    heading = d.headed("Builds that no other one beats: price against operations a second", of)
    many = f", all {considered.builds} servers" if considered.builds > 1 else ""
    x = d.quantity(
        "net",
        title=f"net price, {considered.currency} without tax{many}",
        scale={"domain": [first, first + (last - first) * (_PLOT + _NAMES) / _PLOT], "nice": False},
        axis={
            "values": _round_ticks(first, last), "format": ",~f", "titleAnchor": "start",
            "grid": False, "domain": False,
        },
    )  # fmt: skip
    scale = d.log_scale(low, high) if log else {"domain": [low, high], "nice": False}
    axis: d.Spec = {"format": ",~r", "grid": False}
    axis |= {"values": d.log_ticks(low, high)} if log else {"tickCount": 6}
    title = "operations a second" + (" (log scale)" if log else "")
    y = d.quantity("iops", title=title, scale=scale, axis=axis)
    return d.chart(
        rows,
        heading,
        _words(heading, there, considered),
        _layers(rows, three, x, y, title),
        height=_HEIGHT,
        width=_PLOT + _NAMES,
        under="estimates; what looks beaten here is less likely to lose data, or holds more",
    )


def _row(number: int, point: Point, currency: str) -> d.Spec:
    loss = "not known" if point.loss_pct is None else percent(point.loss_pct)
    return {
        "point": number,
        "name": named(point),
        "kind": next((_CALLED[kind] for kind in THREE if kind in point.kinds), "other"),
        "level": point.level,
        "net": float(point.net),
        "iops": point.host_iops,
        "costs": money(point.net, currency),
        "does": f"about {figure(point.host_iops or 0, 2)} operations a second",
        "loss": f"about {loss}" if point.loss_pct is not None else loss,
        "holds": f"{tb(point.usable_bytes)} TB",
        "build": point.words,
    }


def _layers(
    rows: Sequence[d.Spec], three: Sequence[d.Spec], x: d.Spec, y: d.Spec, title: str
) -> list[d.Spec]:
    legend = {"orient": "top", "symbolFillColor": "#FFFFFF", "symbolSize": 70, "labelFontSize": 11}
    tips = ("costs", "does", "level", "holds", "loss", "build")
    titles: Mapping[str, str] = {"costs": "net", "does": "speed", "loss": "chance of losing data"}
    mark = {
        "x": x,
        "y": y,
        "shape": d.told_apart(_shapes(row["level"] for row in rows), "level", title=None,
                              legend=legend),
        "tooltip": [d.name(tip, title=titles.get(tip, tip)) for tip in tips],
    }  # fmt: skip
    others = [row for row in rows if not row["name"]]
    at = {"value": _PLOT + 14}
    beside = {**y, "field": "beside", "title": title}
    to = {"x": x, "y": y, "x2": at, "y2": {"field": "beside", "title": title}}
    fill = d.told_apart(_FILLS)
    return [
        d.layer("rule", to, rows=three, stroke=d.GREY, strokeWidth=0.8),
        d.layer("point", mark, rows=others, size=60, strokeWidth=1, **{**d.DOT, "fill": "#FFFFFF"}),
        d.layer("point", {**mark, "fill": fill}, rows=three, size=150, strokeWidth=1.4, **d.DOT),
        d.layer("text", {"x": at, "y": beside, "text": d.name("name")}, rows=three, align="left",
                dx=4, fontSize=12, fontWeight="bold"),
    ]  # fmt: skip


def _shapes(levels: Iterable[str]) -> dict[str, str]:
    """Give each level there is its shape, in the order of the levels; several together one."""
    known = {level.label: _SHAPES[place(name) % len(_SHAPES)] for name, level in LEVELS.items()}
    there = set(levels)
    shapes = {label: shape for label, shape in known.items() if label in there}
    return shapes | dict.fromkeys(sorted(there - shapes.keys()), _SEVERAL)


def _widened(low: float, high: float, *, log: bool) -> tuple[float, float]:
    if log:
        more = (high / low) ** _PAD
        return low / more, high * more
    more = (high - low) * _PAD or abs(high) * _PAD or 1.0
    return low - more, high + more


def _down(value: float, low: float, high: float, *, log: bool) -> float:
    """Say how far below the top of the plot a value stands."""
    if log:
        return math.log(high / value) / math.log(high / low) * _HEIGHT
    return (high - value) / (high - low) * _HEIGHT


def _up(at: float, low: float, high: float, *, log: bool) -> float:
    """Give the value that stands so far below the top of the plot."""
    share = at / _HEIGHT
    return float(high / (high / low) ** share) if log else high - share * (high - low)


def _round_ticks(low: float, high: float) -> list[float]:
    """List a few round figures between two."""
    step = 10.0 ** math.floor(math.log10((high - low) / 4))
    step *= next(n for n in (1, 2, 5, 10) if (high - low) / (step * n) <= 5)
    first, last = math.ceil(low / step), math.floor(high / step)
    return [round(n * step, 6) for n in range(first, last + 1)]


def _words(heading: str, there: Sequence[tuple[int, Point]], considered: Considered) -> str:
    """Say the chart to those who cannot see it: its ends, and the three."""
    points = [point for _, point in there]
    by_speed = sorted(points, key=lambda point: point.host_iops or 0)
    told = "; ".join(f"{named(p)}: {_told(p, considered.currency)}" for p in points if p.kinds)
    levels = both(_shapes(point.level for point in points))
    return (
        f"{heading}. {len(points)} builds at {levels}, from "
        f"{money(points[0].net, considered.currency)} to "
        f"{money(points[-1].net, considered.currency)} and from about "
        f"{figure(by_speed[0].host_iops or 0, 2)} to about "
        f"{figure(by_speed[-1].host_iops or 0, 2)} operations a second. {told}."
    )


def _told(point: Point, currency: str) -> str:
    return (
        f"{money(point.net, currency)}, about {figure(point.host_iops or 0, 2)} operations a "
        f"second, {point.words}"
    )
