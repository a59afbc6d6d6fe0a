"""The one record every figure is shown through."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import FrozenInstanceError

import pytest

from quotelib.estimate.estimate import Estimate, not_known


def figure(value: float | None, low: float | None, high: float | None) -> Estimate:
    return Estimate("rebuild time", value, "h", low, high, "bytes / rate", "derived here")


def test_known_and_not_known() -> None:
    assert figure(10, 8, 30).known
    assert figure(10, None, math.inf).known
    blank = not_known("rebuild time", "h", "the drive's write rate is not given")
    assert not blank.known
    assert blank.value is None
    assert "not given" in blank.basis


def test_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        figure(10, 8, 30).value = 11  # type: ignore[misc]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: figure(math.nan, None, None), "not a finite number"),
        (lambda: figure(math.inf, None, None), "not a finite number"),
        (lambda: figure(10, 11, 30), "low end 11 lies above"),
        (lambda: figure(10, 8, 9), "high end 9 lies below"),
        (lambda: figure(10, math.nan, 12), "low end of the range is not a number"),
        (lambda: figure(None, 1, 2), "cannot have a range"),
        (lambda: Estimate("", 1, "", None, None, "b", "s"), "needs a name"),
        (lambda: Estimate("x", 1, "", None, None, " ", "s"), "needs its basis"),
        (lambda: not_known("x", "h", ""), "say why"),
    ],
)
def test_misleading_figures_are_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
