"""What is quoted beside what is simulated: every kind of build of the starter list, every load.

``python -m tests.estimate.opinions.compare`` writes ``docs/estimates_against_simulation.md``;
``--only N`` compares some cases, evenly chosen, and prints them instead. See
`tests.estimate.opinions.array` for the simulation.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.predict.estimate import Estimate
from quotelib.predict.forecast import forecast
from quotelib.predict.outlook import array_estimates
from tests.estimate.opinions.array import Disk, rebuild_hours, simulate
from tests.estimate.opinions.array.adapter import (
    FLASH_REBUILD_PIECE,
    Simulated,
    of_build,
    of_day,
    of_workload,
)
from tests.estimate.opinions.array.parts import MIB
from tests.estimate.opinions.tables import page, summary

# What a name stands for: chassis, controller, drive, level, members, spans.
BUILDS = {
    "chipset mirror": ("CHS-1U-4L", "CTL-BOARD-6", "DRV-HDD-4T-SATA", "1", 2, 1),
    "chipset parity": ("CHS-2U-8L", "CTL-BOARD-8", "DRV-HDD-8T-SATA", "5", 6, 1),
    "disks passed through": ("CHS-2U-12L", "CTL-PT-12G-MZ", "DRV-HDD-16T-SATA", "none", 12, 1),
    "entry 10k mirrors": ("CHS-2U-16S", "CTL-RE-12G-CD", "DRV-HDD-1200-SAS-10K", "10", 8, 1),
    "unprotected double parity": ("CHS-2U-8L", "CTL-RU1-12G-CD", "DRV-HDD-8T-SAS", "6", 8, 1),
    "cached double parity": ("CHS-2U-12L", "CTL-RB2-12G-MZ", "DRV-HDD-8T-SAS", "6", 12, 1),
    "cached 10k spans": ("CHS-2U-24S", "CTL-RB2-12G-MZ", "DRV-HDD-2400-SAS-10K-4K", "50", 12, 2),
    "cached 15k mirrors": ("CHS-2U-16S", "CTL-RF8-12G-CD", "DRV-HDD-900-SAS-15K", "10", 16, 1),
    "cached large spans": ("CHS-4U-24L", "CTL-RF8-12G-MZ", "DRV-HDD-16T-SATA", "60", 24, 2),
    "chipset SATA flash": ("CHS-1U-8S-NS", "CTL-BOARD-8", "DRV-SSD-960-SATA-RD", "5", 8, 1),
    "entry SATA flash": ("CHS-1U-10S", "CTL-RE-12G-MZ", "DRV-SSD-1920-SATA-RD", "0", 6, 1),
    "cached SAS flash": ("CHS-2U-24S", "CTL-RF8-12G-MZ", "DRV-SSD-3840-SAS-RD", "6", 12, 1),
    "cached SAS flash mirrors": ("CHS-2U-16S", "CTL-RB2-12G-CD", "DRV-SSD-1600-SAS-WR", "10", 8, 1),
    "cached NVMe": ("CHS-1U-8N", "CTL-RF8-TRI-CD", "DRV-SSD-3840-NVME-RD", "5", 8, 1),
    "NVMe passed through": ("CHS-1U-8N", "CTL-PT-TRI-CD", "DRV-SSD-3200-NVME-WR", "none", 4, 1),
}

DOZEN = (
    ("chipset mirror", "office_files"),
    ("chipset parity", "ledger_database"),
    ("disks passed through", "catalogue_search"),
    ("entry 10k mirrors", "virtual_machines"),
    ("unprotected double parity", "ledger_database"),
    ("cached double parity", "virtual_machines"),
    ("cached 10k spans", "sensor_log"),
    ("cached 15k mirrors", "ledger_database"),
    ("cached large spans", "video_edit"),
    ("chipset SATA flash", "ledger_database"),
    ("cached SAS flash", "backup_target"),
    ("cached NVMe", "virtual_machines"),
)
"""Compared by a test."""

OUT = Path(__file__).resolve().parents[3] / "docs" / "estimates_against_simulation.md"
RUNS = 4
"""Simulations of each case, with streams and random places of their own."""


@dataclass(frozen=True)
class Row:
    """A figure quoted with its range, and simulated with its standard error."""

    build: str
    load: str
    key: str
    low: float
    value: float
    high: float
    simulated: float
    error: float

    @property
    def inside(self) -> bool:
        """Tell whether the simulated mean lies in the quoted range, give or take two errors.

        Where a limit is reached, as of a link, high end and mean are the same but for noise.
        """
        noise = 2 * self.error
        return self.low - noise <= self.simulated <= self.high + noise

    @property
    def ratio(self) -> float:
        """Give what is quoted over what is simulated."""
        return self.value / self.simulated


@cache
def prices() -> PriceList:
    """Give the starter price list."""
    return load_price_list()


@cache
def built(name: str) -> Build:
    """Give the build of a name."""
    chassis, controller, drive, level, members, spans = BUILDS[name]
    pins = {"chassis": chassis, "controller": controller, "drive": drive, "level": level}
    numbers = {"members": str(members)} | ({"spans": str(spans)} if spans > 1 else {})
    asked = {"enquiry_id": "E-1", "customer": "Somebody", **pins, **numbers}
    found = choose(prices(), read_enquiry(asked, prices()))
    assert found.best is not None, (name, found.refused)
    return found.best.build


def quoted(name: str, load: str) -> dict[str, Estimate]:
    """Give the estimates that are quoted for a build under a load."""
    build = built(name)
    o = forecast(build, build.arrays[0], prices().workloads[load], prices().terms)
    return {e.key: e for e in array_estimates(o)}


def _row(name: str, load: str, e: Estimate, values: Sequence[float], key: str = "") -> Row:
    assert e.value is not None, (name, load, e.key)
    low = -np.inf if e.low is None else e.low
    high = np.inf if e.high is None else e.high
    error = float(np.std(values, ddof=1)) / len(values) ** 0.5 if len(values) > 1 else 0.0
    return Row(name, load, key or e.key, low, e.value, high, float(np.mean(values)), error)


def operations(name: str, load: str, runs: int = RUNS) -> list[Row]:
    """Compare operations a second and mean response."""
    found = quoted(name, load)
    sim = of_build(built(name), built(name).arrays[0])
    asked = of_workload(prices().workloads[load])
    many = 4000 if isinstance(sim.drive, Disk) else 10_000
    measured = [
        simulate(sim.drive, sim.array, sim.path, sim.cache, asked, operations=many, seed=seed)
        for seed in range(1, runs + 1)
    ]
    return [
        _row(name, load, found["host_iops"], [m.iops for m in measured]),
        _row(name, load, found["response_ms"], [m.response_ms for m in measured]),
    ]


def rebuilds(name: str, load: str) -> list[Row]:
    """Compare the hours of a rebuild: beside an idle host, a day's load, a host always busy."""
    found = quoted(name, load).get("rebuild_hours")
    if found is None:
        return []
    sim = of_build(built(name), built(name).arrays[0])
    workload = prices().workloads[load]
    return [
        _row(name, load, found, [_hours(sim, state, 11)], f"rebuild_hours, {word}")
        for word, state in (
            ("idle", None),
            ("day", of_day(workload)),
            ("busy", of_workload(workload)),
        )
    ]


