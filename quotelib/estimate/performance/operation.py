"""What one host operation of each kind asks of the drives, and for how long.

Everything is worked out for value, low end and high end side by side: arrays have the shape (3, M)
for M builds, and (4, 3, M) where the four kinds of operation are told apart.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance import cases
from quotelib.estimate.performance.drive_work import Work, by_kind, pieces
from quotelib.estimate.performance.load import Load, Serving
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.shape import ArrayShape

# Standard deviation of a service time over its mean. Half a turn alone gives 0.2 at 7200 rpm and
# 8 ms seek; seeks of different length add to it. Common practice, no source.
SERVICE_SPREAD = 0.3

# Mean of the largest of so many normal variables, in standard deviations: 1 / sqrt(pi),
# 3 / (2 sqrt(pi)), 3 / sqrt(pi) (1 / 2 + arcsin(1 / 3) / pi), and from eight on by numerical
# integration; order statistics of the normal distribution.
_SIDE_BY_SIDE = (1.0, 2.0, 3.0, 4.0, 8.0, 16.0, 32.0)
_LARGEST = (0.0, 0.5642, 0.8463, 1.0294, 1.4236, 1.7660, 2.0697)

_WRITES = np.array([0.0, 1.0, 0.0, 1.0]).reshape(4, 1, 1)


@dataclass(frozen=True)
class Blocks:
    """How an array takes the blocks of a load, whatever drive may have failed.

    Parameters
    ----------
    many, piece_bytes : ndarray, shape (M,)
        Pieces of a block, and their size; see `drive_work.pieces`.
    cached : ndarray of bool, shape (M,)
        Whether writes are answered from a cache.
    share : ndarray, shape (4, 1, M)
        Of each kind of operation.
    long : ndarray, shape (3, M)
        Drive operations for a piece of a stream that is fetched, or gathered: at most 1.
    placing, reading, writing : ndarray, shape (4, 3, M)
        Milliseconds until a drive has found the place of a piece, and that reading or writing it
        keeps the drive busy besides.
    """

    many: FloatArray
    piece_bytes: FloatArray
    cached: NDArray[np.bool_]
    share: FloatArray
    long: FloatArray
    placing: FloatArray
    reading: FloatArray
    writing: FloatArray


@dataclass(frozen=True)
class Kinds:
    """What a host operation of each kind asks of the drives of a group.

    Shapes (4, 3, M) or what broadcasts to it, times in milliseconds with nothing queued.
    """

    share: FloatArray  # of the load
    awaited: FloatArray  # the same, of what is answered once the drives have done it
    rounds: FloatArray  # of drive operations one after another: 0 to 2
    operations: FloatArray  # drive operations of a piece
    moved: FloatArray  # drive time of them all that ordering does not shorten
    placed: FloatArray  # and that it does
    steps: FloatArray  # time along the rounds, each counted once
    late: FloatArray  # more, in standard deviations, for the slowest of several side by side
    lone: FloatArray  # wait that keeps no drive busy

    @property
    def behind(self) -> FloatArray:
        """Give the share of what was answered before the drives have done it."""
        return self.share - self.awaited


def blocks(shape: ArrayShape, times: DriveTimes, load: Load, serving: Serving) -> Blocks:
    """Say how arrays take the blocks of a load."""
    cut = pieces(shape, load.block_bytes, serving.strip_bytes)
    cached = np.asarray(serving.cached) > 0
    long = np.minimum(cut.piece_bytes / cases.FETCH_BYTES, 1.0)
    read, rand = np.asarray(load.read_share), np.asarray(load.random_share)
    share = by_kind(read * rand, (1 - read) * rand, read * (1 - rand), (1 - read) * (1 - rand))
    placing = _placing(shape, times, load, serving, cached, long)
    reading, writing = _moving(shape, times)
    return Blocks(
        cut.many, cut.piece_bytes, cached, share[:, None], long, placing, reading, writing
    )


def _placing(
    shape: ArrayShape,
    times: DriveTimes,
    load: Load,
    serving: Serving,
    cached: NDArray[np.bool_],
    long: FloatArray,
) -> FloatArray:
    place = times.position_ms
    rand, streams = np.asarray(load.random_share), np.asarray(load.outstanding)
    # On each drive: all streams of an array, and the drive's own where it is used by itself.
    here = np.where(_alone(serving), streams / shape.members, streams)
    own = 1 - rand
    turns = 1 - own / (np.maximum(here, 1.0) * own + here * rand)
    # A stream finds its place once a fetch, if another was served in between.
    fetch = place * turns * long
    # Written through, each block waits for its place, or for the turn it has just missed.
    through = place * turns + np.minimum(times.turn_ms, place) * (1 - turns)
    in_order = np.where(cached, cases.DESTAGE_DEPTH**-cases.ORDER_EXPONENT, 1.0)
    return by_kind(place, place * in_order, fetch, np.where(cached, fetch, through))


def _alone(serving: Serving) -> NDArray[np.bool_]:
    """Tell where drives are used one by one."""
    return np.asarray(np.isinf(serving.strip_bytes))


def _passed_over(shape: ArrayShape, times: DriveTimes) -> FloatArray:
    """Drive time for a byte of a stream: a disk passes over the parity among its data."""
    data = shape.group_drives - shape.parity_per_span
    return np.where(times.position_ms > 0, shape.group_drives / data, 1.0)


def _moving(shape: ArrayShape, times: DriveTimes) -> tuple[FloatArray, FloatArray]:
    read = times.random_read_ms - times.position_ms
    write = times.random_write_ms - times.position_ms
    reads = by_kind(read, read, times.sequential_read_ms * _passed_over(shape, times), read)
    stream = times.sequential_write_ms
    writes = by_kind(write, write, stream, stream)
    tracks = np.where(times.position_ms > 0, cases.TRACKS, 1.0)
    return reads[:, None] * tracks, writes[:, None] * tracks


def kinds(work: Work, of: Blocks, shape: ArrayShape, times: DriveTimes, serving: Serving) -> Kinds:
    """Time the drive operations of each kind of host operation."""
    reads, writes = work.reads[:, None], work.writes[:, None]
    one_read, one_write = of.placing + of.reading, of.placing + of.writing
    operations = reads + writes
    moved = reads * of.reading + writes * of.writing
    placed = operations * of.placing
    first, last = np.sign(reads), np.sign(writes)
    steps = first * one_read + last * one_write
    # What a stream reads comes from all drives that hold data, or that pass over the parity that
    # lies among it.
    data = shape.data_members * _passed_over(shape, times)
    steps[2] = (moved[2] + placed[2]) / np.where(_alone(serving), 1.0, data)
    late = _slowest(reads) * one_read + _slowest(writes) * one_write
    late[2] = 0.0
    lone = by_kind(
        first[0] * times.read_latency_ms,
        first[1] * times.read_latency_ms + last[1] * times.write_latency_ms,
        0.0,
        first[3] * times.read_latency_ms + last[3] * times.stream_write_latency_ms,
    )
    awaited = of.share * (1 - _WRITES * of.cached)
    return Kinds(of.share, awaited, first + last, operations, moved, placed, steps, late, lone)


def _slowest(side_by_side: FloatArray) -> FloatArray:
    return np.asarray(np.interp(side_by_side, _SIDE_BY_SIDE, _LARGEST))


def drive_operations(work: Work, of: Blocks) -> FloatArray:
    """Count the drive operations of one host operation of a load: shape (3, M).

    Streams are fetched, and gathered by a cache, in long ones.
    """
    each = (work.reads + work.writes) * of.share[:, 0]
    gathered = np.where(of.cached, of.long, 1.0)
    return np.asarray(each[0] + each[1] + each[2] * of.long + each[3] * gathered)
