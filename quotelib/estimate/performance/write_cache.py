"""What a protected write-back cache takes in, and for how long."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, together
from quotelib.units import MB, MIB


@dataclass(frozen=True)
class CachedWrites:
    """Writes through a cache, in host data; every field has the broadcast shape.

    Parameters
    ----------
    burst_mb_s : ndarray of float
        Rate taken while the cache has room.
    absorbed_mb : ndarray of float
        Host data taken at that rate before the cache is full; infinite if it never fills.
    seconds_until_full : ndarray of float
        How long that lasts; 0 without a usable cache, infinite if it never fills.
    sustained_mb_s : ndarray of float
        Rate afterwards: what the drives can take.
    """

    burst_mb_s: FloatArray
    absorbed_mb: FloatArray
    seconds_until_full: FloatArray
    sustained_mb_s: FloatArray


def cached_writes(
    cache_mib: ArrayLike,
    protected: ArrayLike,
    offered_mb_s: ArrayLike,
    destage_mb_s: ArrayLike,
    front_mb_s: ArrayLike = np.inf,
) -> CachedWrites:
    """Follow a burst of writes into a cache that empties onto the drives.

    Parameters
    ----------
    cache_mib : array_like of float
        Cache size in MiB, at least zero. All of it is taken to be free for writes.
    protected : array_like of bool
        Whether the cache keeps its contents through a power cut. If not, writes go through
        to the drives and the cache does not count.
    offered_mb_s : array_like of float
        Rate at which the host writes, above zero; infinity for "as fast as it goes".
    destage_mb_s : array_like of float
        Rate at which the drives take these writes, above zero.
    front_mb_s : array_like of float
        Lesser of controller and host link.

    Returns
    -------
    CachedWrites
        NaN where an input is NaN.

    Raises
    ------
    ValueError
        A negative size, or a rate not above zero.

    Notes
    -----
    The cache fills with the difference of what comes in and what goes out: seconds = size /
    (in - out). Conservation of bytes, no source needed. Left out: rewrites of a block still in
    the cache and sorting before destaging, which help; reads that miss, which hinder.
    """
    size = number("cache in MiB", cache_mib, at_least=0)
    offered = number("offered writes in MB/s", offered_mb_s, above=0, infinite=True)
    destage = number("destage rate in MB/s", destage_mb_s, above=0)
    front = number("front rate in MB/s", front_mb_s, above=0, infinite=True)
    room_mb = np.where(np.asarray(protected, dtype=bool), size * MIB / MB, 0.0)
    # A drive never takes more than what reaches it.
    incoming = np.minimum(offered, front)
    outgoing = np.minimum(incoming, destage)
    with np.errstate(divide="ignore", invalid="ignore"):
        filling = incoming - outgoing
        seconds = np.where(
            filling > 0, room_mb / filling, np.where((filling == 0) & (room_mb > 0), np.inf, 0.0)
        )
        seconds = np.where(np.isnan(filling + room_mb), np.nan, seconds)
        usable = np.isnan(room_mb) | (room_mb > 0)
        burst = np.where(usable, incoming + 0.0 * room_mb, outgoing)
        # An endless rate fills the cache in no time, but no more than the cache.
        absorbed = np.where(np.isinf(incoming) & usable, room_mb, burst * seconds)
        absorbed = np.where(usable, absorbed, 0.0 * outgoing)
    return CachedWrites(
        **together(
            burst_mb_s=burst,
            absorbed_mb=absorbed,
            seconds_until_full=seconds,
            sustained_mb_s=outgoing,
        )
    )
