"""Rebuild time and the window without full redundancy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotelib.estimate.performance.load import REBUILD_SHARE
from quotelib.estimate.performance.service import RIM_TO_MEAN
from quotelib.estimate.reliability.rebuild import (
    ATTENDED_SWAP_HOURS,
    CHUNK_BYTES,
    DAY_UTILISATION,
    LEAST_CHUNK_BYTES,
    SPARE_START_HOURS,
    RebuildWindow,
    chunk_efficiency,
    rebuild_hours,
    rebuild_rate_mb_s,
    rebuild_sources,
    rebuild_window,
    replacement_delay_hours,
    share_left,
)
from quotelib.estimate.shape import array_shape
from tests.estimate.shapes import shape_of


@pytest.mark.parametrize(
    ("level", "members", "spans", "sources"),
    [("1", 2, 1, 1), ("10", 12, 1, 1), ("5", 8, 1, 7), ("6", 8, 1, 6), ("50", 24, 3, 7),
     ("60", 24, 3, 6)],
)  # fmt: skip
def test_drives_read_for_a_rebuild(level: str, members: int, spans: int, sources: int) -> None:
    assert rebuild_sources(shape_of(level, members, spans)) == sources


def test_drives_read_with_three_parities_or_three_copies() -> None:
    assert rebuild_sources(array_shape(24, 3, 3)) == 5
    assert rebuild_sources(array_shape(12, 1, 0, 3)) == 1


@pytest.mark.parametrize(
    ("write", "read", "link", "controller", "rate"),
    [
        (200, 250, 600, np.inf, 200),  # the new drive
        (250, 180, 600, np.inf, 180),  # the survivors
        (500, 520, 300, np.inf, 300),  # the links
        (200, 250, 600, 800, 100),  # the controller: seven reads and a write
    ],
)
def test_slowest_part_sets_the_rate(
    write: float, read: float, link: float, controller: float, rate: float
) -> None:
    assert float(rebuild_rate_mb_s(7, write, read, link, controller)) == pytest.approx(rate)


def test_hours_are_bytes_over_rate() -> None:
    # 18 TB at 250 MB/s are 72,000 s.
    assert float(rebuild_hours(18e12, 250)) == pytest.approx(20.0)
    assert float(rebuild_hours(18e12, 250, 0.25)) == pytest.approx(80.0)


def test_delay_with_and_without_spare() -> None:
    got = replacement_delay_hours([0, 1, 3], swap_hours=30, spare_start_hours=0.5)
    assert got.tolist() == [30, 0.5, 0.5]
    assert replacement_delay_hours(0) == ATTENDED_SWAP_HOURS
    assert replacement_delay_hours(1) == SPARE_START_HOURS


def test_share_that_the_host_leaves() -> None:
    got = share_left([0.0, 0.4, 0.7, 0.9, 1.0, 1.0 + 1e-9], least=0.3)
    assert got == pytest.approx([1.0, 0.6, 0.3, 0.3, 0.3, 0.3])
    # 20 operations a second send the rebuild back 20 times, 10 ms each: a fifth of its time.
    assert float(share_left(0.2, 20, 10)) == pytest.approx(0.6)
    assert float(share_left(0.2, 20, 0)) == pytest.approx(0.8)
    # Operations of drives that need no positioning take nothing more, nor do positions of none.
    assert float(share_left(0.2, 20)) == pytest.approx(0.8)
    assert float(share_left(0.2, position_ms=10)) == pytest.approx(0.8)
    assert float(share_left(0.2, 1000, 10)) == REBUILD_SHARE
    assert float(share_left(0.0, least=1.0)) == 1.0


def test_a_chunk_that_is_positioned_for_by_hand() -> None:
    # 2 MB at 200 MB/s are 10 ms, and 10 ms to get there: half the time.
    assert float(chunk_efficiency(2e6, 200, 10)) == pytest.approx(0.5)
    assert float(chunk_efficiency(2e6, 200, 0)) == 1.0
    assert float(chunk_efficiency(6e6, 200, 10)) == pytest.approx(0.75)


def test_window_adds_up() -> None:
    got = rebuild_window(
        array_shape(8, 1, 2), 9e12, 250, 260, drive_utilisation=0.5, spares=1, link_mb_s=600
    )
    assert float(got.rate_mb_s) == float(got.mean_rate_mb_s) == 250
    assert float(got.idle_hours) == pytest.approx(10.0)
    assert float(got.loaded_hours) == pytest.approx(20.0)
    assert float(got.busy_hours) == pytest.approx(10.0 / 0.3)
    assert (float(got.sources), float(got.loaded_share)) == (6, 0.5)
    assert float(got.exposed_idle_hours) == pytest.approx(10.0 + SPARE_START_HOURS)
    assert float(got.exposed_loaded_hours) == pytest.approx(20.0 + SPARE_START_HOURS)
    assert float(got.exposed_busy_hours) == pytest.approx(10.0 / 0.3 + SPARE_START_HOURS)
    # Where nobody says how busy the host is, it takes half; without a spare, one is fetched.
    assert DAY_UTILISATION == 0.5
    alone = rebuild_window(array_shape(8, 1, 2), 9e12, 250, 260)
    assert alone.loaded_share == 0.5
    assert float(alone.delay_hours) == ATTENDED_SWAP_HOURS == 24


def test_a_disk_by_hand() -> None:
    """16 TB at a rim's 250 MB/s, 8 ms seek and 7200 turns a minute, a tenth of the day taken.

    Mean rate 187.5 MB/s; 12.17 ms to position; 20 operations a second send it back for 0.243 s of
    each second. With busy drives a chunk of 1 MiB takes 5.59 ms, and it is at work 31 % of three
    tenths of the time.
    """
    position = 8 + 30_000 / 7200
    got = rebuild_window(
        array_shape(8, 1, 2), 16e12, 250, 250, drive_utilisation=0.1, host_ops_per_s=20,
        position_ms=position, rim_to_mean=RIM_TO_MEAN,
    )  # fmt: skip
    assert float(got.rate_mb_s) == 250 and float(got.mean_rate_mb_s) == 187.5
    idle = 16e12 / 250e6 / 3600
    assert float(got.idle_hours) == pytest.approx(idle)
    left = 1 - 0.1 - 20 * position / 1000
    assert float(got.loaded_share) == pytest.approx(left) == pytest.approx(0.6567, abs=1e-4)
    assert float(got.loaded_hours) == pytest.approx(idle / 0.75 / left)
    transfer = 2**20 / 187.5e3
    busy = 0.3 * transfer / (transfer + position)
    assert float(got.busy_share) == pytest.approx(busy)
    assert float(got.busy_hours) == pytest.approx(idle / 0.75 / busy)
    # A sceptic's simulation at saturation took 4/3 of what was called the high end, and more.
    assert got.busy_hours > 4 / 3 * idle / 0.3
    # At 60 operations a second the day leaves less than the controller keeps, in chunks of 4 MiB.
    crowded = rebuild_window(
        array_shape(8, 1, 2), 16e12, 250, 250, drive_utilisation=0.6, host_ops_per_s=60,
        position_ms=position, rim_to_mean=RIM_TO_MEAN,
    )  # fmt: skip
    four = CHUNK_BYTES / 187.5e3
    assert float(crowded.loaded_share) == pytest.approx(0.3 * four / (four + position))
    assert CHUNK_BYTES == 4 * LEAST_CHUNK_BYTES == 4 * 2**20


def test_inner_tracks_slow_the_disks_and_nothing_else() -> None:
    def mean(**way: float) -> float:
        shape = array_shape(8, 1, 2)
        return float(rebuild_window(shape, 9e12, 250, 260, rim_to_mean=0.75, **way).mean_rate_mb_s)

    assert mean() == 187.5
    assert mean(link_mb_s=200) == 187.5
    assert mean(link_mb_s=180) == 180
    assert mean(controller_mb_s=7 * 100) == 100


def share_simulated(busy: float, per_s: float, rate: float, position: float) -> float:
    """Share of the rate that a rebuild gets: every operation of the host drawn one by one.

    The host's operations come at random and go first; the rebuild moves data in between, and
    positions anew after each of them.
    """
    rng = np.random.default_rng(5)
    count = 40_000
    arrivals = np.cumsum(rng.exponential(1 / per_s, count))
    service = rng.exponential(busy / per_s, count)
    free, moved = 0.0, 0.0
    for at, takes in zip(arrivals, service, strict=True):
        if at > free:
            moved += max(at - free - position / 1e3, 0.0) * rate
            free = at
        free += takes
    return moved / (free * rate)


@pytest.mark.parametrize(("busy", "per_s"), [(0.05, 5.0), (0.2, 15.0), (0.3, 25.0)])
def test_what_a_day_leaves_is_on_the_safe_side_of_a_simulation(busy: float, per_s: float) -> None:
    """Operations that find the host at work already cost no positioning of their own."""
    simulated = share_simulated(busy, per_s, 187.5, 12.0)
    formula = float(share_left(busy, per_s, 12.0, 1e-9))
    assert formula <= simulated * 1.02
    assert formula >= simulated - 0.15


def test_without_redundancy_there_is_no_rebuild() -> None:
    got = rebuild_window(array_shape([4, 4], 1, [0, 1]), 9e12, 250, 260)
    assert np.isinf(got.idle_hours[0])
    assert np.isinf(got.exposed_loaded_hours[0])
    assert got.rate_mb_s[0] == 0
    assert np.isfinite(got.idle_hours[1])
    assert np.isnan(rebuild_sources(array_shape(4)))


def test_blank_stays_unknown() -> None:
    shape = array_shape(8, 1, 1)
    assert np.isnan(rebuild_window(shape, np.nan, 250, 250).idle_hours)
    assert np.isnan(rebuild_window(shape, 9e12, np.nan, 250).rate_mb_s)
    assert np.isnan(rebuild_window(shape, 9e12, 250, 250, controller_mb_s=np.nan).idle_hours)
    loaded = rebuild_window(shape, 9e12, 250, 250, drive_utilisation=np.nan)
    assert np.isfinite(loaded.idle_hours) and np.isfinite(loaded.busy_hours)
    assert np.isnan(loaded.loaded_hours)
    placed = rebuild_window(shape, 9e12, 250, 250, position_ms=np.nan)
    assert np.isfinite(placed.idle_hours)
    assert np.isnan(placed.loaded_hours) and np.isnan(placed.busy_hours)
    assert np.isnan(replacement_delay_hours(np.nan))


POSITIVE = st.floats(20, 5000)


@given(
    st.sampled_from(
        [
            (2, 1, 0, 2),
            (8, 1, 1, 1),
            (8, 1, 2, 1),
            (24, 3, 2, 1),
            (16, 1, 0, 2),
            (12, 1, 0, 3),
            (16, 2, 3, 1),
        ]
    ),
    st.floats(1e11, 4e13),
    POSITIVE,
    POSITIVE,
    st.floats(100, 2400),
    st.floats(300, 12_000),
    st.floats(0, 1),
    st.floats(0, 200),
    st.sampled_from([0.0, 6.0, 16.0]),
    st.floats(0.05, 1),
)
@settings(max_examples=300, deadline=None)
def test_load_and_slower_parts_never_shorten_it(
    case: tuple[int, int, int, int],
    size: float,
    write: float,
    read: float,
    link: float,
    controller: float,
    busy: float,
    per_s: float,
    position: float,
    floor: float,
) -> None:
    """A faster controller lengthened 128 rebuilds of the starter list: it made the load busier."""
    shape = array_shape(*case)

    def hours(**change: float) -> RebuildWindow:
        values = {"write": write, "read": read, "link": link, "limit": controller, "busy": busy,
                  "per_s": per_s, "position": position, "floor": floor, "inner": 1.0}  # fmt: skip
        values |= change
        return rebuild_window(
            shape,
            size,
            values["write"],
            values["read"],
            link_mb_s=values["link"],
            controller_mb_s=values["limit"],
            drive_utilisation=values["busy"],
            host_ops_per_s=values["per_s"],
            position_ms=values["position"],
            floor=values["floor"],
            rim_to_mean=values["inner"],
        )

    base = hours()
    assert base.idle_hours <= base.loaded_hours <= base.exposed_loaded_hours
    assert base.loaded_hours <= base.busy_hours <= base.exposed_busy_hours
    assert base.rate_mb_s <= min(write, read, link, controller)
    for slower in (
        hours(write=write / 2),
        hours(read=read / 2),
        hours(link=link / 2),
        hours(limit=controller / 2),
        hours(busy=(1 + busy) / 2),
        hours(per_s=per_s + 10),
        hours(position=position + 3),
        hours(floor=floor / 2),
        hours(inner=0.75),
    ):
        # Rounding: a rate that cancels out of a chunk's time and its share.
        for one in ("idle_hours", "loaded_hours", "busy_hours"):
            assert getattr(slower, one) >= getattr(base, one) * (1 - 1e-14), one


def test_arrays_equal_scalars_element_by_element() -> None:
    rng = np.random.default_rng(3)
    count = 40
    parity = rng.integers(0, 3, count)
    members = rng.integers(4, 24, count)
    size, write, read = rng.uniform(1e12, 2e13, count), *rng.uniform(100, 300, (2, count))
    controller, busy, spares = (
        rng.uniform(400, 4000, count),
        rng.uniform(0, 1, count),
        rng.integers(0, 3, count),
    )
    many = rebuild_window(
        array_shape(members, 1, parity), size, write, read,
        link_mb_s=600, controller_mb_s=controller, drive_utilisation=busy, spares=spares,
    )  # fmt: skip
    for i in range(count):
        one = rebuild_window(
            array_shape(members[i], 1, parity[i]), size[i], write[i], read[i],
            link_mb_s=600, controller_mb_s=controller[i], drive_utilisation=busy[i],
            spares=spares[i],
        )  # fmt: skip
        for field in fields(RebuildWindow):
            together, alone = getattr(many, field.name)[i], getattr(one, field.name)
            np.testing.assert_array_equal(together, alone, err_msg=field.name)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rebuild_hours(0, 250), "member bytes must be above 0"),
        (lambda: rebuild_hours(1e12, -1), "rebuild rate in MB/s must be above 0, but is -1"),
        (lambda: rebuild_hours(1e12, 250, 0), "share of drive time"),
        (lambda: rebuild_hours(1e12, 250, 1.5), "share of drive time"),
        (lambda: rebuild_rate_mb_s(0, 250, 250), "drives read for a rebuild"),
        (lambda: rebuild_rate_mb_s(7, 0, 250), "target write rate"),
        (lambda: rebuild_rate_mb_s(7, 250, [250, -1]), "source read rate.*position 1"),
        (lambda: replacement_delay_hours(0.5), "hot spares must be whole"),
        (lambda: share_left(1.2), "drive utilisation must be at most 1, but is 1.2"),
        (lambda: share_left(-0.1), "drive utilisation must be at least 0"),
        (lambda: share_left(0.5, -1), "host operations a second must be at least 0"),
        (lambda: share_left(0.5, 1, -1), "positioning in ms must be at least 0"),
        (lambda: share_left(0.5, least=0), "share kept for the rebuild must be above 0"),
        (lambda: share_left(0.5, least=1.01), "share kept for the rebuild must be at most 1"),
        (lambda: chunk_efficiency(0, 200, 10), "chunk of a rebuild in bytes must be above 0"),
        (lambda: chunk_efficiency(1e6, 0, 10), "rebuild rate in MB/s must be above 0"),
        (lambda: chunk_efficiency(1e6, 200, -1), "positioning in ms must be at least 0"),
        (
            lambda: rebuild_window(array_shape(2, 1, 0, 2), 1e12, 9, 9, least_chunk_bytes=2**23),
            "no larger than the usual one",
        ),
        (
            lambda: rebuild_window(array_shape(2, 1, 0, 2), 1e12, 9, 9, rim_to_mean=1.1),
            "mean rate over the rim's must be at most 1",
        ),
        (
            lambda: rebuild_window(array_shape(2, 1, 0, 2), 1e12, 9, 9, floor=0),
            "share kept for the rebuild must be above 0",
        ),
        (
            lambda: rebuild_window(array_shape(2, 1, 0, 2), 1e12, 9, 9, rim_to_mean=0),
            "mean rate over the rim's must be above 0",
        ),
        (
            lambda: rebuild_window(array_shape(2, 1, 0, 2), 1e12, 9, 9, floor=1.01),
            "share kept for the rebuild must be at most 1",
        ),
        (lambda: rebuild_rate_mb_s(7, 250, 0), "source read rate in MB/s must be above 0"),
        (lambda: rebuild_rate_mb_s(7, 250, 250, 0), "drive link in MB/s must be above 0"),
        (lambda: rebuild_rate_mb_s(7, 250, 250, 9, 0), "controller limit in MB/s must be above 0"),
        (lambda: rebuild_rate_mb_s(7, 250, 250, 9, 9, 0), "drive links at once must be above 0"),
        (lambda: rebuild_hours(1e12, 0), "rebuild rate in MB/s must be above 0"),
        (lambda: rebuild_rate_mb_s(0.99, 250, 250), "drives read for a rebuild must be at least 1"),
        (lambda: replacement_delay_hours(-1), "hot spares must be at least 0"),
        (lambda: replacement_delay_hours(0, -2), "hours to swap"),
    ],
)
def test_impossible_inputs_are_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()


def test_what_stands_for_a_person_and_a_spare() -> None:
    assert (SPARE_START_HOURS, ATTENDED_SWAP_HOURS, RIM_TO_MEAN) == (0.25, 24, 0.75)


def test_limits_themselves_are_allowed() -> None:
    # Rates below one, too: only zero is no rate.
    assert float(rebuild_rate_mb_s(1, 0.5, 0.5)) == 0.5
    assert float(rebuild_rate_mb_s(1, 9, 9, 0.5)) == 0.5
    assert float(rebuild_rate_mb_s(1, 9, 9, 9, 0.5)) == 0.25
    assert float(rebuild_rate_mb_s(1, 9, 9, 1, np.inf, 0.5)) == 0.25
    assert float(share_left(0.2, position_ms=1000)) == pytest.approx(0.8)
    one_size = rebuild_window(
        array_shape(2, 1, 0, 2), 1e12, 200, 200, position_ms=10, chunk_bytes=2e6,
        least_chunk_bytes=2e6, drive_utilisation=1.0, floor=1.0,
    )  # fmt: skip
    assert float(one_size.loaded_share) == float(one_size.busy_share) == pytest.approx(0.5)
    assert float(rebuild_rate_mb_s(1, 250, 250, 600, 500, 2)) == 250
    assert float(rebuild_hours(3.6e12, 1, 1)) == 1000
    assert float(replacement_delay_hours(0, swap_hours=0)) == 0
    assert float(replacement_delay_hours(1, spare_start_hours=0)) == 0
    assert float(share_left(1.0, 0.0, 0.0, 1.0)) == 1.0
    # Two lanes for eight drives carry a quarter of each link.
    assert float(rebuild_rate_mb_s(7, 9e9, 9e9, 600, np.inf, 2)) == 150
    # As many lanes as drives, or more, hold nothing back.
    assert float(rebuild_rate_mb_s(7, 9e9, 9e9, 600, np.inf, 8)) == 600
    assert float(rebuild_rate_mb_s(7, 9e9, 9e9, 600, np.inf, 16)) == 600
