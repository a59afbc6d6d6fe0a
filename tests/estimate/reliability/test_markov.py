"""The absorbing chain against exact rational arithmetic, long decimals and scipy."""

from __future__ import annotations

import decimal
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

from quotelib.estimate.reliability.markov import row_sums
from tests.estimate.reliability.absorbing import (
    absorption_probability,
    counted_before,
    mean_time_to_absorption,
)

Chain = tuple[np.ndarray, np.ndarray]


def repairable(
    members: int, redundancy: int, fail: float, repair: float, parallel: bool = True
) -> Chain:
    """Failed drives of one group; absorption is one failure too many."""
    size = redundancy + 1
    rates, absorption = np.zeros((size, size)), np.zeros((size, 1))
    for failed in range(size):
        if failed < redundancy:
            rates[failed, failed + 1] = (members - failed) * fail
        if failed:
            rates[failed, failed - 1] = (failed if parallel else 1) * repair
    absorption[-1, 0] = (members - redundancy) * fail
    return rates, absorption


def exact_mean(rates: np.ndarray, absorption: np.ndarray) -> Fraction:
    """Solve (diagonal - rates) t = 1 by Gauss in fractions; the floats given are taken exactly."""
    n = len(rates)
    rows = []
    for i in range(n):
        row = [-Fraction(float(x)) for x in rates[i]]
        row[i] = -sum(row[j] for j in range(n) if j != i) + sum(
            Fraction(float(x)) for x in absorption[i]
        )
        rows.append([*row, Fraction(1)])
    for i in range(n):
        pivot = next(r for r in range(i, n) if rows[r][i] != 0)
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for r in range(n):
            if r != i and rows[r][i] != 0:
                f = rows[r][i] / rows[i][i]
                rows[r] = [x - f * y for x, y in zip(rows[r], rows[i], strict=True)]
    return rows[0][n] / rows[0][0]


def exact_absorption(rates: np.ndarray, absorption: np.ndarray, hours: float) -> Decimal:
    """Exponential of the whole generator in 120-digit decimals, by a plain Taylor series."""
    n = len(rates)
    with decimal.localcontext() as context:
        context.prec = 120
        q = [[Decimal(float(x)) for x in row] for row in rates]
        full = [[*q[i], Decimal(float(absorption[i].sum()))] for i in range(n)]
        full.append([Decimal(0)] * (n + 1))
        for i in range(n):
            full[i][i] = -sum(full[i][j] for j in range(n + 1) if j != i)
        fastest = max(-full[i][i] for i in range(n)) * Decimal(hours)
        halvings = max(0, int(fastest).bit_length() + 3)
        scale = Decimal(hours) / 2**halvings

        def times(x: list[list[Decimal]], y: list[list[Decimal]]) -> list[list[Decimal]]:
            return [[sum(a * b for a, b in zip(r, c, strict=True)) for c in zip(*y, strict=True)]
                    for r in x]  # fmt: skip

        step = [[x * scale for x in row] for row in full]
        one = [[Decimal(int(i == j)) for j in range(n + 1)] for i in range(n + 1)]
        total, term = one, one
        for k in range(1, 60):
            term = [[x / k for x in row] for row in times(term, step)]
            total = [[x + y for x, y in zip(r, s, strict=True)]
                     for r, s in zip(total, term, strict=True)]  # fmt: skip
        for _ in range(halvings):
            total = times(total, total)
        return total[0][n]


def with_lu(rates: np.ndarray, absorption: np.ndarray) -> float:
    """What one would write without thinking: LU with pivoting."""
    diagonal = np.diag(rates.sum(axis=1) + absorption.sum(axis=1))
    return float(np.linalg.solve(diagonal - rates, np.ones(len(rates)))[0])


@pytest.mark.parametrize("parallel", [True, False])
@pytest.mark.parametrize(
    ("members", "redundancy"), [(3, 2), (6, 3), (12, 3), (8, 4), (24, 4), (20, 8)]
)
@pytest.mark.parametrize("mttf", [1e3, 1.2e6, 1e9])
def test_mean_is_exact_to_twelve_digits(
    members: int, redundancy: int, mttf: float, parallel: bool
) -> None:
    chain = repairable(members, redundancy, 1 / mttf, 1 / 12.0, parallel)
    exact = exact_mean(*chain)
    got = Fraction(float(mean_time_to_absorption(*chain)[0]))
    assert abs(got / exact - 1) < Fraction(1, 10**13)


