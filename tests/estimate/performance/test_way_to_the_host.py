"""How long controller and slot are busy with one host operation, whole and with a drive gone."""

from __future__ import annotations

import numpy as np
import pytest

from quotelib.estimate.performance.load import DataPath, Load, Serving
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.service import DriveTimes
from tests.estimate.shapes import shape_of

BLOCK = 65_536
NONE = np.asarray(0.0)
FAST = DriveTimes(*(np.asarray(1e-6),) * 4, NONE, NONE)
STRIPS = Serving(4 * BLOCK)


def asked(
    level: str, path: DataPath, load: Load, state: str = "normal", serving: Serving = STRIPS
) -> MixedThroughput:
    return mixed_throughput(shape_of(level, 8), FAST, path, load, serving, state=state)


def near(found: object, wanted: float) -> None:
    assert found == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize(
    ("level", "load", "operations"),
    [
        # What the drives do for one of the host's.
        ("6", Load(0.0, 1.0, BLOCK, 64), 6),
        ("5", Load(0.5, 1.0, BLOCK, 64), 0.5 + 0.5 * 4),
        ("10", Load(0.25, 1.0, BLOCK, 64), 0.25 + 0.75 * 2),
        # A stream's 32 blocks are one fetch, but the host asked for each.
        ("0", Load(1.0, 0.0, BLOCK, 64), 1),
    ],
)
def test_a_controller_counts_operations_of_drives(
    level: str, load: Load, operations: float
) -> None:
    """At 1,000 a second; the high end counts those of the host."""
    found = asked(level, DataPath(controller_iops=1_000), load)
    near(found.controller_demand_ms, operations)
    near(found.iops, 1_000 / operations)
    near(found.iops_low, 1_000 / operations / 1.1)  # a tenth longer, as all on the way
    near(found.iops_bound, 1_000)


@pytest.mark.parametrize(
    ("level", "load", "moved"),
    [
        ("6", Load(0.0, 1.0, BLOCK, 64), 6),
        ("10", Load(0.25, 1.0, BLOCK, 64), 0.25 + 0.75 * 2),
        ("0", Load(0.5, 0.0, BLOCK, 64), 1),
    ],
)
def test_a_controller_counts_bytes_of_drives(level: str, load: Load, moved: float) -> None:
    found = asked(level, DataPath(controller_mb_s=200), load)
    near(found.controller_demand_ms, moved * BLOCK / 200e3)
    near(found.iops, 200e6 / BLOCK / moved)
    near(found.iops_bound, 200e6 / BLOCK)


def test_the_tighter_of_both_limits_holds() -> None:
    load = Load(1.0, 1.0, BLOCK, 64)
    both = asked("0", DataPath(controller_mb_s=200, controller_iops=1_000), load)
    near(both.controller_demand_ms, 1.0)
    both = asked("0", DataPath(controller_mb_s=20, controller_iops=1_000), load)
    near(both.controller_demand_ms, BLOCK / 20e3)


def test_a_slot_passes_what_the_host_gets_and_no_copies() -> None:
    for level in ("0", "10", "6"):
        found = asked(level, DataPath(host_link_mb_s=100), Load(0.0, 1.0, BLOCK, 64))
        near(found.host_link_demand_ms, BLOCK / 100e3)
        near(found.iops, 100e6 / BLOCK)
        near(found.iops_low, 100e6 / BLOCK / 1.1)
        near(found.iops_bound, 100e6 / BLOCK)


def test_nobody_waits_on_the_way_but_at_the_low_end() -> None:
    """One at a time, of 1 ms at the controller and 0.655 at the slot."""
    path = DataPath(controller_iops=1_000, host_link_mb_s=100)
    found = asked("0", path, Load(1.0, 1.0, BLOCK, 1))
    near(found.controller_ms + found.host_link_ms + found.fixed_ms, float(found.response_ms) - 1e-6)
    # At the value only the rate is held back: 1 ms, as 0.03 ms of waiting would allow more.
    near(found.response_ms, 1.0)
    near(found.response_high_ms, 1.1 * (1 + BLOCK / 100e3) + 0.06 + 1.2e-6)


def test_a_drive_gone_makes_a_controller_read_more() -> None:
    """RAID 5 of eight: a read is one, and one in eight is seven; a rebuild takes three tenths."""
    path, load = DataPath(controller_iops=1_000), Load(1.0, 1.0, BLOCK, 64)
    gone = asked("5", path, load, "degraded")
    near(gone.controller_demand_ms, 7 / 8 + 7 / 8)
    near(gone.iops, 1_000 / 1.75)
    rebuilt = asked("5", path, load, "rebuilding")
    near(rebuilt.iops, 1_000 / 1.75 * 0.7)
    # A write of mirrors that have lost one does less, but no less is promised.
    near(asked("10", path, Load(0.0, 1.0, BLOCK, 64), "degraded").iops, 500)


def test_a_cache_that_gathers_is_not_asked_less_than_the_host_asks() -> None:
    found = asked("5", DataPath(controller_iops=1_000), Load(0.0, 0.0, BLOCK, 64),
                  serving=Serving(4 * BLOCK, True))  # fmt: skip
    near(found.controller_demand_ms, 1.0)
    moved = asked("5", DataPath(controller_mb_s=200), Load(0.0, 0.0, BLOCK, 64),
                  serving=Serving(4 * BLOCK, True))  # fmt: skip
    near(moved.controller_demand_ms, 8 / 7 * BLOCK / 200e3)


def test_long_writes_carry_parity_and_long_reads_do_not() -> None:
    """RAID 60 of sixteen in two spans: twelve hold data, at 250 and 200 MB/s."""
    shape = shape_of("60", 16, 2)

    def long(path: DataPath, state: str = "normal") -> list[float]:
        found = sequential_throughput(shape, 250, 200, path, state=state)
        rates = (found.read_mb_s, found.read_best_mb_s, found.write_mb_s, found.write_best_mb_s)
        return [float(rate) for rate in rates]

    assert long(DataPath()) == pytest.approx([3000, 4000, 2400, 2400])
    assert long(DataPath(link_mb_s=150)) == pytest.approx([1800, 2400, 1800, 1800])
    # Four lanes of 300: all four for reads, of writes a quarter is parity.
    lanes = DataPath(link_mb_s=300, links_at_once=4)
    assert long(lanes) == pytest.approx([1200, 1200, 900, 900])
    assert long(DataPath(controller_mb_s=1200)) == pytest.approx([1200, 1200, 900, 1200])
    assert long(DataPath(host_link_mb_s=1200)) == pytest.approx([1200, 1200, 1200, 1200])
    # One drive of each span may be gone; a rebuild leaves seven tenths of it all but the slot.
    assert long(DataPath(), "degraded") == pytest.approx([3000, 3500, 2400, 2400])
    assert long(DataPath(), "rebuilding") == pytest.approx([2100, 2450, 1680, 1680])
    slow = DataPath(controller_mb_s=1200, host_link_mb_s=1000)
    assert long(slow, "rebuilding") == pytest.approx([840, 840, 630, 840])
    assert long(slow, "degraded") == pytest.approx([1000, 1000, 900, 1000])
