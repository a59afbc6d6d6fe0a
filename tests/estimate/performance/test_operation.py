"""What one host operation asks of disks: places found, bytes moved, drive operations, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from quotelib.estimate.checks import with_each
from quotelib.estimate.performance.cases import HIGH, LOW, VALUE
from quotelib.estimate.performance.drive_work import degraded_work, normal_work
from quotelib.estimate.performance.load import Load, Serving, checked_load, checked_serving
from quotelib.estimate.performance.operation import Blocks, Kinds, blocks, drive_operations, kinds
from quotelib.estimate.performance.service import DriveTimes, disk_times, flash_times
from quotelib.estimate.shape import ArrayShape
from quotelib.units import KIB, MIB
from tests.estimate.shapes import shape_of

BLOCK = 64 * KIB
PLACE, TURN = 12.0, 8.0  # 8 ms seek and half a turn at 7500 a minute
RATE_MS = BLOCK / 250e3  # at 250 MB/s
DISK = disk_times(BLOCK, 8.0, 7500, 250, 250)
RANDOM_READ, RANDOM_WRITE, STREAM_READ, STREAM_WRITE = range(4)


def asked(
    shape: ArrayShape, load: Load, serving: Serving, times: DriveTimes = DISK
) -> tuple[Blocks, Kinds, float]:
    """Take a load apart: blocks, kinds, and drive operations of one host operation (value)."""
    shape, times = with_each(shape, np.atleast_1d), with_each(times, np.atleast_1d)
    load = with_each(checked_load(load), np.atleast_1d)
    serving = with_each(checked_serving(serving), np.atleast_1d)
    of = blocks(shape, times, load, serving)
    work = normal_work(shape, of.many, of.cached)
    every = float(np.broadcast_to(drive_operations(work, of), (3, 1))[VALUE, 0])
    return of, kinds(work, of, shape, times, serving), every


def at(figures: object, kind: int, case: int = VALUE) -> float:
    return float(np.broadcast_to(np.asarray(figures), (4, 3, 1))[kind, case, 0])


STRIPS, CACHED = Serving(256 * KIB), Serving(256 * KIB, True)


def test_shares_of_the_four_kinds() -> None:
    of, found, _ = asked(shape_of("0", 4), Load(0.7, 0.6, BLOCK, 8), STRIPS)
    assert of.share.ravel() == pytest.approx([0.42, 0.18, 0.28, 0.12])
    assert np.broadcast_to(found.awaited, (4, 1, 1)).ravel() == pytest.approx(of.share.ravel())
    _, found, _ = asked(shape_of("0", 4), Load(0.7, 0.6, BLOCK, 8), CACHED)
    # A cache answers writes before the drives have done them.
    assert found.awaited.ravel() == pytest.approx([0.42, 0.0, 0.28, 0.0])
    assert found.behind.ravel() == pytest.approx([0.0, 0.18, 0.0, 0.12])


def test_pieces_that_are_fetched_at_once() -> None:
    """Of 2 MiB at the value, 1 at the low and 4 at the high end; a larger piece stays whole."""
    of, _, _ = asked(shape_of("0", 4), Load(1, 0, BLOCK, 8), STRIPS)
    assert of.long.ravel() == pytest.approx([1 / 32, 1 / 16, 1 / 64])
    of, _, _ = asked(shape_of("0", 4), Load(1, 0, 12 * MIB, 8), STRIPS)
    assert (float(of.many[0]), float(of.piece_bytes[0])) == (4, 3 * MIB)
    assert of.long.ravel() == pytest.approx([1, 1, 3 / 4])


@pytest.mark.parametrize(
    ("random", "streams", "members", "alone", "stay"),
    [
        # Chance that a stream's next fetch finds the drive where it left it.
        (0.0, 1, 4, False, 1.0),
        (0.0, 8, 4, False, 1 / 8),
        (0.25, 8, 4, False, 0.75 / 8),
        (1.0, 8, 4, False, 0.0),
        # Each drive by itself has its share of the streams, one at the least.
        (0.0, 8, 4, True, 1 / 2),
        (0.25, 8, 4, True, 0.75 / 2),
        (0.0, 2, 4, True, 1.0),
        (0.5, 2, 4, True, 0.5 / (0.5 + 0.25)),
    ],
)
def test_how_often_a_stream_finds_its_place(
    random: float, streams: int, members: int, alone: bool, stay: float
) -> None:
    load = Load(0.5, random, BLOCK, streams)
    plain = Serving() if alone else STRIPS
    of, _, _ = asked(shape_of("0", members), load, plain)
    assert at(of.placing, RANDOM_READ) == pytest.approx(PLACE)
    assert at(of.placing, RANDOM_WRITE) == pytest.approx(PLACE)
    assert at(of.placing, STREAM_READ) == pytest.approx(PLACE * (1 - stay) / 32)
    # Written through, it has just missed its place where nobody came between: a turn more.
    wanted = PLACE * (1 - stay) + TURN * stay
    assert at(of.placing, STREAM_WRITE) == pytest.approx(wanted)


def test_a_cache_gathers_and_sorts_what_is_written() -> None:
    """It chooses among 128 places, 16 at the low end, 1024 at the high: the fourth, eighth, 0.28th
    root of them."""
    of, _, _ = asked(shape_of("0", 4), Load(0.5, 0.5, BLOCK, 8), CACHED)
    for case, wanted in ((VALUE, 128**-0.25), (LOW, 16**-0.125), (HIGH, 1024**-0.28)):
        assert at(of.placing, RANDOM_WRITE, case) == pytest.approx(PLACE * wanted)
        assert at(of.placing, RANDOM_READ, case) == pytest.approx(PLACE)
        assert at(of.placing, STREAM_WRITE, case) == at(of.placing, STREAM_READ, case)


def test_a_seek_of_nothing_waits_half_a_turn_and_no_more() -> None:
    """A stream written through waits no longer for a missed turn than for any place."""
    times = disk_times(BLOCK, 0.0, 7500, 250, 250)
    of, _, _ = asked(shape_of("0", 4), Load(0.5, 0.0, BLOCK, 1), STRIPS, times)
    assert at(of.placing, STREAM_WRITE) == pytest.approx(TURN / 2)


def test_disks_move_bytes_slower_inside_and_pass_over_parity() -> None:
    """All tracks take 4/3 of the rim's time, but at the high end; of six disks one passes by."""
    of, _, _ = asked(shape_of("5", 6), Load(0.5, 0.5, BLOCK, 8), STRIPS)
    for case, tracks in ((VALUE, 4 / 3), (LOW, 4 / 3), (HIGH, 1.0)):
        assert at(of.reading, RANDOM_READ, case) == pytest.approx(RATE_MS * tracks)
        assert at(of.reading, RANDOM_WRITE, case) == pytest.approx(RATE_MS * tracks)
        assert at(of.reading, STREAM_READ, case) == pytest.approx(RATE_MS * tracks * 6 / 5)
        assert at(of.writing, RANDOM_WRITE, case) == pytest.approx(RATE_MS * tracks)
        assert at(of.writing, STREAM_WRITE, case) == pytest.approx(RATE_MS * tracks)


