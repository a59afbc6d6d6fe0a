"""Array throughput against the textbook table and the 1994 survey."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from quotelib.estimate.performance.drive_work import degraded_work, normal_work
from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.service import DriveTimes, disk_access_ms
from quotelib.estimate.shape import ArrayShape, array_shape
from tests.estimate.published import OSTEP_RAID, PUBLISHED, SURVEY
from tests.estimate.shapes import shape_of

# (level, column) -> multiple of one drive's rate as a function of the drives N.
# Source: OSTEP_RAID, the table at its end. Status: seen (quoted whole in public lecture notes).
TEXTBOOK: dict[tuple[str, str], Callable[[int], float]] = {
    ("0", "sequential read"): lambda n: n,
    ("0", "sequential write"): lambda n: n,
    ("0", "random read"): lambda n: n,
    ("0", "random write"): lambda n: n,
    ("10", "sequential read"): lambda n: n / 2,
    ("10", "sequential write"): lambda n: n / 2,
    ("10", "random read"): lambda n: n,
    ("10", "random write"): lambda n: n / 2,
    ("5", "sequential read"): lambda n: n - 1,
    ("5", "sequential write"): lambda n: n - 1,
    ("5", "random read"): lambda n: n,
    ("5", "random write"): lambda n: n / 4,
}

# Latency of one request in units of one drive's, same table, same status.
TEXTBOOK_LATENCY = {
    ("0", "read"): 1,
    ("0", "write"): 1,
    ("10", "read"): 1,
    ("10", "write"): 1,
    ("5", "read"): 1,
    ("5", "write"): 2,
}

# (level, column) -> throughput relative to RAID 0 with the same G drives.
# Source: SURVEY. Status: seen.
RELATIVE: dict[tuple[str, str], Callable[[int], float]] = {
    ("0", "small read"): lambda g: 1,
    ("0", "small write"): lambda g: 1,
    ("0", "large read"): lambda g: 1,
    ("0", "large write"): lambda g: 1,
    ("0", "storage"): lambda g: 1,
    ("10", "small read"): lambda g: 1,
    ("10", "small write"): lambda g: 1 / 2,
    ("10", "large read"): lambda g: 1,
    ("10", "large write"): lambda g: 1 / 2,
    ("10", "storage"): lambda g: 1 / 2,
    ("5", "small read"): lambda g: 1,
    ("5", "small write"): lambda g: max(1 / g, 1 / 4),
    ("5", "large read"): lambda g: 1,
    ("5", "large write"): lambda g: (g - 1) / g,
    ("5", "storage"): lambda g: (g - 1) / g,
    ("6", "small read"): lambda g: 1,
    ("6", "small write"): lambda g: max(1 / g, 1 / 6),
    ("6", "large read"): lambda g: 1,
    ("6", "large write"): lambda g: (g - 2) / g,
    ("6", "storage"): lambda g: (g - 2) / g,
}


def random_write(shape: ArrayShape) -> float:
    """Random writes of a saturated array, in multiples of one drive's."""
    return float(shape.members / normal_work(shape).random_write)


@pytest.mark.parametrize("n", [4, 6, 8, 16, 24])
@pytest.mark.parametrize(("level", "column"), TEXTBOOK, ids="-".join)
def test_textbook_table(level: str, column: str, n: int) -> None:
    # The textbook knows no reconstruct-write; from four drives on it saves nothing either.
    shape = shape_of(level, n)
    computed = {
        "sequential read": shape.data_members,
        "sequential write": shape.members / normal_work(shape, gathered=True).stream_write,
        "random read": shape.members / normal_work(shape).random_read,
        "random write": random_write(shape),
    }[column]
    assert float(computed) == pytest.approx(TEXTBOOK[level, column](n), rel=1e-12), OSTEP_RAID


@pytest.mark.parametrize("n", [4, 8, 24])
@pytest.mark.parametrize(("level", "kind"), TEXTBOOK_LATENCY, ids="-".join)
def test_textbook_latency_of_one_request(level: str, kind: str, n: int) -> None:
    one = np.asarray(10.0)
    times = DriveTimes(one, one, one, one, np.asarray(0.0), np.asarray(0.0))
    load = Load(1.0 if kind == "read" else 0.0, 1.0, 4096, 1)
    result = mixed_throughput(shape_of(level, n), times, DataPath(), load)
    assert float(result.response_ms) == pytest.approx(10.0 * TEXTBOOK_LATENCY[level, kind])


@pytest.mark.parametrize("g", [4, 6, 8, 16, 24])
@pytest.mark.parametrize(("level", "column"), RELATIVE, ids="-".join)
def test_survey_relative_throughput(level: str, column: str, g: int) -> None:
    shape, plain = shape_of(level, g), shape_of("0", g)
    work, once = normal_work(shape), normal_work(plain)
    long, long_plain = (sequential_throughput(x, 100, 100, DataPath()) for x in (shape, plain))
    computed = {
        "small read": once.random_read / work.random_read,
        "small write": random_write(shape) / random_write(plain),
        "large read": long.read_best_mb_s / long_plain.read_best_mb_s,
        "large write": long.write_mb_s / long_plain.write_mb_s,
        "storage": shape.data_members / g,
    }[column]
    assert float(computed) == pytest.approx(RELATIVE[level, column](g), rel=1e-12), SURVEY


def test_survey_small_group_uses_reconstruct_write() -> None:
    # max(1/G, 1/4) at G = 3: 1/3, which read-modify-write alone would miss.
    assert random_write(shape_of("5", 3)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("level", "operations"), [("0", 1), ("none", 1), ("10", 2), ("5", 4), ("6", 6)]
)
def test_operations_for_a_small_write(level: str, operations: int) -> None:
    assert float(normal_work(shape_of(level, 12)).random_write) == operations


