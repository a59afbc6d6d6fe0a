"""What do the charts look like: Altair charts of a record, in one style of our own.

Colours are the Okabe-Ito palette, always with a label beside the colour, and in an order of
lightness that survives greyscale. Each chart is a `Figure`: it shows in JupyterLab (with
tooltips), and as plain SVG in a page, in either case without the network.
"""

from collections.abc import Mapping
from typing import Any, cast

import altair as alt
import vl_convert

from quotelib.quote.record import QuoteRecord
from quotelib.units import TB

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
GREY = "#999999"
WIDTH = 520
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
VEGA_LITE = "5.20"


class Figure:
    """An Altair chart that knows how to show itself.

    Parameters
    ----------
    chart : altair chart
    words : str
        What it shows, for those who cannot see it.
    """

    def __init__(self, chart: alt.Chart | alt.LayerChart, words: str) -> None:
        self.words = words
        self.chart = chart.configure(font=FONT).configure_view(stroke=None)

    def spec(self) -> dict[str, Any]:
        """Give the Vega-Lite specification."""
        self.chart.description = self.words
        return cast(dict[str, Any], self.chart.to_dict())

    def svg(self) -> str:
        """Draw it as SVG text."""
        drawn: str = vl_convert.vegalite_to_svg(self.spec(), vl_version=VEGA_LITE)
        return drawn

    def _repr_mimebundle_(self, **_: Any) -> Mapping[str, Any]:
        return {
            "application/vnd.vegalite.v5+json": self.spec(),
            "image/svg+xml": self.svg(),
            "text/plain": self.words,
        }


def bars(
    rows: list[dict[str, Any]],
    title: str,
    axis: str,
    *,
    colours: Mapping[str, str],
    words: str,
    room: float = 1.3,
) -> Figure:
    """Draw horizontal bars with the name to the left and the figure at the end."""
    import pandas as pd

    data = pd.DataFrame(rows)
    most = float(data["value"].max())
    order = list(data["name"])
    base = alt.Chart(data, title=alt.Title(title, anchor="start", fontSize=13)).encode(
        y=alt.Y("name:N", sort=order, title=None, axis=alt.Axis(labelLimit=190, labelFontSize=12)),
        x=alt.X(
            "value:Q",
            title=axis,
            scale=alt.Scale(domain=[0, most * room], nice=False),
            axis=alt.Axis(grid=True, tickCount=5, labelFontSize=11),
        ),
        tooltip=[alt.Tooltip("name:N", title=" "), alt.Tooltip("label:N", title=axis)],
    )
    bars = base.mark_bar(stroke=BLACK, strokeWidth=0.6).encode(
        color=alt.Color(
            "kind:N",
            scale=alt.Scale(domain=list(colours), range=list(colours.values())),
            legend=None,
        )
    )
    labels = base.mark_text(align="left", dx=5, fontSize=12).encode(text="label:N")
    return Figure((bars + labels).properties(width=WIDTH, height=alt.Step(26)), words)


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
    title = f"Where the {raw / TB:,.2f} TB on the drives go"
    return bars(rows, title, "TB (10¹² bytes)", colours=colours, words=words)


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
    title = "What makes up the price, before discount and tax"
    return bars(rows, title, record.currency, colours=colours, words=words)


def level_chart(record: QuoteRecord) -> Figure:
    """Show how the levels compare for these drives."""
    rows = []
    for level in record.levels:
        size = level.usable_bytes / TB
        kind = "proposed" if level.proposed else "offered" if level.offered else "not offered"
        survives = f"survives any {level.survives}" if level.survives else "survives none"
        label = f"{size:,.2f} TB, {survives}"
        if level.proposed:
            label += " ◀ proposed"
        elif not level.offered:
            label += " (not on this controller)"
        name = f"{level.label}, {level.members} drives"
        rows.append({"name": name, "value": size, "label": label, "kind": kind})
    colours = {"proposed": BLUE, "offered": SKY, "not offered": "#FFFFFF"}
    words = "Usable capacity of these member drives at each level: " + "; ".join(
        f"{row['name']} {row['label']}" for row in rows
    )
    title = "The same member drives at each level: usable capacity and failures survived"
    axis = "usable TB (10¹² bytes)"
    return bars(rows, title, axis, colours=colours, words=words, room=1.75)
