"""How long one drive works on one operation, from what its datasheet says."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number

# Time until a lone 4 KiB command comes back from a flash drive. Common practice, no source:
# datasheets in the price list state rates at depth only.
FLASH_READ_LATENCY_MS = 0.10
FLASH_WRITE_LATENCY_MS = 0.03
_LONE_BYTES = 4096

# Mean rate of a disk's tracks over its rim's, which its data sheet states: tracks of one density,
# read one a turn, from the rim to half its radius, so that a byte takes 4/3 of the rim's time on
# average over all of them; derived here. Data sheets give 0.47 to 0.67 of the rim's rate inside
# (five seen), and a linear fall (Van Meter, USENIX 1997).
RIM_TO_MEAN = 0.75


@dataclass(frozen=True)
class DriveTimes:
    """Milliseconds one drive is kept busy by one operation of a given size.

    Parameters
    ----------
    random_read_ms, random_write_ms, sequential_read_ms, sequential_write_ms : ndarray of float
        Busy time of an operation by itself.
    read_latency_ms, write_latency_ms, stream_write_latency_ms : ndarray of float
        Time a random read, a random write and a sequential write take over and above their busy
        time while the drive serves others: zero for disks, the parallel inner part of flash.
    position_ms : ndarray of float
        Part of a random busy time that goes to finding the place, which a disk shortens by
        ordering what is queued; zero for flash.
    turn_ms : ndarray of float
        Until a place that has just gone by comes round again; zero for flash.
    """

    random_read_ms: FloatArray
    random_write_ms: FloatArray
    sequential_read_ms: FloatArray
    sequential_write_ms: FloatArray
    read_latency_ms: FloatArray
    write_latency_ms: FloatArray
    stream_write_latency_ms: FloatArray = field(default_factory=lambda: np.asarray(0.0))
    position_ms: FloatArray = field(default_factory=lambda: np.asarray(0.0))
    turn_ms: FloatArray = field(default_factory=lambda: np.asarray(0.0))


def rotational_latency_ms(rpm: ArrayLike) -> FloatArray:
    """Mean wait for a sector to come round, half a turn: 30 000 / rpm milliseconds; rpm above zero.

    The start of a random sector is uniform over the turn. Source: Ruemmler and Wilkes, An
    Introduction to Disk Drive Modeling, IEEE Computer 27(3), 1994.
    """
    return np.asarray(30_000.0 / number("rpm", rpm, above=0))


def position_ms(seek_ms: ArrayLike, rpm: ArrayLike) -> FloatArray:
    """Mean time until a disk has found a place that is anywhere: seek and half a turn, in ms.

    Parameters
    ----------
    seek_ms, rpm : array_like of float
        Average seek, at least zero, and turns a minute, above zero.
    """
    return np.asarray(number("seek in ms", seek_ms, at_least=0) + rotational_latency_ms(rpm))


def transfer_ms(size_bytes: ArrayLike, rate_mb_s: ArrayLike) -> FloatArray:
    """Time to move bytes at a rate, in milliseconds: bytes / (rate x 1000).

    Parameters
    ----------
    size_bytes, rate_mb_s : array_like of float
        At least zero, and above zero; an infinite rate is no limit.
    """
    size = number("size in bytes", size_bytes, at_least=0)
    rate = number("rate in MB/s", rate_mb_s, above=0, infinite=True)
    return np.asarray(size / (rate * 1e3))


def disk_access_ms(
    size_bytes: ArrayLike, seek_ms: ArrayLike, rpm: ArrayLike, rate_mb_s: ArrayLike
) -> FloatArray:
    """Service time of one random access of a disk, in milliseconds: seek + half a turn + transfer.

    Source: Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 37. That is of a disk with
    nothing queued; see `cases.ORDER_EXPONENT` for what it gains by choosing. Left out: settling
    for writes, command overhead, inner tracks.

    Parameters
    ----------
    size_bytes, rate_mb_s : array_like of float
        Block size and sustained rate, as in `transfer_ms`.
    seek_ms, rpm : array_like of float
        Average seek, at least zero, and turns a minute, above zero.
    """
    return np.asarray(position_ms(seek_ms, rpm) + transfer_ms(size_bytes, rate_mb_s))


def flash_access_ms(
    size_bytes: ArrayLike, rated_iops: ArrayLike, rate_mb_s: ArrayLike
) -> FloatArray:
    """Busy time of one random access of a flash drive, in milliseconds.

    The longer of 1000 / rated_iops and the transfer: a drive is held by its operations while blocks
    are small and by its transfer rate once they are large (rated values of the datasheet; blocks
    under 4 KiB count as 4 KiB).

    Parameters
    ----------
    size_bytes, rate_mb_s : array_like of float
        Block size and sustained rate, as in `transfer_ms`.
    rated_iops : array_like of float
        Rated 4 KiB operations a second, above zero.
    """
    operations = number("rated IOPS", rated_iops, above=0)
    return np.asarray(np.maximum(1e3 / operations, transfer_ms(size_bytes, rate_mb_s)))


def disk_times(
    size_bytes: ArrayLike,
    seek_ms: ArrayLike,
    rpm: ArrayLike,
    read_mb_s: ArrayLike,
    write_mb_s: ArrayLike,
) -> DriveTimes:
    """All times of a disk at two sustained rates; the rest as in `disk_access_ms`.

    Random accesses pay seek and half a turn, sequential ones do not.
    """
    none = np.asarray(0.0)
    return DriveTimes(
        random_read_ms=disk_access_ms(size_bytes, seek_ms, rpm, read_mb_s),
        random_write_ms=disk_access_ms(size_bytes, seek_ms, rpm, write_mb_s),
        sequential_read_ms=transfer_ms(size_bytes, read_mb_s),
        sequential_write_ms=transfer_ms(size_bytes, write_mb_s),
        read_latency_ms=none,
        write_latency_ms=none,
        stream_write_latency_ms=none,
        position_ms=position_ms(seek_ms, rpm),
        turn_ms=np.asarray(2 * rotational_latency_ms(rpm)),
    )


def flash_times(
    size_bytes: ArrayLike,
    read_iops: ArrayLike,
    write_iops: ArrayLike,
    read_mb_s: ArrayLike,
    write_mb_s: ArrayLike,
    *,
    read_latency_ms: ArrayLike = FLASH_READ_LATENCY_MS,
    write_latency_ms: ArrayLike = FLASH_WRITE_LATENCY_MS,
) -> DriveTimes:
    """All times of a flash drive.

    A flash drive works on many commands at once. Its station is split as Seidmann, Schweitzer
    and Shalev-Oren (Large Scale Systems 12, 1987) split a multiple server: a queue that takes
    1 / rated rate, and a fixed wait for the rest of the lone latency, of which an operation's own
    busy time is taken off: a drive rated higher is never slower.

    Parameters
    ----------
    size_bytes, read_mb_s, write_mb_s
        As in `disk_times`.
    read_iops, write_iops : array_like of float
        Rated 4 KiB random operations a second, above zero.
    read_latency_ms, write_latency_ms : array_like of float
        Time of a lone operation of 4 KiB, at least zero. The defaults are common practice, no
        source.
    """
    none = np.asarray(0.0)
    random_read = flash_access_ms(size_bytes, read_iops, read_mb_s)
    random_write = flash_access_ms(size_bytes, write_iops, write_mb_s)
    stream_write = transfer_ms(size_bytes, write_mb_s)
    # What is longer than the 4 KiB that the lone latency is of takes its transfer longer.
    more = np.maximum(np.asarray(size_bytes, dtype=np.float64) - _LONE_BYTES, 0.0)
    read_lone = number("read latency in ms", read_latency_ms, at_least=0)
    read_lone = read_lone + transfer_ms(more, read_mb_s)
    write_lone = number("write latency in ms", write_latency_ms, at_least=0)
    write_lone = write_lone + transfer_ms(more, write_mb_s)
    return DriveTimes(
        random_read_ms=random_read,
        random_write_ms=random_write,
        sequential_read_ms=transfer_ms(size_bytes, read_mb_s),
        sequential_write_ms=stream_write,
        read_latency_ms=np.asarray(np.maximum(read_lone - random_read, 0.0)),
        write_latency_ms=np.asarray(np.maximum(write_lone - random_write, 0.0)),
        stream_write_latency_ms=np.asarray(np.maximum(write_lone - stream_write, 0.0)),
        position_ms=none,
        turn_ms=none,
    )
