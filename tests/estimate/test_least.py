"""The least that is allowed gives a figure still: a limit left out refuses zero, and no more."""

import numpy as np
import pytest

from quotelib.estimate.capacity import drive_bytes, lba_count
from quotelib.estimate.checks import number, require
from quotelib.estimate.performance.load import (
    DataPath,
    Load,
    bottleneck_name,
    check_state,
    checked_load,
    checked_path,
)
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.whole_drive import initialise_hours, self_test_hours
from quotelib.estimate.performance.write_cache import cached_writes
from quotelib.estimate.reliability.field_rates import mttf_from_annual_pct, mttf_range
from quotelib.estimate.reliability.loss import any_of_groups
from quotelib.estimate.reliability.protection import unreadable_probability, unreadable_sectors
from quotelib.estimate.reliability.rebuild import (
    rebuild_hours,
    rebuild_rate_mb_s,
    rebuild_window,
    replacement_delay_hours,
    share_left,
)
from quotelib.estimate.shape import array_shape, group_shape

HALF = 0.5
HOUR = 1e6 * 3600
SLOW = DataPath(HALF, HALF, HALF, HALF, HALF)


def test_the_path_and_the_load() -> None:
    path = checked_path(SLOW)
    rates = (path.link_mb_s, path.controller_mb_s, path.controller_iops, path.host_link_mb_s)
    assert [float(np.asarray(rate)) for rate in (*rates, path.links_at_once)] == [HALF] * 5
    for share in (0.0, 1.0):
        load = checked_load(Load(share, share, HALF, 1))
        assert (float(np.asarray(load.read_share)), float(np.asarray(load.outstanding))) == (
            share,
            1,
        )
    for wrong in (Load(1.5, 1, HALF, 1), Load(1, 1.5, HALF, 1), Load(1, 1, 0, 1), Load(1, 1, 1, 0)):
        with pytest.raises(ValueError, match="must be"):
            checked_load(wrong)
    assert float(check_state("rebuilding", 0.0)) == 1
    assert float(check_state("rebuilding", 0.25)) == 0.75
    assert float(check_state("degraded", 0.25)) == 1
    assert [str(x) for x in bottleneck_name([-2, -1, 0, 3])] == [
        "no service",
        "not known",
        "drives",
        "host link",
    ]


def test_long_transfers() -> None:
    """Half a MB/s a drive, two drives' worth of data in RAID 5 over three."""
    shape = array_shape(3, 1, 1)
    found = sequential_throughput(shape, HALF, HALF, DataPath())
    assert (float(found.read_mb_s), float(found.read_best_mb_s)) == (1.0, 1.5)
    assert float(sequential_throughput(shape, HALF, HALF, SLOW).write_mb_s) == pytest.approx(1 / 6)
    # Half a lane of 0.5 MB/s for 1.5 MB of each MB of data: 1 / 6. Without a drive of RAID 0:
    lost = sequential_throughput(array_shape(3), HALF, HALF, DataPath(), state="degraded")
    assert (float(lost.read_mb_s), float(lost.read_best_mb_s), float(lost.write_mb_s)) == (0, 0, 0)
    assert int(lost.read_bottleneck) == int(lost.write_bottleneck) == -2


def test_rebuilds() -> None:
    assert float(rebuild_rate_mb_s(1, HALF, HALF)) == HALF
    # Two streams share half a lane of 0.5 MB/s; the controller's 0.5 go to them, too.
    assert float(rebuild_rate_mb_s(1, 9, 9, HALF, links_at_once=HALF)) == 0.125
    assert float(rebuild_rate_mb_s(1, 9, 9, controller_mb_s=HALF)) == 0.25
    assert float(rebuild_hours(HALF, HALF, HALF)) == pytest.approx(2 / HOUR, rel=1e-12)
    assert float(rebuild_hours(HALF, HALF)) == pytest.approx(1 / HOUR, rel=1e-12)
    assert [float(share_left(busy, least=HALF)) for busy in (0, HALF, 1)] == [1, HALF, HALF]
    assert float(share_left(1, least=1)) == 1
    # A tenth of the time, and five times a second 40 ms to find the place again.
    assert float(share_left(0.1, 5, 40)) == pytest.approx(0.7)
    # Three tenths are kept, unless it is said otherwise.
    assert [float(share_left(1)), float(share_left(0.6, 100, 10))] == [0.3, 0.3]
    assert [float(replacement_delay_hours(n, 0, 0)) for n in (0, 1)] == [0, 0]
    assert [float(replacement_delay_hours(n, 5, 2)) for n in (0, 1, 2)] == [5, 2, 2]
    # Common practice: a day until somebody comes, a quarter of an hour for a hot spare.
    assert [float(replacement_delay_hours(n)) for n in (0, 1)] == [24, 0.25]
    for bad in (0.5, -1):
        with pytest.raises(ValueError, match="hot spares"):
            replacement_delay_hours(bad)
    bare = rebuild_window(array_shape(4), 1e12, 200, 200)
    assert (float(bare.rate_mb_s), float(bare.idle_hours)) == (0, np.inf)


