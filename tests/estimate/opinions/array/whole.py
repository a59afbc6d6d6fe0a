"""The array as a whole: drives, the way to them, and how host operations are carried out."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from tests.estimate.opinions.array.caching import Run, WriteBack
from tests.estimate.opinions.array.clock import Clock, Join
from tests.estimate.opinions.array.flash import FlashDrive
from tests.estimate.opinions.array.parts import MIB, Array, Cache, Disk, Drive, Load, Path
from tests.estimate.opinions.array.placing import Extent, Placing
from tests.estimate.opinions.array.reading import Stream
from tests.estimate.opinions.array.spinning import Command, Spinning
from tests.estimate.opinions.array.way import Way

_FEW_BLOCKS, _FEW_BYTES = 4096, 64 * MIB
"""Room of a cache before flash: order gains nothing there, and a small one settles sooner."""


class Whole:
    """An array at work; `failed` is the drive that is gone, or -1."""

    def __init__(
        self,
        drive: Drive,
        array: Array,
        path: Path,
        cache: Cache,
        load: Load,
        *,
        failed: int = -1,
        rebuild_share: float = 0.3,
        seed: int = 1,
    ) -> None:
        """Put it together."""
        self.clock, self.random, self.load = Clock(), Random(seed), load
        self.array, self.path = array, path
        self.placing = Placing(array, drive.bytes, failed)
        self.drives: list[Spinning | FlashDrive] = [
            Spinning(self.clock, drive, rebuild_share, self.random.random())
            if isinstance(drive, Disk)
            else FlashDrive(self.clock, drive, rebuild_share)
            for _ in range(array.members)
        ]
        self.way = Way(self.clock, path, array.members)
        self.reads = self.writes = self.moved = 0
        block, spots = load.block_bytes, load.outstanding
        rows = max(cache.fetch_bytes // array.strip_bytes, 1)
        piece = rows * self.placing.row_bytes
        space = self.placing.bytes
        self.blocks = space // block
        random = self.random
        # Streams are spread evenly over the array, which is faster at the rim; in any order.
        streams = [
            int((spot + random.random()) / spots * max(space - 4 * piece, 1))
            for _ in range(2)
            for spot in random.sample(range(spots), spots)
        ]
        self.streams = [
            Stream(at // block * block, piece, space, self._fetch_long) for at in streams[:spots]
        ]
        self.cached: WriteBack | None = None
        if cache.write_bytes and load.read_share < 1:
            long = load.random_share < 1
            each = cache.write_bytes // (4 * spots) // self.placing.row_bytes
            piece = max(min(rows, each), 1) * self.placing.row_bytes
            room = (cache.write_bytes - 2 * spots * piece * long) // block
            eager = not isinstance(drive, Disk)
            self.cached = WriteBack(
                min(room, _FEW_BLOCKS, max(_FEW_BYTES // block, 32)) if eager else room,
                block,
                piece,
                space // block * block,
                8 * array.members,
                eager,
                random,
                self.write_out,
                self._write_long,
            )
        self.runs = [self._run(at, block, piece) for at in streams[spots:]]

    def _run(self, at: int, block: int, piece: int) -> Run:
        """Start a stream of writes somewhere within a piece."""
        since = at // piece * piece
        return Run(since + self.random.randrange(max(piece // block, 1)) * block, since)

    # What the host asks for.

    def ask(self, spot: int, done: Callable[[bool], None]) -> None:
        """Carry out one operation of a customer; `done` is told whether it was a write."""
        load, random, block = self.load, self.random, self.load.block_bytes
        write = random.random() >= load.read_share
        single = random.random() < load.random_share
        address = random.randrange(self.blocks) * block if single else -1
        lead = self.path.overhead_ms / 1e3
        if write:
            come = self.way.from_host(block) + lead
            self.clock.at(come, self._write, spot, address, lambda: done(True))
            return

        def read() -> None:
            self.clock.at(self.way.to_host(block), done, False)

        if single:
            self.clock.at(self.clock.now + lead, self._fetch, address, block, read)
        else:
            self.clock.at(self.clock.now + lead, self.streams[spot].read, block, read)

    def _write(self, spot: int, address: int, done: Callable[[], None]) -> None:
        block, run = self.load.block_bytes, self.runs[spot]
        if self.cached:
            if address >= 0:
                self.cached.write(address, done)
            else:
                self.cached.append(run, block, done)
            return
        if address < 0:
            address = run.at
            run.at = 0 if run.at + 2 * block > self.placing.bytes else run.at + block
        self.write_out(address, block, done)

    # What becomes of it on the drives.

    def _pick(self, drives: list[int], start: int) -> int:
        """Choose the copy with fewest commands; of equal ones that whose arm is nearer."""
        all_drives = self.drives
        return min(
            drives,
            key=lambda d: (all_drives[d].load, abs(all_drives[d].place(start) - all_drives[d].x)),
        )

    def _fetch(self, address: int, size: int, done: Callable[[], None]) -> None:
        self.read_all(self.placing.reads(address, size, self._pick), done)

    def _fetch_long(self, address: int, size: int, done: Callable[[], None]) -> None:
        self.read_all(self.placing.reads(address, size, self._pick), done, long=True)

    def _write_long(self, address: int, size: int, done: Callable[[], None]) -> None:
        self.write_out(address, size, done, long=True)

    def write_out(
        self, address: int, size: int, done: Callable[[], None], long: bool = False
    ) -> None:
        """Write something to the drives, reading first what its parity needs."""
        before, after = self.placing.writes(address, size)
        if before:
            self.read_all(before, lambda: self.write_all(after, done, long=long), long=long)
        else:
            self.write_all(after, done, long=long)

    def read_all(
        self,
        extents: list[Extent],
        done: Callable[[], None],
        background: bool = False,
        long: bool = False,
    ) -> None:
        """Read some extents side by side."""
        join = Join(len(extents), done)
        for drive, start, size in extents:
            self.reads += 1
            self.moved += size

            def moved(drive: int = drive, size: int = size) -> None:
                self.clock.at(self.way.move(drive, size), join)

            self._give(drive, Command(False, start, size, moved, background, long))

    def write_all(
        self,
        extents: list[Extent],
        done: Callable[[], None],
        background: bool = False,
        long: bool = False,
    ) -> None:
        """Write some extents side by side."""
        if not extents:
            done()
            return
        join = Join(len(extents), done)
        for drive, start, size in extents:
            self.writes += 1
            self.moved += size
            command = Command(True, start, size, join, background, long)
            self.clock.at(self.way.move(drive, size), self._give, drive, command)

    def _give(self, drive: int, command: Command) -> None:
        if self.way.limited:
            self.clock.at(self.way.command(), self.drives[drive].submit, command)
        else:
            self.drives[drive].submit(command)
