"""Do drives go together in one array: members, hot spares, and how many spans."""

from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.catalogue.parts import Drive
from quotelib.estimate.capacity import drive_bytes
from quotelib.text import both, plural

MOST_SPANS = 8
"""More spans than many controllers make; common practice, no source."""


def unfit(drive: Drive, member: Drive) -> Iterator[str]:
    """Say why a drive cannot take the place of a member; nothing where it can.

    It has to be of the same media, interface and block size and offer as many bytes at least.
    Common practice, no source.
    """
    if drive.media != member.media:
        kinds = {"hdd": "a disk", "ssd": "flash"}
        yield f"{kinds[drive.media]}, not {kinds[member.media]}"
    if drive.interface != member.interface:
        yield f"{drive.interface}, not {member.interface}"
    if drive.block_bytes != member.block_bytes:
        yield f"blocks of {drive.block_bytes} bytes, not {member.block_bytes}"
    if _bytes(drive) < _bytes(member):
        yield "too small"


def _bytes(drive: Drive) -> int:
    return drive_bytes(drive.capacity_gb, int(drive.block_bytes))


def _spares(build: Build) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """List each array with hot spares, each other one that has none, and why they cannot serve it.

    Arrays by their place from 0. A controller's spares serve its own arrays only.
    """
    for place, array in enumerate(build.arrays):
        for at, other in enumerate(build.arrays):
            if at == place or not array.layout.spares or other.layout.spares:
                continue
            if other.layout.rule.survives:
                apart = array.controller.sku != other.controller.sku
                why = ("on another controller",) if apart else ()
                yield place, at, (*why, *unfit(array.drive, other.drive))


def _called(build: Build, place: int) -> str:
    return f"array {build.arrays[place].name or place + 1}"


def spare_reach(build: Build) -> Iterator[Finding]:
    """Note which other arrays of a server a hot spare can stand in for, and which not.

    As large as a member at least, of the same media and interface, on the same controller; common
    practice, no source.
    """
    found: dict[int, list[str]] = {}
    for place, at, why in _spares(build):
        said = f"not for {_called(build, at)} ({'; '.join(why)})"
        if not why:
            said = f"for {_called(build, at)} too where it is set up for both"
        found.setdefault(place, []).append(said)
    for place, serves in found.items():
        array = build.arrays[place]
        what = f"the hot {plural(array.layout.spares, 'spare')} {array.drive.sku} of "
        what += f"{_called(build, place)} can stand in for members of its own, {both(serves)}"
        change = "an array without a spare stays degraded until a person comes: give it its own, "
        yield finding("spare_reach", what, f"{change}or have a drive for it on the shelf")


def sectors_mixed(build: Build) -> Iterator[Finding]:
    """Note drives of 512-byte blocks that would stand in one array on unlike physical blocks."""
    for place, at, why in _spares(build):
        if not why:
            yield from mixed_sectors(build.arrays[place].drive, build.arrays[at].drive)


def mixed_sectors(drive: Drive, member: Drive) -> Iterator[Finding]:
    """Note that a drive has another physical block than the members, behind the same 512 bytes.

    A drive of 4096-byte physical blocks reads and writes a whole one for each write that is
    shorter or not aligned (512e; T13 ATA Command Set, long physical sectors, from memory), and the
    slowest member sets the pace. Blocks that nobody stated are silent.
    """
    own, other = drive.physical_block_bytes, member.physical_block_bytes
    if own and other and own != other and drive.block_bytes == member.block_bytes:
        what = f"{drive.sku} has physical blocks of {own} bytes, {member.sku} of {other}, both "
        what += f"shown as {drive.block_bytes}: in one array, writes that are short or not aligned "
        what += "run at the pace of the larger"
        yield finding("sectors_mixed", what, "keep to one kind, or align everything to 4096 bytes")


def spans_many(build: Build) -> Iterator[Finding]:
    """Note more spans than many controllers make; common practice, no source."""
    for array in build.arrays:
        if array.layout.spans > MOST_SPANS:
            what = (
                f"{array.layout.rule.label} has {array.layout.spans} spans, and many controllers "
            )
            what += f"make {MOST_SPANS} at most"
            change = f"look up how many {array.controller.sku} makes, or choose fewer, wider ones"
            yield finding("spans_many", what, change)
