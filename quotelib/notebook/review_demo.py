"""What does a review of a price list show: folders made up for the purpose, with faults in them."""

import csv
import datetime as dt
import io
import os
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from quotelib import resources
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.batch.files import write_aside
from quotelib.enquiry.enquiry import read_enquiries
from quotelib.promise.answer import answer

_QUOTES = 6
_FRESH_DAYS, _STALE_DAYS = 20, 200


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
        shutil.copytree(resources.starter_prices(), made)
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


Rows = list[dict[str, str]]


def _change(path: Path, change: Callable[[Rows], None]) -> None:
    rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
    change(rows)
    text = io.StringIO()
    writer = csv.DictWriter(text, rows[0], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    write_aside(path, text.getvalue())


def _times(rows: Rows, factor: Decimal) -> None:
    for row in rows[::3]:  # a supplier raises some prices, not all
        for column in ("unit_price", "unit_cost"):
            row[column] = f"{Decimal(row[column]) * factor:.2f}"


def _faulty_drives(rows: Rows) -> None:
    dear, free = rows[7], rows[-2]
    dear["unit_cost"] = f"{Decimal(dear['unit_price']) * Decimal('0.93'):.2f}"
    free["unit_price"] = "0"
    nvme = next(row for row in rows if row["interface"] == "nvme")
    description = "Flash NVMe in a 3.5 in carrier that no chassis here takes"
    rows.append({**nvme, "sku": "DRV-SSD-NVME-35", "width_in": "3.5", "description": description})


def _useless_accessory(rows: Rows) -> None:
    spare = next(row for row in rows if row["kind"] == "bracket")
    description = "Bracket of a card that is not sold any more"
    rows.append({**spare, "sku": "BRK-OLD", "needed_by": "", "description": description})


def _quotes(older: Path, records: Path, date: dt.date) -> None:
    price_list = load_price_list(older)
    for row in read_enquiries(resources.demo_enquiries(), price_list)[:_QUOTES]:
        enquiry = row.enquiry
        record = enquiry and answer(price_list, enquiry, date, alternatives=False).record
        if record:
            write_aside(records / f"{row.enquiry_id}.json", record.to_json())
