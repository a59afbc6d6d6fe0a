"""What an array makes of one host operation: how many drive operations, on how many drives."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.checks import FloatArray, number, require


@dataclass(frozen=True)
class LevelShape:
    """Redundancy of a level in numbers.

    Parameters
    ----------
    copies : int
        1, or 2 for mirrors.
    parity_per_span : int
        Drives' worth of parity in every span: 0, 1 or 2.
    """

    copies: int
    parity_per_span: int


# For convenience only: nothing here works from the names.
LEVEL_SHAPES: dict[str, LevelShape] = {
    "none": LevelShape(1, 0),
    "0": LevelShape(1, 0),
    "1": LevelShape(2, 0),
    "5": LevelShape(1, 1),
    "6": LevelShape(1, 2),
    "10": LevelShape(2, 0),
    "50": LevelShape(1, 1),
    "60": LevelShape(1, 2),
}


@dataclass(frozen=True)
class ArrayShape:
    """Checked shape of an array (or of many: every field broadcasts).

    A *group* is the set of drives that protect each other: a span with parity, a mirrored
    pair, or, without redundancy, all drives of a span.

    Parameters
    ----------
    members, spans, parity_per_span, copies : ndarray of float
        As given to `array_shape`.
    """

    members: FloatArray
    spans: FloatArray
    parity_per_span: FloatArray
    copies: FloatArray

    @property
    def groups(self) -> FloatArray:
        """Number of groups."""
        return np.where(self.copies == 2, self.members / 2, self.spans + 0.0)

    @property
    def group_drives(self) -> FloatArray:
        """Drives in a group."""
        return np.asarray(self.members / self.groups)

    @property
    def data_members(self) -> FloatArray:
        """Drives' worth of host data: (members - parity) / copies."""
        parity = self.parity_per_span * self.spans
        return np.asarray((self.members - parity) / self.copies)

    @property
    def redundant(self) -> NDArray[np.bool_]:
        """Whether the array survives the loss of a drive."""
        return np.asarray((self.copies == 2) | (self.parity_per_span > 0))


def array_shape(
    members: ArrayLike,
    spans: ArrayLike = 1,
    parity_per_span: ArrayLike = 0,
    copies: ArrayLike = 1,
) -> ArrayShape:
    """Check the shape of an array.

    Parameters
    ----------
    members : array_like of int
        Member drives without spares, at least 1.
    spans : array_like of int
        Equal spans; they divide the members.
    parity_per_span : array_like of int
        0, 1 or 2.
    copies : array_like of int
        1, or 2 for mirrored pairs.

    Returns
    -------
    ArrayShape

    Raises
    ------
    ValueError
        No drives, spans that do not divide the members, mirrors with an odd number of drives
        or with parity, or a span too small for its parity (3 with one, 4 with two).
    """
    n = number("members", members, at_least=1, whole=True)
    s = number("spans", spans, at_least=1, whole=True)
    p = number("parity drives in a span", parity_per_span, at_least=0, at_most=2, whole=True)
    c = number("copies", copies, at_least=1, at_most=2, whole=True)
    for name, array in (("members", n), ("spans", s), ("parity drives", p), ("copies", c)):
        require(~np.isnan(array), f"{name} must be known to work out an array")
    require(np.mod(n, s) == 0, "members must divide into equal spans")
    require((c == 1) | (p == 0), "mirrored copies and parity do not go together in one span")
    require((c == 1) | (np.mod(n / s, 2) == 0), "mirrors need an even number of drives a span")
    require((p == 0) | (n / s >= p + 2), "a span needs at least two drives more than its parity")
    return ArrayShape(n, s, p, c)


@dataclass(frozen=True)
class GroupWork:
    """Drive operations that one host operation causes in the one group it falls into.

    Parameters
    ----------
    drives : ndarray of float
        Drives of the group that work.
    random_read : ndarray of float
        Drive reads for a random host read.
    random_write_reads, random_write_writes : ndarray of float
        Drive reads, then drive writes, for a random host write of one block.
    sequential_read, sequential_write : ndarray of float
        Drive operations for each block of a long read or write (full stripes).
    """

    drives: FloatArray
    random_read: FloatArray
    random_write_reads: FloatArray
    random_write_writes: FloatArray
    sequential_read: FloatArray
    sequential_write: FloatArray

    @property
    def random_write(self) -> FloatArray:
        """Drive reads and writes together for a random host write."""
        return np.asarray(self.random_write_reads + self.random_write_writes)


