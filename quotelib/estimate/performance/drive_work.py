"""What an array makes of one host operation: how many drive operations, on how many drives."""

from dataclasses import dataclass

import numpy as np

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.shape import ArrayShape


@dataclass(frozen=True)
class GroupWork:
    """Drive operations that one host operation causes in the one group it falls into."""

    drives: FloatArray  # of the group that work
    random_read: FloatArray  # drive reads for a random host read
    # For a random host write of one block.
    random_write_reads: FloatArray
    random_write_writes: FloatArray
    # For each block of a long read or write (full stripes).
    sequential_read: FloatArray
    sequential_write: FloatArray


def normal_work(shape: ArrayShape) -> GroupWork:
    """Drive operations of a host operation while every drive works.

    A group of g drives with p parity drives: a small write reads the old block and the p old
    parities and writes 1 + p (4 operations with one parity, 6 with two), or, where that is
    less, it reads the other g - p - 1 data blocks and writes 1 + p, so at most g in all. A mirror
    writes every copy. Long writes fill stripes: g / (g - p) drive writes a block, or one a copy.
    A block larger than a strip is counted as if it lay on one drive.

    Sources: Chen et al., ACM Computing Surveys 26(2), 1994, section 3 and Table 3;
    Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 38. They stop at two parity drives
    and two copies; the same counting goes on beyond.
    """
    g, p = shape.group_drives, shape.parity_per_span
    reads = np.minimum(1.0 + p, g - p - 1)
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

    `drives` counts the survivors. Without redundancy the numbers mean nothing (see
    `ArrayShape.redundant`).

    Derived here from the same rules as `normal_work`. A read of the lost drive (1 in g) takes
    g - p reads. A write whose own block is lost reads the other g - p - 1 data blocks and
    writes p parities; one whose parity is lost goes on with one parity fewer; one that touches
    neither reads the old block and parities, or everything needed to rebuild the lost block,
    whichever is less. Survivors of a mirror carry on with a copy fewer.
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
    copies_left = np.maximum(shape.copies - 1, 1.0)
    return GroupWork(
        drives=survivors,
        random_read=read,
        random_write_reads=np.where(parity, write_reads, 0.0),
        random_write_writes=np.where(parity, write_writes, copies_left),
        sequential_read=np.ones_like(read),
        sequential_write=np.where(parity, (g - 1) / np.maximum(g - p, 1), copies_left),
    )
