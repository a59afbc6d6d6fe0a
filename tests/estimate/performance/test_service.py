"""Service times of disks and flash drives."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.performance.service import (
    FLASH_READ_LATENCY_MS,
    disk_access_ms,
    disk_times,
    flash_access_ms,
    flash_times,
    rotational_latency_ms,
    transfer_ms,
)
from tests.estimate.published import Published, rows

MIB = 1024**2


def fast_ms() -> float:
    # 15000 rpm, 4 ms seek, 125 MB/s, 4 KB.
    return float(disk_access_ms(4096, 4, 15_000, 125))


def large_ms() -> float:
    # 7200 rpm, 9 ms seek, 105 MB/s, 4 KB.
    return float(disk_access_ms(4096, 9, 7_200, 105))


def chapter_38(size_bytes: float) -> float:
    # 7 ms seek, 3 ms rotational delay (10000 rpm), 50 MB/s; the book's MB is binary here.
    return float(disk_access_ms(size_bytes, 7, 10_000, 50 * MIB / 1e6))


COMPUTED: dict[str, Callable[[], Any]] = {
    "service.latency.5400": lambda: rotational_latency_ms(5_400),
    "service.latency.7200": lambda: rotational_latency_ms(7_200),
    "service.latency.10000": lambda: rotational_latency_ms(10_000),
    "service.latency.15000": lambda: rotational_latency_ms(15_000),
    "service.latency.20000": lambda: rotational_latency_ms(20_000),
    "service.ostep.fast_ms": fast_ms,
    "service.ostep.large_ms": large_ms,
    "service.ostep.large_mb_s": lambda: 4096 / 1e6 / (large_ms() / 1e3),
    "service.ostep.fast_100mb_ms": lambda: disk_access_ms(100e6, 4, 15_000, 125),
    "service.ostep.S": lambda: 10 / (chapter_38(10 * MIB) / 1e3),
    # The book takes KB a millisecond as MB a second.
    "service.ostep.R": lambda: 10 / chapter_38(10 * 1024),
    # Mean seek over 500 tracks at 1 ms a track, 600 rpm, 50,000 bytes a turn.
    "service.gate.2007": lambda: disk_access_ms(250, 249.5, 600, 0.5),
    # 500 sectors of 512 bytes a turn of 4 ms.
    "service.bryant.transfer": lambda: transfer_ms(512, 64),
    "service.bryant.access": lambda: disk_access_ms(512, 8, 15_000, 64),
    "service.cod.15000": lambda: disk_access_ms(512, 4, 15_000, 100) + 0.2,
}


@pytest.mark.parametrize("row", rows("service"), ids=lambda row: row.key)
def test_published_service(row: Published) -> None:
    assert row.agrees(float(COMPUTED[row.key]())), (row, float(COMPUTED[row.key]()))


def test_flash_is_held_by_operations_then_by_bytes() -> None:
    assert flash_access_ms(4096, 100_000, 500) == pytest.approx(0.01)
    assert flash_access_ms(512, 100_000, 500) == pytest.approx(0.01)
    assert flash_access_ms(MIB, 100_000, 500) == pytest.approx(MIB / 500e3)


def test_flash_alone_takes_its_latency_and_at_depth_its_rate() -> None:
    times = flash_times(4096, 100_000, 50_000, 500, 400)
    lone = float(times.random_read_ms + times.read_latency_ms)
    assert lone == pytest.approx(FLASH_READ_LATENCY_MS)
    assert 1e3 / float(times.random_read_ms) == pytest.approx(100_000)
    slow = flash_times(4096, 5_000, 5_000, 500, 400)
    assert slow.read_latency_ms == 0


def test_sequential_disk_accesses_pay_no_seek() -> None:
    times = disk_times(8192, 8, 7200, 250, 200)
    assert times.sequential_read_ms == transfer_ms(8192, 250)
    assert times.sequential_write_ms == transfer_ms(8192, 200)
    moved = times.random_write_ms - times.sequential_write_ms
    assert float(moved) == pytest.approx(8 + 30_000 / 7200)


def test_the_least_that_can_be() -> None:
    assert transfer_ms(0, 0.5) == 0
    assert transfer_ms(4096, np.inf) == 0
    assert disk_access_ms(0, 0, 0.5, 0.5) == 60_000
    assert flash_access_ms(0, 0.5, 0.5) == 2_000
    none = flash_times(4096, 0.5, 0.5, 0.5, 0.5, read_latency_ms=0, write_latency_ms=0)
    assert (float(none.read_latency_ms), float(none.write_latency_ms)) == (0, 0)


def test_each_kind_of_operation_has_its_own_rate_and_wait() -> None:
    """Rated 20,000 reads and 50,000 writes, 400 and 200 MB/s; 1 and 0.5 ms alone."""
    times = flash_times(4096, 20_000, 50_000, 400, 200, read_latency_ms=1, write_latency_ms=0.5)
    assert float(times.random_read_ms) == pytest.approx(0.05)
    assert float(times.random_write_ms) == pytest.approx(0.02048)
    assert float(times.sequential_read_ms) == pytest.approx(4096 / 400e3)
    assert float(times.sequential_write_ms) == pytest.approx(4096 / 200e3)
    # Busy time of its own kind is a part of it.
    assert float(times.read_latency_ms) == pytest.approx(1 - 0.05)
    assert float(times.write_latency_ms) == pytest.approx(0.5 - 0.02048)
    assert float(times.stream_write_latency_ms) == pytest.approx(0.5 - 0.02048)
    slow = flash_times(4096, 20_000, 10_000, 400, 200, read_latency_ms=1, write_latency_ms=0.5)
    assert float(slow.write_latency_ms) == pytest.approx(0.5 - 0.1)
    assert float(slow.stream_write_latency_ms) == pytest.approx(0.5 - 0.02048)
    never = flash_times(4096, 500, 1_000, 2, 4, read_latency_ms=1, write_latency_ms=0.5)
    waits = (never.read_latency_ms, never.write_latency_ms, never.stream_write_latency_ms)
    assert [float(wait) for wait in waits] == [0, 0, 0]


def test_what_is_longer_than_4_kib_takes_its_transfer_besides() -> None:
    """61,440 bytes more at 400 and 200 MB/s, on 1 and 0.5 ms; 512 bytes take no less than 4 KiB."""
    long, short = (
        flash_times(size, 20_000, 10_000, 400, 200, read_latency_ms=1, write_latency_ms=0.5)
        for size in (65_536, 512)
    )
    assert float(long.random_read_ms + long.read_latency_ms) == pytest.approx(1 + 0.1536)
    assert float(long.random_write_ms + long.write_latency_ms) == pytest.approx(0.5 + 0.3072)
    stream = long.sequential_write_ms + long.stream_write_latency_ms
    assert float(stream) == pytest.approx(0.5 + 0.3072)
    assert float(short.random_read_ms + short.read_latency_ms) == pytest.approx(1)
    assert float(short.random_write_ms + short.write_latency_ms) == pytest.approx(0.5)


@given(
    size=st.floats(512, 1e7),
    seek=st.floats(0, 20),
    rpm=st.floats(3_000, 20_000),
    rate=st.floats(10, 1_000),
)
def test_access_grows_with_every_part(size: float, seek: float, rpm: float, rate: float) -> None:
    base = disk_access_ms(size, seek, rpm, rate)
    assert disk_access_ms(size * 2, seek, rpm, rate) > base
    assert disk_access_ms(size, seek + 1, rpm, rate) > base
    assert disk_access_ms(size, seek, rpm / 2, rate) > base
    assert disk_access_ms(size, seek, rpm, rate / 2) > base


def test_arrays_equal_scalars_and_blank_stays_unknown() -> None:
    seek = np.array([4.0, np.nan, 9.0])
    got = disk_access_ms(4096, seek, 7_200, 105)
    assert np.isnan(got[1])
    assert got[2] == disk_access_ms(4096, 9.0, 7_200, 105)
    assert np.isnan(flash_access_ms(4096, np.nan, 500))
    assert np.isnan(flash_times(4096, np.nan, 1e4, 500, 500).random_read_ms)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rotational_latency_ms(0), "rpm must be above 0, but is 0"),
        (lambda: rotational_latency_ms([7200, -1]), "-1 at position 1"),
        (lambda: transfer_ms(-1, 100), "size in bytes must be at least 0"),
        (lambda: transfer_ms(4096, 0), "rate in MB/s must be above 0"),
        (lambda: disk_access_ms(4096, -1, 7200, 100), "seek in ms"),
        (lambda: flash_access_ms(4096, 0, 100), "rated IOPS must be above 0"),
        (lambda: flash_times(4096, 1, 1, 1, 1, read_latency_ms=-1), "read latency"),
    ],
)
def test_impossible_inputs_are_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
