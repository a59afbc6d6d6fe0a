"""Array throughput against the textbook table and the 1994 survey."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from quotelib.estimate.performance.drive_work import Work, degraded_work, normal_work
from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.service import DriveTimes, disk_access_ms
from quotelib.estimate.shape import ArrayShape, array_shape
from tests.estimate.published_tables import DRIVES, MIXED, PRINTED, Printed
from tests.estimate.shapes import shape_of


def small_write(work: Work) -> float:
    """Drive reads and writes together for a random host write."""
    return float(work.reads[1] + work.writes[1])


def long_write(work: Work) -> float:
    """Drive reads and writes together for a strip of a stream of writes."""
    return float(work.reads[3] + work.writes[3])


def random_write(shape: ArrayShape) -> float:
    """Random writes of a saturated array, in multiples of one drive's."""
    return float(shape.members / small_write(normal_work(shape)))


# As many operations outstanding as `published_tables.MANY` leave a drive idle now and then.
SATURATED = 2e-3


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row.key)
def test_printed_table(row: Printed) -> None:
    # The textbook knows no reconstruct-write; from four drives on it saves nothing either.
    printed = [row.formula(n) for n in DRIVES]
    exactly = row.of != MIXED or row.column in ("read", "write")
    rel = 1e-9 if exactly else SATURATED
    assert row.computed() == pytest.approx(np.array(printed), rel=rel), row.source


def test_survey_small_group_uses_reconstruct_write() -> None:
    # max(1/G, 1/4) at G = 3: 1/3, which read-modify-write alone would miss.
    assert random_write(shape_of("5", 3)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("level", "operations"), [("0", 1), ("none", 1), ("10", 2), ("5", 4), ("6", 6)]
)
def test_operations_for_a_small_write(level: str, operations: int) -> None:
    assert small_write(normal_work(shape_of(level, 12))) == operations


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


def test_triple_parity_and_three_copies_go_on_as_the_papers_count() -> None:
    """Re-derived: old block and three parities read, then written; a mirror writes each copy."""
    shapes = array_shape(12, 1, 3), array_shape(12, 1, 0, 3)
    triple, thrice = (normal_work(shape, gathered=True) for shape in shapes)
    assert (float(triple.reads[1]), float(triple.writes[1])) == (4, 4)
    assert long_write(triple) == pytest.approx(12 / 9)
    assert (small_write(thrice), long_write(thrice)) == (3, 3)
    hurt = degraded_work(array_shape(12, 1, 0, 3), gathered=True)
    assert (float(hurt.drives), float(hurt.random_read), small_write(hurt)) == (2, 1, 2)
    assert long_write(hurt) == 2
