"""What do the charts look like: Vega-Lite specifications of a record, in one style of our own.

Colours are the Okabe-Ito palette, always with a label beside the colour, and in an order of
lightness that survives greyscale. Each chart is a `Figure`: it shows in JupyterLab (with
tooltips), and as plain SVG in a page, in either case without the network.

Specifications are written out as plain data: built of objects that check themselves, a page
waits longer for its charts than for all the rest. The tests check every chart against the
published schema instead.
"""

import math
import os
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import vl_convert

from quotelib.quote.estimate_facts import raised
from quotelib.quote.record import QuoteRecord
from quotelib.units import TB

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
GREY = "#999999"
WIDTH = 520
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
VEGA_LITE = "5.20"

_LONG_DECADES = 2.5
_MOST_TICKS = 7

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


class Figure:
    """A chart that knows how to show itself.

    Parameters
    ----------
    chart : dict
        Its Vega-Lite specification, without what all charts have in common.
    words : str
        What it shows, for those who cannot see it.
    """

    def __init__(self, chart: Spec, words: str) -> None:
        self.words = words
        self._spec: Spec = {**_STYLE, "description": words, **chart}

    def spec(self) -> Spec:
        """Give the Vega-Lite specification."""
        return self._spec

    def svg(self) -> str:
        """Draw it as SVG text."""
        _use_its_own_fonts()
        drawn: str = vl_convert.vegalite_to_svg(self._spec, vl_version=VEGA_LITE)
        return drawn

    def _repr_mimebundle_(self, **_: Any) -> Mapping[str, Any]:
        return {
            "application/vnd.vegalite.v5+json": self._spec,
            "image/svg+xml": self.svg(),
            "text/plain": self.words,
        }


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


def named(field: str, order: Sequence[str]) -> Spec:
    """Encode the names that stand to the left of a chart's rows."""
    return name(field, sort=list(order), title=None, axis={"labelFontSize": 12})


def told_apart(scale: Mapping[str, Any], field: str = "kind", **more: Any) -> Spec:
    """Encode words as what the scale gives each of them, without a legend unless given."""
    pairs = {"domain": list(scale), "range": list(scale.values())}
    return name(field, scale=pairs, **{"legend": None, **more})


def title(text: str, **more: Any) -> Spec:
    """Write a chart's title above its left edge."""
    return {"text": text, "anchor": "start", "fontSize": 13, **more}


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


def layer(
    mark: str, encoding: Spec, *, rows: Sequence[Mapping[str, Any]] | None = None, **style: Any
) -> Spec:
    """Draw marks: of rows of their own, or of those that the chart has in common."""
    drawn: Spec = {"mark": {"type": mark, **style}, "encoding": encoding}
    return drawn if rows is None else {"data": {"values": list(rows)}, **drawn}


def bars(
    rows: Sequence[Mapping[str, Any]],
    heading: str,
    axis: str,
    *,
    colours: Mapping[str, str],
    words: str,
    room: float = 1.3,
) -> Figure:
    """Draw horizontal bars with the name to the left and the figure at the end."""
    most = max(row["value"] for row in rows)
    chart = {
        "data": {"values": list(rows)},
        "title": title(heading),
        "width": WIDTH,
        "height": {"step": 26},
        "encoding": {
            "y": named("name", [row["name"] for row in rows]),
            "x": quantity(
                "value",
                title=axis,
                scale={"domain": [0, most * room], "nice": False},
                axis={"grid": True, "tickCount": 5, "labelFontSize": 11},
            ),
            "tooltip": [name("name", title=" "), name("label", title=axis)],
        },
        "layer": [
            layer("bar", {"color": told_apart(colours)}, stroke=BLACK, strokeWidth=0.6),
            layer("text", {"text": name("label")}, align="left", dx=5, fontSize=12),
        ],
    }
    return Figure(chart, words)


def capacity_chart(record: QuoteRecord) -> Figure:
    """Show where the raw capacity goes."""
    capacity = record.capacity
    raw = capacity.raw_bytes
    rows = []
    for share in capacity.shares:
        size = share.bytes / TB
        shown = f"{size:,.2f}" if size >= 0.01 else "under 0.01"
        pct = 100 * share.bytes / raw
        label = f"{shown} TB, {pct:.0f} %" if pct >= 0.5 else f"{shown} TB, under 1 %"
        rows.append({"name": share.name, "value": size, "label": label, "kind": share.name})
    colours = {
        "Usable": BLUE,
        "Parity": ORANGE,
        "Second copies": ORANGE,
        "Hot spares": SKY,
        "Reserve": GREY,
    }
    words = f"Where the {raw / TB:.2f} TB on the drives go: " + "; ".join(
        f"{row['name']} {row['label']}" for row in rows
    )
    heading = f"Where the {raw / TB:,.2f} TB on the drives go"
    return bars(rows, heading, "TB (10¹² bytes)", colours=colours, words=words)


def price_chart(record: QuoteRecord) -> Figure:
    """Show what makes up the price."""
    total = sum(share.amount for share in record.price_shares)
    rows = [
        {
            "name": share.name,
            "value": float(share.amount),
            "label": f"{share.amount:,f}  ({100 * share.amount / total:.0f} %)",
            "kind": share.name,
        }
        for share in record.price_shares
    ]
    if record.totals.freight:
        rows.append(
            {
                "name": "Freight",
                "value": float(record.totals.freight),
                "label": f"{record.totals.freight:,f}",
                "kind": "Freight",
            }
        )
    colours = {
        "Chassis": SKY,
        "Controller": ORANGE,
        "Drives": BLUE,
        "Accessories": GREEN,
        "Services": YELLOW,
        "Freight": GREY,
    }
    words = f"What makes up the price in {record.currency}: " + "; ".join(
        f"{row['name']} {row['label']}" for row in rows
    )
    heading = "What makes up the price, before discount and tax"
    return bars(rows, heading, record.currency, colours=colours, words=words)


def level_chart(record: QuoteRecord) -> Figure:
    """Show how the levels compare for these drives."""
    rows = []
    for level in record.levels:
        size = level.usable_bytes / TB
        kind = "proposed" if level.proposed else "offered" if level.offered else "not offered"
        survives = f"survives any {level.survives}" if level.survives else "survives none"
        label = f"{size:,.2f} TB, {survives}"
        if level.proposed:
            label += " ◄ proposed"
        elif not level.offered:
            label += " (not on this controller)"
        name = f"{level.label}, {level.members} drives"
        rows.append({"name": name, "value": size, "label": label, "kind": kind})
    colours = {"proposed": BLUE, "offered": SKY, "not offered": "#FFFFFF"}
    words = "Usable capacity of these member drives at each level: " + "; ".join(
        f"{row['name']} {row['label']}" for row in rows
    )
    heading = "The same member drives at each level: usable capacity and failures survived"
    axis = "usable TB (10¹² bytes)"
    return bars(rows, heading, axis, colours=colours, words=words, room=1.75)
