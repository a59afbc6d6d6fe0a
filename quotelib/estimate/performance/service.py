"""How long one drive works on one operation, from what its datasheet says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number

# Time until a lone 4 KiB command comes back from a flash drive. Common practice, no source:
# datasheets in the price list state rates at depth only.
FLASH_READ_LATENCY_MS = 0.10
FLASH_WRITE_LATENCY_MS = 0.03


@dataclass(frozen=True)
class DriveTimes:
    """Milliseconds one drive is kept busy by one operation of the workload's block size.

    Parameters
    ----------
    random_read_ms, random_write_ms, sequential_read_ms, sequential_write_ms : ndarray of float
        Busy time; its inverse is the most operations a second.
    read_latency_ms, write_latency_ms : ndarray of float
        Time an operation takes over and above its busy time while the drive serves others:
        zero for disks, the parallel inner part of flash.
    """

    random_read_ms: FloatArray
    random_write_ms: FloatArray
    sequential_read_ms: FloatArray
    sequential_write_ms: FloatArray
    read_latency_ms: FloatArray
    write_latency_ms: FloatArray


def rotational_latency_ms(rpm: ArrayLike) -> FloatArray:
    """Mean wait for a sector to come round, half a turn: 30 000 / rpm milliseconds; rpm above zero.

    The start of a random sector is uniform over the turn. Source: Ruemmler and Wilkes, An
    Introduction to Disk Drive Modeling, IEEE Computer 27(3), 1994.
    """
    return np.asarray(30_000.0 / number("rpm", rpm, above=0))


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

    Source: Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 37. Left out: reordering
    of queued commands (real disks do better with many outstanding), settling for writes,
    command overhead, inner tracks.

    Parameters
    ----------
    size_bytes, rate_mb_s : array_like of float
        Block size and sustained rate, as in `transfer_ms`.
    seek_ms, rpm : array_like of float
        Average seek, at least zero, and turns a minute, above zero.
    """
    seek = number("seek in ms", seek_ms, at_least=0)
    return np.asarray(seek + rotational_latency_ms(rpm) + transfer_ms(size_bytes, rate_mb_s))


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
    return DriveTimes(
        random_read_ms=disk_access_ms(size_bytes, seek_ms, rpm, read_mb_s),
        random_write_ms=disk_access_ms(size_bytes, seek_ms, rpm, write_mb_s),
        sequential_read_ms=transfer_ms(size_bytes, read_mb_s),
        sequential_write_ms=transfer_ms(size_bytes, write_mb_s),
        read_latency_ms=np.asarray(0.0),
        write_latency_ms=np.asarray(0.0),
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
    1 / rated rate, and a fixed wait for the rest of the lone latency.

    Parameters
    ----------
    size_bytes, read_mb_s, write_mb_s
        As in `disk_times`.
    read_iops, write_iops : array_like of float
        Rated 4 KiB random operations a second, above zero.
    read_latency_ms, write_latency_ms : array_like of float
        Time of a lone operation, at least zero. The defaults are common practice, no source.
    """
    random_read = flash_access_ms(size_bytes, read_iops, read_mb_s)
    random_write = flash_access_ms(size_bytes, write_iops, write_mb_s)
    read_lone = number("read latency in ms", read_latency_ms, at_least=0)
    write_lone = number("write latency in ms", write_latency_ms, at_least=0)
    return DriveTimes(
        random_read_ms=random_read,
        random_write_ms=random_write,
        sequential_read_ms=transfer_ms(size_bytes, read_mb_s),
        sequential_write_ms=transfer_ms(size_bytes, write_mb_s),
        read_latency_ms=np.asarray(np.maximum(read_lone - 1e3 / np.asarray(read_iops), 0.0)),
        write_latency_ms=np.asarray(np.maximum(write_lone - 1e3 / np.asarray(write_iops), 0.0)),
    )
