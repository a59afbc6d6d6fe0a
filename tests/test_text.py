"""Is it put into words as it should be: sizes rounded down, counts, lists, figures, money."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib import text


@pytest.mark.parametrize(
    ("size", "words"),
    [
        (0, "0.00 TB (0.00 TiB)"),
        (10**12, "1.00 TB (0.90 TiB)"),
        (2**40, "1.09 TB (1.00 TiB)"),  # 1.0995...: rounded down
        (2**40 - 1, "1.09 TB (0.99 TiB)"),
        (10**12 - 1, "0.99 TB (0.90 TiB)"),
        (1_234_567 * 10**12, "1,234,567.00 TB (1,122,832.14 TiB)"),
    ],
)
def test_size(size: int, words: str) -> None:
    assert text.size(size) == words


@given(st.integers(0, 10**21))
def test_a_size_is_never_more_than_there_is(size: int) -> None:
    # IEC 80000-13: a TiB is 2^40 bytes; a TB is 10^12. Status: memory.
    for words, unit in ((text.tb(size), 10**12), (text.tib(size), 2**40)):
        shown = Fraction(words.replace(",", "")) * unit
        assert shown <= size < shown + Fraction(unit, 100)


@pytest.mark.parametrize(
    ("names", "either", "both"),
    [
        ([], "", ""),
        (["a"], "a", "a"),
        (["a", "b"], "a or b", "a and b"),
        (["a", "b", "c"], "a, b or c", "a, b and c"),
    ],
)
def test_lists(names: list[str], either: str, both: str) -> None:
    assert (text.either(names), text.both(iter(names))) == (either, both)


@pytest.mark.parametrize(
    ("numbers", "runs"),
    [
        ([], ""),
        ([4], "4"),
        ([1, 2], "1 to 2"),
        ([1, 2, 3, 7, 9, 10], "1 to 3, 7, 9 to 10"),
    ],
)
def test_runs(numbers: list[int], runs: str) -> None:
    assert text.runs(numbers) == runs


def test_counts() -> None:
    assert [text.count(n, "drive") for n in (0, 1, 2)] == ["0 drives", "1 drive", "2 drives"]
    assert text.bays(iter([3])) == "bay 3"
    assert text.bays([1, 2, 3, 8]) == "bays 1 to 3, 8"
    assert [text.spelled(n) for n in (0, 1, 6, 7)] == ["no", "one", "six", "7"]


@pytest.mark.parametrize(
    ("value", "digits", "words"),
    [
        (0.0, 3, "0"),
        (float("inf"), 3, "without end"),
        (float("nan"), 3, "without end"),
        (1234567.0, 3, "1,230,000"),
        (999.6, 3, "1,000"),
        (99.96, 3, "100"),
        (9.996, 3, "10.0"),
        (12.345, 3, "12.3"),
        (0.0123456, 3, "0.0123"),
        (0.0000123, 3, "1.23 × 10⁻⁵"),
        (0.00009999, 2, "0.00010"),
        (-12.345, 2, "-12"),
        (5.0, 1, "5"),
    ],
)
def test_figure(value: float, digits: int, words: str) -> None:
    assert text.figure(value, digits) == words


@given(st.floats(1e-12, 1e12), st.integers(1, 6))
def test_a_figure_is_near_what_it_shows(value: float, digits: int) -> None:
    raised = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
    words = text.figure(value, digits).replace(",", "").replace(" × 10", "e").translate(raised)
    assert float(words) == pytest.approx(value, rel=0.5 * 10.0 ** (1 - digits) * 1.001)


def test_money() -> None:
    assert text.money(Decimal("1234.50"), "GBP") == "GBP 1,234.50"
    assert text.money(Decimal("1234"), "JPY") == "JPY 1,234"
    signs = [text.signed(Decimal(n)) for n in ("1.00", "-1234.00", "0")]
    assert signs == ["+1.00", "−1,234.00", "±0"]


def test_the_rest() -> None:
    assert text.date(dt.date(2026, 3, 5)) == "5 March 2026"
    assert text.sentence("a server") == "A server"
    assert text.sentence("") == ""
    assert text.gb_s(1234.6) == "1.23 GB/s"
    assert text.percent(12.345) == "12 %"
