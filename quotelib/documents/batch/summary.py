"""What came of a batch: rows of ``summary.csv``, as many as the enquiries have, from records."""

from collections.abc import Mapping, Sequence

from quotelib.documents.batch.files import csv_text
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown
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
    "server", "array", "action", "ship_date",
)  # fmt: skip
_SUMS = ("lines_total", "discount", "freight", "net", "tax", "gross")
_DIGITS = 4
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
# Most characters of what is not ours; all else is, and may start with a minus sign. No name that
# we take is longer than 300, no cell of a spreadsheet than 32,767.
_NAME, _CELL = 300, 32_767
_FOREIGN = {
    "enquiry_id": _NAME, "tax_code": _NAME, "chassis": _NAME, "controller": _NAME, "drive": _NAME,
    "server": _NAME, "array": _NAME, "reason": _CELL,
}  # fmt: skip
NOTICE_FILE = "SELLER_ONLY.txt"
NOTICE = """For the seller only, never for a customer: summary.csv, run.json, records, fault files.
They hold cost, margin, notes and reasons.

For the customer: quotes, items, ubl. For the workshop: bench.
"""


def record_rows(record: QuoteRecord) -> list[dict[str, str]]:
    """Take the figures of a record, one row for each row of its enquiry.

    What is so for the whole quote, or a whole server, stands on the first row of it.
    """
    rows = []
    seen: set[int] = set()
    for number, row in enumerate(record.rows):
        cells = {} if number else _sums(record)
        cells |= {name: row.cells.get(name, "") for name in ("server", "array")}
        if row.server is not None:
            server = record.servers[row.server]
            cells["chassis"] = server.chassis
            if row.server not in seen:
                cells |= _whole(server)
            seen.add(row.server)
            if row.array is not None:
                cells |= _array(server.arrays[row.array])
        rows.append(cells)
    return rows


def _sums(record: QuoteRecord) -> dict[str, str]:
    totals, margin = record.totals, record.internal.margin_pct
    return {
        "currency": record.currency,
        **{name: format(getattr(totals, name), "f") for name in _SUMS},
        "tax_code": totals.tax_code or "",
        "ship_date": record.ship_date.isoformat() if record.ship_date else "",
        "margin_pct": "" if margin is None else format(margin, "f"),
    }


def _whole(server: Server) -> dict[str, str]:
    return {
        "watts": plain(server.watts),
        "mass_kg": format(server.mass_kg, "f"),
        "lead_days": str(server.lead_days),
    }


def _array(array: ArrayShown) -> dict[str, str]:
    layout, capacity = array.layout, array.capacity
    known = {e.key: e.value for e in array.estimates if e.value is not None}
    return {
        "action": array.action,
        "controller": array.controller,
        "drive": array.drive,
        **{k: str(getattr(layout, k)) for k in ("members", "level", "spans", "spares")},
        "usable_bytes": str(capacity.usable_bytes),
        **{k: format(getattr(capacity, k), "f") for k in ("usable_tb", "usable_tib")},
        **{key: digits(known[key], _DIGITS) for key in ESTIMATED if key in known},
    }


def to_csv(rows: Sequence[Mapping[str, str]]) -> str:
    """Write rows as CSV, harmless in a spreadsheet."""
    cells = (
        [_harmless(row.get(name, ""), _FOREIGN.get(name, 0)) for name in COLUMNS] for row in rows
    )
    return f"{csv_text(COLUMNS, *cells)}\n"


def _harmless(text: str, most: int) -> str:
    if not most:
        return text
    text = text if len(text) <= most else f"{text[: most - 1]}…"
    # What would start a formula in a spreadsheet gets an apostrophe.
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text
