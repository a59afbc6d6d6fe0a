"""What is taken to be so at the value, the low and the high end of an estimate of speed.

Every figure here stands three times: value, low end, high end. They are what a data sheet does not
say of a drive or controller; what it does say is the same in all three.
"""

import numpy as np

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.service import RIM_TO_MEAN
from quotelib.units import MIB

VALUE, LOW, HIGH = range(3)


def _column(*three: float) -> FloatArray:
    return np.array(three).reshape(3, 1)


DRIVE_MARGIN = _column(1.0, 1.2, 1.0)
"""Drives take so many times as long as the data sheet suggests. Common practice, no source."""

ORDER_EXPONENT = _column(1 / 4, 1 / 8, 0.28)
"""With n commands queued at a disk the time to find a place falls as n to minus this power.

Choosing the nearest of n places on a disk whose seek time goes by the square root of the distance
gives 1/3, less what settling takes. A fourth, fitted here, is within 4 % of a simulation of three
kinds of disk up to depth 256, and 5 % under data sheets (a 7200 rpm disk of 8.5 ms: 79 reads a
second at depth 1, about 170 at depth 16, which makes 0.28, the high end). With hundreds queued such
rules reach "nearly four times" the rate of first come, first served: Seltzer, Chen and Ousterhout,
Disk Scheduling Revisited, USENIX Winter 1990 (from memory); 256 ^ (1/4) is 4. Low end: half of it,
for disks or drivers that choose badly; common practice, no source.
"""

QUEUE_DEPTH = _column(32, 32, 128)
"""Commands that a disk chooses among: 32 by the SATA standard's tags; SAS disks take more."""

TRACKS = _column(1 / RIM_TO_MEAN, 1 / RIM_TO_MEAN, 1.0)
"""A disk's bytes take so many times as long as at the rim; high end: what is used is there."""

INNER_TRACKS = 0.5
"""Rate of a disk's inner tracks over its rim's, the low end of a long transfer: `RIM_TO_MEAN`."""

FLASH_SHARED = 0.8
"""Rate of flash over what its data sheet says, the low end of a long transfer. Common practice."""

FETCH_BYTES = _column(2 * MIB, 1 * MIB, 4 * MIB)
"""What is read ahead of a stream, or written of one at a time, on one drive. Common practice."""

REBUILD_BYTES = _column(1 * MIB, 4 * MIB, MIB / 4)
"""What a rebuild moves of a drive before a host's operation gets at it. Common practice."""

REBUILD_PART = _column(1.0, 1.0, 0.5)
"""How much of its share of the drives' time a rebuild really takes: it gives way to a busy host."""

SHARES_CONTROLLER = _column(1.0, 1.0, 0.0)
"""Whether a rebuild takes its share of the controller too; else of the drives alone."""

DESTAGE_DEPTH = _column(128, 16, 1024)
"""Places among which a drive, or the cache that empties into it, chooses the next: what waits in a
cache is many times that, but reads come between. Fitted to a simulation (tests), no source."""

SLOWEST = _column(1.5, 3.0, 0.0)
"""An operation of several drives waits for the slowest of them, whose queues spread so many times
as much as service times do. Fitted to a simulation (tests), no source."""

IN_TURN = _column(0.0, 1.0, 0.0)
"""Whether data pass links, controller and slot one operation after another; else they only limit
how much passes, as where each passes on what it has while the rest still comes."""

WIRE_MARGIN = _column(1.0, 1.1, 1.0)
"""Links, controller and slot take so many times as long as their payload rate suggests: packets
have headers (PCI Express: 24 to 28 bytes to 256 of data, from memory)."""

DRIVE_SIDE = np.array([True, True, False]).reshape(3, 1)
"""Whether a controller's limits hold for what it moves to and from the drives, or for the host's
operations and data: data sheets do not say which."""

CONTROLLER_MS = _column(0.03, 0.06, 0.02)
"""What a controller, its driver and the system add to an operation. Common practice, no source."""

CACHE_ANSWER_MS = _column(0.04, 0.14, 0.01)
"""Until a write-back cache has taken a write and said so, besides. Common practice, no source."""
