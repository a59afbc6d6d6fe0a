"""Unreadable sectors: the data sheet's ceiling between the ends that field studies give."""

from __future__ import annotations

import numpy as np
import pytest

from quotelib.estimate.reliability import latent_errors
from quotelib.estimate.reliability.latent_errors import error_rates, unnoticed_per_drive
from quotelib.units import HOURS_PER_YEAR

YEAR = float(HOURS_PER_YEAR)


def test_errors_wait_half_an_interval_against_a_simulation() -> None:
    """Errors at random moments, a scrub every 30 days, a rebuild at a random moment."""
    rng = np.random.default_rng(2)
    years, pct, interval = 2000.0, 40.0, 30 * 24.0
    errors = rng.uniform(0, years * YEAR, rng.poisson(pct / 100 * years * 50))  # of fifty drives
    found = (np.floor(errors / interval) + 1) * interval
    looks = rng.uniform(0, years * YEAR, 4000)
    there = ((errors <= looks[:, None]) & (found > looks[:, None])).sum() / looks.size / 50
    assert there == pytest.approx(float(unnoticed_per_drive(pct, interval / 2)), rel=0.05)


def test_a_disk_by_hand() -> None:
    """Ten of a hundred disks a year, five years unscrubbed: one drive in four has an error."""
    found = error_rates(1e-15, 1e13, "hdd", scrub_hours=YEAR / 12, unscrubbed_hours=5 * YEAR)
    assert float(found.expected) == 1e-15
    assert float(found.high) == pytest.approx(0.25 / 8e13)
    assert float(found.low) == pytest.approx(0.014 / 24 / 8e13)


def test_the_ceiling_lies_between_the_ends() -> None:
    for media in ("hdd", "ssd"):
        for rate in (0.0, 1e-18, 1e-17, 1e-16, 1e-15, 1e-14, 1e-3, 0.9):
            for size in (0.0, 1e9, 1e12, 3e13):
                for hours in (0.0, 24.0, 720.0, 9e4):
                    found = error_rates(
                        rate, size, media, scrub_hours=hours, unscrubbed_hours=hours
                    )
                    assert 0 <= found.low <= found.expected == rate <= found.high < 1
    # Scrubbed all the time, nothing waits; a ceiling of nothing is taken at its word.
    assert float(error_rates(1e-15, 1e13, "hdd", scrub_hours=0).low) == 0
    assert float(error_rates(0, 1e13, "hdd").low) == float(error_rates(0, 1e13, "hdd").expected)


def test_worse_habits_and_sheets_never_lower_an_end() -> None:
    rng = np.random.default_rng(4)
    rates, sizes = 10 ** rng.uniform(-18, -13, 1000), 10 ** rng.uniform(11, 13.5, 1000)
    days, media = rng.uniform(1, 400, 1000), rng.choice(["hdd", "ssd"], 1000)
    hours = 24 * days

    def ends(rate: object, more: float) -> latent_errors.ErrorRates:
        return error_rates(
            rate,
            sizes,
            media,
            scrub_hours=hours * more,
            unscrubbed_hours=hours * more,  # type: ignore[arg-type]
        )

    plain, seldom, noisy = ends(rates, 1), ends(rates, 3), ends(rates * 7, 1)
    for worse in (seldom, noisy):
        assert (worse.low >= plain.low).all() and (worse.high >= plain.high).all()
    assert (seldom.low > plain.low).any() and (seldom.high > plain.high).any()


def test_not_known_in_not_known_out() -> None:
    found = error_rates(np.nan, 1e13, "ssd")
    assert np.isnan([found.low, found.expected, found.high]).all()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bit_error_rate": 1.0}, "bit_error_rate must be below 1"),
        ({"bit_error_rate": -1e-15}, "bit_error_rate must be at least 0"),
        ({"drive_bytes": -1}, "drive_bytes must be at least 0"),
        ({"scrub_hours": -1}, "hours between two scrubs must be at least 0"),
        ({"unscrubbed_hours": -1}, "hours between two scrubs must be at least 0"),
    ],
)
def test_impossible_inputs_are_refused(change: dict[str, float], words: str) -> None:
    given = {"bit_error_rate": 1e-15, "drive_bytes": 1e13, "media": "hdd", **change}
    with pytest.raises(ValueError, match=words):
        error_rates(**given)  # type: ignore[arg-type]


def test_unnoticed_errors_are_checked_too() -> None:
    with pytest.raises(ValueError, match="errors a year in per cent of drives"):
        unnoticed_per_drive(-1, 1)
    with pytest.raises(ValueError, match="hours unnoticed must be at least 0"):
        unnoticed_per_drive(1, -1)
