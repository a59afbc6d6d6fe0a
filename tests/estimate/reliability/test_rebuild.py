"""Rebuild time and the window without full redundancy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.reliability.rebuild import (
    ATTENDED_SWAP_HOURS,
    SPARE_START_HOURS,
    RebuildWindow,
    loaded_share,
    rebuild_hours,
    rebuild_rate_mb_s,
    rebuild_sources,
    rebuild_window,
    replacement_delay_hours,
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


def test_share_under_load() -> None:
    assert loaded_share([0.0, 0.4, 0.9, 1.0], 0.3) == pytest.approx([1.0, 0.6, 0.3, 0.3])


def test_window_adds_up() -> None:
    got = rebuild_window(
        array_shape(8, 1, 2), 9e12, 250, 260, drive_utilisation=0.5, spares=1, link_mb_s=600
    )
    assert float(got.rate_mb_s) == 250
    assert float(got.idle_hours) == pytest.approx(10.0)
    assert float(got.loaded_hours) == pytest.approx(20.0)
    assert (float(got.sources), float(got.loaded_share)) == (6, 0.5)
    assert float(got.exposed_idle_hours) == pytest.approx(10.0 + SPARE_START_HOURS)
    assert float(got.exposed_loaded_hours) == pytest.approx(20.0 + SPARE_START_HOURS)


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
    assert np.isfinite(loaded.idle_hours)
    assert np.isnan(loaded.loaded_hours)
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
)
def test_load_and_slower_parts_never_shorten_it(
    case: tuple[int, int, int, int],
    size: float,
    write: float,
    read: float,
    link: float,
    controller: float,
    busy: float,
) -> None:
    shape = array_shape(*case)

    def hours(**change: float) -> RebuildWindow:
        values = {"write": write, "read": read, "link": link, "limit": controller, "busy": busy}
        values |= change
        return rebuild_window(
            shape,
            size,
            values["write"],
            values["read"],
            link_mb_s=values["link"],
            controller_mb_s=values["limit"],
            drive_utilisation=values["busy"],
        )

    base = hours()
    assert base.idle_hours <= base.loaded_hours <= base.exposed_loaded_hours
    assert base.rate_mb_s <= min(write, read, link, controller)
    for slower in (
        hours(write=write / 2),
        hours(read=read / 2),
        hours(link=link / 2),
        hours(limit=controller / 2),
        hours(busy=(1 + busy) / 2),
    ):
        assert slower.idle_hours >= base.idle_hours
        assert slower.loaded_hours >= base.loaded_hours


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
        (lambda: loaded_share(1.2), "drive utilisation"),
        (lambda: loaded_share(0.5, 0), "share kept for the rebuild"),
        (lambda: replacement_delay_hours(-1), "hot spares must be at least 0"),
        (lambda: replacement_delay_hours(0, -2), "hours to swap"),
    ],
)
def test_impossible_inputs_are_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
