"""What is quoted against what is simulated, for a dozen builds and loads of the starter list.

The whole table: ``python -m tests.estimate.opinions.compare``.
"""

from __future__ import annotations

import pytest

from tests.estimate.opinions.array import Array, Disk
from tests.estimate.opinions.array.adapter import of_build, of_day
from tests.estimate.opinions.array.parts import MIB
from tests.estimate.opinions.compare import BUILDS, DOZEN, built, operations, prices


def test_the_dozen_covers_what_there_is() -> None:
    builds = [BUILDS[name] for name, _ in DOZEN]
    assert {level for *_, level, _, _ in builds} >= {"1", "5", "6", "10", "50", "60", "none"}
    drives = [prices().drives[drive] for _, _, drive, *_ in builds]
    assert {d.rpm for d in drives} >= {7200, 10_000, 15_000, None}
    assert {d.interface for d in drives if d.media == "ssd"} == {"sata", "sas", "nvme"}
    assert len({load for _, load in DOZEN}) >= 7


def test_a_build_is_simulated_with_the_figures_of_the_price_list() -> None:
    build = built("cached double parity")
    made = of_build(build, build.arrays[0])
    assert isinstance(made.drive, Disk) and made.drive.depth == 128
    assert (made.drive.rpm, made.drive.seek_ms, made.drive.rate_mb_s) == (7200, 8.4, 248)
    assert made.array == Array(12, parity=2)
    assert made.path.link_mb_s == 1200  # 12 Gbit/s in 8b/10b
    assert (made.path.links_at_once, made.path.controller_mb_s) == (8, 6200)
    assert made.path.controller_iops == 720_000
    assert made.path.host_mb_s == pytest.approx(8 * 8000 * 128 / 130 / 8)
    assert made.cache.write_bytes == 2048 * MIB
    unprotected = built("unprotected double parity")
    assert of_build(unprotected, unprotected.arrays[0]).cache.write_bytes == 0


def test_a_day_writes_what_it_says() -> None:
    load = of_day(prices().workloads["office_files"])
    assert load.arrivals_per_s is not None
    written = load.arrivals_per_s * (1 - load.read_share) * load.block_bytes * 86_400
    assert written == pytest.approx(20e9)


@pytest.mark.parametrize(("name", "load"), DOZEN, ids=lambda x: x.replace(" ", "_"))
def test_the_simulated_mean_lies_in_the_quoted_range(name: str, load: str) -> None:
    for row in operations(name, load, runs=3):
        assert row.inside, row