def test_flash_has_no_place_no_inside_and_passes_over_nothing() -> None:
    times = flash_times(BLOCK, 50_000, 20_000, 500, 400)
    of, _, _ = asked(shape_of("5", 6), Load(0.5, 0.5, BLOCK, 8), STRIPS, times)
    assert not of.placing.any()
    reads, writes = BLOCK / 500e3, BLOCK / 400e3
    for kind in range(4):
        assert at(of.reading, kind) == pytest.approx(reads)
        assert at(of.writing, kind) == pytest.approx(writes)


def test_a_small_write_of_parity_reads_and_then_writes() -> None:
    """RAID 6 of eight: three reads side by side, then three writes, of 12 ms and the transfer."""
    _, found, every = asked(shape_of("6", 8), Load(0.0, 1.0, BLOCK, 8), STRIPS)
    moved = RATE_MS * 4 / 3
    assert at(found.rounds, RANDOM_WRITE) == 2
    assert at(found.operations, RANDOM_WRITE) == 6
    assert at(found.moved, RANDOM_WRITE) == pytest.approx(6 * moved)
    assert at(found.placed, RANDOM_WRITE) == pytest.approx(6 * PLACE)
    assert at(found.steps, RANDOM_WRITE) == pytest.approx(2 * (PLACE + moved))
    # The slowest of three is 0.846 standard deviations late.
    assert at(found.late, RANDOM_WRITE) == pytest.approx(2 * 0.8463 * (PLACE + moved))
    assert every == 6


