"""Which groups of drives live or die on their own, by RAID level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require

LEVELS = ("none", "0", "1", "5", "6", "10", "50", "60")
# Of one group, in the order of the levels.
_REDUNDANCY = np.array([0.0, 0.0, 1.0, 1.0, 2.0, 1.0, 1.0, 2.0])
_SMALLEST = np.array([1, 2, 2, 3, 4, 2, 3, 4])


@dataclass(frozen=True)
class GroupShape:
    """How a level divides its drives into groups that live or die on their own.

    Parameters
    ----------
    members : ndarray
        Drives in one group.
    redundancy : ndarray
        Failed drives one group survives, whichever they are.
    groups : ndarray
        Number of groups.
    """

    members: FloatArray
    redundancy: FloatArray
    groups: FloatArray


def group_shape(level: ArrayLike, members: ArrayLike, spans: ArrayLike = 1) -> GroupShape:
    """Say which groups a level makes of its drives.

    Parameters
    ----------
    level : array_like of str
        ``none``, ``0``, ``1``, ``5``, ``6``, ``10``, ``50`` or ``60``.
    members : array_like of int
        Drives in the array, without spares.
    spans : array_like of int
        Spans of levels 50 and 60; not read for the others.

    Returns
    -------
    GroupShape
        Level 10: pairs; ``none``: every drive by itself.

    Raises
    ------
    ValueError
        An unknown level, or a number of drives or spans the level cannot have.

    Notes
    -----
    Smallest arrays by level: common practice, no source.
    """
    levels, n, s = np.broadcast_arrays(
        np.asarray(level).astype(str),
        number("members", members, at_least=1, whole=True),
        number("spans", spans, at_least=1, whole=True),
    )
    row = np.zeros(levels.shape, dtype=np.intp)
    for i, name in enumerate(LEVELS, start=1):
        row[levels == name] = i
    if not row.all():
        raise ValueError(
            f"level {levels[row == 0].flat[0]!r} is not known; right would be one of "
            + ", ".join(LEVELS)
        )
    nested, pairs = (levels == "50") | (levels == "60"), levels == "10"
    groups = np.select([levels == "none", pairs, nested], [n, n / 2, s], 1.0)
    redundancy, smallest = _REDUNDANCY[row - 1], _SMALLEST[row - 1]
    each = n / groups
    require(
        np.isnan(each) | ((each == np.floor(each)) & (groups == np.floor(groups))),
        "members must divide evenly into the groups: level 10 needs an even number, "
        "levels 50 and 60 a multiple of their spans",
    )
    require(
        ~(each < smallest),
        "too few members: level 0 and 1 need 2, level 5 needs 3 (50: 3 a span), level 6 needs 4 "
        "(60: 4 a span), level 10 needs 4",
    )
    require((levels != "1") | ~(n != 2), "level 1 has 2 members; more would be level 10")
    require((levels != "10") | ~(n < 4), "level 10 needs at least 4 members; 2 would be level 1")
    require(~nested | ~(s < 2), "levels 50 and 60 need at least 2 spans")
    return GroupShape(each, redundancy, groups)