@pytest.mark.parametrize(("nested", "single"), [("50", "5"), ("60", "6")])
def test_spans_are_single_arrays_side_by_side(nested: str, single: str) -> None:
    both, one = shape_of(nested, 24, 3), shape_of(single, 8)
    assert float(both.data_members) == 3 * float(one.data_members)
    assert random_write(both) == pytest.approx(3 * random_write(one))
    nested_work, single_work = normal_work(both), normal_work(one)
    assert (nested_work.reads == single_work.reads).all()
    assert (nested_work.writes == single_work.writes).all()
    assert nested_work.drives == single_work.drives


def test_saturated_mix_meets_the_textbook_rates() -> None:
    """The textbook's S and R through the whole model: many operations out, nothing else slow."""
    n, seek, rpm, rate = 8, 7.0, 10_000, 50.0
    random_ms = disk_access_ms(10_240, seek, rpm, rate)
    one = np.asarray(random_ms)
    times = DriveTimes(one, one, one, one, np.asarray(0.0), np.asarray(0.0))
    drive_iops = 1e3 / float(random_ms)
    for level, read, multiple in [
        ("0", 1.0, n),
        ("10", 0.0, n / 2),
        ("5", 1.0, n),
        ("5", 0.0, n / 4),
        ("6", 0.0, n / 6),
    ]:
        result = mixed_throughput(
            shape_of(level, n), times, DataPath(), Load(read, 1.0, 10_240, 20_000)
        )
        assert float(result.iops) == pytest.approx(multiple * drive_iops, rel=1e-3)
        assert float(result.iops_bound) == pytest.approx(multiple * drive_iops, rel=1e-12)
    long = sequential_throughput(shape_of("5", n), 47.62, 47.62, DataPath())
    assert float(long.write_mb_s) == pytest.approx(7 * 47.62)


def brute_force(g: int, p: int) -> tuple[float, float, float]:
    """Count drive operations of one host operation over every place of the lost drive."""
    reads = write_reads = write_writes = 0.0
    for lost in range(g):
        # Drive 0 holds the block, 1 to g-p-1 the other data, the rest parity.
        others = [d for d in range(1, g - p) if d != lost]
        parities = [d for d in range(g - p, g) if d != lost]
        reads += 1 if lost != 0 else g - p
        if lost == 0:
            write_reads += len(others)
            write_writes += len(parities)
        elif not parities:
            write_writes += 1
        elif lost in range(1, g - p):
            # Old block and parities, or enough of the stripe to know the lost block too.
            write_reads += min(1 + len(parities), len(others) + 2)
            write_writes += 1 + len(parities)
        else:
            write_reads += min(1 + len(parities), len(others))
            write_writes += 1 + len(parities)
    return reads / g, write_reads / g, write_writes / g


@pytest.mark.parametrize(
    ("g", "p"), [(g, p) for p in (1, 2, 3) for g in (3, 4, 5, 6, 7, 8, 12, 16) if g >= p + 2]
)
def test_degraded_operations_against_counting(g: int, p: int) -> None:
    work = degraded_work(array_shape(g, 1, p))
    expected = brute_force(g, p)
    computed = (work.random_read, work.reads[1], work.writes[1])
    assert [float(c) for c in computed] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: array_shape(0), "members must be at least 1, but is 0"),
        (lambda: array_shape([4, 0, 8]), "0 at position 1"),
        (lambda: array_shape(2.5), "members must be whole"),
        (lambda: array_shape(9, 2), "equal spans"),
        (lambda: array_shape(5, 1, 0, 2), "whole mirrors"),
        (lambda: array_shape(8, 1, 0, 3), "whole mirrors"),
        (lambda: array_shape(2, 1, 1), "two drives more than its parity"),
        (lambda: array_shape(6, 2, 2), "two drives more than its parity"),
        (lambda: array_shape(8, 1, 1, 2), "do not go together"),
        (lambda: array_shape(8, 1, 4), "at most 3"),
        (lambda: array_shape(8, 1, 0, 4), "at most 3"),
        (lambda: array_shape(4, 1, 3), "two drives more than its parity"),
        (lambda: array_shape(np.nan), "must be known"),
    ],
)
def test_impossible_arrays_are_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()


def test_enough_published_values_of_known_status() -> None:
    assert {row.status for row in PUBLISHED} <= {"seen", "re-derived", "memory"}
    keys = [row.key for row in PUBLISHED]
    assert len(set(keys)) == len(keys)
    # Tables of this file on top of the list.
    sources = {row.source for row in PUBLISHED} | {OSTEP_RAID, SURVEY}
    assert len(keys) + len(TEXTBOOK) + len(TEXTBOOK_LATENCY) + len(RELATIVE) >= 100
    assert len(sources) >= 10


def test_triple_parity_and_three_copies_go_on_as_the_papers_count() -> None:
    """Re-derived: old block and three parities read, then written; a mirror writes each copy."""
    shapes = array_shape(12, 1, 3), array_shape(12, 1, 0, 3)
    triple, thrice = (normal_work(shape, gathered=True) for shape in shapes)
    assert (float(triple.reads[1]), float(triple.writes[1])) == (4, 4)
    assert float(triple.stream_write) == pytest.approx(12 / 9)
    assert (float(thrice.random_write), float(thrice.stream_write)) == (3, 3)
    hurt = degraded_work(array_shape(12, 1, 0, 3), gathered=True)
    assert (float(hurt.drives), float(hurt.random_read), float(hurt.random_write)) == (2, 1, 2)
    assert float(hurt.stream_write) == 2