@pytest.mark.parametrize(
    ("level", "members", "from_drives"),
    # Drives a lone stream comes from: a mirror gives one copy; parity is passed over on all.
    [("0", 8, 8), ("10", 8, 4), ("5", 8, 8), ("6", 8, 8), ("60", 12, 12)],
)
def test_a_stream_is_read_from_all_drives_that_hold_it(
    level: str, members: int, from_drives: int
) -> None:
    shape = shape_of(level, members, 2 if level == "60" else 1)
    _, found, _ = asked(shape, Load(1.0, 0.0, BLOCK, 1), STRIPS)
    passed = {"5": 8 / 7, "6": 8 / 6, "60": 6 / 4}.get(level, 1.0)
    alone = RATE_MS * 4 / 3 * passed
    assert at(found.steps, STREAM_READ) == pytest.approx(alone / from_drives)
    assert at(found.late, STREAM_READ) == 0
    # So it is of a disk that finds any place in a quarter of a millisecond.
    quick = disk_times(BLOCK, 0.15, 300_000, 250, 250)
    _, same, _ = asked(shape, Load(1.0, 0.0, BLOCK, 1), STRIPS, quick)
    assert at(same.steps, STREAM_READ) == pytest.approx(alone / from_drives)
    single, _, _ = asked(shape_of("none", members), Load(1.0, 0.0, BLOCK, 1), Serving())
    assert at(single.reading, STREAM_READ) == pytest.approx(RATE_MS * 4 / 3)


def test_a_stream_of_a_drive_by_itself_comes_from_that_one() -> None:
    _, found, _ = asked(shape_of("none", 4), Load(1.0, 0.0, BLOCK, 8), Serving())
    moved, place = RATE_MS * 4 / 3, PLACE / 2 / 32
    assert at(found.steps, STREAM_READ) == pytest.approx(moved + place)


def test_waits_inside_flash_stand_in_front_of_each_round() -> None:
    times = flash_times(BLOCK, 50_000, 20_000, 500, 400, read_latency_ms=1.0, write_latency_ms=2.0)
    more_read, more_write = (BLOCK - 4096) / 500e3, (BLOCK - 4096) / 400e3
    inside = (1.0 + more_read - BLOCK / 500e3, 2.0 + more_write - BLOCK / 400e3)
    for level, reads_first in (("0", 0), ("10", 0), ("5", 1), ("6", 1)):
        _, found, _ = asked(shape_of(level, 8), Load(0.5, 0.5, BLOCK, 8), STRIPS, times)
        for kind, wanted in (
            (RANDOM_READ, inside[0]),
            (RANDOM_WRITE, reads_first * inside[0] + inside[1]),
            (STREAM_READ, 0.0),
            (STREAM_WRITE, reads_first * inside[0] + inside[1]),
        ):
            assert at(found.lone, kind) == pytest.approx(wanted), (level, kind)


def test_drive_operations_of_a_mix() -> None:
    """RAID 5 of eight, 0.42 random reads, 0.18 random writes, 0.28 and 0.12 of streams.

    Written through, a stream of blocks is partial stripes; a cache gathers 2 MiB a drive, and
    eight drives hold what seven have written.
    """
    load, shape = Load(0.7, 0.6, BLOCK, 8), shape_of("5", 8)
    _, _, through = asked(shape, load, STRIPS)
    assert through == pytest.approx(0.42 + 0.18 * 4 + 0.28 / 32 + 0.12 * 4)
    _, _, cached = asked(shape, load, CACHED)
    assert cached == pytest.approx(0.42 + 0.18 * 4 + 0.28 / 32 + 0.12 * 8 / 7 / 32)


@pytest.mark.parametrize(
    ("level", "writes"),
    # Of a stripe all but the drive that is gone are written; a mirror has one copy left.
    [("5", 2 * 7 / 7), ("6", 2 * 7 / 6), ("10", 2 * 1)],
)
def test_a_cache_that_gathers_writes_what_is_left_of_a_stripe(level: str, writes: float) -> None:
    left = degraded_work(shape_of(level, 8), 2.0, True)
    assert float(left.writes[STREAM_WRITE]) == pytest.approx(writes)
    assert float(left.reads[STREAM_WRITE]) == 0
    # Reads write nothing.
    assert float(left.writes[RANDOM_READ]) == float(left.writes[STREAM_READ]) == 0
    # Random ones are not gathered.
    random = degraded_work(shape_of(level, 8), 2.0, False)
    assert float(left.writes[RANDOM_WRITE]) == float(random.writes[RANDOM_WRITE])
