"""What does the review of a price list look like in a notebook: tables and a chart, or a line.

For a try of it there are folders made up for the purpose, with faults in them.
"""

import csv
import datetime as dt
import os
import shutil
from collections import Counter
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path

from quotelib import resources, review
from quotelib.catalogue.price_list import load_price_list
from quotelib.catalogue.work import Workload
from quotelib.documents.batch.files import csv_text, write_aside
from quotelib.documents.charts.drawing import BLUE, ORANGE, Drawing, bar, bars
from quotelib.documents.sections import Html, table
from quotelib.enquiry.reading import read_enquiries
from quotelib.promise.answer import answer
from quotelib.text import amount, money
from quotelib.units import plain

Rows = list[dict[str, str]]
_NO_OLDER = Html("<p>No older price list is named above.</p>")
_QUOTES = 6
_FRESH_DAYS, _STALE_DAYS = 20, 200


def on_sale(prices: str) -> Html:
    """Show how much there is on a price list."""
    price_list = load_price_list(prices or None)
    counts = Counter(thing.file_name for thing in review.sold(price_list))
    counts[Workload.file_name] = len(price_list.workloads)
    rows = [(file.removesuffix(".csv"), str(number)) for file, number in counts.items()]
    heads = (f"On the list, in {price_list.terms.currency}", "How many")
    return table(rows, heads, heads[1:])


def _items(items: Sequence[review.Item], what: str, fine: str) -> Html:
    rows = [(i.file, i.sku, i.description, i.why) for i in items]
    return table(rows, ("File", "Sku", "Description", "What is odd"), caption=what, fine=fine)


def under_floor(prices: str) -> Html:
    """Show what earns less than the floor at its list price."""
    price_list = load_price_list(prices or None)
    floor = plain(price_list.terms.margin_floor_pct)
    fine = f"Everything earns at least the floor of {floor} % at its list price."
    return _items(review.under_floor(price_list), f"Under the margin floor of {floor} %", fine)


def useless_parts(prices: str) -> Html:
    """Show the parts that no build can use."""
    items = review.useless_parts(load_price_list(prices or None))
    return _items(items, "Parts that no build can use", "Every part can go into some build.")


def odd_prices(prices: str, date: dt.date, stale_days: int) -> Html:
    """Show prices of nothing, and files nobody has touched for long."""
    items = review.odd_prices(load_price_list(prices or None))
    if prices:  # the age of the starter list, which is invented, says nothing
        items += review.old_files(Path(prices), date, stale_days)
    fine = "Everything has a price and a cost, but for controllers that come with a board."
    return _items(items, "Zero or stale prices", fine)


def changes(prices: str, older: str) -> Html:
    """Show what became of each price."""
    if not older:
        return _NO_OLDER
    found = review.changes(load_price_list(older), load_price_list(prices or None))
    rows = [(c.file, c.sku, *_moved(c), c.words) for c in found]
    heads = ("File", "Sku", "Price before", "Price now", "Cost before", "Cost now", "Change")
    caption = "Prices and costs that have changed"
    return table(rows, heads, heads[2:6], caption=caption, fine="No price has changed.")


def _moved(change: review.Change) -> list[str]:
    """Write price before and now, cost before and now."""
    columns, things = ("unit_price", "unit_cost"), (change.old, change.new)
    return ["" if t is None else amount(getattr(t, name)) for name in columns for t in things]


def change_chart(prices: str, older: str) -> Drawing | Html:
    """Show how much the prices of each file have moved on the whole."""
    if not older:
        return _NO_OLDER
    after = load_price_list(prices or None)
    rows = [
        bar(f"{file.removesuffix('.csv')}, {when}", float(total), amount(total), when)
        for file, sums in review.sums(load_price_list(older), after).items()
        for when, total in zip(("before", "now"), sums, strict=True)
    ]
    if not rows:
        return Html("<p>No part is on both lists.</p>")
    heading = "One of each part on both lists, at list price"
    return bars(rows, heading, after.terms.currency, colours={"before": ORANGE, "now": BLUE})


