"""A rebuild: a new drive is filled from the others while the host has more, less or no work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tests.estimate.opinions.array.clock import Join
from tests.estimate.opinions.array.parts import MIB, Array, Cache, Drive, Load, Path
from tests.estimate.opinions.array.running import Watch
from tests.estimate.opinions.array.whole import Whole

NO_LOAD = Load(1.0, 1.0, 4096, 1, arrivals_per_s=0.0)
AHEAD = 3
"""Pieces under way at once, so that the new drive is written while the next piece is read.
Common practice, no source."""


class Rebuild:
    """Fills the first drive, piece after piece, from a row on.

    A piece is read of as many drives as give the lost one back, and then written. Both go to the
    drives as background work: a drive gives it its share of the time while the host has work for
    that drive, and all the time otherwise.
    """

    def __init__(self, whole: Whole, start: int, piece: int) -> None:
        """Fill on from a byte of the drive."""
        self.whole, self.at, self.piece = whole, start, piece
        self.ends: list[float] = []
        placing = whole.placing
        others = [d for d in range(placing.drives) if d != 0]
        self.sources = others[: placing.data] if placing.parity else others[:1]
        for _ in range(AHEAD):
            self._next()

    def _next(self) -> None:
        at, self.at = self.at, self.at + self.piece
        extents = [(drive, at, self.piece) for drive in self.sources]
        self.whole.read_all(extents, Join(1, lambda: self._read(at)), background=True)

    def _read(self, at: int) -> None:
        self.whole.write_all([(0, at, self.piece)], self._written, background=True)

    def _written(self) -> None:
        self.ends.append(self.whole.clock.now)
        self._next()


@dataclass(frozen=True)
class Filled:
    """How long a rebuild takes, and what the host gets meanwhile."""

    hours: float
    mb_s: tuple[float, ...]
    iops: float


def rebuild_hours(
    drive: Drive,
    array: Array,
    path: Path,
    cache: Cache,
    load: Load | None = None,
    *,
    share: float = 0.3,
    piece_bytes: int = 4 * MIB,
    places: Sequence[float] = (0.1, 0.3, 0.5, 0.7, 0.9),
    pieces: int = 24,
    most_operations: int = 12_000,
    seed: int = 1,
) -> Filled:
    """Hours to fill a drive: some pieces are simulated at several places of it, then summed up.

    Parameters
    ----------
    load : Load or None
        What goes on meanwhile; None: nothing.
    share : float
        Of a drive's time that a rebuild gets while the host keeps it busy. Common practice, no
        source.
    piece_bytes : int
        Of each drive at a time, 1 to 16 MiB. Common practice, no source.
    """
    rates, iops = [], []
    for number, place in enumerate(places):
        whole = Whole(
            drive, array, path, cache, load or NO_LOAD, failed=0, rebuild_share=share,
            seed=seed + number,
        )  # fmt: skip
        watch = Watch(whole)
        watch.start()
        first = int(drive.bytes * place) // array.strip_bytes * array.strip_bytes
        rebuild = Rebuild(whole, first, piece_bytes)
        warm = AHEAD + 2
        while len(rebuild.ends) < warm + pieces and len(watch.times) < most_operations:
            whole.clock.step()
        spans = len(rebuild.ends) - 1 - warm
        if spans < 3:
            raise ValueError(f"only {len(rebuild.ends)} pieces in {len(watch.times)} operations")
        seconds = rebuild.ends[-1] - rebuild.ends[warm]
        rates.append(spans * piece_bytes / seconds / 1e6)
        iops.append(len(watch.times) / whole.clock.now)
    hours = sum(drive.bytes / len(rates) / (rate * 1e6) for rate in rates) / 3600
    return Filled(hours, tuple(rates), sum(iops) / len(iops))
