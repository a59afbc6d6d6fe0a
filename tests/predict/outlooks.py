"""Records and outlooks of small builds, and what stands in them."""

import datetime as dt
import math
import re
from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.documents.sections import section
from quotelib.predict.estimate import Estimate
from quotelib.predict.forecast import forecast
from quotelib.predict.outlook import array_estimates
from quotelib.predict.running import server_estimates
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown
from tests.asking import order

DATE = dt.date(2026, 3, 2)

# Words a program writes where a figure is missing; "none" in words of ours is lower case.
UNFIT = re.compile(r"(?<![A-Za-z])(nan|NaN|inf|-inf|Infinity|None|null)(?![A-Za-z])")


def record(prices: PriceList, **cells: str) -> QuoteRecord:
    answered = answer(prices, order(prices, **cells), DATE)
    assert answered.record is not None, answered.reason
    return answered.record


def of_build(prices: PriceList, build: Build, workload: str | None) -> dict[str, Estimate]:
    load = prices.workloads[workload] if workload else None
    ahead = [forecast(build, array, load, prices.terms) for array in build.arrays]
    of_arrays = (e for o in ahead for e in array_estimates(o))
    return {e.key: e for e in (*of_arrays, *server_estimates(build, ahead, prices.terms))}


def sections_text(made: QuoteRecord) -> str:
    """Give the text of the sections that show estimates, as a reader sees it."""
    names = ("outlook", "estimates", "appendix", "alternatives", "findings")
    return " ".join(repr(section(name, record=made)) for name in names)


def server(made: QuoteRecord) -> Server:
    """Give the only server of a record."""
    (found,) = made.servers
    return found


def array(made: QuoteRecord) -> ArrayShown:
    """Give the only array of a record."""
    (found,) = server(made).arrays
    return found


def all_estimates(made: QuoteRecord) -> tuple[Estimate, ...]:
    """List the estimates of all arrays of a record, then those of the whole server."""
    found = server(made)
    return (*(e for array in found.arrays for e in array.estimates), *found.estimates)


def estimate(made: QuoteRecord, key: str) -> Estimate | None:
    """Give an estimate of a record; None where it does not apply to the build."""
    return next((e for e in all_estimates(made) if e.key == key), None)


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
    for e in all_estimates(made):
        assert_whole(e)


def assert_whole(e: Estimate) -> None:
    """Check that an estimate says what it rests on and that its range holds it."""
    assert e.name.strip() and e.basis.strip() and e.sources, e
    if e.value is None:
        assert e.shown == "not known" and not e.shown_range, e
        assert "not known" in e.basis or "never" in e.basis or "not wear" in e.basis, e
        assert e.low is None and e.high is None, e
        return
    assert math.isfinite(e.value) and e.inputs, e
    assert e.low is None or e.low <= e.value, e
    assert e.high is None or e.value <= e.high, e
