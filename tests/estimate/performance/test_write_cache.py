"""Bursts into a protected write-back cache."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.performance.write_cache import cached_writes


def test_fills_with_the_difference() -> None:
    got = cached_writes(1024, True, 500, 100, 4000)
    assert float(got.seconds_until_full) == pytest.approx(1024 * 1024**2 / 400e6)
    assert float(got.absorbed_mb) == pytest.approx(500 * float(got.seconds_until_full))
    assert got.burst_mb_s == 500
    assert got.sustained_mb_s == 100


def test_front_end_caps_a_burst() -> None:
    got = cached_writes(1024, True, np.inf, 100, 3000)
    assert got.burst_mb_s == 3000
    assert float(got.seconds_until_full) == pytest.approx(1024 * 1024**2 / 2900e6)


@pytest.mark.parametrize("cache_mib", [0.5, 1024])
def test_slow_writes_never_fill_it(cache_mib: float) -> None:
    for offered in (50, 100):
        got = cached_writes(cache_mib, True, offered, 100)
        assert got.burst_mb_s == got.sustained_mb_s == offered
        assert np.isinf(got.seconds_until_full)
        assert np.isinf(got.absorbed_mb)


@pytest.mark.parametrize(("size", "protected"), [(0, True), (1024, False)])
def test_no_usable_cache(size: float, protected: bool) -> None:
    got = cached_writes(size, protected, 500, 100)
    assert got.burst_mb_s == got.sustained_mb_s == 100
    assert got.seconds_until_full == got.absorbed_mb == 0


def test_endless_rate_fills_it_at_once() -> None:
    got = cached_writes(1024, True, np.inf, 100)
    assert got.seconds_until_full == 0
    assert float(got.absorbed_mb) == pytest.approx(1024 * 1024**2 / 1e6)


def test_arrays_equal_scalars_and_blank_stays_unknown() -> None:
    size = np.array([0.0, 512, 2048, np.nan])
    got = cached_writes(size, True, 700, 90, 3000)
    for i in range(3):
        one = cached_writes(size[i], True, 700, 90, 3000)
        assert got.seconds_until_full[i] == one.seconds_until_full
        assert got.absorbed_mb[i] == one.absorbed_mb
    assert np.isnan(got.seconds_until_full[3])
    assert np.isnan(got.burst_mb_s[3])
    assert np.isnan(cached_writes(512, True, 700, np.nan).sustained_mb_s)


@given(st.floats(1, 8192), st.floats(1, 5000), st.floats(1, 5000), st.floats(100, 5000))
def test_conserves_bytes(size: float, offered: float, destage: float, front: float) -> None:
    got = cached_writes(size, True, offered, destage, front)
    assert got.burst_mb_s <= min(offered, front)
    assert got.sustained_mb_s <= got.burst_mb_s
    if np.isfinite(got.seconds_until_full):
        drained = float(got.sustained_mb_s) * float(got.seconds_until_full)
        held = float(got.absorbed_mb) - drained
        assert held == pytest.approx(size * 1024**2 / 1e6, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: cached_writes(-1, True, 1, 1), "cache in MiB"),
        (lambda: cached_writes(1, True, 0, 1), "offered"),
        (lambda: cached_writes(1, True, 1, 0), "destage"),
    ],
)
def test_impossible_inputs_are_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
