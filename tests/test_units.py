"""Do we count right: IEC 80000-13 binary units, decimal units, rounding half away from zero."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib import units
from quotelib.units import plain, round_half_away


@pytest.mark.parametrize(
    ("unit", "size"),
    [
        # IEC 80000-13 binary prefixes: powers of 1024. Status: memory (the standard is not
        # free to read), re-derived as 1024 ** n.
        (units.KIB, 1024),
        (units.MIB, 1_048_576),
        (units.GIB, 1_073_741_824),
        (units.TIB, 1_099_511_627_776),
        # SI prefixes: powers of 1000. Status: memory.
        (units.MB, 1_000_000),
        (units.GB, 1_000_000_000),
        (units.TB, 1_000_000_000_000),
    ],
)
def test_unit_sizes(unit: int, size: int) -> None:
    assert unit == size
    assert type(unit) is int


@pytest.mark.parametrize(
    ("value", "places", "expected"),
    [
        # Half away from zero, by hand.
        ("0.5", 0, "1"),
        ("1.5", 0, "2"),
        ("2.5", 0, "3"),
        ("-0.5", 0, "-1"),
        ("-2.5", 0, "-3"),
        ("2.4999999999999999999999999999", 0, "2"),
        ("0.125", 2, "0.13"),
        ("-0.125", 2, "-0.13"),
        ("0.135", 2, "0.14"),
        ("1.0005", 3, "1.001"),
        ("-1.0005", 3, "-1.001"),
        ("7", 2, "7.00"),
        ("-0.001", 2, "0.00"),  # no negative zero on a bill
        ("1e27", 3, "1" + 27 * "0" + ".000"),  # wider than decimal's usual 28 digits
    ],
)
def test_round_half_away(value: str, places: int, expected: str) -> None:
    assert str(round_half_away(Decimal(value), places)) == expected


def test_rounding_does_not_depend_on_the_callers_context() -> None:
    with localcontext(prec=3):
        assert round_half_away(Decimal("123456.785"), 2) == Decimal("123456.79")


@given(
    st.decimals(-(10**12), 10**12, allow_nan=False, places=6),
    st.integers(min_value=0, max_value=4),
)
def test_round_half_away_against_fractions(value: Decimal, places: int) -> None:
    magnitude = abs(Fraction(value)) * 10**places + Fraction(1, 2)
    whole = magnitude.numerator // magnitude.denominator
    expected = Fraction(whole if value >= 0 else -whole, 10**places)
    assert Fraction(round_half_away(value, places)) == expected


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("12.50", "12.5"),
        ("100", "100"),
        ("1E+3", "1000"),
        ("0.000", "0"),
        ("-0.0", "0"),
        ("-0.50", "-0.5"),
        ("1e-7", "0.0000001"),
    ],
)
def test_plain(value: str, text: str) -> None:
    assert plain(Decimal(value)) == text
