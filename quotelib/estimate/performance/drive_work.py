"""What an array makes of one host operation: how many drive operations, on how many drives.

Host operations are of four kinds (`KINDS`), which stand along the first axis of every array here: a
random read, a random write, and a read and a write that go on where the stream's last one ended.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number
from quotelib.estimate.shape import ArrayShape

KINDS = ("random read", "random write", "stream read", "stream write")


@dataclass(frozen=True)
class Pieces:
    """How a host operation is cut up: each piece goes to a drive of its own."""

    many: FloatArray
    piece_bytes: FloatArray


def pieces(shape: ArrayShape, block_bytes: ArrayLike, strip_bytes: ArrayLike = np.inf) -> Pieces:
    """Cut host operations at the strips they cover, as arithmetic of striping has it.

    A block of several strips lies on as many drives, or on all that hold data, a longer piece on
    each. It is taken to begin where a strip does if it is as large, as file systems on whole
    partitions do, and not to cross a border if it is smaller.

    Parameters
    ----------
    block_bytes : array_like of float
        Of a host operation, above zero.
    strip_bytes : array_like of float
        What lies on one drive before the next one's turn comes, above zero; infinite where each
        drive is used by itself.
    """
    block = number("block in bytes", block_bytes, above=0)
    strip = number("strip in bytes", strip_bytes, above=0, infinite=True)
    many = np.minimum(np.maximum(block / strip, 1.0), shape.data_members)
    return Pieces(np.asarray(many), np.asarray(block / many))


@dataclass(frozen=True)
class Work:
    """Drive operations, each of a piece, that one host operation of each kind causes.

    Parameters
    ----------
    drives : ndarray of float
        Those that work, of the group an operation falls into.
    reads, writes : ndarray of float
        In the order of `KINDS` along the first axis. Where there are both, reads go first.
    """

    drives: FloatArray
    reads: FloatArray
    writes: FloatArray

    @property
    def random_read(self) -> FloatArray:
        """Drive reads for a random read."""
        return np.asarray(self.reads[0])


def by_kind(*four: ArrayLike) -> FloatArray:
    """Lay a figure for each of `KINDS` out along a new first axis."""
    laid = np.empty((len(four), *np.broadcast(*four).shape))
    for kind, one in enumerate(four):
        laid[kind] = one
    return laid


def normal_work(shape: ArrayShape, many: ArrayLike = 1.0, gathered: ArrayLike = False) -> Work:
    """Drive operations of a host operation while every drive works.

    A group of g drives with p parity drives has d = g - p strips of data a stripe. A write of k of
    them reads these and the p old parities and writes k + p, or, where that is less, it reads the
    other d - k and writes k + p: for a small block 4 operations with one parity, 6 with two, and
    at most g in all. A whole stripe is written without reading. A mirror writes every copy.
    Streams of writes that a cache gathers fill stripes whatever their block.

    Sources: Chen et al., ACM Computing Surveys 26(2), 1994, section 3 and Table 3;
    Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 38. They stop at two parity drives
    and two copies; the same counting goes on beyond.

    Parameters
    ----------
    many : array_like of float
        Pieces of a host operation, from `pieces`.
    gathered : array_like of bool
        Whether a write-back cache gathers what is written until stripes are full.
    """
    k = np.asarray(many, dtype=np.float64)
    g, p = shape.group_drives, shape.parity_per_span
    data = g - p
    parity = p > 0
    here = np.minimum(k, data)  # strips of one stripe
    stripes = k / here
    reads = np.where(parity, stripes * np.minimum(here + p, data - here), 0.0)
    writes = np.where(parity, k + p * stripes, k * shape.copies)
    full = k * shape.members / shape.data_members
    together = np.asarray(gathered, dtype=bool)
    return Work(
        drives=g,
        reads=by_kind(k, reads, k, np.where(together, 0.0, reads)),
        writes=by_kind(0.0, writes, 0.0, np.where(together, full, writes)),
    )


def degraded_work(shape: ArrayShape, many: ArrayLike = 1.0, gathered: ArrayLike = False) -> Work:
    """Drive operations in the group that has lost one drive, averaged over which one is hit.

    `drives` counts the survivors. Without redundancy the numbers mean nothing (see
    `ArrayShape.redundant`).

    Derived here from the same rules as `normal_work`. A read of the lost drive (1 in g) takes
    g - p reads. A write whose own block is lost reads the other g - p - 1 data blocks and
    writes p parities; one whose parity is lost goes on with one parity fewer; one that touches
    neither reads the old block and parities, or everything needed to rebuild the lost block,
    whichever is less. Survivors of a mirror carry on with a copy fewer. Writes of several strips
    are taken to change by the same factor as those of one. Streams read each stripe once, whole.
    """
    k = np.asarray(many, dtype=np.float64)
    g, p = shape.group_drives, shape.parity_per_span
    parity = p > 0
    others = g - p - 1
    read = np.where(parity, ((g - 1) + (g - p)) / g, 1.0)
    parity_lost_reads = np.where(p == 1, 0.0, np.minimum(p, others))
    untouched_reads = np.minimum(1 + p, g - p)
    write_reads = (others + p * parity_lost_reads + others * untouched_reads) / g
    write_writes = (p + p * p + others * (1 + p)) / g
    small_reads = np.minimum(1 + p, others)
    copies_left = np.maximum(shape.copies - 1, 1.0)

    whole = normal_work(shape, k, gathered)
    with np.errstate(invalid="ignore"):  # of a drive alone without parity, who reads nothing
        reads = np.where(parity, whole.reads[1] * (write_reads / small_reads), 0.0)
    writes = np.where(parity, whole.writes[1] * write_writes / (1 + p), k * copies_left)
    full = np.where(parity, k * (g - 1) / np.maximum(g - p, 1), k * copies_left)
    together = np.asarray(gathered, dtype=bool)
    return Work(
        drives=np.maximum(g - 1, 1.0),
        reads=by_kind(k * read, reads, k, np.where(together, 0.0, reads)),
        writes=by_kind(0.0, writes, 0.0, np.where(together, full, writes)),
    )
