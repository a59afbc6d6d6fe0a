"""What is sound, for mutants to be made from: files of each kind, made once and small."""

import csv
import datetime as dt
import io
import json
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from quotelib import resources
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from tests import small_list
from tests.fuzz.mutants import Files

DATE = dt.date(2026, 11, 28)
ASKED: tuple[dict[str, str], ...] = (
    {"enquiry_id": "A-1", "customer": "One", "usable_tb": "4", "survive": "1"},
    {"enquiry_id": "A-2", "customer": "Two", "chassis": "BOX-12", "controller": "CARD",
     "drive": "DISK-8T", "members": "4", "level": "6", "spares": "1", "tax_code": "S",
     "workload": "files", "note": "Ours", "currency": "JPY", "discount_pct": "3"},
    {"enquiry_id": "A-3", "customer": "Three", "usable_tb": "3", "array": "boot",
     "chassis": "BOX-12", "options": "BOOT;PSU-600", "accept": "no_redundancy", "builds": "6"},
    {"enquiry_id": "A-3", "usable_tb": "8", "array": "data", "level": "5", "media": "hdd"},
    {"enquiry_id": "A-4", "customer": "Four", "parts": "DISK-4T*3;CABLE", "line": "Trade-in",
     "line_price": "-20", "line_cost": "-10", "line_quantity": "2", "ship_by": "2026-12-24"},
    {"enquiry_id": "A-5", "customer": "Five", "drive": "DISK-4T", "owned": "drive", "members": "3",
     "level": "5", "free_slots": "1", "max_price": "9000", "max_watts": "500", "cores": "16",
     "memory_gb": "32", "max_lead_days": "30", "condition": "any", "redundant_supply": ""},
)  # fmt: skip
"""Every column once, against `small_list` with its options."""


@dataclass(frozen=True)
class Seeds:
    """Sound inputs: the files of two price lists, enquiries, a record, an autosave."""

    prices: Files
    starter: Files
    enquiries: bytes
    record: bytes
    autosave: bytes
    price_list: PriceList
    known: tuple[str, ...]


def _table(rows: tuple[dict[str, str], ...]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def roomy() -> small_list.Tables:
    """Copy the small list with its options, and with room for them."""
    tables = {**small_list.copy(), "options.csv": [dict(row) for row in small_list.OPTIONS]}
    for row in tables["chassis.csv"]:
        row |= {"processor_sockets": "2", "memory_slots": "8", "supply_bays": "2", "supplies": "1"}
    return tables


@cache
def seeds() -> Seeds:
    """Make them."""
    with tempfile.TemporaryDirectory() as name:
        tables = roomy()
        folder = small_list.write(Path(name) / "prices", tables)
        sizes = [(file, len(rows)) for file, rows in tables.items()]
        counts = "".join(f"{file},{size}\n" for file, size in [*sizes, ("terms.toml", 17)])
        (folder / "contents.csv").write_text(f"file,rows\n{counts}", "utf-8")
        prices = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
        price_list = load_price_list(folder)
    starter = {p.name: p.read_bytes() for p in sorted(resources.starter_prices().iterdir())}
    record = answer(price_list, read_request(ASKED[1:2], price_list), DATE).record
    assert record is not None
    typed = [
        {"session": session, "saved": f"{day}T08:00:00+00:00", "rows": {"1": cells}}
        for session, day, cells in (("a", "2026-11-28", ASKED[1]), ("b", "2026-11-27", ASKED[0]))
    ]
    skus = [row["sku"] for rows in tables.values() for row in rows if "sku" in row]
    words = "hdd ssd sata sas nvme card board low full files yes EUR KWD S any raid drive 0 5 10 60"
    return Seeds(
        prices,
        starter,
        _table(ASKED),
        record.to_json().encode(),
        json.dumps(typed).encode(),
        price_list,
        (*skus, *words.split()),
    )