def normal_work(shape: ArrayShape, *, reconstruct_write: bool = True) -> GroupWork:
    """Drive operations of a host operation while every drive works.

    Parameters
    ----------
    shape : ArrayShape
        Arrays of any shape.
    reconstruct_write : bool
        Let a write read the rest of the stripe instead of the old block and parity where that
        takes fewer reads. False for the plain read-modify-write of the textbook.

    Returns
    -------
    GroupWork

    Notes
    -----
    A group of g drives with p parity drives: a small write reads the old block and the p old
    parities and writes 1 + p (4 operations with one parity, 6 with two), or it reads the
    other g - p - 1 data blocks and writes 1 + p, so at most g in all. A mirror writes twice.
    Long writes fill stripes: g / (g - p) drive writes a block, or 2 for mirrors. Sources:
    Chen et al., ACM Computing Surveys 26(2), 1994, section 3 and Table 3; Arpaci-Dusseau,
    Operating Systems: Three Easy Pieces, ch. 38. A block larger than a strip is counted as
    if it lay on one drive.
    """
    g, p = shape.group_drives, shape.parity_per_span
    reads = 1.0 + p
    if reconstruct_write:
        reads = np.minimum(reads, g - p - 1)
    parity = p > 0
    ones = np.ones_like(g + p)
    return GroupWork(
        drives=g * ones,
        random_read=ones,
        random_write_reads=np.where(parity, reads, 0.0),
        random_write_writes=np.where(parity, 1.0 + p, shape.copies * ones),
        sequential_read=ones,
        sequential_write=shape.members / shape.data_members * ones,
    )


def degraded_work(shape: ArrayShape) -> GroupWork:
    """Drive operations in the group that has lost one drive, averaged over which one is hit.

    Parameters
    ----------
    shape : ArrayShape
        Arrays of any shape; without redundancy the numbers mean nothing (see
        `ArrayShape.redundant`).

    Returns
    -------
    GroupWork
        `drives` counts the survivors.

    Notes
    -----
    Derived here from the same rules as `normal_work`. A read of the lost drive (1 in g) takes
    g - p reads. A write whose own block is lost reads the other g - p - 1 data blocks and
    writes p parities; one whose parity is lost goes on with one parity fewer; one that touches
    neither reads the old block and parities, or everything needed to rebuild the lost block,
    whichever is less. Survivors of a mirror carry on alone.
    """
    g, p = shape.group_drives, shape.parity_per_span
    parity = p > 0
    others = g - p - 1
    read = np.where(parity, ((g - 1) + (g - p)) / g, 1.0)
    parity_lost_reads = np.where(p == 1, 0.0, np.minimum(p, others))
    untouched_reads = np.minimum(1 + p, g - p)
    write_reads = (others + p * parity_lost_reads + others * untouched_reads) / g
    write_writes = (p + p * p + others * (1 + p)) / g
    survivors = np.maximum(g - 1, 1.0)
    return GroupWork(
        drives=survivors,
        random_read=read,
        random_write_reads=np.where(parity, write_reads, 0.0),
        random_write_writes=np.where(parity, write_writes, 1.0),
        sequential_read=np.ones_like(read),
        sequential_write=np.where(parity, (g - 1) / np.maximum(g - p, 1), 1.0),
    )


@dataclass(frozen=True)
class DriveMultiples:
    """Throughput of an array in multiples of one drive's rate.

    Parameters
    ----------
    sequential_read, sequential_write : ndarray of float
        Multiples of the sequential rate S.
    sequential_read_best : ndarray of float
        The same if reads also profit from mirrors and from the strips parity takes.
    random_read, random_write : ndarray of float
        Multiples of the random rate R.
    """

    sequential_read: FloatArray
    sequential_write: FloatArray
    sequential_read_best: FloatArray
    random_read: FloatArray
    random_write: FloatArray


def drive_multiples(shape: ArrayShape, *, reconstruct_write: bool = True) -> DriveMultiples:
    """Give the textbook throughput of an array in multiples of one drive's rates.

    Parameters
    ----------
    shape : ArrayShape
        Arrays of any shape.
    reconstruct_write : bool
        As in `normal_work`.

    Returns
    -------
    DriveMultiples

    Notes
    -----
    The sources differ on long reads: the textbook counts the drives that hold data
    (Arpaci-Dusseau, ch. 38), the survey all of them (Chen et al. 1994, Table 3). Both are
    given; the first is the one to promise.
    """
    work = normal_work(shape, reconstruct_write=reconstruct_write)
    n = shape.members * np.ones_like(work.random_read)
    data = shape.data_members * np.ones_like(work.random_read)
    return DriveMultiples(
        sequential_read=data,
        sequential_write=data,
        sequential_read_best=n,
        random_read=np.asarray(n / work.random_read),
        random_write=np.asarray(n / work.random_write),
    )
