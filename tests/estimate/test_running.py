"""Flash wear, power and its cost."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate import running

POSITIVE = st.floats(1e-3, 1e6)


@given(capacity=POSITIVE, per_day=st.floats(0.01, 100), years=st.floats(0.5, 10))
def test_writing_as_rated_lasts_as_long_as_rated(
    capacity: float, per_day: float, years: float
) -> None:
    rated = running.rated_writes_tb(capacity, per_day, years)
    assert float(running.years_to_rating(rated, capacity * per_day)) == pytest.approx(years)


def test_host_writes_are_spread_and_multiplied() -> None:
    # a mirror of eight: every drive takes a quarter of what the host writes
    assert float(running.drive_writes_gb_per_day(400, 2, 8)) == 100.0
    rated = running.rated_writes_tb(960, 1, 5)
    assert float(rated) == 960 * 365 * 5 / 1000
    assert float(running.years_to_rating(rated, 100)) == pytest.approx(1752e3 / 36_500)
    assert np.isinf(running.years_to_rating(rated, 0))


def test_wear_is_element_by_element_and_says_when_not_known() -> None:
    daily = running.drive_writes_gb_per_day([100, 200, np.nan], [1, 4, 2], [4, 8, 4])
    for i, (host, factor, drives) in enumerate([(100, 1, 4), (200, 4, 8)]):
        assert daily[i] == running.drive_writes_gb_per_day(host, factor, drives)
    assert np.isnan(daily[2])
    # a flash drive without a rating: not known, never infinite
    assert np.isnan(running.years_to_rating(running.rated_writes_tb(960, np.nan, 5), 0))


def test_heat_energy_and_share() -> None:
    assert float(running.heat_btu_per_hour(500)) == pytest.approx(1706.0)
    assert float(running.kwh_per_year(1000)) == 8760.0
    assert float(running.supply_share(400, 800)) == 0.5
    np.testing.assert_array_equal(running.heat_btu_per_hour([0, 1, np.nan]), [0, 3.412, np.nan])


@given(idle=st.floats(0, 500), more=st.floats(0, 500), share=st.floats(0, 1))
def test_mean_power_lies_between_idle_and_active(idle: float, more: float, share: float) -> None:
    mean = float(running.mean_watts(idle, idle + more, share))
    assert idle * (1 - 1e-12) <= mean <= (idle + more) * (1 + 1e-12)
    assert float(running.mean_watts(idle, idle + more, 0)) == idle
    assert float(running.mean_watts(idle, idle + more, 1)) == idle + more


def test_cost_is_exact_money() -> None:
    # re-derived by hand: 412.5 W x 8.76 = 3613.5 kWh, at 0.289
    assert running.cost_per_year(412.5, Decimal("0.289")) == Decimal("1044.3015")
    assert running.cost_per_year(Decimal("0.1"), Decimal("0.1")) == Decimal("0.0876")
    # the shortest decimal of a float, not its binary expansion
    assert running.cost_per_year(0.1, Decimal("0.1")) == Decimal("0.0876")
    with pytest.raises(TypeError, match="money is never a float"):
        running.cost_per_year(100.0, 0.3)  # type: ignore[arg-type]


def test_mean_power_by_hand() -> None:
    # 100 W idle, 200 W active, a quarter of the time at work: 75 + 50.
    assert float(running.mean_watts(100, 200, 0.25)) == 125
    assert running.mean_watts([6, 7], [10, 11], 0.5).tolist() == [8, 9]


def test_the_least_that_can_be() -> None:
    """Just at a limit, or just above one that is left out, there is a figure still."""
    assert float(running.mean_watts(0, 0, 0)) == 0
    assert float(running.mean_watts(5, 5, 1)) == 5
    assert float(running.heat_btu_per_hour(0)) == float(running.kwh_per_year(0)) == 0
    assert float(running.supply_share(0, 0.5)) == 0
    assert float(running.supply_share(0.25, 0.5)) == 0.5
    assert running.cost_per_year(0.0, Decimal(0)) == 0
    assert running.cost_per_year(Decimal("0.5"), Decimal("0.5")) == Decimal("2.19")
    assert float(running.rated_writes_tb(0.5, 0.5, 0.5)) == 0.125 * 365 / 1000
    assert float(running.drive_writes_gb_per_day(0, 1, 1)) == 0
    assert float(running.drive_writes_gb_per_day(3, 1, 1)) == 3
    assert float(running.years_to_rating(0.5, 0.5)) == pytest.approx(1000 / 365)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: running.rated_writes_tb(0, 1, 5), "capacity_gb must be above 0"),
        (lambda: running.rated_writes_tb(960, 0, 5), "writes_per_day must be above 0"),
        (lambda: running.rated_writes_tb(960, 1, -5), "warranty_years must be above 0"),
        (lambda: running.drive_writes_gb_per_day(-1, 1, 4), "host_gb_per_day must be at least 0"),
        (
            lambda: running.drive_writes_gb_per_day(1, 0.5, 4),
            "array_write_factor must be at least 1",
        ),
        (lambda: running.drive_writes_gb_per_day(1, 1, 0), "drives must be at least 1"),
        (lambda: running.drive_writes_gb_per_day(1, 1, 2.5), "drives must be whole"),
        (lambda: running.years_to_rating(0, 1), "rated_tb must be above 0"),
        (lambda: running.years_to_rating(1, -1), "drive_gb_per_day must be at least 0"),
        (lambda: running.mean_watts(5, 4, 0.5), "active_w must be at least idle_w"),
        (lambda: running.mean_watts(4, 5, 1.5), "active_share must be at most 1"),
        (lambda: running.heat_btu_per_hour(-1), "watts must be at least 0"),
        (lambda: running.kwh_per_year(-1), "watts must be at least 0"),
        (lambda: running.supply_share(1, 0), "supply_w must be above 0"),
        (lambda: running.cost_per_year(-1.0, Decimal(1)), "watts is -1.0"),
        (lambda: running.cost_per_year(float("nan"), Decimal(1)), "watts is NaN"),
        (lambda: running.cost_per_year(1.0, Decimal(-1)), "price_per_kwh is -1"),
    ],
)
def test_impossible_inputs_are_refused(call: Callable[[], object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()
