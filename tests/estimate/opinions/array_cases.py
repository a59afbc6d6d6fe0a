"""Drives and levels that tests of the simulated array have in common."""

from __future__ import annotations

from tests.estimate.opinions.array import Array, Cache, Disk, Flash, Load, Measured, Path, simulate
from tests.estimate.opinions.array.parts import Drive

DISK = Disk(8 * 10**12, 7200, 8.5, 246)
# Every operation keeps its one place busy for a tenth of a millisecond, a read as long as a write.
EVEN = Flash(10**12, 10_000, 10_000, 4000, 4000, depth=1024)
ONE = Array(1, one_by_one=True)
LEVELS = {
    "0": Array(8),
    "10": Array(8, copies=2),
    "5": Array(8, parity=1),
    "6": Array(8, parity=2),
    "50": Array(8, spans=2, parity=1),
    "none": Array(8, one_by_one=True),
}


def run(
    drive: Drive,
    array: Array,
    load: Load,
    cache: Cache | None = None,
    path: Path | None = None,
    operations: int = 6000,
    failed: bool = False,
) -> Measured:
    return simulate(
        drive, array, path or Path(), cache or Cache(), load, operations=operations, failed=failed
    )


def reads(outstanding: int, block: int = 4096) -> Load:
    return Load(1.0, 1.0, block, outstanding)


def writes(outstanding: int, block: int = 4096) -> Load:
    return Load(0.0, 1.0, block, outstanding)
