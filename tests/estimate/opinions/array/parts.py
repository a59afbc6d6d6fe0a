"""What is simulated: parts and loads, and what is measured of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

KIB, MIB = 1024, 1024**2


@dataclass(frozen=True)
class Disk:
    """A disk, as its data sheet states it, and what sheets leave out.

    Parameters
    ----------
    bytes : int
        Capacity.
    rpm, seek_ms, rate_mb_s : float
        Turns a minute, average seek, sustained rate at the rim. One rate for reads and writes,
        since the density is one (sheets differ by a hundredth).
    depth : int
        Commands it takes at once: 32 for SATA (ACS, T13, from memory), 128 for SAS (what drives
        of the class report; from memory).
    settle_ms, write_settle_ms : float
        The least seek, settling included, and what a write takes longer. Common practice, no
        source: sheets state 0.2 to 1 ms from track to track, and average write seeks that are
        0.5 to 1 ms longer.
    command_ms : float
        The drive's own work on a command that does not follow on the one before. Common practice,
        no source (0.1 to 0.3 ms).
    sorts : bool
        Whether it takes the queued command with the shortest positioning time first; else in order.
    ageing : float
        Seconds by which a command counts as nearer for each second it has waited, so that none
        starves: the aged form in Jacobson and Wilkes, HPL-CSP-91-7, 1991 (from memory); the weight
        is common practice, no source.
    buffer_bytes : int
        How far it reads on by itself after a read while it has nothing else to do. Common
        practice, no source.
    """

    bytes: int
    rpm: float
    seek_ms: float
    rate_mb_s: float
    depth: int = 32
    settle_ms: float = 0.8
    write_settle_ms: float = 0.5
    command_ms: float = 0.1
    sorts: bool = True
    ageing: float = 0.01
    buffer_bytes: int = 4 * MIB


@dataclass(frozen=True)
class Flash:
    """A flash drive: rated random operations, rates, and the times of a lone operation.

    The lone times, 0.10 and 0.03 ms for 4 KiB, are common practice, no source.
    """

    bytes: int
    read_iops: float
    write_iops: float
    read_mb_s: float
    write_mb_s: float
    depth: int = 32
    read_ms: float = 0.10
    write_ms: float = 0.03


Drive = Disk | Flash


@dataclass(frozen=True)
class Array:
    """How drives form an array; `one_by_one`: each is used by itself."""

    members: int
    spans: int = 1
    parity: int = 0
    copies: int = 1
    one_by_one: bool = False
    strip_bytes: int = 256 * KIB


@dataclass(frozen=True)
class Path:
    """What data pass between drives and host; infinite: no limit.

    `links_at_once` drives can use their links at a time. `controller_iops` and `controller_mb_s`
    count operations and bytes at the side of the drives. `overhead_ms` is what the controller
    takes for a host operation besides (0.02 to 0.05 ms; common practice, no source).
    """

    link_mb_s: float = math.inf
    links_at_once: float = math.inf
    controller_mb_s: float = math.inf
    controller_iops: float = math.inf
    host_mb_s: float = math.inf
    overhead_ms: float = 0.03


@dataclass(frozen=True)
class Cache:
    """What the array keeps: protected bytes for writes (0: none), and how much it reads ahead.

    `fetch_bytes` is what one fetch for a stream reads of each drive (1 to 4 MiB), and what is
    gathered of a stream of writes before it goes to each drive. Common practice, no source.
    """

    write_bytes: int = 0
    fetch_bytes: int = 2 * MIB


@dataclass(frozen=True)
class Load:
    """What the host asks for.

    `outstanding` customers have one operation each under way and ask for the next at once; with
    `arrivals_per_s` operations arrive by themselves, at moments of a Poisson process, on as many
    streams.
    """

    read_share: float
    random_share: float
    block_bytes: int
    outstanding: int
    arrivals_per_s: float | None = None


@dataclass(frozen=True)
class Measured:
    """What came of a run, after its warm-up.

    Parameters
    ----------
    iops, iops_error : float
        Host operations a second, and the standard error of that by batch means.
    response_ms, read_ms, write_ms : float
        Mean times of one operation; NaN where there was none.
    read_parts_ms, write_parts_ms : tuple of float
        95th and 99th percentile.
    busy : float
        Mean share of the time that drives are busy.
    asked, answered : int
        Host operations from the very start to the end, and those under way at the end in between.
    drive_reads, drive_writes, drive_bytes : float
        Operations of drives, and bytes to and from them, for one of the host's.
    rebuilt_mb_s : float
        Rate at which a new drive fills; NaN where none does.
    longest_wait_ms : float
        The longest time of all.
    """

    iops: float
    iops_error: float
    response_ms: float
    read_ms: float
    write_ms: float
    read_parts_ms: tuple[float, float]
    write_parts_ms: tuple[float, float]
    busy: float
    asked: int
    answered: int
    under_way: int
    drive_reads: float
    drive_writes: float
    drive_bytes: float
    rebuilt_mb_s: float
    longest_wait_ms: float
