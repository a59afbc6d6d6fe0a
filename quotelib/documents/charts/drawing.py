"""What do all charts have in common: one style, parts they are made of, bars, several of them.

Colours are the Okabe-Ito palette, always with a label beside the colour, and in an order of
lightness that survives greyscale. Each chart is a `Drawing`: it shows in JupyterLab (with
tooltips), and as plain SVG in a page, in either case without the network.

Specifications are written out as plain data: built of objects that check themselves, a page
waits longer for its charts than for all the rest. The tests check every chart against the
published schema instead.
"""

import json
import math
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, TypeVar

import vl_convert
from markupsafe import Markup

from quotelib.documents.sections import Html
from quotelib.text import raised

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
GREY = "#999999"
WIDTH = 520
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
VEGA_LITE = "5.20"

DOT: Mapping[str, Any] = {"filled": True, "stroke": BLACK, "opacity": 1}
"""How a point is drawn."""

_LONG_DECADES = 2.5
_MOST_TICKS = 7

Thing = TypeVar("Thing")
Spec = dict[str, Any]
"""A Vega-Lite specification, or a part of one."""

_STYLE: Spec = {
    "$schema": "https://vega.github.io/schema/vega-lite/v5.20.1.json",
    "config": {
        "font": FONT,
        "view": {"stroke": None},
        # Nothing of ours needs cutting short, and to look whether it does takes its time.
        "axis": {"labelLimit": 0, "titleLimit": 0},
        "legend": {"labelLimit": 0},
        "title": {"limit": 0},
    },
}


_AS_PICTURES: list[bool] = []


def show_as_pictures() -> None:
    """Have charts shown as pictures from now on: where a notebook is a page, nothing draws them."""
    _AS_PICTURES.append(True)


@dataclass(frozen=True)
class Drawing:
    """A chart that knows how to show itself.

    It has its Vega-Lite specification, and words for those who cannot see it.
    """

    spec: Spec
    words: str

    def svg(self) -> str:
        """Draw it as SVG text."""
        return _drawn(json.dumps(self.spec, allow_nan=False))

    def _repr_mimebundle_(self, **_: Any) -> Mapping[str, Any]:
        if _AS_PICTURES:
            label = Markup('<figure role="img" aria-label="{}">').format(self.words)
            return {"text/html": f"{label}{self.svg()}</figure>", "text/plain": self.words}
        return {
            "application/vnd.vegalite.v5+json": self.spec,
            "image/svg+xml": self.svg(),
            "text/plain": self.words,
        }


@lru_cache(maxsize=256)
def _drawn(spec: str) -> str:
    # In a batch the same build comes again, and with it many of its charts.
    _use_its_own_fonts()
    return str(vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE))


@cache
def _use_its_own_fonts() -> None:
    """Have vl-convert load the fonts that it brings, and none of this machine.

    It opens a font's file anew for every letter that it measures, which is half of its time; its
    own are in memory. A page comes out the same on every machine, too.
    """
    before = os.environ.get("FONTCONFIG_FILE")
    os.environ["FONTCONFIG_FILE"] = str(Path(__file__).with_name("fonts.conf"))
    try:
        vl_convert.svg_to_png('<svg xmlns="http://www.w3.org/2000/svg"><text>a</text></svg>')
    finally:
        del os.environ["FONTCONFIG_FILE"]
        if before is not None:
            os.environ["FONTCONFIG_FILE"] = before


def quantity(field: str, **more: Any) -> Spec:
    """Encode a field of numbers."""
    return {"field": field, "type": "quantitative", **more}


def name(field: str, **more: Any) -> Spec:
    """Encode a field of words."""
    return {"field": field, "type": "nominal", **more}


def named(rows: Sequence[Mapping[str, Any]]) -> Spec:
    """Encode the names that stand to the left of a chart's rows."""
    order = [row["name"] for row in rows]
    return name("name", sort=order, title=None, axis={"labelFontSize": 12})


def told_apart(scale: Mapping[str, Any], field: str = "kind", **more: Any) -> Spec:
    """Encode words as what the scale gives each of them, without a legend unless given."""
    pairs = {"domain": list(scale), "range": list(scale.values())}
    return name(field, scale=pairs, **{"legend": None, **more})


def headed(heading: str, of: str) -> str:
    """Add to a heading which array or server it is about, where there are several."""
    return f"{heading}: {of}" if of else heading