def test_lu_loses_the_digits_that_elimination_without_subtraction_keeps() -> None:
    """O'Cinneide 1993; LU wrong in the ninth digit for three copies, wholly for 12+8 (seen)."""
    errors = {}
    for members, redundancy in ((3, 2), (20, 8)):
        chain = repairable(members, redundancy, 1 / 1.2e6, 1 / 12.0)
        exact = exact_mean(*chain)
        lu = float(abs(Fraction(with_lu(*chain)) / exact - 1))
        gth = float(abs(Fraction(float(mean_time_to_absorption(*chain)[0])) / exact - 1))
        errors[redundancy] = lu
        assert gth < 1e-14
    assert errors[2] > 1e-10
    assert errors[8] > 0.5


@pytest.mark.parametrize(("members", "redundancy"), [(2, 1), (8, 2), (12, 3), (16, 4)])
@pytest.mark.parametrize("hours", [0.25, 30.0, 43_800.0])
def test_transient_keeps_twelve_digits_however_small(
    members: int, redundancy: int, hours: float
) -> None:
    chain = repairable(members, redundancy, 1 / 1.2e6, 1 / 12.0)
    exact = exact_absorption(*chain, hours)
    got = Decimal(float(absorption_probability(*chain, hours)[0]))
    assert abs(got / exact - 1) < Decimal("1e-12")
    if redundancy == 4:
        assert exact < Decimal("1e-13")  # one minus a survival would have nothing left


@pytest.mark.parametrize("mttf", [300.0, 3e3, 3e4])
@pytest.mark.parametrize("hours", [10.0, 1e3, 87_600.0])
def test_transient_agrees_with_scipy_where_that_still_has_digits(mttf: float, hours: float) -> None:
    rates, absorption = repairable(8, 2, 1 / mttf, 1 / 10.0)
    full = np.zeros((4, 4))
    full[:3, :3], full[:3, 3:] = rates, absorption
    full -= np.diag(full.sum(axis=1))
    reference = expm(full * hours)[0, 3]
    got = float(absorption_probability(rates, absorption, hours)[0])
    assert got == pytest.approx(reference, rel=1e-9, abs=1e-14)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_chain_against_scipy(data: st.DataObject) -> None:
    """Random generators, not only drives: absorption by each of two causes."""
    n = data.draw(st.integers(1, 5))
    rate = st.one_of(st.just(0.0), st.floats(1e-3, 10.0))
    rates = np.array(data.draw(st.lists(rate, min_size=n * n, max_size=n * n))).reshape(n, n)
    absorption = np.array(data.draw(st.lists(rate, min_size=2 * n, max_size=2 * n))).reshape(n, 2)
    hours = data.draw(st.floats(0.0, 20.0))
    full = np.zeros((n + 2, n + 2))
    full[:n, :n], full[:n, n:] = rates, absorption
    np.fill_diagonal(full, 0.0)
    full -= np.diag(full.sum(axis=1))
    np.testing.assert_allclose(
        absorption_probability(rates, absorption, hours), expm(full * hours)[0, n:], atol=1e-12
    )


def counting(n: int, rate: st.SearchStrategy[float]) -> st.SearchStrategy[tuple[np.ndarray, ...]]:
    """Rates between n states, into two ends, and of two events."""
    shapes = (n, n), (n, 2), (n, 2)
    lists = (st.lists(rate, min_size=a * b, max_size=a * b) for a, b in shapes)
    return st.tuples(*lists).map(
        lambda found: tuple(np.reshape(x, s) for x, s in zip(found, shapes, strict=True))
    )


STILL = np.zeros((1, 1)), np.zeros((1, 2)), np.ones((1, 2))  # hypothesis: counted 0 in an hour


@settings(max_examples=60, deadline=None)
@given(
    chain=st.integers(1, 9).flatmap(
        lambda n: counting(n, st.one_of(st.just(0.0), st.floats(1e-3, 10.0)))
    ),
    hours=st.floats(0.0, 20.0),
)
@example(chain=STILL, hours=1.0)
@example(chain=STILL, hours=20.0)
def test_what_any_chain_counts_against_scipy(chain: tuple[np.ndarray, ...], hours: float) -> None:
    """Van Loan, IEEE Transactions on Automatic Control 23, 1978: the integral of exp(Qs) c ds is
    the corner of the exponential of Q bordered by c (memory, re-derived).
    """
    rates, ends, counts = (x.copy() for x in chain)
    n = len(rates)
    np.fill_diagonal(rates, 0.0)
    bordered = np.zeros((n + 2, n + 2))
    bordered[:n, :n] = rates - np.diag(rates.sum(axis=1) + ends.sum(axis=1))
    bordered[:n, n:] = counts
    lost, counted = counted_before(rates, ends, counts, hours)
    np.testing.assert_allclose(counted, expm(bordered * hours)[0, n:], rtol=1e-9, atol=1e-12)
    # Counting changes nothing of what is counted.
    alone = absorption_probability(rates, ends, hours)
    np.testing.assert_allclose(lost, alone, rtol=1e-13)


