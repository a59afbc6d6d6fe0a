"""How long drives and the wires to them are busy, and the waits inside flash, counted by hand."""

from math import pi, sqrt

import numpy as np
import pytest

from quotelib.estimate.performance.load import DataPath, Load, Serving
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput
from quotelib.estimate.performance.service import DriveTimes
from tests.estimate.shapes import shape_of

BLOCK = 65_536
STRIPS = Serving(4 * BLOCK)
LINK_MS = BLOCK / 300e3  # at 300 MB/s

# Mean of the largest of so many normal variables, in standard deviations. Source: order statistics
# of the normal distribution, re-derived.
LARGEST = {1: 0.0, 2: 1 / sqrt(pi), 3: 1.5 / sqrt(pi)}
SPREAD = 0.3  # of service times, which the wait for the slowest is counted in


def times(busy_ms: float, *waits_ms: float) -> DriveTimes:
    """Give a drive that is busy so long, and waits inside: read, write, stream of writes."""
    one = np.asarray(busy_ms)
    waits = [np.asarray(wait) for wait in (*waits_ms, 0.0, 0.0, 0.0)[:3]]
    return DriveTimes(one, one, one, one, *waits)


def near(found: object, wanted: float) -> None:
    assert found == pytest.approx(wanted, rel=1e-4, abs=1e-12)


@pytest.mark.parametrize("read", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("random", [0.0, 0.6, 1.0])
@pytest.mark.parametrize(
    ("level", "operations", "steps", "side_by_side", "data"),
    [
        # Drive operations of a write, its rounds one after another and how many go in each; drives'
        # worth of data. Without a cache a stream of writes is as many partial stripes.
        ("0", 1, 1, 1, 8),
        ("10", 2, 1, 2, 4),
        ("5", 4, 2, 2, 7),
        ("6", 6, 2, 3, 6),
    ],
)
def test_time_of_a_mix(
    level: str, operations: int, steps: int, side_by_side: int, data: int, read: float,
    random: float,
) -> None:  # fmt: skip
    found = mixed_throughput(
        shape_of(level, 8), times(1.0), DataPath(300.0), Load(read, random, BLOCK, 1), STRIPS
    )
    writes = 1 - read
    work = read + writes * operations
    # What a stream reads comes from all drives that hold data at once.
    path = read * random + read * (1 - random) / data + writes * steps
    late = writes * steps * LARGEST[side_by_side] * SPREAD
    near(found.links_demand_ms, work * LINK_MS / 8)
    near(found.drives_demand_ms, work / 8)
    # A lone operation waits for its own steps, for the slowest drive of each and the controller;
    # links only limit what passes.
    near(found.drives_ms, path)
    near(found.fixed_ms, late * 1.5 + 0.03)
    near(found.links_ms, 0.0)
    near(found.response_ms, path + late * 1.5 + 0.03)
    # Low end: drives a fifth and links a tenth slower, one after another.
    wires = (read + writes * steps) * LINK_MS * 1.1
    near(found.response_high_ms, path * 1.2 + wires + late * 3 + 0.06)
    # High end: nobody waits for the slowest.
    near(found.response_low_ms, max(path + 0.02, work / 8))


@pytest.mark.parametrize(
    ("read", "random"), [(0.0, 1.0), (0.3, 0.6), (1.0, 1.0), (1.0, 0.0), (0.0, 0.0)]
)
def test_waits_inside_flash(read: float, random: float) -> None:
    """A write of RAID 5 waits for a read before it waits for its own writes."""
    found = mixed_throughput(
        shape_of("5", 8), times(0.01, 0.1, 0.03, 0.02), DataPath(), Load(read, random, BLOCK, 1),
        STRIPS,
    )  # fmt: skip
    writes, streams = 1 - read, 1 - random
    inside = (read * random + writes) * 0.1 + writes * (0.03 * random + 0.02 * streams)
    late = writes * 2 * LARGEST[2] * 0.01 * SPREAD * 1.5
    near(found.fixed_ms, inside + late + 0.03)


def test_lanes_that_are_shared_carry_one_block_after_another() -> None:
    """Eight drives behind two lanes: each lane is busy four times as long as a link of its own."""

    def behind(lanes: float, many: int = 1) -> MixedThroughput:
        path = DataPath(300.0, links_at_once=lanes)
        return mixed_throughput(shape_of("0", 8), times(1.0), path, Load(1, 1, BLOCK, many), STRIPS)

    own, shared = behind(np.inf), behind(2.0)
    near(shared.links_demand_ms, 4 * float(own.links_demand_ms))
    # Where a block waits for one link, that takes no longer: a lane runs at the drive's rate.
    near(shared.response_high_ms, 1.2 + 1.1 * LINK_MS + 0.06)
    near(own.response_high_ms, 1.2 + 1.1 * LINK_MS + 0.06)
    # One lane passes 300 MB/s; with eight, drives of 1 ms hold back.
    near(behind(1.0, 64).iops_bound, 300e6 / BLOCK)
    near(behind(np.inf, 64).iops_bound, 8 / 1e-3)
