"""The simulated array against what is known without it: physics, published ratios, queues.

What was looked for and not found in a copy: measured gains of ordering by position. They are
checked as remembered, and say so.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from tests.estimate.opinions.array import (
    Array,
    Cache,
    Disk,
    Flash,
    Load,
    Measured,
    Path,
    rebuild_hours,
    simulate,
)
from tests.estimate.opinions.array.parts import KIB, MIB, Drive
from tests.estimate.opinions.array.placing import Placing, merged

DISK = Disk(8 * 10**12, 7200, 8.5, 246)
# Every operation keeps its one place busy for a tenth of a millisecond, a read as long as a write.
EVEN = Flash(10**12, 10_000, 10_000, 4000, 4000, depth=1024)
ONE = Array(1, one_by_one=True)
LEVELS = {
    "0": Array(8),
    "10": Array(8, copies=2),
    "5": Array(8, parity=1),
    "6": Array(8, parity=2),
    "50": Array(8, spans=2, parity=1),
    "none": Array(8, one_by_one=True),
}


def run(
    drive: Drive,
    array: Array,
    load: Load,
    cache: Cache | None = None,
    path: Path | None = None,
    operations: int = 6000,
    failed: bool = False,
) -> Measured:
    return simulate(
        drive, array, path or Path(), cache or Cache(), load, operations=operations, failed=failed
    )


def reads(outstanding: int, block: int = 4096) -> Load:
    return Load(1.0, 1.0, block, outstanding)


def writes(outstanding: int, block: int = 4096) -> Load:
    return Load(0.0, 1.0, block, outstanding)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("cache", [0, 256 * MIB])
@pytest.mark.parametrize("arrivals", [None, 150.0])
def test_what_goes_in_comes_out(level: str, cache: int, arrivals: float | None) -> None:
    load = Load(0.6, 0.7, 16 * KIB, 12, arrivals)
    m = run(DISK, LEVELS[level], load, Cache(cache), operations=2500)
    assert m.asked == m.answered + m.under_way
    if arrivals is None:
        assert m.under_way == 12
        # Little: customers = rate x time, since none thinks.
        assert m.iops * m.response_ms / 1e3 == pytest.approx(12, rel=0.05)
    else:
        assert m.iops == pytest.approx(arrivals, rel=0.06)


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


@pytest.mark.parametrize(
    ("rpm", "seek_ms", "rate"), [(7200, 8.5, 246), (10_000, 4.1, 238), (15_000, 2.9, 302)]
)
def test_a_lone_random_read_takes_a_seek_and_half_a_turn(
    rpm: int, seek_ms: float, rate: float
) -> None:
    """Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 37 (from memory).

    The mean seek is that between tracks; data lie denser at the rim, so that seeks between data
    are a few hundredths shorter.
    """
    disk = Disk(10**12, rpm, seek_ms, rate)
    m = run(disk, ONE, reads(1), operations=8000)
    expected = seek_ms + 30_000 / rpm + disk.command_ms + 0.03
    assert m.read_ms == pytest.approx(expected, rel=0.03)
    # A write settles longer.
    assert run(disk, ONE, writes(1)).write_ms == pytest.approx(expected + 0.5, rel=0.03)


@pytest.mark.parametrize(
    ("depth", "low", "high"), [(1, 77, 81), (4, 100, 115), (16, 155, 170), (32, 185, 200)]
)
def test_a_disk_that_sorts_does_what_data_sheets_of_its_class_say(
    depth: int, low: float, high: float
) -> None:
    """Data sheets of 7200 rpm disks for servers state about 170 random reads at depth 16.

    The other figures are common practice, no source.
    """
    assert low < run(DISK, ONE, reads(depth)).iops < high


def test_no_command_starves() -> None:
    m = run(DISK, ONE, reads(32), operations=10_000)
    assert m.longest_wait_ms < 6 * m.read_ms
    assert m.read_parts_ms[1] < 4 * m.read_ms


def test_in_order_of_arrival_depth_gives_nothing() -> None:
    in_order = replace(DISK, sorts=False)
    assert run(in_order, ONE, reads(32)).iops == pytest.approx(
        run(in_order, ONE, reads(1)).iops, rel=0.03
    )


def test_long_queues_in_order_of_position_give_nearly_four_times_as_much() -> None:
    """Seltzer, Chen and Ousterhout, Disk Scheduling Revisited, USENIX Winter 1990, abstract.

    "Nearly four times" first come first served, with queues of a thousand; from memory, as are the
    figures of a disk of that time: 3600 rpm, 18 ms of seek, 4.6 ms of them settling, 2 MB/s.
    """
    disk = Disk(6 * 10**8, 3600, 18.0, 2.0, settle_ms=4.6, command_ms=0.0)
    in_order = run(replace(disk, sorts=False), ONE, reads(1)).iops
    deep = replace(disk, depth=1000, ageing=0.0)
    gain = run(deep, ONE, reads(1000), operations=2500).iops / in_order
    assert 3.3 < gain < 4.5


def test_long_transfers_slow_down_inwards_to_half() -> None:
    found = rebuild_hours(DISK, LEVELS["10"], Path(), Cache(), places=(0.0, 0.98)).mb_s
    assert found[0] == pytest.approx(246, rel=0.02)
    assert found[1] == pytest.approx(123, rel=0.1)


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


@pytest.mark.parametrize("load", [0.3, 0.6, 0.8])
def test_arrivals_wait_as_long_as_in_the_queue_of_one_server(load: float) -> None:
    """M/D/1: s + s load / (2 (1 - load)), Pollaczek and Khinchine (any text; re-derived)."""
    flash = Flash(10**12, 10_000, 10_000, 1e9, 1e9, depth=1 << 30)
    m = run(flash, ONE, Load(1.0, 1.0, 4096, 1, load * 10_000), operations=60_000,
            path=Path(overhead_ms=0))  # fmt: skip
    assert m.read_ms == pytest.approx(0.1 * (1 + load / (2 * (1 - load))), rel=0.04)
    assert m.busy == pytest.approx(load, rel=0.02)


def test_arrivals_at_a_disk_that_does_not_sort_wait_by_the_spread_of_its_times() -> None:
    """M/G/1: W = rate E[S^2] / (2 (1 - load)), Pollaczek and Khinchine (any text; re-derived)."""
    disk = replace(DISK, sorts=False, depth=1 << 30)
    rate, rng = 45.0, Random(3)
    place = [rng.random() for _ in range(40_000)]
    tracks = [2 - math.sqrt(4 - 3 * u) for u in place]
    slope = (8.5 - 0.8) / 0.5635
    seeks = [
        0.8 + slope * (math.sqrt(d) if d < 0.25 else 0.25 + d)
        for d in (abs(a - b) for a, b in pairwise(tracks))
    ]
    times = np.array([s + disk.command_ms + rng.random() * 60e3 / 7200 for s in seeks]) / 1e3
    busy = rate * times.mean()
    expected = times.mean() + rate * (times**2).mean() / (2 * (1 - busy))
    m = run(disk, ONE, Load(1.0, 1.0, 512, 1, rate), operations=60_000, path=Path(overhead_ms=0))
    assert m.read_ms / 1e3 == pytest.approx(expected, rel=0.05)


def test_a_lone_operation_of_flash_takes_its_time_and_many_reach_the_rated_rate() -> None:
    flash = Flash(10**12, 96_000, 31_000, 550, 510)
    assert run(flash, ONE, reads(1)).read_ms == pytest.approx(0.10 + 0.03, rel=0.01)
    assert run(flash, ONE, writes(1), operations=500).write_ms == pytest.approx(0.06, rel=0.02)
    assert run(flash, ONE, reads(64), operations=20_000).iops == pytest.approx(96_000, rel=0.02)
    assert run(flash, ONE, writes(64), operations=20_000).iops == pytest.approx(31_000, rel=0.02)


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


@pytest.mark.parametrize(
    ("path", "mb_s"),
    [
        (Path(link_mb_s=300), 8 * 300),
        (Path(link_mb_s=300, links_at_once=4), 4 * 300),
        (Path(controller_mb_s=2000), 2000),
        (Path(host_mb_s=1500), 1500),
    ],
)
def test_what_lies_on_the_way_holds_data_back(path: Path, mb_s: float) -> None:
    # So many that every drive always has some.
    flash = Flash(10**12, 96_000, 31_000, 550, 510, depth=1024)
    m = run(flash, LEVELS["0"], reads(600, 256 * KIB), path=path, operations=12_000)
    assert m.iops * 256 * KIB / 1e6 == pytest.approx(mb_s, rel=0.03)


def test_the_controller_counts_operations_of_drives() -> None:
    flash = Flash(10**12, 96_000, 96_000, 4000, 4000)
    path = Path(controller_iops=40_000)
    assert run(flash, LEVELS["0"], reads(64), path=path).iops == pytest.approx(40_000, rel=0.02)
    m = run(flash, LEVELS["5"], writes(64), path=path, operations=12_000)
    assert m.iops == pytest.approx(10_000, rel=0.03)
