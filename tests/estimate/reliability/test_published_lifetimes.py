"""Every published figure of `published_risk`, and the closed formulas against the chain."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from quotelib.estimate.reliability.availability import losses_per_year
from quotelib.estimate.reliability.field_rates import mttf_from_annual_pct, mttf_range
from quotelib.estimate.reliability.latent_errors import error_rates
from quotelib.estimate.reliability.loss import loss_probability, mean_hours_to_loss
from quotelib.estimate.reliability.protection import (
    Protection,
    unreadable_probability,
    unreadable_sectors,
)
from quotelib.estimate.reliability.rebuild import rebuild_hours
from quotelib.estimate.running import LIFTING_CONSTANT_KG, heat_btu_per_hour, rated_writes_tb
from quotelib.units import HOURS_PER_YEAR
from tests.estimate.opinions import published_lifetimes as published
from tests.estimate.published_risk import PUBLISHED_RISK, Published

N_1994 = 100 * 16 / 15  # Table 5's drives, in groups of 16
N_PQ = 100 * 16 / 14  # Table 6's
BRIEF = 1e-4  # repairs so much shorter leave the papers' first-order terms alone


def protection(**fields: object) -> Protection:
    plain = {
        "rebuild_hours": 10.0,
        "replacement_hours": 0.0,
        "drive_bytes": 0.0,
        "bit_error_rate": 0.0,
    }
    return Protection(**{**plain, **fields})  # type: ignore[arg-type]


def rare_mean(groups: float, repair_hours: float, times: int, **fields: object) -> float:
    """Mean hours to loss by the chain a quote uses, in the limit that the papers' formulas are.

    They hold for repairs that are short beside lifetimes. With repairs ten thousand times as short
    the chain is there, and the mean is as many times longer for each repair that has to be
    overtaken (`times`).
    """
    chain = mean_hours_to_loss(protection(rebuild_hours=repair_hours * BRIEF, **fields))
    return float(chain) * BRIEF**times / groups


TABLE_4 = {"members": 16, "redundancy": 1, "mttf_hours": 200_000, "after_failure_factor": 10.0}
NOISY = {"drive_bytes": 5e9, "bit_error_rate": 1e-14}
TWO = rare_mean(N_1994 / 16, 1.0, 1, **TABLE_4)
SECTOR = rare_mean(N_1994 / 16, 1.0, 0, **TABLE_4, **NOISY)
NO_CRASH = float(
    mean_hours_to_loss(protection(rebuild_hours=1.0, **TABLE_4, **NOISY)) / (N_1994 / 16)
)
PQ_SECTOR = rare_mean(N_PQ / 16, 1.0, 1, **{**TABLE_4, "redundancy": 2}, **NOISY)
ELERATH_MEAN = rare_mean(1, 12.0, 1, members=8, redundancy=1, mttf_hours=461_386)


def level_1988(members: int, groups: float) -> float:
    """Groups of drives that survive one failure: 30,000 h each, and an hour to repair one."""
    return rare_mean(groups, 1.0, 1, members=members, redundancy=1, mttf_hours=30_000)


def fewer_losses(times: int, faster: float) -> float:
    """Per cent fewer losses of a group of `times` + 1 copies where repairs are faster."""
    before, after = (
        rare_mean(1, hours, times, members=times + 1, redundancy=times, mttf_hours=3000.0)
        for hours in (1.0, faster)
    )
    return 100 * (1 - before / after)


def years(hours: float) -> float:
    return hours / HOURS_PER_YEAR


def ten_years(mean_hours: float) -> float:
    """Chance within ten years at a constant rate, as of one drive that lives so long on average."""
    one = protection(members=1, redundancy=0, mttf_hours=mean_hours)
    return 100 * float(loss_probability(one, 10.0).array)


def unread(drives: int, drive_bytes: float, rate: float) -> float:
    return 100 * float(unreadable_probability(drives, drive_bytes, rate))


def latent_pct(media: str, end: str, years: float) -> float:
    """Drives of a hundred with an unnoticed error, these having waited so long on average."""
    interval = 2 * years * HOURS_PER_YEAR
    rate = 0.4 if end == "low" else 0.0  # a ceiling that is out of the way
    found = error_rates(rate, 1e12, media, scrub_hours=interval, unscrubbed_hours=interval)
    return 100 * float(getattr(found, end)) * 8e12


def sweep_minutes() -> float:
    size, turn = 949 * 14 * 48 * 512, 13.9e-3
    return 60 * float(rebuild_hours(size, 48 * 512 / turn / 1e6))


def annual_pct(mttf_hours: float) -> float:
    # Hours of a year over hours gives per cent, over per cent hours: the formula is its inverse.
    return float(mttf_from_annual_pct(mttf_hours))


def field_pct(media: str, which: str) -> float:
    """Drives replaced of a hundred that run a year, at the rate a quote takes."""
    mttf = float(getattr(mttf_range(np.nan, media), which))
    one = protection(members=100, redundancy=0, mttf_hours=mttf)
    return HOURS_PER_YEAR / float(mean_hours_to_loss(one))


COMPUTED: dict[str, Callable[[], float]] = {
    "1988.level0": lambda: float(
        mean_hours_to_loss(protection(members=100, redundancy=0, mttf_hours=30_000))
    ),
    "1988.level2.g10": lambda: level_1988(14, 10),
    "1988.level5.g10": lambda: level_1988(11, 10),
    "1988.level5.g25": lambda: level_1988(26, 4),
    "1988.mirrored": lambda: level_1988(2, 100),
    "1992.sweep": sweep_minutes,
    "1994.one_redundant": lambda: years(
        rare_mean(100 / 16, 1.0, 1, members=16, redundancy=1, mttf_hours=200_000)
    ),
    "1994.read.100GB": lambda: unread(1, 1e11, 1e-14),
    "1994.drive_readable": lambda: 100 - unread(1, 5e9, 1e-14),
    "1994.two_drives": lambda: years(TWO),
    "1994.two_drives.10y": lambda: ten_years(TWO),
    "1994.sector": lambda: years(SECTOR),
    "1994.sector.10y": lambda: ten_years(SECTOR),
    "1994.no_crash": lambda: years(NO_CRASH),
    "1994.no_crash.10y": lambda: ten_years(round(years(NO_CRASH)) * HOURS_PER_YEAR),
    "1994.pq.sector": lambda: years(PQ_SECTOR),
    "1994.pq.sector.10y": lambda: ten_years(PQ_SECTOR),
    "2007.mttdl": lambda: years(ELERATH_MEAN),
    "2007.losses_per_1000": lambda: (
        1000 * 10 * float(losses_per_year(ten_years(ELERATH_MEAN) / 100, 10))
    ),
    "2010.recovery.three": lambda: fewer_losses(2, 0.9),
    "afr.1Mh": lambda: annual_pct(1_000_000),
    "afr.sheet": lambda: annual_pct(1_000_000),
    "afr.sheet.1.5Mh": lambda: annual_pct(1_500_000),
    "field.hdd.mean": lambda: field_pct("hdd", "expected"),
    "field.hdd.third_year": lambda: field_pct("hdd", "worst"),
    "field.ssd.mean": lambda: field_pct("ssd", "expected"),
    "field.ssd.worst": lambda: field_pct("ssd", "worst"),
    "read.1TB": lambda: unread(1, 1e12, 1e-14),
    "read.500GB.mean": lambda: float(unreadable_sectors(1, 5e11, 1e-14)),
    "latent.hdd.enterprise": lambda: latent_pct("hdd", "low", 1),
    "latent.hdd.worst": lambda: latent_pct("hdd", "high", 2),
    "latent.ssd.best": lambda: latent_pct("ssd", "low", 4),
    "latent.ssd.worst": lambda: latent_pct("ssd", "high", 4),
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
    formula = published.two_drives_1994(200_000, 20_000, 1, N_1994, 16)
    sector = published.drive_and_sector_1994(200_000, N_1994, 16, 0.9996)
    both = published.first_of(formula, sector)
    assert pytest.approx(formula, rel=1e-3) == TWO
    assert pytest.approx(sector, rel=1e-3) == SECTOR
    assert pytest.approx(both, rel=1e-3) == NO_CRASH
    lost = loss_probability(protection(rebuild_hours=1.0, **TABLE_4, **NOISY), 10)
    # Any data: both causes; the array: two drives alone, though sectors are unreadable as well.
    for one, mean_hours in ((lost.any_data, both), (lost.array, formula)):
        all_groups = -np.expm1(N_1994 / 16 * np.log1p(-one))
        within = published.chance_within(float(mean_hours), 10)
        assert float(all_groups) == pytest.approx(within, rel=1e-3)


def test_1988_groups_are_the_chain_in_its_limit() -> None:
    for members, data, check in ((11, 10, 1), (26, 25, 1), (2, 1, 1), (14, 10, 4)):
        formula = published.group_mttf_1988(30_000, 1, 100, data, check)
        assert level_1988(members, 100 / data) == pytest.approx(float(formula), rel=1e-6)
