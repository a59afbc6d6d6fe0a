"""What came of a batch: one row of ``summary.csv`` an enquiry, taken from its record."""

import csv
import io
from collections.abc import Iterable, Mapping
from decimal import Decimal

from quotelib.documents.files import cell
from quotelib.quote.record import QuoteRecord
from quotelib.units import plain

COLUMNS = (
    "enquiry_id",
    "outcome",
    "reason",
    "currency",
    "lines_total",
    "discount",
    "freight",
    "net",
    "tax_code",
    "tax",
    "gross",
    "margin_pct",
    "chassis",
    "controller",
    "drive",
    "members",
    "level",
    "spans",
    "spares",
    "usable_bytes",
    "usable_tb",
    "usable_tib",
    "read_iops",
    "write_iops",
    "read_mb_s",
    "write_mb_s",
    "rebuild_hours",
    "loss_pct",
    "watts",
    "mass_kg",
    "lead_days",
    "quote_file",
    "bench_file",
    "record_file",
)


ESTIMATED = ("read_iops", "write_iops", "read_mb_s", "write_mb_s", "rebuild_hours", "loss_pct")
_DIGITS = 4


def _estimate(record: QuoteRecord, key: str) -> str:
    """Write an estimate; blank where it is not known or does not apply."""
    found = record.estimate(key)
    if found is None or found.value is None:
        return ""
    return plain(Decimal(f"{found.value:.{_DIGITS}g}"))


def record_cells(record: QuoteRecord) -> dict[str, str]:
    """Take a row's figures from a record."""
    totals, layout = record.totals, record.layout
    margin = record.internal.margin_pct
    return {
        "currency": record.currency,
        "lines_total": format(totals.lines_total, "f"),
        "discount": format(totals.discount, "f"),
        "freight": format(totals.freight, "f"),
        "net": format(totals.net, "f"),
        "tax_code": totals.tax_code or "",
        "tax": format(totals.tax, "f"),
        "gross": format(totals.gross, "f"),
        "margin_pct": "" if margin is None else format(margin, "f"),
        "chassis": record.part("chassis").sku,
        "controller": record.part("controller").sku,
        "drive": record.part("drive").sku,
        "members": str(layout.members),
        "level": layout.level,
        "spans": str(layout.spans),
        "spares": str(layout.spares),
        "usable_bytes": str(record.capacity.usable_bytes),
        "usable_tb": format(record.capacity.usable_tb, "f"),
        "usable_tib": format(record.capacity.usable_tib, "f"),
        **{column: _estimate(record, column) for column in ESTIMATED},
        "watts": plain(record.watts),
        "mass_kg": format(record.mass_kg, "f"),
        "lead_days": str(record.lead_days),
    }


def to_csv(rows: Iterable[Mapping[str, str]]) -> str:
    """Write rows as CSV, harmless in a spreadsheet."""
    # Text of the customer's; all else is ours and may start with a minus sign.
    foreign = {"enquiry_id", "reason", "tax_code", "chassis", "controller", "drive"}
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({k: cell(v) if k in foreign else v for k, v in row.items()})
    return buffer.getvalue()
