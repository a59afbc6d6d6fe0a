"""Hours without the data: by hand, at the ends, and against a simulation of losses and restores."""

from __future__ import annotations

import numpy as np
import pytest

from quotelib.estimate.changing import COPY_MB_S
from quotelib.estimate.reliability.availability import (
    NOTICE_HOURS,
    hours_without_data,
    losses_per_year,
    restore_rates_mb_s,
)


def test_rare_losses_by_hand() -> None:
    # One chance in a hundred over five years, two days each: 0.0965 h a year.
    rate = losses_per_year(0.01, 5)
    assert float(rate) == pytest.approx(0.00201, abs=1e-6)
    assert float(hours_without_data(rate, 48)) == pytest.approx(0.0965, abs=1e-4)
    # A loss a year that takes a year to mend: half the time.
    assert float(hours_without_data(1.0, 8760.0)) == pytest.approx(4380)


def test_chances_keep_their_digits() -> None:
    assert float(losses_per_year(1e-18, 5)) == pytest.approx(2e-19, rel=1e-15)
    assert float(hours_without_data(2e-19, 50)) == pytest.approx(1e-17, rel=1e-14)


def test_against_a_simulation() -> None:
    rng = np.random.default_rng(8)
    for per_year, each in ((2.0, 40.0), (30.0, 100.0), (200.0, 30.0)):
        up = rng.exponential(8760 / per_year, 200_000)
        down = rng.exponential(each, 200_000)
        share = down.sum() / (up.sum() + down.sum())
        assert float(hours_without_data(per_year, each)) == pytest.approx(8760 * share, rel=0.01)


def test_the_ends() -> None:
    assert float(losses_per_year(0.0, 5)) == 0
    assert np.isinf(losses_per_year(1.0, 5))
    assert float(hours_without_data(0.0, 48)) == 0
    assert float(hours_without_data(np.inf, 48)) == 8760
    assert float(hours_without_data(np.inf, 0.0)) == 0
    assert float(hours_without_data(5.0, 0.0)) == 0
    assert np.isnan(hours_without_data(np.nan, 48))
    assert np.isnan(hours_without_data(1.0, np.nan))
    assert np.isnan(losses_per_year(np.nan, 5))


def test_more_losses_and_longer_restores_never_shorten_it() -> None:
    rng = np.random.default_rng(1)
    chance, years = rng.uniform(0, 1, 1000) ** 6, rng.uniform(0.1, 20, 1000)
    hours = rng.uniform(0, 2000, 1000)
    base = hours_without_data(losses_per_year(chance, years), hours)
    assert (base <= 8760).all()
    more = hours_without_data(losses_per_year(chance + (1 - chance) / 9, years), hours)
    longer = hours_without_data(losses_per_year(chance, years), hours * 1.3 + 1)
    assert (more >= base).all() and (longer >= base).all()
    for i in range(0, 1000, 83):
        one = hours_without_data(losses_per_year(chance[i], years[i]), hours[i])
        assert one == base[i]


def test_rates_of_a_restore() -> None:
    assert restore_rates_mb_s() == COPY_MB_S
    assert restore_rates_mb_s(200.0) == (200.0, 200.0, 100.0)
    fast, usual, slow = restore_rates_mb_s()
    assert fast > usual > slow
    assert list(NOTICE_HOURS) == sorted(NOTICE_HOURS)


@pytest.mark.parametrize(
    ("chance", "years", "words"),
    [(-0.1, 5, "chance must be at least 0"), (1.1, 5, "chance must be at most 1"),
     (0.1, 0, "years must be above 0")],
)  # fmt: skip
def test_impossible_chances_are_refused(chance: float, years: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        losses_per_year(chance, years)


def test_impossible_hours_are_refused() -> None:
    with pytest.raises(ValueError, match="losses a year must be at least 0"):
        hours_without_data(-1, 5)
    with pytest.raises(ValueError, match="hours until the data is back must be at least 0"):
        hours_without_data(1, -5)
    with pytest.raises(ValueError, match="hours until the data is back must be finite"):
        hours_without_data(1, np.inf)
    with pytest.raises(ValueError, match="restore rate in MB/s must be above 0"):
        restore_rates_mb_s(0)
