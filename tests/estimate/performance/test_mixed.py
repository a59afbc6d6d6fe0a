"""What must hold of throughput whatever the build, and the cases worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotelib.estimate.performance.cases import CONTROLLER_MS, VALUE
from quotelib.estimate.performance.load import (
    NO_SERVICE,
    NOT_KNOWN,
    STATES,
    STATIONS,
    DataPath,
    Load,
    Serving,
    bottleneck_name,
)
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput, unqueued
from quotelib.estimate.performance.sequential import SequentialThroughput, sequential_throughput
from quotelib.estimate.performance.service import DriveTimes, disk_times, flash_times
from quotelib.estimate.shape import ArrayShape, array_shape
from tests.estimate.shapes import LEVELS, shape_of

CASES = [
    *((level, n, 1) for level in ("none", "0", "10") for n in (4, 8, 24)),
    ("1", 2, 1),
    *(("5", n, 1) for n in (3, 4, 5, 8, 16)),
    *(("6", n, 1) for n in (4, 5, 6, 8, 16)),
    *(("50", n, s) for n, s in ((6, 2), (8, 2), (24, 4))),
    *(("60", n, s) for n, s in ((8, 2), (12, 2), (24, 3))),
]


# Beyond today's levels: three parity drives, three copies.
BEYOND = [array_shape(5, 1, 3), array_shape(24, 2, 3), array_shape(12, 1, 0, 3)]
SHAPES = st.sampled_from([*(shape_of(*case) for case in CASES), *BEYOND])
BLOCKS = st.sampled_from([4096, 8192, 65_536, 262_144])
PATHS = st.builds(
    DataPath,
    st.sampled_from([300.0, 600.0, 1200.0, 2400.0, np.inf]),
    st.sampled_from([500.0, 3000.0, 12_000.0, np.inf]),
    st.sampled_from([2e4, 4e5, np.inf]),
    st.sampled_from([985.0, 7877.0, 15_754.0]),
)
LOADS = st.builds(
    Load, st.floats(0, 1), st.floats(0, 1), BLOCKS.map(float), st.integers(1, 96).map(float)
)
DISKS = st.builds(
    lambda seek, rpm, rate: (seek, rpm, rate),
    st.floats(2, 12),
    st.sampled_from([5400, 7200, 10_000, 15_000]),
    st.floats(80, 300),
)


def unordered(times: DriveTimes) -> DriveTimes:
    """First come, first served: nothing is saved by ordering."""
    return replace(times, position_ms=np.asarray(0.0))


def times_of(disk: tuple[float, float, float], load: Load) -> DriveTimes:
    seek, rpm, rate = disk
    return disk_times(load.block_bytes, seek, rpm, rate, rate)


DISK = (8.0, 7200.0, 250.0)
FREE = DataPath()


@given(SHAPES, DISKS, PATHS, LOADS, st.sampled_from(STATES))
@settings(max_examples=150, deadline=None)
def test_throughput_never_exceeds_any_bound(
    shape: ArrayShape, disk: tuple[float, float, float], path: DataPath, load: Load, state: str
) -> None:
    got = mixed_throughput(shape, times_of(disk, load), path, load, state=state)
    slack = 1 + 1e-9
    assert got.iops_low <= got.iops * slack
    assert got.iops <= got.iops_bound * slack
    assert got.iops <= float(path.controller_iops) * slack  # type: ignore[arg-type]
    mb_s = float(got.iops) * float(load.block_bytes) / 1e6  # type: ignore[arg-type]
    assert mb_s <= float(path.controller_mb_s) * slack  # type: ignore[arg-type]
    assert mb_s <= float(path.host_link_mb_s) * slack  # type: ignore[arg-type]
    if state == "normal" or shape.redundant:
        assert got.response_low_ms <= got.response_ms * slack
        assert got.response_ms <= got.response_high_ms * slack
        assert 0 <= got.drive_utilisation <= slack


@given(SHAPES, DISKS, PATHS, LOADS)
@settings(max_examples=60, deadline=None)
def test_what_takes_no_queues_is_the_same_without_them(
    shape: ArrayShape, disk: tuple[float, float, float], path: DataPath, load: Load
) -> None:
    times = times_of(disk, load)
    whole = mixed_throughput(shape, times, path, load)
    # Two alike and one of twice the streams, side by side.
    loads = replace(load, outstanding=np.array([1.0, 1.0, 2.0]) * load.outstanding)
    found = unqueued(shape, times, path, loads, Serving())
    for name in ("iops_bound", "drives_alone_ms", "drive_operations"):
        first, second, _ = getattr(found, name)
        assert first == second == pytest.approx(float(getattr(whole, name)), rel=1e-12)
    twice = mixed_throughput(shape, times, path, replace(load, outstanding=2 * load.outstanding))
    assert found.drives_alone_ms[2] == pytest.approx(float(twice.drives_alone_ms), rel=1e-12)
    assert found.iops_bound[2] == pytest.approx(float(twice.iops_bound), rel=1e-12)


@given(SHAPES, DISKS, PATHS, LOADS)
@settings(max_examples=150, deadline=None)
def test_degraded_never_beats_normal_nor_rebuilding_degraded(
    shape: ArrayShape, disk: tuple[float, float, float], path: DataPath, load: Load
) -> None:
    times = times_of(disk, load)
    normal, degraded, rebuilding = (
        mixed_throughput(shape, times, path, load, state=state) for state in STATES
    )
    slack = 1 + 1e-9
    for better, worse in ((normal, degraded), (degraded, rebuilding)):
        assert worse.iops <= better.iops * slack
        assert worse.iops_bound <= better.iops_bound * slack
        assert worse.iops_low <= better.iops_low * slack
        if shape.redundant:
            assert worse.response_ms >= better.response_ms / slack
    long = [sequential_throughput(shape, disk[2], disk[2], path, state=state) for state in STATES]
    for better_long, worse_long in pairwise(long):
        assert worse_long.read_mb_s <= better_long.read_mb_s * slack
        assert worse_long.read_best_mb_s <= better_long.read_best_mb_s * slack
        assert worse_long.write_mb_s <= better_long.write_mb_s * slack


@given(SHAPES, DISKS, PATHS, LOADS, st.sampled_from(STATES))
@settings(max_examples=100, deadline=None)
def test_response_and_throughput_rise_with_random_load(
    shape: ArrayShape, disk: tuple[float, float, float], path: DataPath, load: Load, state: str
) -> None:
    """More streams cost disks time between them: of random operations only are more, more."""
    if state != "normal" and not shape.redundant:
        state = "normal"
    steps = np.array([1, 2, 3, 5, 8, 16, 64])
    loads = Load(load.read_share, 1.0, load.block_bytes, steps)
    got = mixed_throughput(shape, times_of(disk, load), path, loads, state=state)
    assert (np.diff(got.response_ms) >= -1e-9 * got.response_ms[1:]).all()
    assert (np.diff(got.iops) >= -1e-9 * got.iops[1:]).all()
    assert got.response_ms[-1] > got.response_ms[0]


@given(SHAPES, DISKS, LOADS)
@settings(max_examples=80, deadline=None)
def test_faster_parts_never_slow_a_build(
    shape: ArrayShape, disk: tuple[float, float, float], load: Load
) -> None:
    path = DataPath(600, 3000, 2e5, 7877)
    base = mixed_throughput(shape, times_of(disk, load), path, load)
    for better in (
        mixed_throughput(shape, times_of((disk[0] / 2, disk[1], disk[2]), load), path, load),
        mixed_throughput(shape, times_of(disk, load), DataPath(1200, 3000, 2e5, 7877), load),
        mixed_throughput(shape, times_of(disk, load), DataPath(600, 6000, 4e5, 7877), load),
        mixed_throughput(shape, times_of(disk, load), DataPath(600, 3000, 2e5, 15_754), load),
    ):
        assert better.iops >= base.iops * (1 - 1e-9)


@pytest.mark.parametrize("state", STATES)
def test_arrays_equal_scalars_element_by_element(state: str) -> None:
    rng = np.random.default_rng(7)
    count = 60
    cases = [CASES[i] for i in rng.integers(0, len(CASES), count)]
    parity, copies = zip(*(LEVELS[level] for level, _, _ in cases), strict=True)
    shape = array_shape([n for _, n, _ in cases], [s for _, _, s in cases], parity, copies)
    seek, rate = rng.uniform(3, 12, count), rng.uniform(90, 280, count)
    controller = rng.uniform(500, 5000, count)
    outstanding = rng.integers(1, 70, count)
    read, rand = rng.uniform(0, 1, (2, count))
    path = DataPath(600, controller, 2e5, 7877)
    load = Load(read, rand, 8192, outstanding)
    many = mixed_throughput(
        shape, disk_times(8192, seek, 7200, rate, rate), path, load, state=state
    )
    long = sequential_throughput(shape, rate, rate, path, state=state)
    for i, (level, n, spans) in enumerate(cases):
        path_i = DataPath(600, controller[i], 2e5, 7877)
        one = mixed_throughput(
            shape_of(level, n, spans),
            disk_times(8192, seek[i], 7200, rate[i], rate[i]),
            path_i,
            Load(read[i], rand[i], 8192, outstanding[i]),
            state=state,
        )
        for field in fields(MixedThroughput):
            whole, part = getattr(many, field.name)[i], getattr(one, field.name)
            np.testing.assert_allclose(whole, part, rtol=1e-12, err_msg=field.name)
        alone = sequential_throughput(
            shape_of(level, n, spans), rate[i], rate[i], path_i, state=state
        )
        for field in fields(SequentialThroughput):
            assert getattr(long, field.name)[i] == getattr(alone, field.name)


def test_many_builds_equal_single_ones_across_the_seams_of_the_chunks() -> None:
    rng = np.random.default_rng(5)
    count = 33_000
    members, seek = rng.integers(4, 25, count), rng.uniform(3, 12, count)
    outstanding = rng.integers(1, 40, count)
    got = mixed_throughput(
        array_shape(members, 1, 1),
        disk_times(8192, seek, 7200, 250, 250),
        FREE,
        Load(0.7, 1.0, 8192, outstanding),
    )
    for i in (0, 8191, 8192, 16_383, 16_384, 24_575, 24_576, 32_767, 32_768, count - 1):
        one = mixed_throughput(
            array_shape(members[i], 1, 1),
            disk_times(8192, seek[i], 7200, 250, 250),
            FREE,
            Load(0.7, 1.0, 8192, outstanding[i]),
        )
        assert got.iops[i] == pytest.approx(float(one.iops), rel=1e-12)
        assert got.response_ms[i] == pytest.approx(float(one.response_ms), rel=1e-12)


def test_broadcasting_of_a_grid_keeps_its_shape() -> None:
    shape = array_shape(np.array([[4], [8], [12]]))
    load = Load(0.7, 1.0, 8192, np.array([1, 4, 16, 64]))
    got = mixed_throughput(shape, times_of(DISK, load), FREE, load)
    assert got.iops.shape == got.bottleneck.shape == (3, 4)
    lone = mixed_throughput(array_shape(8), times_of(DISK, load), FREE, Load(0.7, 1.0, 8192, 16))
    assert got.iops[1, 2] == pytest.approx(float(lone.iops), rel=1e-12)


def test_plain_drives_are_the_textbook_network_but_for_the_spread_of_service() -> None:
    """n drives of one service time s: X = N / (s (n + N - 1) / n) where that is exponential.

    It spreads less, so that it is between that and n / s; nothing waits at one operation.
    """
    n, many = 8, 20
    one = np.asarray(10.0)
    times = DriveTimes(one, one, one, one, np.asarray(0.0), np.asarray(0.0))
    got = mixed_throughput(array_shape(n), times, FREE, Load(0.5, 1.0, 4096, [1, many]))
    assert got.response_ms[0] == pytest.approx(10.0 + CONTROLLER_MS[VALUE, 0])
    exponential = many / (0.010 * (n + many - 1) / n)
    assert exponential < got.iops[1] < n / 0.010
    assert got.knee_outstanding[1] == pytest.approx(n * (1 + CONTROLLER_MS[VALUE, 0] / 10))


def test_where_the_time_goes_adds_up() -> None:
    load = Load(0.6, 0.8, 65_536, np.array([1, 8, 64]))
    times = flash_times(65_536, 90_000, 30_000, 520, 480)
    for state in STATES:
        got = mixed_throughput(
            shape_of("60", 24, 3), times, DataPath(600, 3000, 2e5, 1969), load, state=state
        )
        parts = got.drives_ms + got.links_ms + got.controller_ms + got.host_link_ms + got.fixed_ms
        assert parts == pytest.approx(got.response_ms, rel=1e-9)
        busiest = np.maximum(got.drives_demand_ms, got.links_demand_ms)
        busiest = np.maximum(busiest, np.maximum(got.controller_demand_ms, got.host_link_demand_ms))
        assert (got.iops <= 1e3 / busiest * (1 + 1e-9)).all()
        assert got.drive_utilisation == pytest.approx(got.iops * got.drives_demand_ms / 1e3)
        assert got.iops * got.response_ms / 1e3 == pytest.approx(load.outstanding, rel=1e-9)


@pytest.mark.parametrize(
    ("path", "name"),
    [
        (FREE, "drives"),
        (DataPath(link_mb_s=0.5), "drive links"),
        (DataPath(controller_iops=100), "controller"),
        (DataPath(controller_mb_s=1), "controller"),
        (DataPath(host_link_mb_s=1), "host link"),
    ],
)
@pytest.mark.parametrize("state", STATES)
def test_bottleneck_has_a_name(path: DataPath, name: str, state: str) -> None:
    load = Load(0.7, 1.0, 8192, 32)
    got = mixed_throughput(shape_of("5", 12), times_of(DISK, load), path, load, state=state)
    assert bottleneck_name(got.bottleneck) == name


@pytest.mark.parametrize(
    ("path", "read", "name"),
    [
        (FREE, 11 * 250, "drives"),
        (DataPath(link_mb_s=150), 11 * 150, "drive links"),
        (DataPath(controller_mb_s=2000), 2000, "controller"),
        (DataPath(host_link_mb_s=1969), 1969, "host link"),
    ],
)
def test_sequential_takes_the_tightest_part(path: DataPath, read: float, name: str) -> None:
    got = sequential_throughput(shape_of("5", 12), 250, 250, path)
    assert float(got.read_mb_s) == pytest.approx(read)
    assert bottleneck_name(got.read_bottleneck) == name
    assert got.read_mb_s <= got.read_best_mb_s


def test_blank_inputs_stay_unknown_and_say_so() -> None:
    load = Load(0.7, 1.0, 8192, 32)
    shape = array_shape([8, 8], 1, 1)
    times = disk_times(8192, np.array([8.0, np.nan]), 7200, 250, 250)
    for state in STATES:
        got = mixed_throughput(shape, times, FREE, load, state=state)
        assert np.isfinite(got.iops[0])
        assert np.isnan(got.iops[1])
        assert np.isnan(got.iops_low[1])
        assert np.isnan(got.iops_bound[1])
        assert got.bottleneck[1] == NOT_KNOWN
        assert bottleneck_name(got.bottleneck)[1] == "not known"
    blank = mixed_throughput(
        array_shape(8), times_of(DISK, load), DataPath(controller_mb_s=np.nan), load
    )
    assert np.isnan(blank.iops)
    long = sequential_throughput(array_shape(8), 250, np.nan, FREE)
    assert np.isfinite(long.read_mb_s)
    assert np.isnan(long.write_mb_s)
    assert bottleneck_name(long.write_bottleneck) == "not known"


def test_array_without_redundancy_is_gone_with_a_drive() -> None:
    load = Load(0.7, 1.0, 8192, 32)
    for state in STATES[1:]:
        got = mixed_throughput(array_shape(8), times_of(DISK, load), FREE, load, state=state)
        assert got.iops == got.iops_bound == got.iops_low == 0
        assert np.isnan(got.response_ms)
        assert got.bottleneck == NO_SERVICE
        assert bottleneck_name(got.bottleneck) == "no service"
        assert sequential_throughput(array_shape(8), 250, 250, FREE, state=state).read_mb_s == 0


@pytest.mark.parametrize("spans", [1, 2, 4])
def test_a_failure_doubles_the_read_load_of_the_survivors(spans: int) -> None:
    """Source: Holland and Gibson, Parity declustering, ASPLOS 1992, on the load of a failed
    RAID 5 group. Status: re-derived (g - 1 reads of the lost block spread over g - 1 drives).
    """
    load = Load(1.0, 1.0, 8192, 256)
    shape = shape_of("50", 24, spans)
    normal, degraded = (
        mixed_throughput(shape, unordered(times_of(DISK, load)), FREE, load, state=state).iops_bound
        for state in STATES[:2]
    )
    assert float(degraded / normal) == pytest.approx(0.5, rel=1e-12)


def test_rebuild_share_of_nothing_is_plain_degraded() -> None:
    load = Load(0.5, 1.0, 8192, 32)
    times = unordered(times_of(DISK, load))
    degraded, untouched, taken = (
        mixed_throughput(shape_of("6", 8), times, FREE, load, state=state, rebuild_share=share)
        for state, share in (("degraded", 0.5), ("rebuilding", 0.0), ("rebuilding", 0.5))
    )
    assert untouched.iops == degraded.iops
    # At the high end it takes half of its share.
    assert taken.iops_bound == pytest.approx(float(degraded.iops_bound) * 0.75, rel=1e-9)
    assert degraded.iops / 2 < taken.iops < degraded.iops


def test_a_rebuild_takes_its_share_of_the_controller() -> None:
    load, path = Load(1.0, 1.0, 8192, 64), DataPath(controller_mb_s=4, controller_iops=1e6)
    degraded, rebuilding = (
        mixed_throughput(shape_of("5", 12), times_of(DISK, load), path, load, state=state)
        for state in STATES[1:]
    )
    # Five of twelve blocks are read for one that is gone: 1 / 12 x 11 more.
    moved = 8192 * (11 + 11) / 12
    assert float(degraded.iops) == pytest.approx(4e6 / moved)
    assert float(rebuilding.iops) == pytest.approx(0.7 * 4e6 / moved)
    assert float(rebuilding.iops_low) == pytest.approx(0.7 * float(degraded.iops_low))
    assert float(rebuilding.iops_bound) == float(degraded.iops_bound) == pytest.approx(4e6 / 8192)
    long = sequential_throughput(shape_of("5", 12), 250, 250, path, state="rebuilding")
    assert float(long.read_mb_s) == pytest.approx(0.7 * 4)
    # Nor does it take any of another array's, worked out side by side with it.
    sound = mixed_throughput(shape_of("5", 12), times_of(DISK, load), path, load)
    both = mixed_throughput(
        shape_of("5", 12), times_of(DISK, load), path, load, state=["normal", "rebuilding"]
    )
    assert both.iops == pytest.approx([float(sound.iops), float(rebuilding.iops)], rel=1e-9)


@pytest.mark.parametrize(
    ("level", "members", "spans", "normal", "degraded"),
    # Drives a long read can use at best: all; then as many groups as there are, each one short.
    [("10", 8, 1, 8, 4), ("5", 12, 1, 12, 11), ("60", 24, 3, 24, 21)],
)
def test_best_long_read_with_a_drive_missing(
    level: str, members: int, spans: int, normal: int, degraded: int
) -> None:
    shape = shape_of(level, members, spans)
    got = [float(sequential_throughput(shape, 100, 100, FREE, state=s).read_best_mb_s)
           for s in STATES]  # fmt: skip
    assert got == pytest.approx([100 * normal, 100 * degraded, 70 * degraded])


LOAD = Load(0.7, 1.0, 8192, 32)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda t: mixed_throughput(array_shape(8), t, FREE, Load(0.7, 1, 8192, 0)),
         "outstanding operations must be at least 1, but is 0"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, Load(0.7, 1, 8192, 1.5)), "whole"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, Load(0.7, 1, 8192, np.nan)),
         "must be known"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, Load(1.2, 1, 8192, 4)), "read share"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, Load(0.7, -0.1, 8192, 4)),
         "random share"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, Load(0.7, 1, 0, 4)), "block"),
        (lambda t: mixed_throughput(array_shape(8), t, DataPath(link_mb_s=-1), LOAD), "drive link"),
        (lambda t: mixed_throughput(array_shape(8), t, DataPath(controller_iops=0), LOAD),
         "controller limit in IOPS"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, LOAD, state="broken"),
         "not one of normal, degraded, rebuilding"),
        (lambda t: mixed_throughput(array_shape(8), t, FREE, LOAD, state="rebuilding",
                                    rebuild_share=1.0), "below 1"),
        (lambda t: sequential_throughput(array_shape(8), -250, 250, FREE), "drive read rate"),
        (lambda t: bottleneck_name(len(STATIONS)), "bottleneck codes"),
    ],
)  # fmt: skip
def test_impossible_inputs_are_refused(call: Callable[[DriveTimes], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call(times_of(DISK, LOAD))


def test_three_copies_read_like_stripes_and_write_a_third() -> None:
    """Re-derived as for two copies in the 1994 survey: reads n, writes n / c."""
    times = unordered(times_of(DISK, LOAD))
    bound = {
        (copies, read): float(
            mixed_throughput(
                array_shape(12, 1, 0, copies), times, FREE, Load(read, 1.0, 8192, 64)
            ).iops_bound
        )
        for copies in (1, 3)
        for read in (0, 1)
    }
    assert bound[3, 1] == pytest.approx(bound[1, 1])
    assert bound[3, 0] == pytest.approx(bound[1, 0] / 3)
    long = sequential_throughput(array_shape(12, 1, 0, 3), 100, 100, FREE, state="degraded")
    assert (float(long.read_mb_s), float(long.read_best_mb_s)) == (400, 800)