def listed(heading: str, rows: Sequence[Mapping[str, Any]]) -> str:
    """Say in words what a chart of named rows shows."""
    return f"{heading}: " + "; ".join(f"{row['name']} {row['label']}" for row in rows)


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


def log_scale(low: float, high: float) -> Spec:
    """Spread a domain logarithmically, and exactly from end to end."""
    return {"type": "log", "domain": [low, high], "nice": False}


def ranged(low: float, high: float, title: str) -> tuple[Spec, Spec]:
    """Encode a value, and a line over its range, on a logarithmic axis from low to high."""
    scale = log_scale(low, high)
    axis = {"values": log_ticks(low, high), "labelExpr": POWERS}
    across = {"x": quantity("low", scale=scale, axis=axis, title=title), "x2": {"field": "high"}}
    return quantity("value", scale=scale), across


def bar(name: str, value: float, label: str, kind: str) -> Spec:
    """Give a row of `bars`; its kind gives it its colour."""
    return {"name": name, "value": value, "label": label, "kind": kind}


def layer(
    mark: str, encoding: Spec, *, rows: Sequence[Mapping[str, Any]] | None = None, **style: Any
) -> Spec:
    """Draw marks: of rows of their own, or of those that the chart has in common."""
    drawn: Spec = {"mark": {"type": mark, **style}, "encoding": encoding}
    return drawn if rows is None else {"data": {"values": list(rows)}, **drawn}


def chart(
    rows: Sequence[Mapping[str, Any]],
    heading: str,
    words: str,
    layers: Sequence[Spec],
    *,
    height: int | Spec,
    width: int = WIDTH,
    under: str = "",
    **common: Any,
) -> Drawing:
    """Put a chart together: layers over the rows, and the encodings, that they have in common.

    Its heading stands above its left edge, with what is `under` it in smaller letters.
    """
    title = {"text": heading, "anchor": "start", "fontSize": 13}
    spec: Spec = {
        **_STYLE,
        "description": words,
        "data": {"values": list(rows)},
        "title": {**title, "subtitle": under} if under else title,
        "width": width,
        "height": height,
        **({"encoding": common} if common else {}),
        "layer": list(layers),
    }
    return Drawing(spec, words)


def bars(
    rows: Sequence[Mapping[str, Any]],
    heading: str,
    axis: str,
    *,
    colours: Mapping[str, str],
    words: str = "",
    room: float = 1.3,
    ticks: Sequence[float] = (),
) -> Drawing:
    """Draw horizontal bars with the name to the left and the figure at the end.

    `ticks` are the figures of the axis, round ones by default.
    """
    values = [row["value"] for row in rows]
    low, high = min(0, *values), max(0, *values)
    scale = {"domain": [low, high + (room - 1) * (high - low)], "nice": False}
    grid: Spec = {"grid": True, "tickCount": 5, "labelFontSize": 11}
    if ticks:
        grid["values"] = list(ticks)
    x = quantity("value", title=axis, scale=scale, axis=grid)
    label: Spec = {"text": name("label")}
    ends = None
    if low < 0:
        # A bar goes to the left of nought, and its figure still stands to the right of it.
        label["x"] = {**x, "field": "end"}
        ends = [{**row, "end": max(row["value"], 0)} for row in rows]
    layers = [
        layer("bar", {"color": told_apart(colours)}, stroke=BLACK, strokeWidth=0.6),
        layer("text", label, rows=ends, align="left", dx=5, fontSize=12),
    ]
    tips = [name("name", title=" "), name("label", title=axis)]
    said = words or listed(heading, rows)
    return chart(rows, heading, said, layers, height={"step": 26}, y=named(rows), x=x, tooltip=tips)


_FIGURE = Markup('<figure role="img" aria-label="{}">\n{}\n</figure>')


def each(
    draw: Callable[[Thing, str], Drawing | None], named: Iterable[tuple[str, Thing]]
) -> Drawing | Html | None:
    """Draw a chart of each array or server, given with what to call it in a title.

    Returns
    -------
    Drawing, Html or None
        The only drawing, or all of them one below the other, or None where there is nothing to
        draw.
    """
    drawn = [found for of, thing in named if (found := draw(thing, of)) is not None]
    if len(drawn) < 2:
        return drawn[0] if drawn else None
    return Html("\n".join(_FIGURE.format(d.words, Markup(d.svg())) for d in drawn))
