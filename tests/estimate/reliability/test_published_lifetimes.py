"""Every published figure of `published_risk`, and the closed formulas against the chain."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from quotelib.estimate.reliability.field_rates import mttf_from_annual_pct, mttf_range
from quotelib.estimate.reliability.loss import loss_probability, mean_hours_to_loss
from quotelib.estimate.reliability.protection import (
    Protection,
    unreadable_probability,
    unreadable_sectors,
)
from quotelib.estimate.running import LIFTING_CONSTANT_KG, heat_btu_per_hour, rated_writes_tb
from quotelib.units import HOURS_PER_YEAR
from tests.estimate.opinions import published_lifetimes as published
from tests.estimate.published_risk import PUBLISHED_RISK, Published
from tests.estimate.reliability.absorbing import mean_time_to_absorption

N_1994 = 100 * 16 / 15
TWO = published.two_drives_1994(200_000, 20_000, 1, N_1994, 16)
CRASH = published.crash_and_drive_1994(30 * 24, 1, 200_000, N_1994)
SECTOR = published.drive_and_sector_1994(200_000, N_1994, 16, 0.9996)
ALL = published.first_of(TWO, CRASH, SECTOR)
NO_CRASH = published.first_of(TWO, SECTOR)


def years(hours: object) -> float:
    return float(np.asarray(hours)) / HOURS_PER_YEAR


def ten_years(hours: object) -> float:
    return 100 * published.chance_within(float(np.asarray(hours)), 10)


def unread(drives: int, drive_bytes: float, rate: float) -> float:
    return 100 * float(unreadable_probability(drives, drive_bytes, rate))


def without_repair(drives: int) -> float:
    """Mean life of drives in parallel, in lifetimes of one."""
    rates = np.zeros((drives, drives))
    for failed in range(drives - 1):
        rates[failed, failed + 1] = drives - failed
    absorption = np.zeros((drives, 1))
    absorption[-1] = 1.0
    return float(mean_time_to_absorption(rates, absorption)[0])


def annual_pct(mttf_hours: float) -> float:
    # Hours of a year over hours gives per cent, over per cent hours: the formula is its inverse.
    return float(mttf_from_annual_pct(mttf_hours))


def field_pct(media: str, which: str) -> float:
    return annual_pct(float(getattr(mttf_range(np.nan, media), which)))


COMPUTED: dict[str, Callable[[], float]] = {
    "1988.level5.g10": lambda: float(published.group_mttf_1988(30_000, 1, 100, 10, 1)),
    "1988.level5.g25": lambda: float(published.group_mttf_1988(30_000, 1, 100, 25, 1)),
    "1988.mirrored": lambda: float(published.group_mttf_1988(30_000, 1, 100, 1, 1)),
    "1994.one_redundant": lambda: years(published.two_drives_1994(200_000, 200_000, 1, 100, 16)),
    "1994.drive_readable": lambda: 100 - unread(1, 5e9, 1e-14),
    "1994.two_drives": lambda: years(TWO),
    "1994.two_drives.10y": lambda: ten_years(TWO),
    "1994.crash": lambda: years(CRASH),
    "1994.crash.10y": lambda: ten_years(CRASH),
    "1994.sector": lambda: years(SECTOR),
    "1994.sector.10y": lambda: ten_years(SECTOR),
    "1994.all": lambda: years(ALL),
    "1994.all.10y": lambda: ten_years(ALL),
    "1994.no_crash": lambda: years(NO_CRASH),
    "1994.no_crash.10y": lambda: ten_years(round(years(NO_CRASH)) * HOURS_PER_YEAR),
    "2007.mttdl": lambda: years(published.two_drives_1994(461_386, 461_386, 12, 8, 8)),
    "2007.losses_per_1000": lambda: (
        1000 * 10 / years(published.two_drives_1994(461_386, 461_386, 12, 8, 8))
    ),
    "parallel.repaired": lambda: float(published.parallel_repair_1988(6_000_000, 120, 2, 1)),
    "parallel.2": lambda: without_repair(2),
    "parallel.3": lambda: without_repair(3),
    "parallel.4": lambda: without_repair(4),
    "afr.1Mh": lambda: annual_pct(1_000_000),
    "afr.sheet": lambda: annual_pct(1_000_000),
    "afr.sheet.1.5Mh": lambda: annual_pct(1_500_000),
    "field.hdd.mean": lambda: field_pct("hdd", "expected"),
    "field.hdd.third_year": lambda: field_pct("hdd", "worst"),
    "field.ssd.mean": lambda: field_pct("ssd", "expected"),
    "field.ssd.worst": lambda: field_pct("ssd", "worst"),
    "read.1TB": lambda: unread(1, 1e12, 1e-14),
    "read.500GB.mean": lambda: float(unreadable_sectors(1, 5e11, 1e-14)),
    "read.6TB.1e-14": lambda: unread(1, 6e12, 1e-14),
    "read.6TB.1e-15": lambda: unread(3, 2e12, 1e-15),
    "read.3TB.1e-14": lambda: unread(1, 3e12, 1e-14),
    "read.3TB.1e-15": lambda: unread(1, 3e12, 1e-15),
    "read.72TB.1e-14.success": lambda: 100 - unread(9, 8e12, 1e-14),
    "read.72TB.1e-15.success": lambda: 100 - unread(9, 8e12, 1e-15),
    "wear.200GB": lambda: float(rated_writes_tb(200, 1, 5)),
    "wear.200GB.10": lambda: float(rated_writes_tb(200, 10, 5)),
    "power.btu": lambda: float(heat_btu_per_hour(1)),
    "power.joule": lambda: 3600 / float(heat_btu_per_hour(1)),
    "mass.kg": lambda: LIFTING_CONSTANT_KG,
    "mass.lb": lambda: LIFTING_CONSTANT_KG / 0.453_592_37,
}


@pytest.mark.parametrize("row", PUBLISHED_RISK, ids=lambda row: row.key)
def test_agrees_with_the_published_value(row: Published) -> None:
    assert row.agrees(COMPUTED[row.key]()), (row, COMPUTED[row.key]())


def test_every_row_is_checked_once_and_has_a_status() -> None:
    keys = [row.key for row in PUBLISHED_RISK]
    assert len(keys) == len(set(keys))
    assert set(keys) == set(COMPUTED)
    assert {row.status for row in PUBLISHED_RISK} <= {"seen", "re-derived", "memory"}


def protection(**fields: object) -> Protection:
    plain = {
        "rebuild_hours": 10.0,
        "replacement_hours": 0.0,
        "drive_bytes": 0.0,
        "bit_error_rate": 0.0,
    }
    return Protection(**{**plain, **fields})  # type: ignore[arg-type]


@pytest.mark.parametrize("members", [2, 3, 8, 16, 24])
@pytest.mark.parametrize("mttf", [50.0, 1e4, 1.2e6, 2.5e9])
def test_chain_is_the_2010_closed_form_for_single_parity(members: int, mttf: float) -> None:
    """Greenan, Plank, Wylie, HotStorage 2010 (seen): exact, whatever the ratio of rates."""
    chain = mean_hours_to_loss(protection(members=members, redundancy=1, mttf_hours=mttf))
    closed = published.single_parity_2010(members, 1 / mttf, 1 / 10.0)
    assert float(chain) == pytest.approx(float(closed), rel=1e-14)


@pytest.mark.parametrize("members", [2, 5, 16])
@pytest.mark.parametrize("mttf", [100.0, 1e3, 2e4])
@pytest.mark.parametrize("years_ahead", [0.01, 1.0, 10.0])
def test_array_is_lost_by_the_closed_form_whatever_can_be_read(
    members: int, mttf: float, years_ahead: float
) -> None:
    """Gibson 1992 for one drive of redundancy: to the digits that its subtraction leaves."""
    noisy = protection(
        members=members, redundancy=1, mttf_hours=mttf, drive_bytes=1e13, bit_error_rate=1e-14
    )
    found = loss_probability(noisy, years_ahead)
    closed = published.single_parity_within_1992(
        members, 1 / mttf, 1 / 10.0, years_ahead * HOURS_PER_YEAR
    )
    assert float(found.array) == pytest.approx(closed, rel=1e-9, abs=1e-14)
    assert found.any_data > found.array or found.array == 1


@pytest.mark.parametrize("redundancy", [0, 1, 2, 3, 4])
def test_chain_approaches_the_formula_for_parallel_repair(redundancy: int) -> None:
    """Angus 1988 (memory): holds in the limit of short repairs, with an error of their ratio."""
    errors = []
    for mttf in (1e5, 1e7):
        chain = mean_hours_to_loss(protection(members=8, redundancy=redundancy, mttf_hours=mttf))
        limit = published.parallel_repair_1988(mttf, 10.0, 8, redundancy)
        errors.append(abs(float(chain) / float(limit) - 1))
    assert errors[0] < 30 * 10.0 / 1e5
    assert errors[1] < 30 * 10.0 / 1e7


def test_1994_and_parallel_repair_part_ways_beyond_one_redundant_drive() -> None:
    """Public preprint arXiv 1310.4702 (seen): the two agree up to one failure, not beyond."""
    one = published.two_drives_1994(1e6, 1e6, 10, 8, 8)
    assert float(published.parallel_repair_1988(1e6, 10, 8, 1)) == pytest.approx(float(one))
    two = published.three_drives_1994(1e6, 10, 8, 8)
    assert float(published.parallel_repair_1988(1e6, 10, 8, 2)) == pytest.approx(2 * float(two))


def test_1988_and_1994_are_the_same_formula() -> None:
    """D + C D / G drives in groups of G + C: re-derived."""
    old = published.group_mttf_1988(30_000, 1, 100, 10, 1)
    assert float(old) == pytest.approx(float(published.two_drives_1994(3e4, 3e4, 1, 110, 11)))


def test_chain_gives_the_1994_table_where_both_assume_the_same() -> None:
    """Table 4 (seen): two drives, the second ten times as likely, with and without a bad sector.

    The paper's formulas leave out terms of one in a thousand (16 drives x 1 h / 20,000 h).
    """
    group = {"members": 16, "redundancy": 1, "mttf_hours": 200_000, "rebuild_hours": 1.0}
    two = mean_hours_to_loss(protection(**group, after_failure_factor=10.0)) * 16 / N_1994
    assert float(two) == pytest.approx(float(TWO), rel=1e-3)
    rate = -np.expm1(np.log(0.9996) / 4e10)
    both = protection(
        **group, after_failure_factor=10.0, drive_bytes=5e9, bit_error_rate=float(rate)
    )
    mean = mean_hours_to_loss(both) * 16 / N_1994
    assert float(mean) == pytest.approx(float(NO_CRASH), rel=1e-3)
    lost = loss_probability(both, 10)
    # Any data: both causes; the array: two drives alone, though sectors are unreadable as well.
    for one, mean_hours in ((lost.any_data, NO_CRASH), (lost.array, TWO)):
        all_groups = -np.expm1(N_1994 / 16 * np.log1p(-one))
        assert 100 * float(all_groups) == pytest.approx(ten_years(mean_hours), rel=1e-3)
