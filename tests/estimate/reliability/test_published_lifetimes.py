"""Every published figure of `published_risk`, and the closed formulas against the chain."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from quotelib.estimate.reliability.field_rates import mttf_from_annual_pct, mttf_range
from quotelib.estimate.reliability.latent_errors import error_rates
from quotelib.estimate.reliability.loss import loss_probability, mean_hours_to_loss
from quotelib.estimate.reliability.protection import (
    Protection,
    unreadable_probability,
    unreadable_sectors,
)
from quotelib.estimate.running import (
    LIFTING_CONSTANT_KG,
    cost_per_year,
    heat_btu_per_hour,
    kwh_per_year,
    mean_watts,
    rated_writes_tb,
)
from quotelib.estimate.shape import array_shape
from quotelib.units import HOURS_PER_YEAR
from tests.estimate.opinions import published_lifetimes as published
from tests.estimate.published import Published
from tests.estimate.published_risk import LIFTING, PUBLISHED_RISK

N_1994 = 100 * 16 / 15
TWO = published.two_drives_1994(200_000, 20_000, 1, N_1994, 16)
SECTOR = published.drive_and_sector_1994(200_000, N_1994, 16, 0.9996)
NO_CRASH = published.first_of(TWO, SECTOR)


def protection(**fields: object) -> Protection:
    plain = {
        "rebuild_hours": 10.0,
        "replacement_hours": 0.0,
        "drive_bytes": 0.0,
        "bit_error_rate": 0.0,
    }
    return Protection(**{**plain, **fields})  # type: ignore[arg-type]


def years(hours: object) -> float:
    return float(np.asarray(hours)) / HOURS_PER_YEAR


def ten_years(hours: object) -> float:
    return 100 * published.chance_within(float(np.asarray(hours)), 10)


def unread(drives: int, drive_bytes: float, rate: float) -> float:
    return 100 * float(unreadable_probability(drives, drive_bytes, rate))


def single_1988(drives: int, groups: int) -> float:
    """Hours to loss of groups of disks with one spare each, as Patterson, Gibson and Katz set."""
    made = protection(
        members=drives, redundancy=1, groups=groups, mttf_hours=30_000, rebuild_hours=1
    )
    return float(mean_hours_to_loss(made))


# Table 4's causes of loss, for a group of 16. A rebuild in no time leaves the sectors alone.
RATE_1994 = float(-np.expm1(np.log(0.9996) / 4e10))  # 99.96 % of drives of 5 GB can be read
_SECTORS = {"drive_bytes": 5e9, "bit_error_rate": RATE_1994}
_SECOND = {"after_failure_factor": 10.0, "rebuild_hours": 1.0}
CAUSES: dict[str, dict[str, float]] = {
    "two": _SECOND,
    "sector": {**_SECTORS, "rebuild_hours": 1e-6},
    "both": {**_SECOND, **_SECTORS},
}


def of_1994(cause: str) -> Protection:
    return protection(members=16, redundancy=1, mttf_hours=200_000, **CAUSES[cause])


def years_1994(cause: str) -> float:
    return years(mean_hours_to_loss(of_1994(cause))) * 16 / N_1994


def within_1994(cause: str) -> float:
    one = loss_probability(of_1994(cause), 10).any_data
    return 100 * float(-np.expm1(N_1994 / 16 * np.log1p(-one)))


ELERATH = {"members": 8, "redundancy": 1, "mttf_hours": 461_386, "rebuild_hours": 12}


def usable_pct(drives: int, parity: int, copies: int = 1) -> float:
    return 100 * float(array_shape(drives, 1, parity, copies).data_members) / drives


def annual_pct(mttf_hours: float) -> float:
    # Hours of a year over hours gives per cent, over per cent hours: the formula is its inverse.
    return float(mttf_from_annual_pct(mttf_hours))


def field_pct(media: str, which: str) -> float:
    return annual_pct(float(getattr(mttf_range(np.nan, media), which)))


def kwh(watts: float, hours_a_year: float) -> float:
    return float(kwh_per_year(mean_watts(0, watts, hours_a_year / HOURS_PER_YEAR)))


def dollars(watts: float, hours_a_year: float) -> float:
    mean = float(mean_watts(0, watts, hours_a_year / HOURS_PER_YEAR))
    return float(cost_per_year(mean, Decimal("0.085")))


BRIEF = 1e-4  # repairs so much shorter leave the papers' first-order terms alone


def rare_mean(groups: float, repair_hours: float, times: int, **fields: object) -> float:
    """Mean hours to loss by the chain a quote uses, in the limit that the papers' formulas are.

    They hold for repairs that are short beside lifetimes. With repairs ten thousand times as short
    the chain is there, and the mean is as many times longer for each repair that has to be
    overtaken (`times`).
    """
    chain = mean_hours_to_loss(protection(rebuild_hours=repair_hours * BRIEF, **fields))
    return float(chain) * BRIEF**times / groups


def double_parity_1994() -> float:
    """Table 6: 100 drives' worth of data, 14 of 16 in a group, and bad sectors."""
    noisy = {"drive_bytes": 5e9, "bit_error_rate": 1e-14, "after_failure_factor": 10.0}
    groups = 100 / 14
    return years(rare_mean(groups, 1.0, 1, members=16, redundancy=2, mttf_hours=200_000, **noisy))


