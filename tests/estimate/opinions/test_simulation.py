"""The simulation against closed forms, and the chain against the simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from quotelib.estimate.reliability.loss import loss_probability
from quotelib.estimate.reliability.protection import Protection
from quotelib.units import HOURS_PER_YEAR
from tests.estimate.opinions.simulation import Weibull, interval, simulate
from tests.estimate.shapes import groups_of

# Rates far worse than any product's, so that a fixed number of trials sees a thousand losses:
# level, members, spans, mean life h, rebuild h, replacement h, bad sector per rebuild, years,
# trials.
LAYOUTS = [
    ("none", 4, 1, 2.0e5, 10.0, 0.0, 0.0, 5.0, 10_000),
    ("0", 6, 1, 5.0e5, 10.0, 0.0, 0.0, 5.0, 10_000),
    ("1", 2, 1, 2.0e4, 100.0, 0.0, 0.0, 3.0, 100_000),
    ("1", 2, 1, 2.0e4, 60.0, 90.0, 0.5, 1.0, 20_000),
    ("5", 5, 1, 5.0e4, 50.0, 0.0, 0.1, 2.0, 20_000),
    ("5", 12, 1, 8.0e4, 30.0, 48.0, 0.0, 2.0, 60_000),
    ("6", 8, 1, 1.5e4, 80.0, 0.0, 0.0, 4.0, 100_000),
    ("6", 8, 1, 1.5e4, 60.0, 60.0, 0.3, 2.0, 20_000),
    ("10", 8, 1, 3.0e4, 80.0, 24.0, 0.05, 2.0, 20_000),
    ("50", 10, 2, 4.0e4, 40.0, 40.0, 0.0, 2.0, 60_000),
    ("60", 12, 2, 8.0e3, 70.0, 50.0, 0.0, 2.0, 30_000),
    ("60", 15, 3, 1.0e4, 60.0, 30.0, 0.4, 1.0, 20_000),
]


def rate_for(unreadable: float, bits: float) -> float:
    return float(-np.expm1(np.log1p(-unreadable) / bits))


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda x: f"{x[0]}x{x[1]}q{x[6]}")
def test_chain_lies_inside_the_99_pct_interval_of_the_simulation(
    layout: tuple[str, int, int, float, float, float, float, float, int],
) -> None:
    level, members, spans, mttf, rebuild, wait, unreadable, years, trials = layout
    shape = groups_of(level, members, spans)
    n, k, groups = (int(x) for x in (shape.members, shape.redundancy, shape.groups))
    simulated = simulate(
        trials,
        years,
        members=n,
        redundancy=k,
        groups=groups,
        life=Weibull(mttf),
        rebuild=Weibull(rebuild),
        replacement=Weibull(wait) if wait else None,
        unreadable=unreadable,
        seed=20_240_601,
    )
    chain = loss_probability(
        Protection(
            members=n,
            redundancy=k,
            groups=groups,
            mttf_hours=mttf,
            rebuild_hours=rebuild,
            replacement_hours=wait,
            drive_bytes=1e12,
            bit_error_rate=rate_for(unreadable, 8e12 * (n - k)),
        ),
        years,
    )
    assert simulated.losses > 1000
    assert simulated.low <= float(chain.any_data) <= simulated.high
    # The array survives a bad sector, and may be lost later.
    assert simulated.arrays > 20
    assert simulated.array_low <= float(chain.array) <= simulated.array_high
    if unreadable:
        assert simulated.arrays < simulated.losses
        # Three standard errors: 99.7 %.
        assert abs(float(chain.strips) - simulated.strips) < 3 * simulated.strips_error
    else:
        assert simulated.arrays == simulated.losses and chain.strips == simulated.strips == 0


def bare(life: Weibull, years: float, members: int = 1, trials: int = 200_000) -> float:
    found = simulate(
        trials, years, members=members, redundancy=0, life=life, rebuild=Weibull(1.0),
        replacement=None, unreadable=0.0, seed=3,
    )  # fmt: skip
    assert found.low <= found.probability <= found.high
    return found.probability


@pytest.mark.parametrize("shape", [0.6, 1.0, 1.12, 3.0])
@pytest.mark.parametrize("members", [1, 4])
def test_first_failures_follow_the_weibull_law(shape: float, members: int) -> None:
    years, scale = 5.0, 2e5
    expected = -math.expm1(-members * (years * HOURS_PER_YEAR / scale) ** shape)
    error = math.sqrt(expected * (1 - expected) / 200_000)
    assert abs(bare(Weibull(scale, shape), years, members) - expected) < 4 * error


def double(
    life: Weibull, rebuild: Weibull, years: float = 2.0, seed: int = 5, trials: int = 200_000
) -> float:
    return simulate(
        trials, years, members=8, redundancy=2, life=life, rebuild=rebuild, replacement=None,
        unreadable=0.0, seed=seed,
    ).probability  # fmt: skip


def test_early_failures_lose_more_in_the_first_years_and_wear_out_less() -> None:
    """Same mean life, 8000 h: shape below 1 brings failures forward, above 1 delays them."""
    rates = [
        double(Weibull(8000 / math.gamma(1 + 1 / shape), shape), Weibull(100.0), years=0.25)
        for shape in (0.7, 1.0, 2.0)
    ]
    assert rates[0] > 1.3 * rates[1] > 1.3 * 1.3 * rates[2]


def test_shape_of_the_repair_hardly_matters_if_its_mean_is_kept() -> None:
    """Drives under parallel repair: the number failed depends on the mean only (Engset)."""
    life = Weibull(1.0e4)
    exponential = double(life, Weibull(80.0), trials=60_000)
    even = double(life, Weibull(80.0 / math.gamma(1 + 1 / 3), 3.0), trials=60_000)
    assert even == pytest.approx(exponential, rel=0.15)


def test_same_seed_same_result_other_seed_another() -> None:
    life, rebuild = Weibull(1.0e4), Weibull(80.0)
    found = [double(life, rebuild, seed=seed, trials=10_000) for seed in (1, 1, 2)]
    assert found[0] == found[1] != found[2]


def test_the_end_of_a_batch_is_not_special() -> None:
    """Trials beyond one batch, and a last one that is short."""
    found = simulate(
        123_457, 1.0, members=8, redundancy=0, life=Weibull(1e6), rebuild=Weibull(1.0),
        replacement=None, unreadable=0.0, seed=9,
    )  # fmt: skip
    assert found.trials == 123_457
    assert found.low <= -math.expm1(-8 * HOURS_PER_YEAR / 1e6) <= found.high


@pytest.mark.parametrize("trials", [1, 10, 1000])
@pytest.mark.parametrize("confidence", [0.9, 0.99])
def test_interval_of_no_losses_has_its_closed_form(trials: int, confidence: float) -> None:
    """Re-derived: zero of n is seen with probability (1 - p)^n."""
    low, high = interval(0, trials, confidence)
    assert low == 0.0
    assert high == pytest.approx(1 - ((1 - confidence) / 2) ** (1 / trials), rel=1e-9)
    assert interval(trials, trials, confidence) == pytest.approx((1 - high, 1.0))


def test_interval_covers_at_least_as_often_as_it_says() -> None:
    from scipy.stats import binom

    n = 40
    for p in (0.01, 0.1, 0.37):
        covered = sum(
            float(binom.pmf(x, n, p))
            for x in range(n + 1)
            if interval(x, n, 0.95)[0] <= p <= interval(x, n, 0.95)[1]
        )
        assert covered >= 0.95


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"trials": 0}, "trials must be at least 1"),
        ({"years": 0.0}, "years finite and above 0"),
        ({"members": 0}, "more members than redundancy"),
        ({"redundancy": 8}, "more members than redundancy"),
        ({"groups": 0}, "at least"),
        ({"unreadable": 1.5}, "right would be between 0 and 1"),
    ],
)
def test_impossible_inputs_are_refused(fields: dict[str, float], says: str) -> None:
    plain = {
        "trials": 10, "years": 1.0, "members": 8, "redundancy": 2, "life": Weibull(1e5),
        "rebuild": Weibull(10.0), "replacement": None, "unreadable": 0.0, "seed": 1,
    }  # fmt: skip
    with pytest.raises(ValueError, match=says):
        simulate(**{**plain, **fields})  # type: ignore[arg-type]


@pytest.mark.parametrize("bad", [(0.0, 1.0), (1.0, 0.0), (math.inf, 1.0), (1.0, math.nan)])
def test_no_distribution_is_refused(bad: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="right would be a finite number above 0"):
        Weibull(*bad)


@pytest.mark.parametrize("bad", [(1, 0, 0.9), (-1, 5, 0.9), (6, 5, 0.9), (1, 5, 1.0)])
def test_no_proportion_is_refused(bad: tuple[int, int, float]) -> None:
    with pytest.raises(ValueError, match="right would be"):
        interval(*bad)