def effects(prices: str, records: str | Path, date: dt.date) -> Html:
    """Show what the price list does to the open quotes of a folder."""
    if not records or not Path(records).is_dir():
        return Html("<p>There is no such folder of records.</p>")
    found = review.effects(load_price_list(prices or None), Path(records), date)
    rows = [(effect.file, *_figures(effect), effect.words) for effect in found]
    figures = ("Net quoted", "Net today", "Margin as quoted")
    heads = ("File", "Quote", "Valid until", *figures, "What follows")
    return table(rows, heads, figures, caption="Open quotes", fine="No quote is open.")


def _figures(effect: review.Effect) -> tuple[str, ...]:
    record, net, margin = effect.record, effect.new_net, effect.margin_pct
    today = "" if net is None else amount(net), "" if margin is None else f"{margin} %"
    if record is None:
        return "", "", "", *today
    quoted = money(record.totals.net, record.currency)
    return f"{record.quote_number}, {record.customer}", str(record.valid_until), quoted, *today


def demo(folder: str | Path, date: dt.date) -> tuple[str, str, str]:
    """Write a price list with faults, an older one, and open quotes made from the older one.

    All is invented, from the starter price list and the example enquiries; what an earlier demo
    left in the folder is replaced. Gives the three folders.
    """
    root = Path(folder)
    prices, older, records = root / "price_list", root / "older_price_list", root / "records"
    for made in (prices, older, records):
        shutil.rmtree(made, ignore_errors=True)
    for made in (prices, older):
        resources.copy_starter_prices(made)
    _change(older / "drives.csv", lambda rows: _times(rows, Decimal("0.93")))
    _change(older / "chassis.csv", lambda rows: _times(rows, Decimal("1.02")))
    _change(prices / "drives.csv", _faulty_drives)
    _change(prices / "accessories.csv", _useless_accessory)
    for path in prices.iterdir():
        age = _STALE_DAYS if path.name == "services.csv" else _FRESH_DAYS
        moment = dt.datetime.combine(date - dt.timedelta(days=age), dt.time(12)).timestamp()
        os.utime(path, (moment, moment))
    _quotes(older, records, date)
    return str(prices), str(older), str(records)


def _change(path: Path, change: Callable[[Rows], None]) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    change(rows)
    write_aside(path, csv_text(rows[0], *(row.values() for row in rows)) + "\n")


def _times(rows: Rows, factor: Decimal) -> None:
    for row in rows[::3]:  # a supplier raises some prices, not all
        for column in ("unit_price", "unit_cost"):
            row[column] = f"{Decimal(row[column]) * factor:.2f}"


def _faulty_drives(rows: Rows) -> None:
    dear = rows[7]
    dear["unit_cost"] = f"{Decimal(dear['unit_price']) * Decimal('0.93'):.2f}"
    nvme = next(row for row in rows if row["interface"] == "nvme")
    description = "Flash NVMe in a 3.5 in carrier that no chassis here takes"
    rows.append({**nvme, "sku": "DRV-SSD-NVME-35", "width_in": "3.5", "description": description})


def _useless_accessory(rows: Rows) -> None:
    spare = next(row for row in rows if row["kind"] == "bracket")
    description = "Bracket of a card that is not sold any more"
    old = {**spare, "sku": "BRK-OLD", "description": description}
    rows.append({**old, "needed_by": "", "unit_price": "0"})


def _quotes(older: Path, records: Path, date: dt.date) -> None:
    price_list = load_price_list(older)
    for asked in read_enquiries(resources.demo_enquiries(), price_list)[:_QUOTES]:
        request = asked.request
        record = request and answer(price_list, request, date, alternatives=False).record
        if record:
            write_aside(records / f"{asked.enquiry_id}.json", record.to_json())