def fewer_losses(times: int, faster: float) -> float:
    """Per cent fewer losses of a group of `times` + 1 copies where repairs are faster."""
    before, after = (
        rare_mean(1, hours, times, members=times + 1, redundancy=times, mttf_hours=3000.0)
        for hours in (1.0, faster)
    )
    return 100 * (1 - before / after)


def latent_pct(media: str, end: str, waited_years: float) -> float:
    """Drives of a hundred with an unnoticed error, these having waited so long on average."""
    interval = 2 * waited_years * HOURS_PER_YEAR
    rate = 0.4 if end == "low" else 0.0  # a ceiling that is out of the way
    found = error_rates(rate, 1e12, media, scrub_hours=interval, unscrubbed_hours=interval)
    return 100 * float(getattr(found, end)) * 8e12


COMPUTED: dict[str, Callable[[], float]] = {
    "1988.level0": lambda: float(
        mean_hours_to_loss(protection(members=100, redundancy=0, mttf_hours=30_000))
    ),
    "1988.level2.g10": lambda: single_1988(14, 10),
    "1988.level5.g10": lambda: single_1988(11, 10),
    "1988.level5.g25": lambda: single_1988(26, 4),
    "1988.mirrored": lambda: single_1988(2, 100),
    "1988.usable.g10": lambda: usable_pct(11, 1),
    "1988.usable.g25": lambda: usable_pct(26, 1),
    "1988.usable.mirrored": lambda: usable_pct(2, 0, 2),
    "1994.one_redundant": lambda: (
        years(
            mean_hours_to_loss(
                protection(members=16, redundancy=1, mttf_hours=200_000, rebuild_hours=1)
            )
        )
        * 16
        / 100
    ),
    "1994.drive_readable": lambda: 100 - unread(1, 5e9, 1e-14),
    "1994.two_drives": lambda: years_1994("two"),
    "1994.two_drives.10y": lambda: within_1994("two"),
    "1994.sector": lambda: years_1994("sector"),
    "1994.sector.10y": lambda: within_1994("sector"),
    "1994.no_crash": lambda: years_1994("both"),
    "1994.no_crash.10y": lambda: within_1994("both"),
    "1994.pq.sector": double_parity_1994,
    "2010.recovery.three": lambda: fewer_losses(2, 0.9),
    "2007.mttdl": lambda: years(mean_hours_to_loss(protection(**ELERATH))),
    "2007.losses_per_1000": lambda: 1000 * float(loss_probability(protection(**ELERATH), 10).array),
    "afr.1Mh": lambda: annual_pct(1_000_000),
    "afr.sheet": lambda: annual_pct(1_000_000),
    "afr.sheet.1.5Mh": lambda: annual_pct(1_500_000),
    "field.hdd.mean": lambda: field_pct("hdd", "expected"),
    "field.hdd.third_year": lambda: field_pct("hdd", "worst"),
    "field.ssd.mean": lambda: field_pct("ssd", "expected"),
    "field.ssd.worst": lambda: field_pct("ssd", "worst"),
    "latent.hdd.enterprise": lambda: latent_pct("hdd", "low", 1),
    "latent.hdd.worst": lambda: latent_pct("hdd", "high", 2),
    "latent.ssd.best": lambda: latent_pct("ssd", "low", 4),
    "latent.ssd.worst": lambda: latent_pct("ssd", "high", 4),
    "read.1TB": lambda: unread(1, 1e12, 1e-14),
    # As many bits as one error is rated for.
    "read.as_rated": lambda: unread(1, 12.5e12, 1e-14),
    "read.500GB.mean": lambda: float(unreadable_sectors(1, 5e11, 1e-14)),
    "wear.200GB": lambda: float(rated_writes_tb(200, 1, 5)),
    "wear.200GB.10": lambda: float(rated_writes_tb(200, 10, 5)),
    "power.btu": lambda: float(heat_btu_per_hour(1)),
    "power.joule": lambda: 3600 / float(heat_btu_per_hour(1)),
    "power.fan_kwh": lambda: kwh(200, 4 * 120),
    "power.computer_kwh": lambda: kwh(270, 4 * 365),
    "power.fan_dollars": lambda: dollars(200, 4 * 120),
    "power.computer_dollars": lambda: dollars(270, 4 * 365),
    "power.fridge_day": lambda: float(mean_watts(0, 1200, 0.2)) * 24 / 1000,
    "power.fridge_year": lambda: float(kwh_per_year(mean_watts(0, 1200, 0.2))),
}


@pytest.mark.parametrize("row", PUBLISHED_RISK, ids=lambda row: row.key)
def test_agrees_with_the_published_value(row: Published) -> None:
    assert row.agrees(COMPUTED[row.key]()), (row, COMPUTED[row.key]())


def test_lifting_constant_is_the_published_one() -> None:
    kg, lb = LIFTING
    assert kg.agrees(LIFTING_CONSTANT_KG)
    assert lb.agrees(LIFTING_CONSTANT_KG / 0.453_592_37)


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
