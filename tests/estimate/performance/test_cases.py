"""What value, low end and high end take for granted, read back from the figures they make."""

from __future__ import annotations

import numpy as np
import pytest

from quotelib.estimate.performance.load import DataPath, Load, Serving
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.service import DriveTimes, disk_times
from quotelib.estimate.shape import array_shape

BLOCK = 4096
PLACE, MOVED = 12.0, BLOCK / 256e3  # 8 ms seek and half a turn at 7500 a minute; 256 MB/s
DISK = disk_times(BLOCK, 8.0, 7500, 256, 256)
STRIPS = Serving(262_144)


@pytest.mark.parametrize("many", [1, 8, 32, 64, 128, 500])
def test_one_disk_under_random_reads(many: int) -> None:
    """Ordering by the fourth root up to 32; the eighth and a fifth slower; power 0.28 up to 128."""
    found = mixed_throughput(array_shape(1), DISK, DataPath(), Load(1, 1, BLOCK, many), STRIPS)
    value = PLACE * min(many, 32) ** -0.25 + MOVED * 4 / 3
    low = 1.2 * (PLACE * min(many, 32) ** -0.125 + MOVED * 4 / 3)
    high = PLACE * min(many, 128) ** -0.28 + MOVED
    if many == 1:  # nothing queued, so the controller's own time is waited for
        value, low, high = value + 0.03, low + 0.06, high + 0.02
    # Few of them are at the controller and not in the queue: less than one in a thousand.
    assert float(found.iops) == pytest.approx(1e3 / value, rel=3e-4)
    assert float(found.iops_low) == pytest.approx(1e3 / low, rel=3e-4)
    assert float(found.iops_bound) == pytest.approx(1e3 / high, rel=1e-6)
    assert float(found.drives_alone_ms) == pytest.approx(PLACE + MOVED * 4 / 3)
    assert float(found.knee_outstanding) == pytest.approx(
        (PLACE + MOVED * 4 / 3 + 0.03) / (PLACE + MOVED * 4 / 3)
    )


def test_writes_into_a_cache() -> None:
    """0.07 ms where the disks keep up, 0.20 and 0.03 at the ends: 0.04, 0.14 and 0.01 of the cache.

    The disks do each write among 128 places, 16 at the low end, 1024 at the high.
    """
    value = PLACE * 128**-0.25 + MOVED * 4 / 3
    low = 1.2 * (PLACE * 16**-0.125 + MOVED * 4 / 3)
    high = PLACE * 1024**-0.28 + MOVED
    cached = Serving(262_144, True)
    one = mixed_throughput(array_shape(1), DISK, DataPath(), Load(0, 1, BLOCK, 1), cached)
    assert float(one.fixed_ms) == pytest.approx(0.07)
    many = mixed_throughput(array_shape(1), DISK, DataPath(), Load(0, 1, BLOCK, 64), cached)
    for found in (one, many):
        # Writes that never pause fill it, and then come as the disk takes them.
        assert float(found.iops) == pytest.approx(1e3 / value, rel=1e-6)
        assert float(found.iops_low) == pytest.approx(1e3 / low, rel=1e-6)
        assert float(found.iops_bound) == pytest.approx(1e3 / high, rel=1e-6)
    assert float(many.response_ms) == pytest.approx(64 * value, rel=1e-6)
    # The wait for the full cache is the disk's.
    assert float(many.drives_ms) == pytest.approx(64 * value - 0.07, rel=1e-6)


def test_a_cache_before_drives_that_keep_up() -> None:
    quick = DriveTimes(*(np.asarray(1e-6),) * 4, np.asarray(0.0), np.asarray(0.0))
    found = mixed_throughput(
        array_shape(4), quick, DataPath(), Load(0, 1, BLOCK, 1), Serving(262_144, True)
    )
    assert float(found.response_ms) == pytest.approx(0.07)
    assert float(found.response_high_ms) == pytest.approx(0.20)
    assert float(found.response_low_ms) == pytest.approx(0.03)


@pytest.mark.parametrize(("parity", "side"), [(1, 2), (2, 3), (3, 4)])
def test_several_disks_wait_for_the_slowest(parity: int, side: int) -> None:
    """Mean of the largest of two, three and four normal variables: 0.564, 0.846, 1.029.

    Source: order statistics of the normal distribution, checked here by numerical integration.
    """
    from scipy.integrate import quad
    from scipy.stats import norm

    largest, _ = quad(lambda x: x * side * norm.pdf(x) * norm.cdf(x) ** (side - 1), -9, 9)
    found = mixed_throughput(
        array_shape(12, 1, parity), DISK, DataPath(), Load(0, 1, BLOCK, 1), STRIPS
    )
    access = PLACE + MOVED * 4 / 3
    wanted = 2 * access * (1 + 0.3 * 1.5 * largest) + 0.03
    assert float(found.response_ms) == pytest.approx(wanted, rel=1e-4)
    low = 2 * access * (1.2 + 0.3 * 3.0 * largest) + 0.06
    assert float(found.response_high_ms) == pytest.approx(low, rel=1e-4)
    assert float(found.response_low_ms) == pytest.approx(2 * (PLACE + MOVED) + 0.02, rel=1e-6)


@pytest.mark.parametrize(("pieces", "table"), [(8, 1.4236), (16, 1.7660), (32, 2.0697)])
def test_the_slowest_of_many_by_numerical_integration(pieces: int, table: float) -> None:
    """Whole stripes of mirrors: so many writes side by side."""
    from scipy.integrate import quad
    from scipy.stats import norm

    largest, _ = quad(lambda x: x * pieces * norm.pdf(x) * norm.cdf(x) ** (pieces - 1), -9, 9)
    assert largest == pytest.approx(table, abs=1e-4)
    found = mixed_throughput(
        array_shape(pieces), DISK, DataPath(), Load(0, 1, BLOCK * pieces, 1), Serving(BLOCK)
    )
    access = PLACE + MOVED * 4 / 3
    wanted = access * (1 + 0.3 * 1.5 * largest) + 0.03
    assert float(found.response_ms) == pytest.approx(wanted, rel=1e-4)
