"""What came of a batch: one row of ``summary.csv`` an enquiry, taken from its record."""

import csv
import io
from collections.abc import Mapping, Sequence

from quotelib.promise.record import QuoteRecord
from quotelib.text import digits
from quotelib.units import plain

ESTIMATED = ("read_iops", "write_iops", "read_mb_s", "write_mb_s", "rebuild_hours", "loss_pct")
FILES = ("quote_file", "bench_file", "record_file")
COLUMNS = (
    "enquiry_id", "outcome", "reason",
    "currency", "lines_total", "discount", "freight", "net", "tax_code", "tax", "gross",
    "margin_pct",
    "chassis", "controller", "drive", "members", "level", "spans", "spares",
    "usable_bytes", "usable_tb", "usable_tib", *ESTIMATED, "watts", "mass_kg", "lead_days", *FILES,
)  # fmt: skip
_SUMS = ("lines_total", "discount", "freight", "net", "tax", "gross")
_DIGITS = 4
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def record_cells(record: QuoteRecord) -> dict[str, str]:
    """Take a row's figures from the record of one server, with its first array."""
    totals, margin, server = record.totals, record.internal.margin_pct, record.servers[0]
    cells = {
        "currency": record.currency,
        **{name: format(getattr(totals, name), "f") for name in _SUMS},
        "tax_code": totals.tax_code or "",
        "margin_pct": "" if margin is None else format(margin, "f"),
        "chassis": server.chassis,
        "watts": plain(server.watts),
        "mass_kg": format(server.mass_kg, "f"),
        "lead_days": str(server.lead_days),
    }
    for array in server.arrays[:1]:
        layout, capacity = array.layout, array.capacity
        cells |= {
            "controller": array.controller,
            "drive": array.drive,
            **{k: str(getattr(layout, k)) for k in ("members", "level", "spans", "spares")},
            "usable_bytes": str(capacity.usable_bytes),
            **{k: format(getattr(capacity, k), "f") for k in ("usable_tb", "usable_tib")},
        }
        known = {e.key: e.value for e in array.estimates if e.value is not None}
        cells |= {key: digits(known[key], _DIGITS) for key in ESTIMATED if key in known}
    return cells


def to_csv(rows: Sequence[Mapping[str, str]]) -> str:
    """Write rows as CSV, harmless in a spreadsheet."""
    # Text of the customer's; all else is ours and may start with a minus sign.
    foreign = {"enquiry_id", "reason", "tax_code", "chassis", "controller", "drive"}
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({k: _harmless(v) if k in foreign else v for k, v in row.items()})
    return buffer.getvalue()


def _harmless(text: str) -> str:
    # What would start a formula in a spreadsheet gets an apostrophe.
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text
