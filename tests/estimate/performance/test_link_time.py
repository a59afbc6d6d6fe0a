"""How long the wires to the drives are busy, and the waits inside flash, counted by hand."""

import numpy as np
import pytest

from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.service import DriveTimes
from tests.estimate.shapes import shape_of

BLOCK = 65_536
LINK_MS = BLOCK / 300e3  # at 300 MB/s


def times(busy_ms: float, read_wait_ms: float = 0.0, write_wait_ms: float = 0.0) -> DriveTimes:
    one = np.asarray(busy_ms)
    return DriveTimes(one, one, one, one, np.asarray(read_wait_ms), np.asarray(write_wait_ms))


@pytest.mark.parametrize("read", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("random", [0.0, 0.6, 1.0])
@pytest.mark.parametrize(
    ("level", "operations", "steps", "long"),
    [
        # Drive operations of a small write, its rounds one after another; of a block of a stripe.
        ("0", 1, 1, 1),
        ("10", 2, 1, 2),
        ("5", 4, 2, 8 / 7),
        ("6", 6, 2, 8 / 6),
    ],
)
def test_link_time_of_a_mix(
    level: str, operations: float, steps: float, long: float, read: float, random: float
) -> None:
    found = mixed_throughput(
        shape_of(level, 8), times(1.0), DataPath(300.0), Load(read, random, BLOCK, 1)
    )
    writes = (1 - read) * random
    work = read + writes * operations + (1 - read) * (1 - random) * long
    path = read + writes * steps + (1 - read) * (1 - random)
    assert float(found.links_demand_ms) == pytest.approx(work * LINK_MS / 8)
    assert float(found.drives_demand_ms) == pytest.approx(work / 8)
    # A lone operation waits for nothing but its own steps.
    assert float(found.links_ms) == pytest.approx(path * LINK_MS)
    assert float(found.drives_ms) == pytest.approx(path)


@pytest.mark.parametrize(("read", "random"), [(0.0, 1.0), (0.3, 0.6), (1.0, 1.0), (0.0, 0.0)])
def test_waits_inside_flash(read: float, random: float) -> None:
    """A small write of RAID 5 waits for a read before it waits for its own writes."""
    found = mixed_throughput(
        shape_of("5", 8), times(0.01, 0.1, 0.03), DataPath(), Load(read, random, BLOCK, 1)
    )
    reads = read + (1 - read) * random
    assert float(found.fixed_ms) == pytest.approx(reads * 0.1 + (1 - read) * 0.03)


def test_lanes_that_are_shared_carry_one_block_after_another() -> None:
    """Eight drives behind two lanes: each lane is busy four times as long as a link of its own."""
    own, shared = (
        mixed_throughput(
            shape_of("0", 8),
            times(1.0),
            DataPath(300.0, links_at_once=lanes),
            Load(1, 1, BLOCK, 1),
        )
        for lanes in (np.inf, 2.0)
    )
    assert float(shared.links_demand_ms) == pytest.approx(4 * float(own.links_demand_ms))
    assert float(shared.links_ms) == pytest.approx(LINK_MS)
