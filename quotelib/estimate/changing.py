"""How long does it take to change an array that holds data: growing it, or moving its data.

Derived here from bytes and rates; no source. What a controller makes of it is known only to its
maker, so that shares of the drives' time stand for the ends of the range.
"""

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number
from quotelib.units import MB

# Shares of the drives' time that growing gets. Common practice, no source: all of it in an idle
# server, what a rebuild is kept in a busy one, a tenth where the controller goes in small steps.
GROWTH_SHARES = (1.0, 0.3, 0.1)

# Payload of the links over which data is commonly copied, MB/s: Ethernet at 10, 2.5 and 1 Gbit/s,
# less the overhead of its frames and of TCP/IP (IEEE 802.3: 1,460 of 1,538 bytes).
COPY_MB_S = tuple(gbit_s * 125 * 1460 / 1538 for gbit_s in (10.0, 2.5, 1.0))


def growth_hours(
    data_bytes: ArrayLike,
    members_before: ArrayLike,
    data_members_after: ArrayLike,
    read_mb_s: ArrayLike,
    write_mb_s: ArrayLike,
    share: ArrayLike = 1.0,
) -> FloatArray:
    """Hours until an array has spread its data over more members.

    All the data is read from the members there were, each of which holds an equal part of it, and
    written with its redundancy over all there are then: a member that was there reads D / n bytes
    and writes D / d, where D is the data, n the members before and d the data members afterwards.
    It does one after the other, and the new members, which only write, wait for it.

    Parameters
    ----------
    data_bytes : array_like of float
        What the array holds before, used or not, above zero.
    members_before, data_members_after : array_like of float
        At least 1.
    read_mb_s, write_mb_s : array_like of float
        Sustained rates of one member, its link counted, above zero.
    share : array_like of float
        Part of the drives' time that growing gets, above 0, at most 1.
    """
    data = number("bytes the array holds", data_bytes, above=0)
    before = number("members before", members_before, at_least=1)
    after = number("data members afterwards", data_members_after, at_least=1)
    read = number("read rate in MB/s", read_mb_s, above=0)
    write = number("write rate in MB/s", write_mb_s, above=0)
    part = number("share of drive time for growing", share, above=0, at_most=1)
    seconds = (data / before / read + data / after / write) / MB
    return np.asarray(seconds / part / 3600)


def copy_hours(data_bytes: ArrayLike, rate_mb_s: ArrayLike) -> FloatArray:
    """Hours to move data once at the rate of the slowest thing it passes: bytes / rate.

    Parameters
    ----------
    data_bytes, rate_mb_s : array_like of float
        Above zero; the rate in MB/s (10^6 bytes).
    """
    data = number("bytes to move", data_bytes, above=0)
    rate = number("rate in MB/s", rate_mb_s, above=0)
    return np.asarray(data / (rate * MB) / 3600)
