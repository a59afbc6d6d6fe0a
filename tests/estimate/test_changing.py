"""Growing an array and moving its data, worked by hand and by a simulation of stripes."""

import math

import numpy as np
import pytest

from quotelib.estimate.changing import COPY_MB_S, GROWTH_SHARES, copy_hours, growth_hours


def test_four_disks_become_eight() -> None:
    # RAID 5 over 4 disks of 8 TB holds 24 TB: 6 TB are read of each at 250 MB/s, 24 / 7 TB are
    # written to each at 240 MB/s, which takes 24,000 and 14,286 seconds.
    assert growth_hours(24e12, 4, 7, 250, 240) == pytest.approx((24_000 + 14_285.7) / 3600)


@pytest.mark.parametrize(
    ("before", "after", "parity"), [(4, 5, 1), (4, 8, 1), (4, 9, 2), (6, 7, 2)]
)
def test_bytes_of_the_busiest_member_are_those_of_a_simulation(
    before: int, after: int, parity: int
) -> None:
    """Move stripe by stripe, parity rotating, and count what each member reads and writes."""
    strips = (before - parity) * (after - parity) * before * after * 3
    reads, writes = np.zeros(after), np.zeros(after)
    for strip in range(strips):
        row, place = divmod(strip, before - parity)
        reads[(place + row) % before] += 1
        row, place = divmod(strip, after - parity)
        writes[(place + row) % after] += 1
        if place == 0:
            for code in range(parity):
                writes[(after - parity + code + row) % after] += 1
    busiest = (reads / 2 + writes / 3).max()  # at two and three strips a second
    hours = growth_hours(strips * 1e6, before, after - parity, 2, 3)
    assert hours == pytest.approx(busiest / 3600)


def test_a_share_stretches_it_and_arrays_do_as_scalars() -> None:
    alone = growth_hours(1e12, 4, 5, 200, 200)
    assert growth_hours(1e12, [4, 4], 5, 200, 200, [1, 0.1]) == pytest.approx(
        [float(alone), 10 * float(alone)]
    )


def test_copying_over_a_network() -> None:
    # 10 TB over 10 Gbit/s Ethernet: 1,460 of 1,538 bytes of each frame (IEEE 802.3; from memory)
    # are data, 1,186.6 MB/s, so 8,427 seconds.
    assert copy_hours(10e12, COPY_MB_S[0]) == pytest.approx(8427.4 / 3600, rel=1e-4)
    # A quarter and a tenth of the rate take four and ten times as long.
    hours = [float(copy_hours(10e12, rate)) for rate in COPY_MB_S]
    assert hours == pytest.approx([hours[0], 4 * hours[0], 10 * hours[0]])


def test_more_than_all_the_drives_time_is_no_share() -> None:
    with pytest.raises(ValueError, match=r"at most 1, but is 1\.5"):
        growth_hours(1e12, 4, 5, 200, 200, 1.5)


@pytest.mark.parametrize("wrong", [0, -1, math.inf])
def test_what_is_no_amount_is_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match="bytes"):
        growth_hours(wrong, 4, 5, 200, 200)
    with pytest.raises(ValueError, match="bytes"):
        copy_hours(wrong, 100)


def test_the_least_that_can_be() -> None:
    """Half a byte at half a byte a second, from one member to one: the formula still holds."""
    slow = 0.5 / 1e6
    assert float(growth_hours(0.5, 1, 1, slow, slow)) == pytest.approx(2 / 3600, rel=1e-12)
    assert float(growth_hours(0.5, 1, 1, slow, slow, 0.5)) == pytest.approx(4 / 3600, rel=1e-12)
    assert float(copy_hours(0.5, slow)) == pytest.approx(1 / 3600, rel=1e-12)


def test_shares_of_the_drives_time_that_growing_gets() -> None:
    # Common practice, no source: all of it, what a rebuild is kept, a tenth.
    assert GROWTH_SHARES == (1.0, 0.3, 0.1)
    idle, kept, least = (float(growth_hours(1e12, 4, 4, 250, 250, s)) for s in GROWTH_SHARES)
    assert idle == pytest.approx(2e12 / 4 / 250e6 / 3600)
    assert (kept, least) == pytest.approx((idle / 0.3, idle * 10))
