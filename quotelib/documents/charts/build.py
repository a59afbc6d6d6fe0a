"""What do the charts of what is proposed look like: capacity, levels, price."""

from quotelib.documents.charts import drawing as d
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import ArrayLaid, LevelShown
from quotelib.text import amount, share, tb
from quotelib.units import TB

_CAPACITY = {"usable": d.BLUE, "redundancy": d.ORANGE, "spares": d.SKY, "reserve": d.GREY}
_PRICE = {
    "Chassis": d.SKY, "Controller": d.ORANGE, "Drives": d.BLUE,
    "Accessories": d.GREEN, "Services": d.YELLOW, "Freight": d.GREY,
}  # fmt: skip
_KINDS = {"proposed": d.BLUE, "offered": d.SKY, "not offered": "#FFFFFF"}


def capacity_chart(array: ArrayLaid, of: str = "") -> d.Drawing:
    """Show where the raw capacity goes."""
    rows = []
    for part in array.capacity.shares:
        shown = tb(part.bytes) if part.bytes >= TB / 100 else "under 0.01"
        label = f"{shown} TB, {share(part.pct)}"
        rows.append(d.bar(part.name, part.bytes / TB, label, part.kind))
    heading = d.headed(f"Where the {tb(array.capacity.raw_bytes)} TB on the drives go", of)
    return d.bars(rows, heading, "TB (10¹² bytes)", colours=_CAPACITY)


def level_chart(array: ArrayLaid, of: str = "") -> d.Drawing:
    """Show how the levels compare for an array's drives."""
    heading = "The same member drives at each level: usable capacity and failures survived"
    rows = [_level_bar(level) for level in array.levels]
    axis = "usable TB (10¹² bytes)"
    return d.bars(rows, d.headed(heading, of), axis, colours=_KINDS, room=1.75)


def _level_bar(level: LevelShown) -> d.Spec:
    survives = f"survives any {level.survives}" if level.survives else "survives none"
    kind, more = "offered", ""
    if level.proposed:
        kind, more = "proposed", " ◄ proposed"
    elif not level.offered:
        kind, more = "not offered", " (not on this controller)"
    name, label = f"{level.label}, {level.members} drives", f"{tb(level.usable_bytes)} TB"
    return d.bar(name, level.usable_bytes / TB, f"{label}, {survives}{more}", kind)


def price_chart(record: QuoteRecord) -> d.Drawing:
    """Show what makes up the price."""
    rows = []
    for part in record.price_shares:
        label = amount(part.amount) + ("" if part.pct is None else f"  ({share(part.pct)})")
        rows.append(d.bar(part.name, float(part.amount), label, part.name))
    colours = {part.name: _PRICE.get(part.name, d.PURPLE) for part in record.price_shares}
    heading = "What makes up the price, before discount and tax"
    words = d.listed(f"{heading}, in {record.currency}", rows)
    return d.bars(rows, heading, record.currency, colours=colours, words=words)
