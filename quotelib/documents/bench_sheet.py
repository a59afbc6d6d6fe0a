"""What stands on the bench sheet: one function a section, in the order of the work."""

from quotelib.documents.barcodes import Barcode, code128
from quotelib.documents.bench_plan import Plan, bench_plan
from quotelib.documents.sections import Html, section
from quotelib.quote.record import QuoteRecord

CELL_MM, ROW_MM = 60.0, 178.0
"""Room for a barcode in its column, and in a row of its own; a page is 180 mm wide inside."""


def head(record: QuoteRecord) -> Html:
    """Say which build it is and for whom."""
    return section("bench_head", record=record)


def data_first(record: QuoteRecord) -> Html:
    """Say what to settle about the customer's own parts and data; empty where there are none."""
    return section("bench_data_first", bench=record.bench)


def cautions(record: QuoteRecord) -> Html:
    """Say every caution in full."""
    return section("bench_cautions", bench=record.bench)


def pick_list(record: QuoteRecord) -> Html:
    """List what to fetch, with barcodes and blanks for serial numbers, and the tools."""
    codes = {line.sku: _code(line.sku) for line in record.bench.pick}
    return section("bench_pick", bench=record.bench, codes=codes, cell_mm=CELL_MM)


def plan(record: QuoteRecord) -> Plan:
    """Draw where everything goes."""
    return bench_plan(record.placement)


def steps(record: QuoteRecord) -> Html:
    """List the steps, each after its cautions."""
    return section("bench_steps", bench=record.bench)


def settings(record: QuoteRecord) -> Html:
    """List the settings of the array."""
    return section("bench_settings", bench=record.bench)


def acceptance(record: QuoteRecord) -> Html:
    """List what the finished system must show, with blanks."""
    return section("bench_acceptance", bench=record.bench)


def sign_off(record: QuoteRecord) -> Html:
    """Give room for names, and say how long it is planned to take."""
    return section("bench_sign_off", record=record, bench=record.bench)


def _code(sku: str) -> Barcode | None:
    return code128(sku, CELL_MM) or code128(sku, ROW_MM)