def test_going_over_whole_drives() -> None:
    assert float(initialise_hours(HALF, HALF, 1)) == pytest.approx(1 / HOUR, rel=1e-12)
    assert float(initialise_hours(HALF, 9, 1, HALF)) == pytest.approx(1 / HOUR, rel=1e-12)
    assert float(initialise_hours(HALF, 9, 2, 9, HALF)) == pytest.approx(2 / HOUR, rel=1e-12)
    assert float(self_test_hours(HALF, HALF)) == pytest.approx(1 / HOUR, rel=1e-12)


def test_a_cache() -> None:
    none = cached_writes(0, True, HALF, HALF, HALF)
    assert (float(none.seconds_until_full), float(none.sustained_mb_s)) == (0, HALF)
    # 0.5 MiB fill at 0.5 - 0.25 MB/s.
    some = cached_writes(HALF, True, HALF, 0.25)
    assert float(some.seconds_until_full) == pytest.approx(HALF * 2**20 / 1e6 / 0.25)


def test_rates_of_failure_and_of_errors() -> None:
    assert float(mttf_from_annual_pct(HALF)) == 200 * 8760
    assert float(mttf_range(HALF, "hdd").worst) == HALF
    assert float(unreadable_probability(0, 1, HALF)) == 0
    assert float(unreadable_probability(1, 0, HALF)) == 0
    assert float(unreadable_probability(1, 1, 0)) == 0
    assert float(unreadable_probability(1, 1, HALF)) == pytest.approx(1 - HALF**8)
    assert [float(unreadable_sectors(*n)) for n in ((0, 1, HALF), (1, 1, HALF))] == [0, 4]
    assert [float(any_of_groups(p, 1)) for p in (0, HALF, 1)] == [0, HALF, 1]
    assert float(any_of_groups(HALF, 2)) == 0.75
    for bad in (0, 1.5):
        with pytest.raises(ValueError, match="groups"):
            any_of_groups(HALF, bad)


def test_blocks() -> None:
    assert lba_count(1, 512) == 97_696_368 - 49 * 1_953_504
    # Above 8000 GB a multiple of 2^21 blocks; a capacity that is one stays.
    assert lba_count(8001, 512) == -(-8001 * 10**9 // 2**30) * 2**21
    assert drive_bytes(1, 4096) == drive_bytes(1, 512)


@pytest.mark.parametrize(
    ("shape", "groups", "drives", "redundancy", "data"),
    [
        ((1,), 1, 1, 0, 1),
        ((2, 1, 0, 2), 1, 2, 1, 1),
        ((3, 1, 0, 3), 1, 3, 2, 1),
        ((6, 1, 0, 3), 2, 3, 2, 2),
        ((3, 1, 1), 1, 3, 1, 2),
        ((4, 1, 2), 1, 4, 2, 2),
        ((5, 1, 3), 1, 5, 3, 2),
        ((12, 3, 2), 3, 4, 2, 6),
        ((4, 2), 2, 2, 0, 4),
    ],
)
def test_the_smallest_of_each_shape(
    shape: tuple[int, ...], groups: int, drives: int, redundancy: int, data: int
) -> None:
    made = array_shape(*shape)
    assert float(made.groups) == groups
    assert float(made.group_drives) == drives
    assert float(made.redundancy) == redundancy
    assert float(made.data_members) == data
    assert bool(made.redundant) is (redundancy > 0)
    assert float(group_shape(made).groups) == groups  # striped over all of them
    apart = group_shape(made, striped=False)
    assert float(apart.groups) == (groups if redundancy else made.members)
    assert float(apart.members) == (drives if redundancy else 1)


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        ((2.5,), "members must be whole"),
        ((3, 1.5), "spans must be whole"),
        ((8, 1, 0.5), "parity drives in a span must be whole"),
        ((3, 1, 0, 1.5), "copies must be whole"),
        ((6, 2, 0, 2), "whole mirrors"),  # three drives a span
    ],
)
def test_drives_come_whole(shape: tuple[float, ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        array_shape(*shape)


def test_a_refusal_says_where_among_many_and_not_of_one() -> None:
    require(True, "never")
    require([True, True], "never")
    with pytest.raises(ValueError, match=r"^it must hold$"):
        require(False, "it must hold")
    with pytest.raises(ValueError, match=r"^it must hold \(first at position 1, 0\)$"):
        require([[True, True], [False, False]], "it must hold")


def test_a_number_out_of_its_limits_is_named_with_how_many_more_there_are() -> None:
    for values, told in (
        ([1, -2, 3], "x must be at least 0, but is -2 at position 1"),
        ([-1, -2, 3], "x must be at least 0, but is -1 at position 0 and 1 more"),
        ([-1, -2, -3], "x must be at least 0, but is -1 at position 0 and 2 more"),
        (-1, "x must be at least 0, but is -1"),
    ):
        with pytest.raises(ValueError, match=f"^{told}$"):
            number("x", values, at_least=0)
