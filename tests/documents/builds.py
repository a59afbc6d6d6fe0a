"""Records of the ten builds, and the pages that are made of a record."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from quotelib.documents.making import annex_page, bench_page, offer_page
from quotelib.documents.quoting import quote
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import ArrayShown
from tests.ten_builds import ALL

DATE = "2026-11-25"


@cache
def record(name: str) -> QuoteRecord:
    """Quote a build."""
    cells = {"enquiry_id": f"T-{list(ALL).index(name) + 1}", "customer": "Invented", **ALL[name]}
    return quote(cells, date=DATE)


def array(made: QuoteRecord) -> ArrayShown:
    """Give the only array of a record."""
    ((_, only),) = made.by_array()
    return only


def pages(made: QuoteRecord) -> tuple[str, str]:
    """Render the annex and the bench sheet of a record."""
    return _rendered(made, annex_page), _rendered(made, bench_page)


def page(made: QuoteRecord) -> str:
    """Render the annex of a record."""
    return _rendered(made, annex_page)


def offer(made: QuoteRecord) -> str:
    """Render the offer of a record."""
    return _rendered(made, offer_page)


@cache
def sheet(name: str) -> str:
    """Render the bench sheet of a build."""
    return sheet_of(record(name))


def sheet_of(made: QuoteRecord) -> str:
    """Render the bench sheet of a record."""
    return _rendered(made, bench_page)


def _rendered(made: QuoteRecord, render: Callable[[Path], str]) -> str:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "record.json"
        file.write_text(made.to_json(), "utf-8")
        return render(file)
