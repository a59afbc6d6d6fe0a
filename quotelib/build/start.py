"""What can it start from, and do its supplies carry the start."""

from collections.abc import Iterator
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Option
from quotelib.text import plural, size
from quotelib.units import plain

MBR_BLOCKS = 2**32
"""Blocks that the four bytes of a partition's length can count in a master boot record.

UEFI Specification, legacy MBR, field SizeInLBA; from memory, as installers' manuals say it too.
"""

STARTING = Decimal("2.5")
STARTING_LOW, STARTING_HIGH = Decimal(2), Decimal(3)
"""What a disk draws while it starts, in multiples of its draw when active.

From makers' product manuals, seen: of 3.5 inches and 7200 rpm at most 2.8 A at 12 V against 13.0 W
at work, 2.6; of 2.5 inches 5.0 W against 2.2 W, 2.3, and 4.5 W against 2.1 W, 2.1. That other disks
are alike: common practice, no source.
"""


def start_array(build: Build) -> Array | None:
    """Give the array that the system may be meant to start from: the smallest one.

    None where there is a boot option, or arrays that are there already: it starts as before.
    """
    booted = any(isinstance(p.part, Option) and p.part.kind == "boot" for p in build.parts)
    if booted or build.keeps_arrays:
        return None
    return min(build.arrays, key=_volume_bytes, default=None)


def _volume_bytes(array: Array) -> int:
    """Count the bytes of what the system sees as one: an array, or a drive passed through."""
    return array.usable_bytes if array.layout.rule.is_array else array.member_bytes


def start_4096(build: Build) -> Iterator[Finding]:
    """Note that what a system has to start from has 4096-byte blocks.

    Legacy start reads blocks of 512 bytes; UEFI asks a device for its own (UEFI Specification,
    block I/O protocol; from memory). What firmware and hypervisors make of it: common practice,
    no source.
    """
    array = start_array(build)
    if array is not None and array.drive.block_bytes == "4096":
        what = (
            f"the drives {array.drive.sku}, the only ones here to start from, have blocks of 4096 "
        )
        what += "bytes: legacy start, many option ROMs and older hypervisors cannot start from them"
        change = "start by UEFI after asking for the system's own list, or add a boot option or a "
        yield finding("start_4096", what, f"{change}small mirror of drives with 512-byte blocks")


def start_size(build: Build) -> Iterator[Finding]:
    """Note a first volume that a master boot record cannot describe to its end.

    Drives with 4096-byte blocks have a note of their own.
    """
    array = start_array(build)
    if array is None or array.drive.block_bytes != "512":
        return
    if (volume := _volume_bytes(array)) > (most := MBR_BLOCKS * 512):
        what = f"the smallest volume to start from has {size(volume)}, and a master boot record "
        what += f"reaches {size(most)}"
        change = (
            "set up GPT and start by UEFI, or add a boot option or a small volume to start from"
        )
        yield finding("start_size", what, change)


def starting_w(build: Build, factor: Decimal) -> Decimal:
    """Add up the draw in watts while all disks start at once, the rest as when active."""
    kinds = (kind for array in build.arrays for kind in array.kinds())
    disks = (number * drive.active_w for drive, number, _ in kinds if drive.media == "hdd")
    return build.watts + (factor - 1) * sum(disks, Decimal(0))


def spin_up(build: Build) -> Iterator[Finding]:
    """Note supplies that would not carry all disks starting at once."""
    drawn = starting_w(build, STARTING)
    if drawn > build.supply_w:
        disks = sum(a.drives for a in build.arrays if a.drive.media == "hdd")
        low, high = (starting_w(build, factor) for factor in (STARTING_LOW, STARTING_HIGH))
        what = f"if the {disks} {plural(disks, 'disk')} start at once the build draws about "
        what += f"{plain(drawn)} W ({plain(low)} to {plain(high)} W), more than the "
        what += f"{plain(build.supply_w)} W that carry it"
        yield finding("spin_up", what, "set staggered start, or choose larger supplies")
