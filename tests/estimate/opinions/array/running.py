"""Running an array under a load, and measuring it."""

from __future__ import annotations

import math

import numpy as np

from tests.estimate.opinions.array.parts import Array, Cache, Drive, Load, Measured, Path
from tests.estimate.opinions.array.whole import Whole

_BATCHES = 20


class Watch:
    """Keeps the host asking and notes the answers."""

    def __init__(self, whole: Whole) -> None:
        """Watch an array."""
        self.whole, self.asked = whole, 0
        self.times: list[float] = []
        self.took: list[float] = []
        self.wrote: list[bool] = []

    def start(self) -> None:
        """Begin to ask: every customer at once, or the first arrival."""
        load = self.whole.load
        if load.arrivals_per_s is None:
            for spot in range(load.outstanding):
                self._ask(spot)
        elif load.arrivals_per_s > 0:
            self._wait()

    def _wait(self) -> None:
        rate = self.whole.load.arrivals_per_s or 0.0
        clock = self.whole.clock
        clock.at(clock.now + self.whole.random.expovariate(rate), self._arrive)

    def _arrive(self) -> None:
        self._ask(self.asked % self.whole.load.outstanding)
        self._wait()

    def _ask(self, spot: int) -> None:
        self.asked += 1
        begun = self.whole.clock.now
        self.whole.ask(spot, lambda write: self._answered(spot, begun, write))

    def _answered(self, spot: int, begun: float, write: bool) -> None:
        now = self.whole.clock.now
        self.times.append(now)
        self.took.append(now - begun)
        self.wrote.append(write)
        if self.whole.load.arrivals_per_s is None:
            self._ask(spot)


def simulate(
    drive: Drive,
    array: Array,
    path: Path,
    cache: Cache,
    load: Load,
    *,
    operations: int = 6000,
    warm_up: float = 0.25,
    failed: bool = False,
    seed: int = 1,
) -> Measured:
    """Run an array under a load until so many operations are answered.

    Parameters
    ----------
    warm_up : float
        Share of the operations that are not measured.
    failed : bool
        Whether its first drive is gone.
    """
    whole = Whole(drive, array, path, cache, load, failed=0 if failed else -1, seed=seed)
    watch = Watch(whole)
    watch.start()
    skipped = int(operations * warm_up)
    while len(watch.times) < skipped and whole.clock.step():
        pass
    before = _marks(whole)
    while len(watch.times) < operations and whole.clock.step():
        pass
    return measured(whole, watch, skipped, before)


def _marks(whole: Whole) -> tuple[float, float, int, int, int]:
    busy = sum(drive.busy_s for drive in whole.drives)
    return whole.clock.now, busy, whole.reads, whole.writes, whole.moved


def measured(
    whole: Whole, watch: Watch, skipped: int, before: tuple[float, float, int, int, int]
) -> Measured:
    """Sum up what was noted after a warm-up."""
    took = np.array(watch.took[skipped:]) * 1e3
    wrote = np.array(watch.wrote[skipped:], dtype=bool)
    began, busy, reads, writes, moved = before
    after = _marks(whole)
    span = after[0] - began
    ends = np.array([began, *watch.times[skipped:]])
    many = len(took)
    marks = ends[np.linspace(0, many, _BATCHES + 1).astype(int)] if many else np.zeros(2)
    # Batches of equal numbers: the mean gap between answers, and its error over batches.
    gaps = np.diff(marks) / max(many / _BATCHES, 1)
    iops = many / span if span > 0 else math.nan
    error = iops**2 * float(np.std(gaps, ddof=1)) / math.sqrt(_BATCHES) if many else math.nan
    drives = whole.array.members
    return Measured(
        iops=iops,
        iops_error=error,
        response_ms=_mean(took),
        read_ms=_mean(took[~wrote]),
        write_ms=_mean(took[wrote]),
        read_parts_ms=_parts(took[~wrote]),
        write_parts_ms=_parts(took[wrote]),
        busy=(after[1] - busy) / span / drives if span > 0 else math.nan,
        asked=watch.asked,
        answered=len(watch.times),
        under_way=watch.asked - len(watch.times),
        drive_reads=(after[2] - reads) / max(many, 1),
        drive_writes=(after[3] - writes) / max(many, 1),
        drive_bytes=(after[4] - moved) / max(many, 1),
        rebuilt_mb_s=math.nan,
        longest_wait_ms=float(took.max()) if many else math.nan,
    )


def _mean(values: np.ndarray) -> float:
    return float(values.mean()) if len(values) else math.nan


def _parts(values: np.ndarray) -> tuple[float, float]:
    if not len(values):
        return math.nan, math.nan
    return float(np.percentile(values, 95)), float(np.percentile(values, 99))