def _hours(sim: Simulated, load: object, seed: int) -> float:
    piece = 4 * MIB if isinstance(sim.drive, Disk) else FLASH_REBUILD_PIECE
    return rebuild_hours(
        sim.drive, sim.array, sim.path, sim.cache, load, piece_bytes=piece, seed=seed,
        places=(0.17, 0.5, 0.83), pieces=16, most_operations=40_000,
    ).hours  # fmt: skip


def cases() -> Iterator[tuple[str, str]]:
    """List all builds under all loads."""
    return ((name, load) for name in BUILDS for load in prices().workloads)


def compared(case: tuple[str, str]) -> list[Row]:
    """Compare everything in one case."""
    return operations(*case) + rebuilds(*case)


def main() -> None:
    """Compare, and write or print what comes of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", type=int, help="so many cases, evenly chosen; prints them")
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    given = parser.parse_args()
    chosen = list(cases())
    if given.only:
        every = np.linspace(0, len(chosen) - 1, min(given.only, len(chosen)))
        chosen = [chosen[int(i)] for i in every]
    begun = time.time()
    with ProcessPoolExecutor(given.jobs) as pool:
        rows = [row for rows in pool.map(compared, chosen, chunksize=2) for row in rows]
    said = "\n".join(summary(rows))
    text = page(rows, {name: built(name).arrays[0].layout.words for name in BUILDS}, BUILDS)
    if given.only:
        print(text)
    else:
        aside = OUT.with_suffix(".part")
        aside.write_text(text, encoding="utf-8")
        aside.replace(OUT)
        print(f"{OUT}\n{said}")
    print(f"{len(chosen)} cases in {time.time() - begun:.0f} s")


if __name__ == "__main__":
    main()
