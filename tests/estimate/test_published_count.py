"""Are the tables of published values more than decoration: enough of them, and each one checked."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.estimate import published, published_risk
from tests.estimate.performance import test_links, test_queueing
from tests.estimate.performance import test_service as service_tests
from tests.estimate.published import PUBLISHED
from tests.estimate.published_risk import PUBLISHED_RISK
from tests.estimate.reliability import test_published_lifetimes

Row = published.Published | published_risk.Published
ROWS: tuple[Row, ...] = (*PUBLISHED, *PUBLISHED_RISK)

CHECKS: dict[str, Callable[[], Any]] = {
    **test_links.COMPUTED,
    **service_tests.COMPUTED,
    **test_queueing.COMPUTED,
    **test_published_lifetimes.COMPUTED,
}
"""What the tests compute for each row, by its key: the very functions they call."""

# Chapters of one book, tables of one paper and the members of a family of standards are no
# sources independent of each other: they count once.
ONE_WORK = {
    published.OSTEP_DISK: "Arpaci-Dusseau",
    published.OSTEP_RAID: "Arpaci-Dusseau",
    published.SURVEY: "Chen et al.",
    published_risk.CHEN: "Chen et al.",
    published_risk.TABLE4: "Chen et al.",
    published.SAS: "public link-rate tables",
    published.SATA: "public link-rate tables",
    # Run on an example of that book, so not independent of it.
    published.TOOLBOX: published.LAZOWSKA,
}


def test_at_least_forty_values_from_at_least_ten_independent_sources() -> None:
    assert len(ROWS) >= 40
    sources = {ONE_WORK.get(row.source, row.source) for row in ROWS}
    assert len(sources) >= 10
    # So many without those that are only remembered.
    found = [row for row in ROWS if row.status != "memory"]
    assert len(found) >= 40
    assert len({ONE_WORK.get(row.source, row.source) for row in found}) >= 10


def test_every_row_names_its_source_and_status() -> None:
    for row in ROWS:
        assert row.source.strip(), row.key
        assert row.status in {"seen", "re-derived", "memory"}, row.key
        assert np.isfinite(row.value), row.key


def test_no_row_stands_there_twice_and_every_row_has_its_check() -> None:
    keys = [row.key for row in ROWS]
    assert len(keys) == len(set(keys))
    assert set(keys) == set(CHECKS)
    parts = (test_links, service_tests, test_queueing, test_published_lifetimes)
    assert sum(len(part.COMPUTED) for part in parts) == len(keys)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_row_that_were_wrong_in_its_last_digit_would_be_found(row: Row) -> None:
    computed = float(CHECKS[row.key]())
    assert row.agrees(computed)
    for units in (-2, 2):
        wrong = replace(row, value=row.value + units * 10.0**-row.digits)
        assert not wrong.agrees(computed)
