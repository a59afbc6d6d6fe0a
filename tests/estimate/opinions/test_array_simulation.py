"""Simulated drives, queues and links against what is known without them.

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
    Cache,
    Disk,
    Flash,
    Load,
    Path,
    rebuild_hours,
)
from tests.estimate.opinions.array.parts import KIB, MIB
from tests.estimate.opinions.array_cases import DISK, LEVELS, ONE, reads, run, writes


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
