"""Operations that come when they like: queues by theory and by simulation, and what a day asks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.stats import gamma

from quotelib.estimate.performance.cases import CACHE_ANSWER_MS, CONTROLLER_MS, VALUE
from quotelib.estimate.performance.day import (
    BUSY_HOURS,
    day_operations_per_s,
    open_response,
    queue_wait,
)
from quotelib.estimate.performance.load import Load, Serving
from quotelib.estimate.performance.service import DriveTimes, disk_times, flash_times
from quotelib.estimate.shape import array_shape
from tests.estimate.opinions.array import Array, Cache, Disk, Path, simulate
from tests.estimate.opinions.array import Load as Asked
from tests.estimate.published import PUBLISHED, Published

COMPUTED: dict[str, Callable[[], float]] = {
    "day.jain31.response": lambda: float(queue_wait(125, 0.002, 1.0).mean) * 1e3 + 2,
    "day.kleinrock.constant": lambda: float(
        queue_wait(0.6, 1.0, 0.0).mean / queue_wait(0.6, 1.0, 1.0).mean
    ),
}


@pytest.mark.parametrize(
    "row", [row for row in PUBLISHED if row.key in COMPUTED], ids=lambda row: row.key
)
def test_published_value(row: Published) -> None:
    assert row.agrees(COMPUTED[row.key]())


def test_hours_into_which_a_day_may_be_pressed() -> None:
    """A working day, all day long, half a working day: common practice, no source."""
    mean = float(day_operations_per_s(86.4, 1e6, 0.5))  # two of a MB, of which one is written
    assert mean == pytest.approx(2.0)
    assert [mean * 24 / hours for hours in BUSY_HOURS] == pytest.approx([6.0, 2.0, 12.0])


@pytest.mark.parametrize("busy", [0.01, 0.3, 0.5, 0.9, 0.99])
def test_wait_of_exponential_and_of_constant_service(busy: float) -> None:
    """M/M/1: response exponential; M/D/1: wait rho s / (2 (1 - rho)), variance rho s^2 (4 - rho) /
    (12 (1 - rho)^2). Kleinrock 1975, from memory; re-derived from the transform.
    """
    service = 0.01
    exponential = queue_wait(busy / service, service, 1.0)
    response = service / (1 - busy)
    assert float(exponential.mean) + service == pytest.approx(response)
    assert float(exponential.variance) + service**2 == pytest.approx(response**2)
    constant = queue_wait(busy / service, service, 0.0)
    assert float(constant.mean) == pytest.approx(busy * service / (2 * (1 - busy)))
    spread = busy * service**2 * (4 - busy) / (12 * (1 - busy) ** 2)
    assert float(constant.variance) == pytest.approx(spread)


def test_a_queue_that_cannot_keep_up_has_no_end() -> None:
    for rate in (100.0, 130.0):
        full = queue_wait(rate, 0.01, 0.3)
        assert np.isinf(full.mean) and np.isinf(full.variance)
    assert np.isnan(queue_wait(np.nan, 0.01, 0.3).mean)
    assert np.isnan(queue_wait(10, np.nan, 0.3).variance)
    with pytest.raises(ValueError, match="arrivals a second must be at least 0"):
        queue_wait(-1, 0.01, 0.3)


DISK = disk_times(4096, 8.5, 7200, 200, 200)


def test_a_disk_at_rest_takes_its_own_time() -> None:
    """Nothing waits: a gamma distribution with the mean and spread of one access."""
    found = open_response(array_shape(8), DISK, Load(1.0, 1.0, 4096, 1), Serving(), [[1e-9]])
    mean = float(DISK.position_ms) + 4096 / 200e3 * 4 / 3
    added = float(CONTROLLER_MS[VALUE, 0])
    assert found.mean_ms[0, 0] == pytest.approx(mean + added)
    same = gamma(1 / 0.3**2, scale=mean * 0.3**2)
    assert found.p95_ms[0, 0] == pytest.approx(same.ppf(0.95) + added, rel=1e-6)
    assert found.p99_ms[0, 0] == pytest.approx(same.ppf(0.99) + added, rel=1e-6)


Parts = list[tuple[float, float, float, float]]  # weight, least, mean above it, variance


def within(parts: Parts, t: float) -> float:
    """Give the share that lies within a time."""
    return sum(
        weight * float(gamma.cdf(t - least, mean**2 / variance, scale=variance / mean))
        for weight, least, mean, variance in parts
    )


def mixture(parts: Parts, share: float) -> float:
    """Give the time within which a share lies."""
    from scipy.optimize import brentq

    return float(brentq(lambda t: within(parts, t) - share, 0, 1e4, xtol=1e-12, rtol=1e-12))


@pytest.mark.parametrize("rate", [1.0, 60.0, 150.0])
def test_reads_and_writes_of_disks_are_a_mixture(rate: float) -> None:
    """RAID 5 of six: a read is one access, a write two rounds of two; 19 in 60 for each drive."""
    found = open_response(
        array_shape(6, 1, 1), DISK, Load(0.7, 1.0, 4096, 4), Serving(2**18), [[rate]]
    )
    access = float(DISK.position_ms) + 4096 / 200e3 * 4 / 3
    wait = queue_wait(rate * (0.7 + 0.3 * 4) / 6, access / 1e3, 0.3)
    mean, variance = float(wait.mean) * 1e3, float(wait.variance) * 1e6
    own = (0.3 * access) ** 2
    parts = [
        (0.7, 0.03, access + mean, own + variance),
        (0.3, 0.03, 2 * (access + mean), 2 * (own + variance)),
    ]
    assert found.mean_ms[0, 0] == pytest.approx(1.3 * (access + mean) + 0.03)
    assert found.p95_ms[0, 0] == pytest.approx(mixture(parts, 0.95), rel=2e-5)
    assert found.p99_ms[0, 0] == pytest.approx(mixture(parts, 0.99), rel=2e-5)
    # Rounded up, never down: so many are answered within it.
    assert within(parts, float(found.p95_ms[0, 0])) >= 0.95
    assert within(parts, float(found.p99_ms[0, 0])) >= 0.99


@pytest.mark.parametrize("rate", [1_000.0, 40_000.0, 90_000.0])
def test_of_flash_the_waits_alone_vary(rate: float) -> None:
    """Four drives of 50,000 reads a second, 0.02 ms each, of which a lone one takes 0.1 ms."""
    flash = flash_times(4096, 50_000, 40_000, 500, 400)
    found = open_response(array_shape(4), flash, Load(1.0, 1.0, 4096, 4), Serving(2**18), [[rate]])
    wait = queue_wait(rate / 4, 2e-5, 0.3)
    mean, variance = float(wait.mean) * 1e3, float(wait.variance) * 1e6
    assert found.mean_ms[0, 0] == pytest.approx(0.1 + mean + 0.03)
    parts = [(1.0, 0.13, mean, variance)]
    assert found.p95_ms[0, 0] == pytest.approx(mixture(parts, 0.95), rel=2e-5)
    assert found.p99_ms[0, 0] == pytest.approx(mixture(parts, 0.99), rel=2e-5)


def test_a_cache_answers_writes_while_reads_wait_for_drives() -> None:
    """Half are answered in 0.07 ms: 95 of 100 of all are 90 of 100 of the reads."""
    found = open_response(
        array_shape(4), DISK, Load(0.5, 1.0, 4096, 4), Serving(2**18, True), [[1e-9]]
    )
    access = float(DISK.position_ms) + 4096 / 200e3 * 4 / 3
    assert found.mean_ms[0, 0] == pytest.approx((access + 0.03 + 0.07) / 2)
    same = gamma(1 / 0.3**2, scale=access * 0.3**2)
    assert found.p95_ms[0, 0] == pytest.approx(same.ppf(0.90) + 0.03, rel=2e-5)
    assert found.p99_ms[0, 0] == pytest.approx(same.ppf(0.98) + 0.03, rel=2e-5)


def test_writes_that_a_cache_answers_take_no_longer_for_the_drives() -> None:
    load = Load(0.0, 1.0, 4096, 1)
    found = open_response(array_shape(6, 1, 1), DISK, load, Serving(2**18, True), [[1.0], [80.0]])
    answer = float(CONTROLLER_MS[VALUE, 0] + CACHE_ANSWER_MS[VALUE, 0])
    for times in (found.mean_ms, found.p95_ms, found.p99_ms):
        assert times.shape == (2, 1)  # two rates of one array
        assert times[:, 0] == pytest.approx([answer, answer])


def test_more_operations_take_longer_until_the_drives_cannot_keep_up() -> None:
    rates = np.array([[1.0], [50.0], [100.0], [150.0], [200.0], [10_000.0]])
    found = open_response(
        array_shape(8, 1, 2), DISK, Load(0.67, 1.0, 4096, 8), Serving(2**18), rates
    )
    for times in (found.mean_ms, found.p95_ms, found.p99_ms):
        assert (np.diff(times[:5, 0]) > 0).all()
        assert np.isinf(times[-1, 0])
    assert (found.mean_ms[:5] < found.p95_ms[:5]).all()
    assert (found.p95_ms[:5] < found.p99_ms[:5]).all()


def test_what_is_not_known_stays_so() -> None:
    blank = flash_times(4096, np.nan, np.nan, 500, 500)
    found = open_response(array_shape(4), blank, Load(0.5, 1.0, 4096, 1), Serving(), [[10.0]])
    assert np.isnan(found.mean_ms).all() and np.isnan(found.p95_ms).all()


@pytest.mark.parametrize(
    ("members", "parity", "reads", "rate"),
    [(1, 0, 1.0, 20.0), (1, 0, 1.0, 45.0), (8, 0, 1.0, 250.0), (8, 1, 0.7, 120.0)],
)
def test_against_a_simulation_of_arrivals(
    members: int, parity: int, reads: float, rate: float
) -> None:
    """Disks that choose do better where much is queued, which is left out here."""
    drive = Disk(4 * 10**12, 7200, 8.5, 200, depth=32)
    seen = simulate(
        drive, Array(members, parity=parity, one_by_one=members == 1), Path(), Cache(),
        Asked(reads, 1.0, 4096, 4, arrivals_per_s=rate), operations=8000, seed=5,
    )  # fmt: skip
    found = open_response(
        array_shape(members, 1, parity), DISK, Load(reads, 1.0, 4096, 4), Serving(2**18), [[rate]]
    )
    assert seen.response_ms < found.mean_ms[0, 0] * 1.15
    assert found.mean_ms[0, 0] < seen.response_ms * 1.35
    if reads == 1.0:
        for part, percentile in zip(seen.read_parts_ms, (found.p95_ms, found.p99_ms), strict=True):
            assert part / 1.25 < percentile[0, 0] < part * 1.45


def test_a_day_in_operations() -> None:
    # 86.4 GB of 10 kB a day are 100 writes a second, and four fifths of all are reads.
    assert float(day_operations_per_s(86.4, 10_000, 0.8)) == pytest.approx(500)
    told = day_operations_per_s([0.0, 10.0, 10.0], 4096, [0.5, 1.0, np.nan])
    assert np.isnan(told).all()
    with pytest.raises(ValueError, match="block in bytes must be above 0"):
        day_operations_per_s(1, 0, 0.5)


def test_times_need_not_be_arrays() -> None:
    one = np.asarray(5.0)
    found = open_response(
        array_shape(4), DriveTimes(one, one, one, one, one * 0, one * 0), Load(1, 1, 4096, 1),
        Serving(), 1.0,
    )  # fmt: skip
    assert found.mean_ms == pytest.approx(5.0 + CONTROLLER_MS[VALUE, 0], rel=1e-2)
