"""What has become of the quotes given, over time: how many are ordered, and at which margin."""

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal

from quotelib.documents.charts import drawing as d
from quotelib.register.outcomes import LOST, WON
from quotelib.register.standing import Standing
from quotelib.units import round_half_away

_ORDERED, _ALL = "ordered", "all given"
_SHARES = (0, 25, 50, 75, 100)
_STYLES: dict[str, tuple[str, str, list[int]]] = {
    _ALL: (d.ORANGE, "square", [6, 4]),
    _ORDERED: (d.BLUE, "circle", [1, 0]),
}
"""Colour, shape and dashes, so that greyscale tells too."""


def hit_chart(quotes: Sequence[Standing]) -> d.Drawing | None:
    """Draw what share of the quotes of each month that were decided is ordered.

    None where nothing has been decided.
    """
    rows = []
    for month, of in _by_month(quotes):
        won = sum(one.outcome in WON for one in of)
        decided = won + sum(one.outcome in LOST for one in of)
        if decided:
            pct = 100 * won / decided
            rows.append(d.bar(month, pct, f"{won} of {decided} ({pct:.0f} %)", _ORDERED))
    if not rows:
        return None
    heading = "Quotes ordered, of those decided"
    axis = "% of those that were ordered, declined or have lapsed, by month of the quote"
    return d.bars(rows, heading, axis, colours={_ORDERED: d.BLUE}, room=1.4, ticks=_SHARES)


def margin_over_time(quotes: Sequence[Standing]) -> d.Drawing | None:
    """Draw the mean margin of each month's quotes, and of those of them that are ordered.

    None where no quote has a margin. Each quote counts alike: they are in several currencies.
    """
    rows: list[d.Spec] = []
    for month, of in _by_month(quotes):
        found = []
        for name, some in ((_ALL, of), (_ORDERED, [one for one in of if one.outcome in WON])):
            margins = [one.margin_pct for one in some if one.margin_pct is not None]
            if margins:
                mean = round_half_away(sum(margins, Decimal(0)) / len(margins), 1)
                found.append({"month": month, "margin": float(mean), "label": f"{mean} %"}
                             | {"kind": name})  # fmt: skip
        # The figure of the lower one stands below it, so that the two never meet.
        top = max(found, key=lambda row: (row["margin"], row["kind"]), default=None)
        rows += [{**row, "above": row is top} for row in found]
    if not rows:
        return None
    months = list(dict.fromkeys(row["month"] for row in rows))
    values = [row["margin"] for row in rows]
    room = max(1.0, (max(values) - min(values)) * 0.3)
    domain = [min(values) - room, max(values) + room]
    x = {"field": "month", "type": "ordinal", "sort": months, "title": None,
         "axis": {"labelAngle": 0, "labelFontSize": 12}}  # fmt: skip
    y = d.quantity(
        "margin",
        title="mean margin, % of net without freight",
        scale={"domain": domain, "nice": False, "zero": False},
    )
    label: d.Spec = {"text": d.name("label")}
    tips = [d.name("month"), d.name("kind"), d.name("label")]
    layers = []
    for kind, (colour, shape, dashes) in _STYLES.items():
        own = [row for row in rows if row["kind"] == kind]
        if not own:
            continue
        ends: d.Spec = {"rows": own[-1:], "align": "left", "dx": 12, "fontSize": 12}
        layers += [
            d.layer("line", {}, rows=own, color=colour, strokeWidth=2, strokeDash=dashes),
            d.layer(
                "point", {"tooltip": tips}, rows=own, color=colour, shape=shape, size=80, **d.DOT
            ),
            d.layer("text", {"text": d.name("kind")}, **ends),
        ]
    for above, off in ((True, -16), (False, 16)):
        shown = [row for row in rows if row["above"] is above]
        layers.append(d.layer("text", label, rows=shown, dy=off, fontSize=11))
    heading = "Margin over time (for the seller only)"
    said = "; ".join(f"{row['month']}, {row['kind']}: {row['label']}" for row in rows)
    under = "by month of the quote; each quote counts alike"
    words = f"{heading}: {said}"
    return d.chart(rows, heading, words, layers, height=240, under=under, x=x, y=y)


def _by_month(quotes: Iterable[Standing]) -> list[tuple[str, list[Standing]]]:
    """Group quotes by the month of their last revision, the earliest first."""
    months: dict[dt.date, list[Standing]] = {}
    for one in sorted(quotes, key=lambda one: one.date):
        months.setdefault(one.date.replace(day=1), []).append(one)
    return [(f"{month:%b %Y}", of) for month, of in months.items()]
