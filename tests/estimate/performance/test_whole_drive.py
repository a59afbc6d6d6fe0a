"""Hours to go over whole drives, by hand, against a rebuild, and track by track."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.performance.service import RIM_TO_MEAN
from quotelib.estimate.performance.whole_drive import AT_MOST, initialise_hours, self_test_hours
from quotelib.estimate.reliability.rebuild import rebuild_hours

SIZES = st.floats(1e9, 4e13)
RATES = st.floats(1, 20_000)


@pytest.mark.parametrize(
    ("members", "link", "controller", "hours"),
    [
        # 16 TB at 250 MB/s: 64,000 s. By hand.
        (4, np.inf, np.inf, 64_000 / 3600),
        (4, 600, 6200, 64_000 / 3600),
        # Twelve want 3,000 MB/s and get 2,000: half as long again.
        (12, 600, 2000, 96_000 / 3600),
        # A link of 125 MB/s halves the rate.
        (2, 125, 6200, 128_000 / 3600),
    ],
)
def test_the_slowest_on_the_way_sets_the_pace(
    members: int, link: float, controller: float, hours: float
) -> None:
    found = initialise_hours(16e12, 250, members, link, controller)
    assert found == pytest.approx(hours, rel=1e-12)


@given(SIZES, RATES, st.integers(1, 60), RATES, RATES)
def test_the_controller_never_moves_more_than_it_can(
    size: float, write: float, members: int, link: float, controller: float
) -> None:
    hours = float(initialise_hours(size, write, members, link, controller))
    rate = members * size / (hours * 3600 * 1e6)
    assert rate <= min(controller, members * min(write, link)) * (1 + 1e-9)
    assert hours <= float(initialise_hours(size, write, members + 1, link, controller))


@given(SIZES, RATES, RATES)
def test_one_member_takes_as_long_as_to_rebuild_it(size: float, write: float, link: float) -> None:
    """Both write every byte of one drive; neither formula is made of the other."""
    alone = initialise_hours(size, write, 1, link)
    assert alone == pytest.approx(rebuild_hours(size, min(write, link)))


def test_a_disk_read_track_by_track_stays_within_the_range() -> None:
    """Zones of one density: a turn reads as much as the track is long. Derived here, no source."""
    radii = np.linspace(1.0, 0.5, 20_001)  # from the rim to half of it, as disks have it (memory)
    turns, per_turn = len(radii), radii
    at_the_rim = per_turn.sum() / per_turn[0]
    assert turns / at_the_rim == pytest.approx(4 / 3, rel=1e-3)
    assert 1 < turns / at_the_rim < AT_MOST


def test_a_drive_may_take_twice_as_long() -> None:
    """Common practice, no source: a disk's inner tracks, and half of its time again."""
    assert AT_MOST == 2
    assert 1 / RIM_TO_MEAN < AT_MOST


def test_a_self_test_reads_a_drive_once() -> None:
    # 4 TB at 200 MB/s: 20,000 s. By hand.
    assert self_test_hours(4e12, 200) == pytest.approx(20_000 / 3600)
    both = self_test_hours([4e12, 8e12], 200)
    assert both.shape == (2,)
    assert both[1] == pytest.approx(2 * both[0])


def test_scalars_and_arrays_alike_and_unknown_stays_unknown() -> None:
    hours = initialise_hours([1e12, 2e12], 100, [[1], [20]], 600, 1000)
    assert hours.shape == (2, 2)
    for row, members in enumerate((1, 20)):
        for column, size in enumerate((1e12, 2e12)):
            assert hours[row, column] == initialise_hours(size, 100, members, 600, 1000)
    assert np.isnan(initialise_hours(1e12, np.nan, 2))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0, 100, 2), "member bytes must be above 0"),
        ((1e12, -1, 2), "member write rate in MB/s must be above 0"),
        ((1e12, 100, 0), "drives written at once must be at least 1"),
        ((1e12, 100, 1.5), "drives written at once must be whole"),
    ],
)
def test_what_cannot_be_is_refused(arguments: tuple[float, float, float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        initialise_hours(*arguments)
