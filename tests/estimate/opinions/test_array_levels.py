"""Simulated levels, caches, streams and rebuilds against published ratios and plain arithmetic."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from tests.estimate.opinions.array import (
    Array,
    Cache,
    Load,
    Path,
    rebuild_hours,
    simulate,
)
from tests.estimate.opinions.array.parts import KIB, MIB
from tests.estimate.opinions.array.placing import Placing, merged
from tests.estimate.opinions.array_cases import DISK, EVEN, LEVELS, reads, run, writes


@pytest.mark.parametrize("level", LEVELS)
def test_every_byte_lies_in_one_place_and_on_no_parity(level: str) -> None:
    array = LEVELS[level]
    placing = Placing(array, 64 * array.strip_bytes)
    first = [
        placing.reads(at, array.strip_bytes, lambda drives, _: drives[0])
        for at in range(0, placing.bytes, array.strip_bytes)
    ]
    places = [extent for (extent,) in first]
    assert len(set(places)) == len(places)
    data = 8 // array.copies - array.parity * array.spans
    assert len(places) == data * 64
    per_drive = np.bincount([drive for drive, *_ in places], minlength=8)
    if array.parity:  # parity takes turns
        assert per_drive.min() == per_drive.max()


def test_a_lost_strip_is_read_from_as_many_others_as_hold_data() -> None:
    m = run(DISK, LEVELS["5"], reads(8), failed=True)
    assert m.drive_reads == pytest.approx(7 / 8 + 7 / 8, rel=0.03)
    m = run(DISK, LEVELS["6"], reads(8), failed=True)
    assert m.drive_reads == pytest.approx(7 / 8 + 6 / 8, rel=0.03)
    m = run(DISK, LEVELS["10"], reads(8), failed=True)
    assert m.drive_reads == 1


def test_touching_pieces_are_one_command() -> None:
    assert merged([(1, 0, 4), (0, 8, 8), (0, 0, 8), (1, 6, 2)]) == [
        (0, 0, 16),
        (1, 0, 4),
        (1, 6, 2),
    ]


# Chen et al., ACM Computing Surveys 26(2), 1994, Table 3: throughput per drive beside RAID 0, with
# groups of 8 (from memory; the figures are in every text on RAID).
SMALL_WRITE = {"10": 1 / 2, "5": 1 / 4, "6": 1 / 6}
LARGE_WRITE = {"10": 1 / 2, "5": 7 / 8, "6": 6 / 8}


@pytest.mark.parametrize("level", SMALL_WRITE)
def test_small_writes_cost_what_the_survey_says(level: str) -> None:
    striped = run(EVEN, LEVELS["0"], writes(256), operations=12_000)
    m = run(EVEN, LEVELS[level], writes(256), operations=12_000)
    assert m.drive_reads + m.drive_writes == pytest.approx(1 / SMALL_WRITE[level], rel=0.01)
    assert m.iops / striped.iops == pytest.approx(SMALL_WRITE[level], rel=0.04)


@pytest.mark.parametrize("level", SMALL_WRITE)
def test_small_writes_cost_disks_a_little_less_as_the_arm_is_there_already(level: str) -> None:
    ratio = run(DISK, LEVELS[level], writes(64)).iops / run(DISK, LEVELS["0"], writes(64)).iops
    assert SMALL_WRITE[level] < ratio < 1.5 * SMALL_WRITE[level]


@pytest.mark.parametrize("level", LARGE_WRITE)
def test_full_stripes_are_written_without_reads_at_the_rate_of_the_data_drives(level: str) -> None:
    def rate(array: Array) -> float:
        row = Placing(array, 10**12).row_bytes
        m = run(EVEN, array, writes(64, row))
        assert m.drive_reads == 0
        return m.iops * row

    assert rate(LEVELS[level]) / rate(LEVELS["0"]) == pytest.approx(LARGE_WRITE[level], rel=0.03)


@pytest.mark.parametrize("level", LEVELS)
def test_small_reads_are_as_many_at_every_level(level: str) -> None:
    striped = run(EVEN, LEVELS["0"], reads(256), operations=20_000)
    m = run(EVEN, LEVELS[level], reads(256), operations=20_000)
    assert m.iops == pytest.approx(striped.iops, rel=0.04)


def test_a_large_part_of_a_stripe_reads_the_rest_instead() -> None:
    strip = LEVELS["5"].strip_bytes
    placing = Placing(LEVELS["5"], 64 * strip)
    before, after = placing.writes(0, 6 * strip)  # one of seven is left
    assert (len(before), len(after)) == (1, 7)
    before, after = placing.writes(0, 3 * strip)  # three and the parity, or four others
    assert (len(before), len(after)) == (4, 4)


def test_an_idle_rebuild_takes_the_bytes_over_the_mean_rate_of_the_zones() -> None:
    # The mean over the stroke of (1 - x/2) is three quarters of the rate at the rim.
    hours = DISK.bytes / (0.75 * DISK.rate_mb_s * 1e6) / 3600
    for level in ("10", "5", "6"):
        found = rebuild_hours(DISK, LEVELS[level], Path(), Cache())
        assert found.hours == pytest.approx(hours, rel=0.02)


def test_a_rebuild_under_load_gets_its_share_of_the_time_and_slows_the_host() -> None:
    load = Load(1.0, 1.0, 16 * KIB, 64)
    busy = rebuild_hours(DISK, LEVELS["5"], Path(), Cache(), load, share=0.3)
    more = rebuild_hours(DISK, LEVELS["5"], Path(), Cache(), load, share=0.6)
    idle = rebuild_hours(DISK, LEVELS["5"], Path(), Cache())
    assert idle.hours / 0.3 < busy.hours < 3 * idle.hours / 0.3  # positioning is in the share
    assert more.hours == pytest.approx(busy.hours / 2, rel=0.25)
    alone = run(DISK, LEVELS["5"], load, failed=True).iops
    assert more.iops < busy.iops < alone


def test_a_rebuild_beside_a_few_arrivals_takes_what_they_leave() -> None:
    idle = rebuild_hours(DISK, LEVELS["5"], Path(), Cache()).hours
    few = rebuild_hours(DISK, LEVELS["5"], Path(), Cache(), Load(1.0, 1.0, 4096, 1, 5.0)).hours
    assert idle < few < 1.4 * idle


def test_a_protected_cache_answers_writes_at_once_until_it_is_full() -> None:
    light = Load(0.5, 1.0, 16 * KIB, 4, 100.0)
    assert run(DISK, LEVELS["5"], light, Cache(64 * MIB)).write_ms < 0.1
    assert run(DISK, LEVELS["5"], light).write_ms > 10
    full = run(DISK, LEVELS["5"], writes(32, 16 * KIB), Cache(256 * MIB))
    through = run(DISK, LEVELS["5"], writes(32, 16 * KIB))
    assert full.write_ms > 1
    assert 1.5 < full.iops / through.iops < 6  # sorted by address, and more for the drives to sort


@pytest.mark.parametrize(("level", "times"), [("0", 1), ("10", 2), ("5", 4)])
def test_a_full_cache_lets_out_what_it_takes_in(level: str, times: int) -> None:
    block = 16 * KIB
    m = run(DISK, LEVELS[level], writes(32, block), Cache(256 * MIB))
    assert m.drive_bytes == pytest.approx(times * block, rel=0.03)


@pytest.mark.parametrize("level", ["10", "5", "6", "50"])
def test_a_drive_that_is_gone_is_neither_read_nor_written(level: str) -> None:
    array, rng = LEVELS[level], Random(5)
    strip = array.strip_bytes
    placing = Placing(array, 64 * strip, failed=3)
    for _ in range(300):
        size = rng.choice((4096, 64 * KIB, strip, 3 * strip, 9 * strip))
        address = rng.randrange((placing.bytes - size) // 4096) * 4096
        before, after = placing.writes(address, size)
        touched = [*before, *after, *placing.reads(address, size, lambda d, _: d[-1])]
        assert 3 not in {drive for drive, *_ in touched}


def test_a_stream_of_writes_leaves_the_cache_in_full_stripes() -> None:
    m = run(DISK, LEVELS["5"], Load(0.0, 0.0, 64 * KIB, 4), Cache(1024 * MIB), operations=20_000)
    assert m.drive_reads == 0
    assert m.drive_bytes == pytest.approx(64 * KIB * 8 / 7, rel=0.1)


@pytest.mark.parametrize(("level", "data"), [("0", 8), ("5", 7), ("6", 6)])
def test_a_lone_stream_keeps_the_drives_streaming(level: str, data: int) -> None:
    rates = []
    for seed in range(6):
        m = simulate(DISK, LEVELS[level], Path(), Cache(), Load(1.0, 0.0, MIB, 1), seed=seed)
        rates.append(m.iops * MIB / 1e6)
    # Anywhere between rim and hub.
    assert 0.5 * data * 246 < min(rates) < max(rates) <= data * 246
    assert np.mean(rates) == pytest.approx(0.77 * data * 246, rel=0.2)


def test_streams_position_once_a_fetch() -> None:
    many = Load(1.0, 0.0, MIB, 8)
    for fetch in (MIB, 4 * MIB):
        m = run(DISK, LEVELS["0"], many, Cache(fetch_bytes=fetch), operations=8000)
        assert m.drive_reads == pytest.approx(MIB / fetch, rel=0.1)
        # Half a turn, a seek and a transfer for each.
        each = 8.5 + 4.17 + fetch / (0.77 * 246e3)
        assert m.iops * MIB == pytest.approx(8 * fetch / each * 1e3, rel=0.2)
