"""Are the published values more than decoration: enough, each checked, each where quotes go.

A row names the function it is there for. It counts where quotes call that function, and where the
row's own check does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.estimate import published, published_risk, published_tables, reach, test_capacity
from tests.estimate.performance import test_day, test_links, test_queueing
from tests.estimate.performance import test_service as service_tests
from tests.estimate.published import PUBLISHED, Published
from tests.estimate.published_risk import PUBLISHED_RISK
from tests.estimate.published_tables import PRINTED, Printed
from tests.estimate.reliability import test_published_lifetimes

ROWS: tuple[Published, ...] = (*PUBLISHED, *PUBLISHED_RISK)
ALL: tuple[Published | Printed, ...] = (*ROWS, *PRINTED)

CHECKS: dict[str, Callable[[], Any]] = {
    **test_links.COMPUTED,
    **service_tests.COMPUTED,
    **test_queueing.COMPUTED,
    **test_day.COMPUTED,
    **test_capacity.COMPUTED,
    **test_published_lifetimes.COMPUTED,
    **{row.key: row.computed for row in PRINTED},
}
"""What the tests compute for each row, by its key: the very functions they call."""

# Chapters of one book, tables of one paper and the members of a family of standards are no
# sources independent of each other: they count once.
ONE_WORK = {
    published.OSTEP_DISK: published.OSTEP_RAID,
    published.JAIN_BOUNDS: published.JAIN,
    published.GATEWAY: published.JAIN,
    published_risk.CHEN: published.SURVEY,
    published_risk.TABLE4: published.SURVEY,
    published_risk.TABLE6: published.SURVEY,
    published.SATA: published.SAS,
}


def sources(rows: list[Published | Printed]) -> set[str]:
    return {ONE_WORK.get(row.source, row.source) for row in rows}


def test_at_least_eighty_values_from_sixteen_sources_reach_what_quotes_use() -> None:
    reached = [row for row in ALL if row.of in reach.by_quotes()]
    assert len(reached) >= 80
    assert len(sources(reached)) >= 16
    # So many without those that are only remembered.
    found = [row for row in reached if row.status != "memory"]
    assert len(found) >= 80
    assert len(sources(found)) >= 16


def test_no_row_is_for_what_no_quote_calls() -> None:
    assert {row.of for row in ALL} <= reach.by_quotes()


@pytest.mark.parametrize("row", ALL, ids=lambda row: row.key)
def test_the_check_of_a_row_calls_what_the_row_is_for(row: Published | Printed) -> None:
    for remembered in (published_tables.loaded, test_queueing.opened, test_queueing.jain):
        remembered.cache_clear()
    assert row.of in reach.called(CHECKS[row.key])


def test_every_row_names_its_source_and_status() -> None:
    for row in ALL:
        assert row.source.strip(), row.key
        assert row.status in {"seen", "re-derived", "memory"}, row.key
    for row in ROWS:
        assert np.isfinite(row.value), row.key


def test_no_row_stands_there_twice_and_every_row_has_its_check() -> None:
    keys = [row.key for row in ALL]
    assert len(keys) == len(set(keys))
    assert set(keys) == set(CHECKS)
    parts = (
        test_links,
        service_tests,
        test_queueing,
        test_day,
        test_capacity,
        test_published_lifetimes,
    )
    assert sum(len(part.COMPUTED) for part in parts) + len(PRINTED) == len(keys)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_row_that_were_wrong_in_its_last_digit_would_be_found(row: Published) -> None:
    computed = float(CHECKS[row.key]())
    assert row.agrees(computed)
    for units in (-2, 2):
        wrong = replace(row, value=row.value + units * 10.0**-row.digits)
        assert not wrong.agrees(computed)


def test_what_is_remembered_is_called_again_to_be_seen() -> None:
    """A second look finds the same: nothing hides behind what was kept from the first."""
    check = CHECKS["blocks.960.512"]
    assert reach.called(check) == reach.called(check) != frozenset()
