"""Instalments against numpy-financial, published examples, and a ledger kept month by month."""

from decimal import Decimal
from fractions import Fraction

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.catalogue.terms import InstalmentTerms
from quotelib.pricing.instalments import annuity, instalments
from quotelib.pricing.money import digits

CURRENCIES = st.sampled_from(["GBP", "JPY", "KWD"])
RATES = st.decimals(Decimal(0), Decimal(40), places=2)


def terms(rate: str | Decimal, *months: int, least: str = "0") -> InstalmentTerms:
    return InstalmentTerms(
        months=months,  # type: ignore[arg-type]
        yearly_rate_pct=Decimal(rate),
        from_amount=Decimal(least),
    )


@pytest.mark.parametrize(
    ("amount", "rate", "months", "expected", "status"),
    [
        # NumPy 1.3 reference guide, numpy.pmt, example: 200,000 in 15 years at 7.5 % a year.
        ("200000", "7.5", 180, "1854.02", "seen"),
        # A loan of 100,000 over 30 years at 6 %: handbooks of mortgage tables.
        ("100000", "6", 360, "599.55", "memory"),
        # 12,000 without interest in a year.
        ("12000", "0", 12, "1000.00", "re-derived"),
    ],
)
def test_published_examples(
    amount: str, rate: str, months: int, expected: str, status: str
) -> None:
    assert status in {"seen", "re-derived", "memory"}
    found = annuity(Decimal(amount), Decimal(rate), months)
    assert abs(found - Fraction(expected)) <= Fraction("0.005")


@given(
    amount=st.decimals(Decimal(1), Decimal(10**7), places=2),
    rate=RATES,
    months=st.integers(2, 120),
)
def test_as_numpy_financial_has_it(amount: Decimal, rate: Decimal, months: int) -> None:
    expected = -npf.pmt(float(rate) / 1200, months, float(amount))
    assert float(annuity(amount, rate, months)) == pytest.approx(expected, rel=1e-9)


@given(amount=st.integers(1, 10**9), rate=RATES, months=st.integers(2, 120), currency=CURRENCIES)
def test_the_sum_agrees_to_the_coin(amount: int, rate: Decimal, months: int, currency: str) -> None:
    places = digits(currency)
    coin = Decimal(1).scaleb(-places)
    paid_off = amount * coin
    found = instalments(paid_off, currency, Decimal(1), terms(rate, months))
    exact = annuity(paid_off, rate, months)
    if found is None:
        # Of a few coins nothing is left for the last month, or nothing for the others.
        assert exact < months * Fraction(coin)
        return
    (plan,) = found.rows
    assert (months - 1) * plan.monthly + plan.last == plan.total == paid_off + plan.interest
    for value in (plan.monthly, plan.last, plan.total, plan.interest):
        assert value == value.quantize(coin) and -value.as_tuple().exponent == places
    assert abs(Fraction(plan.monthly) - exact) <= Fraction(coin) / 2
    assert abs(Fraction(plan.total) - months * exact) <= Fraction(coin) / 2
    assert plan.interest >= 0 and plan.last > 0 and (rate > 0 or plan.interest == 0)
    # A ledger: interest on what is owed, then the payment; what rounding leaves is small.
    owed = Fraction(paid_off)
    for month in range(months):
        owed += owed * Fraction(rate) / 1200
        owed -= Fraction(plan.last if month == months - 1 else plan.monthly)
    growth = (1 + Fraction(rate) / 1200) ** months
    assert abs(owed) <= Fraction(coin) * months * growth


def test_by_hand_and_in_the_order_of_months() -> None:
    found = instalments(Decimal("100.00"), "GBP", Decimal(1), terms("0", 7, 3))
    assert found is not None
    assert [(p.months, p.monthly, p.last, p.total, p.interest) for p in found.rows] == [
        (3, Decimal("33.33"), Decimal("33.34"), Decimal("100.00"), Decimal("0.00")),
        (7, Decimal("14.29"), Decimal("14.26"), Decimal("100.00"), Decimal("0.00")),
    ]


def test_what_is_not_offered() -> None:
    offered = terms("5", 12, least="1000")
    assert instalments(Decimal("999.99"), "GBP", Decimal(1), offered) is None
    assert instalments(Decimal("1000.00"), "GBP", Decimal(1), offered) is not None
    # From 1,000 of the price list's currency on: 196,350 yen here.
    assert instalments(Decimal(196349), "JPY", Decimal("196.35"), offered) is None
    assert instalments(Decimal(196350), "JPY", Decimal("196.35"), offered) is not None
    for amount in ("0", "-120"):
        assert instalments(Decimal(amount), "GBP", Decimal(1), terms("5", 12)) is None
    assert instalments(Decimal(5000), "GBP", Decimal(1), None) is None
