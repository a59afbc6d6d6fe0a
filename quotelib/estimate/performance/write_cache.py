"""What a protected write-back cache takes in, and for how long."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number, together
from quotelib.units import MB, MIB


@dataclass(frozen=True)
class CachedWrites:
    """Writes through a cache, in host data."""

    burst_mb_s: FloatArray  # taken while the cache has room
    absorbed_mb: FloatArray  # taken at that rate until it is full; infinite if it never fills
    seconds_until_full: FloatArray  # 0 without a usable cache, infinite if it never fills
    sustained_mb_s: FloatArray  # taken afterwards: what the drives can take


def cached_writes(
    cache_mib: ArrayLike,
    protected: ArrayLike,
    offered_mb_s: ArrayLike,
    destage_mb_s: ArrayLike,
    front_mb_s: ArrayLike = np.inf,
) -> CachedWrites:
    """Follow a burst of writes into a cache that empties onto the drives.

    The cache fills with the difference of what comes in and what goes out: seconds = size /
    (in - out). Conservation of bytes, no source needed. Left out: rewrites of a block still in
    the cache and sorting before destaging, which help; reads that miss, which hinder.

    Parameters
    ----------
    cache_mib : array_like of float
        Cache size in MiB, at least zero. All of it is taken to be free for writes.
    protected : array_like of bool
        Whether the cache keeps its contents through a power cut. If not, writes go through
        to the drives and the cache does not count.
    offered_mb_s, destage_mb_s : array_like of float
        Rates at which the host writes and the drives take it, above zero; the host's is infinite
        for "as fast as it goes".
    front_mb_s : array_like of float
        Lesser of controller and host link, above zero.
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
        burst = np.where(usable, np.where(np.isnan(room_mb), np.nan, incoming), outgoing)
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
