"""What does the review of a price list look like in a notebook: tables, or a line."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.charts import BLUE, ORANGE, Figure, bars
from quotelib.documents.sections import Html, section
from quotelib.workbook import price_review
from quotelib.workbook.price_review import Item

_ITEM_HEADS = ("File", "Sku", "Description", "What is odd")


def _table(
    rows: Sequence[Sequence[str]],
    heads: Sequence[str],
    caption: str,
    fine: str,
    numbers: Sequence[str] = (),
) -> Html:
    return section(
        "workbook_items", rows=rows, heads=heads, caption=caption, fine=fine, numbers=numbers
    )


def _items(items: Sequence[Item], what: str, fine: str) -> Html:
    rows = [(i.file, i.sku, i.description, i.why) for i in items]
    return _table(rows, _ITEM_HEADS, f"{what}: {len(rows)}", fine)


def under_floor(prices: str) -> Html:
    """Show what earns less than the floor at its list price."""
    price_list = load_price_list(prices or None)
    floor = f"{price_list.terms.margin_floor_pct.normalize():f}"
    items = price_review.under_floor(price_list)
    fine = f"Everything earns at least the floor of {floor} % at its list price."
    return _items(items, f"Under the margin floor of {floor} %", fine)


def useless_parts(prices: str) -> Html:
    """Show the parts that no build can use."""
    items = price_review.useless_parts(load_price_list(prices or None))
    return _items(items, "Parts that no build can use", "Every part can go into some build.")


def odd_prices(prices: str, date: dt.date, stale_days: int) -> Html:
    """Show prices of nothing, and files nobody has touched for long."""
    items = price_review.odd_prices(load_price_list(prices or None))
    if prices:  # the age of the starter list, which is invented, says nothing
        items += price_review.old_files(Path(prices), date, stale_days)
    fine = "Everything has a price and a cost, but for controllers that come with a board."
    return _items(items, "Zero or stale prices", fine)


def _money(amount: Decimal | None) -> str:
    return "" if amount is None else f"{amount:,f}"


def changes(prices: str, older: str) -> Html:
    """Show what became of each price."""
    if not older:
        return Html("<p>No older price list is named above.</p>")
    found = price_review.changes(load_price_list(older), load_price_list(prices or None))
    rows = [
        (
            change.file,
            change.sku,
            _money(change.old_price),
            _money(change.new_price),
            _money(change.old_cost),
            _money(change.new_cost),
            change.words,
        )
        for change in found
    ]
    heads = ("File", "Sku", "Price before", "Price now", "Cost before", "Cost now", "Change")
    caption = f"Prices and costs that have changed: {len(rows)}"
    return _table(rows, heads, caption, "No price has changed.", heads[2:6])


def change_chart(prices: str, older: str) -> Figure | Html:
    """Show how much the prices of each file have moved on the whole."""
    if not older:
        return Html("<p>No older price list is named above.</p>")
    before, after = load_price_list(older), load_price_list(prices or None)
    rows = []
    for file in ("chassis.csv", "controllers.csv", "drives.csv", "accessories.csv"):
        for name, there in (("before", before), ("now", after)):
            known = _shared(before, after, file)
            total = sum(
                (i.unit_price for i in price_review.sold(there) if i.sku in known), Decimal(0)
            )
            label = f"{total:,.2f}"
            kind = f"{file.removesuffix('.csv')}, {name}"
            rows.append({"name": kind, "kind": name, "value": float(total), "label": label})
    words = "Sum of the list prices: " + "; ".join(f"{r['name']} {r['label']}" for r in rows)
    title = "One of each part on both lists, at list price"
    colours = {"before": ORANGE, "now": BLUE}
    return bars(rows, title, after.terms.currency, colours=colours, words=words)


def _shared(before: PriceList, after: PriceList, file: str) -> set[str]:
    old = {i.sku for i in price_review.sold(before) if i.file_name == file}
    return old & {i.sku for i in price_review.sold(after) if i.file_name == file}


def effects(prices: str, records: str | Path, date: dt.date) -> Html:
    """Show what the price list does to the open quotes of a folder."""
    folder = Path(records)
    if not folder.is_dir():
        return Html("<p>There is no such folder of records.</p>")
    found = price_review.effects(load_price_list(prices or None), folder, date)
    rows = [
        (
            effect.file,
            effect.quote,
            effect.valid_until,
            f"{effect.currency} {_money(effect.old_net)}".strip(),
            _money(effect.new_net),
            "" if effect.margin_pct is None else f"{effect.margin_pct} %",
            effect.words,
        )
        for effect in found
    ]
    heads = (
        "File",
        "Quote",
        "Valid until",
        "Net quoted",
        "Net today",
        "Margin as quoted",
        "What follows",
    )
    return _table(rows, heads, f"Open quotes: {len(rows)}", "No quote is open.", heads[3:6])
