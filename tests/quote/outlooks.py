"""Records and outlooks of small builds, and what stands in them."""

import datetime as dt
import math
import re
from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.documents import quote_page
from quotelib.quote.answer import answer
from quotelib.quote.look import look
from quotelib.quote.outlook import estimates
from quotelib.quote.outlook_record import EstimateFacts
from quotelib.quote.record import QuoteRecord
from tests.quote.asking import ask

DATE = dt.date(2026, 3, 2)

# Words a program writes where a figure is missing; "none" in words of ours is lower case.
UNFIT = re.compile(r"(?<![A-Za-z])(nan|NaN|inf|-inf|Infinity|None|null)(?![A-Za-z])")


def record(prices: PriceList, **cells: str) -> QuoteRecord:
    answered = answer(prices, ask(prices, **cells), DATE)
    assert answered.record is not None, answered.reason
    return answered.record


def of_build(prices: PriceList, build: Build, workload: str | None) -> dict[str, EstimateFacts]:
    load = prices.workloads[workload] if workload else None
    return {e.key: e for e in estimates(look(build, load, prices.terms), prices.terms)}


def sections_text(made: QuoteRecord) -> str:
    """Give the text of the sections that show estimates, as a reader sees it."""
    parts = (
        quote_page.outlook,
        quote_page.estimates,
        quote_page.appendix,
        quote_page.alternatives,
        quote_page.findings,
    )
    return " ".join(repr(part(made)) for part in parts)


def figures_in(value: object, path: str = "") -> Iterator[tuple[str, float]]:
    """List every number of a JSON value with its place."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from figures_in(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from figures_in(inner, f"{path}[{i}]")
    elif isinstance(value, float):
        yield path, value


def assert_clean(made: QuoteRecord) -> None:
    """Check that no missing figure shows through as a program's word for it."""
    text = sections_text(made)
    assert not UNFIT.search(text), UNFIT.search(text)
    for path, figure in figures_in(made.model_dump(mode="python")):
        assert math.isfinite(figure), path
    for estimate in made.estimates:
        assert_whole(estimate)


def assert_whole(e: EstimateFacts) -> None:
    """Check that an estimate says what it rests on and that its range holds it."""
    assert e.name.strip() and e.basis.strip() and e.source.strip(), e
    if e.value is None:
        assert e.shown == "not known" and not e.shown_range, e
        assert "not known" in e.basis or "never" in e.basis or "not wear" in e.basis, e
        assert e.low is None and e.high is None, e
        return
    assert math.isfinite(e.value) and e.inputs, e
    assert e.low is None or e.low <= e.value, e
    assert e.high is None or e.value <= e.high, e
