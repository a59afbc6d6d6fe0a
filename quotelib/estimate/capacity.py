"""How many bytes are there: from the capacity on a drive's label to usable bytes."""

from functools import lru_cache

from quotelib.units import GB, KIB, MIB

# SFF-8447 / IDEMA LBA1-03: blocks at 50 GB, and per further GB, by block size.
_AT_50_GB = {512: 97_696_368, 4096: 12_212_046}
_PER_GB = {512: 1_953_504, 4096: 244_188}
_LINEAR_UP_TO_GB = 8000
STRIP_KIB = 256
"""Of every array of ours."""
# Above that the count is a multiple of this many blocks, which is 2**30 bytes either way.
_MULTIPLE = {512: 2**21, 4096: 2**18}


def lba_count(capacity_gb: int, block_bytes: int) -> int:
    """Count the logical blocks of a drive.

    Linear up to 8000 GB, above that the capacity in blocks rounded up to a multiple of 2**21
    (512-byte) or 2**18 (4096-byte). Source: SFF-8447, LBA Count for Disk Drives; IDEMA LBA1-03.

    Parameters
    ----------
    capacity_gb : int
        Capacity as advertised, decimal gigabytes, 1 or more.
    block_bytes : int
        512 or 4096.
    """
    if block_bytes not in _AT_50_GB:
        raise ValueError(f"block_bytes is {block_bytes}; it must be 512 or 4096")
    if capacity_gb < 1:
        raise ValueError(f"capacity_gb is {capacity_gb}; it must be 1 or more")
    if capacity_gb <= _LINEAR_UP_TO_GB:
        return _AT_50_GB[block_bytes] + _PER_GB[block_bytes] * (capacity_gb - 50)
    step = block_bytes * _MULTIPLE[block_bytes]
    return -(-capacity_gb * GB // step) * _MULTIPLE[block_bytes]


@lru_cache(maxsize=1024)
def drive_bytes(capacity_gb: int, block_bytes: int) -> int:
    """Count the bytes a drive offers: blocks times block size (see `lba_count`)."""
    return lba_count(capacity_gb, block_bytes) * block_bytes


@lru_cache(maxsize=4096)
def member_bytes(smallest_drive_bytes: int, reserve_mib: int, strip_kib: int) -> int:
    """Count the bytes of each member that an array can use: whole strips, 0 where there is no room.

    Arithmetic of striped layouts: what does not fill a strip is not used.

    Parameters
    ----------
    smallest_drive_bytes : int
        Bytes of the smallest member drive.
    reserve_mib : int
        Mebibytes the controller keeps on each member for metadata.
    strip_kib : int
        Strip size in kibibytes.
    """
    strip = strip_kib * KIB
    return max(smallest_drive_bytes - reserve_mib * MIB, 0) // strip * strip