@pytest.mark.parametrize("batch", [1, 39, 40, 41, 300])
@pytest.mark.parametrize("terms", [1, 2, 7])
def test_rows_are_added_up_whatever_the_batch(terms: int, batch: int) -> None:
    x = np.random.default_rng(terms).uniform(0, 1, (3, terms, batch))
    np.testing.assert_allclose(row_sums(x), x.sum(axis=1), rtol=1e-14)


def test_what_is_counted_for_ever_is_what_is_counted_until_the_end() -> None:
    """By hand, for one failure survived: E0 = 1 + E1, and E1 = (repair E0) / (repair + end)."""
    rates, absorption = repairable(4, 1, 0.01, 0.2)
    failures = np.array([[0.04], [0.0]])  # of the healthy state
    _, counted = counted_before(rates, absorption, failures, 1e6)
    repair, end = 0.2, 0.03
    assert float(counted[0]) == pytest.approx((repair + end) / end, rel=1e-11)


def test_a_count_does_not_depend_on_those_beside_it() -> None:
    rng = np.random.default_rng(6)
    rates, counts = 10 ** rng.uniform(-6, 0, (30, 9, 9)), 10 ** rng.uniform(-6, 0, (30, 9, 1))
    absorption, hours = 10 ** rng.uniform(-9, -3, (30, 9, 1)), 10 ** rng.uniform(-2, 6, 30)
    _, together = counted_before(rates, absorption, counts, hours)
    for i in range(30):
        _, alone = counted_before(rates[i], absorption[i], counts[i], hours[i])
        assert alone == together[i]


def test_mean_is_the_integral_of_survival() -> None:
    rates, absorption = repairable(4, 2, 0.01, 0.2)
    mean = float(mean_time_to_absorption(rates, absorption)[0])
    hours = np.linspace(0, 60 * mean, 20_001)
    many = (20_001, *rates.shape)
    alive = (
        1
        - absorption_probability(
            np.broadcast_to(rates, many), np.broadcast_to(absorption, (20_001, 3, 1)), hours
        )[:, 0]
    )
    assert float(np.trapezoid(alive, hours)) == pytest.approx(mean, rel=1e-5)


def test_shares_add_up_and_late_absorption_reaches_them() -> None:
    rates, absorption = repairable(4, 1, 0.01, 0.2)
    absorption = np.hstack([absorption, [[0.003], [0.001]]])
    _, shares = mean_time_to_absorption(rates, absorption)
    assert shares.sum() == pytest.approx(1.0, rel=1e-14)
    np.testing.assert_allclose(absorption_probability(rates, absorption, 1e7), shares, rtol=1e-12)


def test_a_batch_gives_each_element_what_it_gets_alone() -> None:
    rng = np.random.default_rng(4)
    rates = 10 ** rng.uniform(-6, 0, (50, 9, 9))
    absorption = 10 ** rng.uniform(-9, -3, (50, 9, 2))
    hours = 10 ** rng.uniform(-2, 6, 50)
    together = absorption_probability(rates, absorption, hours)
    mean, shares = mean_time_to_absorption(rates, absorption)
    for i in range(50):
        alone = absorption_probability(rates[i], absorption[i], hours[i])
        assert (alone == together[i]).all()
        mean_alone, shares_alone = mean_time_to_absorption(rates[i], absorption[i])
        assert mean_alone == mean[i]
        assert (shares_alone == shares[i]).all()


def test_no_way_out_no_time_and_not_known() -> None:
    rates, absorption = repairable(4, 2, 0.01, 0.2)
    never = np.zeros_like(absorption)
    assert np.isinf(mean_time_to_absorption(rates, never)[0])
    assert (absorption_probability(rates, never, 1e6) == 0).all()
    assert (absorption_probability(rates, absorption, 0.0) == 0).all()
    assert np.isnan(absorption_probability(rates, absorption, np.nan)).all()
    assert np.isnan(absorption_probability(rates * np.nan, absorption, 1.0)).all()
    trap = rates.copy()
    trap[1, 2] = trap[1, 0] = trap[2, 1] = 0.0
    dead_end = np.zeros_like(absorption)
    dead_end[2] = 1.0
    assert np.isinf(mean_time_to_absorption(trap, dead_end)[0])


def test_a_time_too_long_for_its_rates_is_refused() -> None:
    rates, absorption = repairable(4, 2, 0.01, 0.2)
    with pytest.raises(ValueError, match="closer together"):
        absorption_probability(rates, absorption, 1e30)
    # One state that is left once an hour: half as many hours as the words say, and no more.
    still, once = np.zeros((1, 1)), np.ones((1, 1))
    assert absorption_probability(still, once, np.nextafter(2.0**58, 0.0)) == 1
    with pytest.raises(ValueError, match="closer together"):
        absorption_probability(still, once, 2.0**58)
