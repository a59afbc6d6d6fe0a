"""Which drives protect each other: an array in numbers, whatever its level is called."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.checks import FloatArray, number, require

MOST_COPIES = 3
MOST_PARITY = 3


@dataclass(frozen=True)
class ArrayShape:
    """Checked shape of an array (or of many), as given to `array_shape`.

    A *group* is the set of drives that protect each other: a span with parity, the drives that
    mirror each other, or, without redundancy, all drives of a span.
    """

    members: FloatArray
    spans: FloatArray
    parity_per_span: FloatArray
    copies: FloatArray

    @property
    def mirrored(self) -> NDArray[np.bool_]:
        """Whether drives hold whole copies of each other."""
        return np.asarray(self.copies > 1)

    @property
    def groups(self) -> FloatArray:
        """Number of groups."""
        return np.where(self.mirrored, self.members / self.copies, self.spans + 0.0)

    @property
    def group_drives(self) -> FloatArray:
        """Drives in a group."""
        return np.asarray(self.members / self.groups)

    @property
    def redundancy(self) -> FloatArray:
        """Failed drives a group survives, whichever they are."""
        return np.where(self.mirrored, self.copies - 1, self.parity_per_span + 0.0)

    @property
    def data_members(self) -> FloatArray:
        """Drives' worth of host data: (members - parity) / copies."""
        parity = self.parity_per_span * self.spans
        return np.asarray((self.members - parity) / self.copies)

    @property
    def redundant(self) -> NDArray[np.bool_]:
        """Whether the array survives the loss of a drive."""
        return np.asarray(self.mirrored | (self.parity_per_span > 0))


def array_shape(
    members: ArrayLike,
    spans: ArrayLike = 1,
    parity_per_span: ArrayLike = 0,
    copies: ArrayLike = 1,
) -> ArrayShape:
    """Check the shape of an array.

    Parameters
    ----------
    members, spans : array_like of int
        Drives without spares, at least 1, and the equal spans they divide into.
    parity_per_span : array_like of int
        Drives' worth of parity in every span, 0 to 3.
    copies : array_like of int
        1, or 2 or 3 for mirrors.

    Raises
    ------
    ValueError
        Also for a number that is not known, mirrors with drives left over or with parity, and a
        span without two drives more than its parity.
    """
    n = number("members", members, at_least=1, whole=True)
    s = number("spans", spans, at_least=1, whole=True)
    p = number("parity drives in a span", parity_per_span, at_least=0, at_most=MOST_PARITY,
               whole=True)  # fmt: skip
    c = number("copies", copies, at_least=1, at_most=MOST_COPIES, whole=True)
    for name, array in (("members", n), ("spans", s), ("parity drives", p), ("copies", c)):
        require(~np.isnan(array), f"{name} must be known to work out an array")
    require(np.mod(n, s) == 0, "members must divide into equal spans")
    require((c == 1) | (p == 0), "mirrored copies and parity do not go together in one span")
    require(np.mod(n / s, c) == 0, "mirrors need as many drives a span as go into whole mirrors")
    require((p == 0) | (n / s >= p + 2), "a span needs at least two drives more than its parity")
    return ArrayShape(n, s, p, c)


@dataclass(frozen=True)
class GroupShape:
    """How an array divides its drives into groups that live or die on their own."""

    members: FloatArray  # drives in one group
    redundancy: FloatArray  # failed drives one group survives, whichever they are
    groups: FloatArray  # how many


def group_shape(shape: ArrayShape, striped: ArrayLike = True) -> GroupShape:
    """Say which drives live or die together.

    With c copies: groups of c that survive c - 1 failures. Else the spans, each of which survives
    as many failures as it has parity.

    Parameters
    ----------
    shape : ArrayShape
        The arrays.
    striped : array_like of bool
        True where data are spread over all groups, so that losing one loses the array; False for
        drives used one by one, each of which is then a group of its own.
    """
    together = np.asarray(striped, dtype=bool) | shape.redundant
    return GroupShape(
        members=np.where(together, shape.group_drives, 1.0),
        redundancy=shape.redundancy,
        groups=np.where(together, shape.groups, shape.members),
    )
