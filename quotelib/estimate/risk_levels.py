"""Which groups of drives live or die on their own, by RAID level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, require

LEVELS = ("none", "0", "1", "5", "6", "10", "50", "60")


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
    unknown = ~np.isin(levels, LEVELS)
    if unknown.any():
        raise ValueError(
            f"level {levels[unknown].flat[0]!r} is not known; right would be one of "
            + ", ".join(LEVELS)
        )
    nested = np.isin(levels, ("50", "60"))
    groups = np.select([levels == "none", levels == "10", nested], [n, n / 2, s], 1.0)
    redundancy = np.select(
        [np.isin(levels, ("1", "5", "10", "50")), np.isin(levels, ("6", "60"))], [1.0, 2.0], 0.0
    )
    smallest = np.select(
        [
            np.isin(levels, ("0", "1")),
            np.isin(levels, ("5", "50")),
            np.isin(levels, ("6", "60")),
            levels == "10",
        ],
        [2, 3, 4, 2],
        1,
    )
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
