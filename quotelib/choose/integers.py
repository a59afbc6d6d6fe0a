"""Exact decimals as whole numbers side by side: a scale for all, and rounding as money rounds.

Sums and products stay exact. Where one could pass what 64 bits hold, the numbers are Python's own,
slower and without an end (`fits`).
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quotelib.pricing.money import exact

Whole = NDArray[Any]
"""Whole numbers: of 64 bits, or Python's own."""
_MOST = 2**62
"""So that a sum of two, or one doubled to be rounded, still fits."""


def fits(*most: int) -> bool:
    """Tell whether numbers that get no larger than these stay within 64 bits."""
    return all(abs(one) < _MOST for one in most)


def decimals(values: Iterable[Decimal]) -> int:
    """Count the decimals that write all of some values exactly."""
    return max(0, *(-int(v.normalize().as_tuple().exponent) for v in values), 0)


def scaled(value: Decimal, places: int) -> int:
    """Give a value in units of ten to the minus `places`, which must be exact."""
    with exact():
        moved = value.scaleb(places)
        whole = int(moved)
        if whole != moved:
            raise ValueError(f"{value} has more than {places} decimals")
    return whole


def floored(value: Decimal, places: int) -> int:
    """Give the most units of ten to the minus `places` that are no more than a value."""
    with exact():
        return int(value.scaleb(places) // 1)


def half_up(amount: Whole, over: int) -> Whole:
    """Divide amounts of 0 or more and round half away from zero."""
    return np.asarray((2 * amount + over) // (2 * over))


def laid(numbers: Iterable[int], wide: bool) -> Whole:
    """Lay whole numbers out as an array."""
    return np.array(list(numbers), dtype=object if wide else np.int64)
