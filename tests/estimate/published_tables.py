"""Tables that the literature prints as formulas: each a multiple of one drive, by its level.

A formula counts as one published value, held at several numbers of drives. The side that is
computed is what quotes use: rates of a saturated array, and the time of a lone operation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.cases import CONTROLLER_MS, HIGH
from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.shape import ArrayShape, array_shape
from tests.estimate.published import OSTEP_RAID, SURVEY
from tests.estimate.shapes import LEVELS

DRIVES = (4, 6, 8, 16, 24)
ONE_MS = 10.0  # of any operation of one drive
ONE_MB_S = 100.0
MANY = 20_000  # outstanding: a saturated array

LONG = "performance.sequential.sequential_throughput"
MIXED = "performance.mixed.mixed_throughput"
DATA = "shape.ArrayShape.data_members"

_OF = {
    "sequential read": LONG,
    "sequential write": LONG,
    "random read": MIXED,
    "random write": MIXED,
    "read": MIXED,
    "write": MIXED,
    "small read": MIXED,
    "small write": MIXED,
    "large read": LONG,
    "large write": LONG,
    "storage": DATA,
}


@dataclass(frozen=True)
class Printed:
    """A formula of one drive's worth, as a table prints it."""

    level: str
    column: str
    formula: Callable[[int], float]
    source: str
    status: str = "seen"

    @property
    def key(self) -> str:
        work = "1994" if self.source == SURVEY else "textbook"
        return f"{work}.{self.level}.{self.column}"

    @property
    def of(self) -> str:
        return _OF[self.column]

    def computed(self) -> FloatArray:
        """Work the column out for each of `DRIVES` as quotes do."""
        found = {LONG: self._long, MIXED: self._mixed, DATA: self._storage}[self.of]()
        return np.asarray(found / np.array(DRIVES) if self.source == SURVEY else found)

    def _long(self) -> FloatArray:
        long = sequential_throughput(shapes(self.level), ONE_MB_S, ONE_MB_S, DataPath())
        if self.column == "large read":  # the survey reads parity drives as well
            return long.read_best_mb_s / ONE_MB_S
        return (long.write_mb_s if "write" in self.column else long.read_mb_s) / ONE_MB_S

    def _mixed(self) -> FloatArray:
        lone = self.column in ("read", "write")
        found = loaded(self.level, "read" in self.column, 1 if lone else MANY)
        # The high end waits for nobody; what controller and system add is not the table's.
        alone = found.response_low_ms - CONTROLLER_MS[HIGH, 0]
        return alone / ONE_MS if lone else found.iops * ONE_MS / 1e3

    def _storage(self) -> FloatArray:
        return shapes(self.level).data_members


def shapes(level: str) -> ArrayShape:
    return array_shape(np.array(DRIVES), 1, *LEVELS[level])


@cache
def loaded(level: str, reads: bool, outstanding: int) -> MixedThroughput:
    one, none = np.asarray(ONE_MS), np.asarray(0.0)
    times = DriveTimes(one, one, one, one, none, none)
    load = Load(1.0 if reads else 0.0, 1.0, 4096, outstanding)
    return mixed_throughput(shapes(level), times, DataPath(), load)


def _textbook(level: str, column: str, formula: Callable[[int], float]) -> Printed:
    return Printed(level, column, formula, OSTEP_RAID)


def _survey(level: str, column: str, formula: Callable[[int], float]) -> Printed:
    return Printed(level, column, formula, SURVEY)


PRINTED: tuple[Printed, ...] = (
    # The table at the chapter's end (seen: quoted whole in public lecture notes).
    _textbook("0", "sequential read", lambda n: n),
    _textbook("0", "sequential write", lambda n: n),
    _textbook("0", "random read", lambda n: n),
    _textbook("0", "random write", lambda n: n),
    _textbook("10", "sequential read", lambda n: n / 2),
    _textbook("10", "sequential write", lambda n: n / 2),
    _textbook("10", "random read", lambda n: n),
    _textbook("10", "random write", lambda n: n / 2),
    _textbook("5", "sequential read", lambda n: n - 1),
    _textbook("5", "sequential write", lambda n: n - 1),
    _textbook("5", "random read", lambda n: n),
    _textbook("5", "random write", lambda n: n / 4),
    # Time of one request, in units of one drive's.
    _textbook("0", "read", lambda n: 1),
    _textbook("0", "write", lambda n: 1),
    _textbook("10", "read", lambda n: 1),
    _textbook("10", "write", lambda n: 1),
    _textbook("5", "read", lambda n: 1),
    _textbook("5", "write", lambda n: 2),
    # Throughput for each drive, against RAID 0 with the same drives.
    _survey("0", "small read", lambda g: 1),
    _survey("0", "small write", lambda g: 1),
    _survey("0", "large read", lambda g: 1),
    _survey("0", "large write", lambda g: 1),
    _survey("0", "storage", lambda g: 1),
    _survey("10", "small read", lambda g: 1),
    _survey("10", "small write", lambda g: 1 / 2),
    _survey("10", "large read", lambda g: 1),
    _survey("10", "large write", lambda g: 1 / 2),
    _survey("10", "storage", lambda g: 1 / 2),
    _survey("5", "small read", lambda g: 1),
    _survey("5", "small write", lambda g: max(1 / g, 1 / 4)),
    _survey("5", "large read", lambda g: 1),
    _survey("5", "large write", lambda g: (g - 1) / g),
    _survey("5", "storage", lambda g: (g - 1) / g),
    _survey("6", "small read", lambda g: 1),
    _survey("6", "small write", lambda g: max(1 / g, 1 / 6)),
    _survey("6", "large read", lambda g: 1),
    _survey("6", "large write", lambda g: (g - 2) / g),
    _survey("6", "storage", lambda g: (g - 2) / g),
)
