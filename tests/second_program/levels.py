"""The contract's table of levels, and how many bytes an array holds."""

from __future__ import annotations

from .reading import Controller, Drive

LEVELS = ("0", "1", "5", "6", "10", "50", "60", "none")
SPANNED = {"50": 3, "60": 4}  # fewest drives of a span
FEWEST = {"0": 2, "1": 2, "5": 3, "6": 4, "10": 4, "50": 6, "60": 8, "none": 1}  # members
STRIP_BYTES = 256 * 1024


def lba_count(capacity_gb: int, block_bytes: int) -> int:
    """Blocks of a drive by SFF-8447: the linear formula to 8000 GB, round numbers above."""
    if capacity_gb <= 8000:
        if block_bytes == 512:
            return 97_696_368 + 1_953_504 * (capacity_gb - 50)
        return 12_212_046 + 244_188 * (capacity_gb - 50)
    multiple = 2**21 if block_bytes == 512 else 2**18
    return -(-capacity_gb * 10**9 // (block_bytes * multiple)) * multiple


def drive_bytes(drive: Drive) -> int:
    """Bytes of one drive."""
    return lba_count(drive.capacity_gb, drive.block_bytes) * drive.block_bytes


def member_bytes(drive: Drive, controller: Controller) -> int:
    """Bytes of one drive left for the array."""
    return (drive_bytes(drive) - controller.reserve_mib * 2**20) // STRIP_BYTES * STRIP_BYTES


def data_members(level: str, members: int, spans: int) -> int:
    """Members' worth of data, by the table of levels."""
    return {
        "0": members,
        "1": 1,
        "5": members - 1,
        "6": members - 2,
        "10": members // 2,
        "50": members - spans,
        "60": members - 2 * spans,
        "none": members,
    }[level]


def survives_any(level: str) -> int:
    """Failures survived whichever drives fail, by the table of levels."""
    return {"0": 0, "1": 1, "5": 1, "6": 2, "10": 1, "50": 1, "60": 2, "none": 0}[level]


def member_count_fits(level: str, members: int, spans: int) -> bool:
    """Whether the level can be made of so many members in so many spans."""
    if level in SPANNED:
        return spans >= 2 and members % spans == 0 and members // spans >= SPANNED[level]
    if spans != 1:
        return False
    if level == "1":
        return members == 2
    if level == "10":
        return members >= 4 and members % 2 == 0
    return members >= FEWEST[level]


def grows_evenly(level: str, old: int, members: int, spans: int) -> bool:
    """Whether an array of so many members can have come of an old one by equal steps."""
    if level not in SPANNED:
        return member_count_fits(level, old, 1)
    whole, one_span = divmod(old, members // spans)
    added_to_each = member_count_fits(level, old, spans)
    return added_to_each or (one_span == 0 and whole >= 2)


def level_offered(level: str, controller: Controller) -> bool:
    """Whether the controller can do the level."""
    if level == "none":
        return controller.kind in ("pass_through", "chipset")
    return level in controller.levels
