"""Time and memory of the throughput and rebuild estimates; prints JSON.

Run: python tests/benchmarks/bench_estimates.py [builds]
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time

import numpy as np

from quotelib.estimate.performance.links import pcie_link_mb_s, serial_link_mb_s
from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.service import disk_times
from quotelib.estimate.reliability.rebuild import rebuild_window
from quotelib.estimate.shape import ArrayShape, array_shape


def _builds(count: int, rng: np.random.Generator) -> ArrayShape:
    kinds = np.array([(1, 0, 1), (1, 1, 1), (1, 2, 1), (1, 0, 2), (2, 1, 1), (2, 2, 1)])
    spans, parity, copies = kinds[rng.integers(0, len(kinds), count)].T
    return array_shape(spans * 2 * rng.integers(2, 13, count), spans, parity, copies)


def throughput_and_rebuild(
    count: int, outstanding: int, *, pure: bool, seed: int = 4
) -> dict[str, float]:
    """Evaluate `count` different builds once.

    Parameters
    ----------
    count : int
        Builds.
    outstanding : int
        Operations under way.
    pure : bool
        Reads alone and writes alone besides the mix.
    seed : int
        Of the random builds.

    Returns
    -------
    dict
        Builds, seconds and peak memory of the process so far.
    """
    rng = np.random.default_rng(seed)
    shape = _builds(count, rng)
    read_mb_s, write_mb_s = rng.uniform(150, 280, (2, count))
    times = disk_times(8192, rng.uniform(4, 9, count), 7200, read_mb_s, write_mb_s)
    path = DataPath(
        serial_link_mb_s(12), rng.uniform(2e3, 7e3, count), 4e5, pcie_link_mb_s(4, 8, 4, 8)
    )
    start = time.perf_counter()
    mixed = mixed_throughput(shape, times, path, Load(0.7, 0.9, 8192, outstanding))
    if pure:
        for share in (0.0, 1.0):
            mixed_throughput(shape, times, path, Load(share, 0.9, 8192, outstanding))
    sequential_throughput(shape, read_mb_s, write_mb_s, path)
    rebuild_window(
        shape,
        rng.uniform(4e12, 2e13, count),
        write_mb_s,
        read_mb_s,
        link_mb_s=path.link_mb_s,
        controller_mb_s=path.controller_mb_s,
        drive_utilisation=mixed.drive_utilisation,
    )
    return {
        "builds": count,
        "outstanding": outstanding,
        "mva_runs": 3 if pure else 1,
        "seconds": round(time.perf_counter() - start, 4),
        "peak_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, 1),
    }


def one_quote(repeats: int = 200) -> dict[str, float]:
    """Evaluate one build over and over, every state.

    Parameters
    ----------
    repeats : int
        Evaluations timed.

    Returns
    -------
    dict
        Milliseconds of one evaluation (median).
    """
    shape = array_shape(8, 1, 2, 1)
    times = disk_times(8192, 8.5, 7200, 250, 250)
    path = DataPath(serial_link_mb_s(12), 5000, 4e5, pcie_link_mb_s(4, 8, 4, 8))
    spent = []
    for _ in range(repeats):
        start = time.perf_counter()
        for state in ("normal", "degraded", "rebuilding"):
            mixed = mixed_throughput(shape, times, path, Load(0.7, 1, 8192, 32), state=state)
            sequential_throughput(shape, 250, 250, path, state=state)
        rebuild_window(shape, 8e12, 250, 250, drive_utilisation=mixed.drive_utilisation)
        spent.append(time.perf_counter() - start)
    return {"one_quote_ms": round(float(np.median(spent)) * 1e3, 3)}


def main() -> None:
    """Print all figures as JSON."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    report = {
        "cpus": os.cpu_count(),
        "one_quote": one_quote(),
        "search": throughput_and_rebuild(count, 32, pure=False),
        "search_pure_too": throughput_and_rebuild(count, 32, pure=True),
        "search_deep_queue": throughput_and_rebuild(count, 256, pure=False),
    }
    print(json.dumps(report, indent=2))


if __name__ == "__main__":
    main()
