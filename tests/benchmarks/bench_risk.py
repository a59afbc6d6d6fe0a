"""Time and memory of the risk estimates; prints JSON.

Run: python tests/benchmarks/bench_risk.py [builds]
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time

import numpy as np

from quotelib.estimate.reliability.assessment import assess
from quotelib.estimate.reliability.loss import loss_probability
from quotelib.estimate.reliability.protection import Protection
from quotelib.estimate.shape import array_shape, group_shape

# Level: members, spans, parity drives a span, copies, striped.
LAYOUTS = {"none": (4, 1, 0, 1, 0), "0": (4, 1, 0, 1, 1), "1": (2, 1, 0, 2, 1),
           "5": (6, 1, 1, 1, 1), "6": (8, 1, 2, 1, 1), "10": (12, 1, 0, 2, 1),
           "50": (12, 2, 1, 1, 1), "60": (16, 2, 2, 1, 1)}  # fmt: skip


def builds(count: int, level: str | None, spares: int, rng: np.random.Generator) -> Protection:
    """Draw builds that all differ in rates, sizes and times.

    Parameters
    ----------
    count : int
        How many.
    level : str or None
        All of this level, or a mixture of all.
    spares : int
        For every build.
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    Protection
        Shape (count,).
    """
    table = np.array([x for name, x in LAYOUTS.items() if level in (None, name)])
    members, spans, parity, copies, striped = table[rng.integers(0, len(table), count)].T
    shape = group_shape(array_shape(members, spans, parity, copies), striped)
    return Protection(
        members=shape.members,
        redundancy=shape.redundancy,
        groups=shape.groups,
        spares=spares,
        mttf_hours=rng.uniform(1e5, 2.5e6, count),
        rebuild_hours=rng.uniform(2, 60, count),
        replacement_hours=rng.uniform(4, 96, count),
        drive_bytes=rng.uniform(1e12, 2.4e13, count),
        bit_error_rate=10 ** rng.uniform(-17, -14, count),
    )


def peak_mib() -> float:
    """Peak memory of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def losses(count: int, level: str | None, spares: int) -> dict[str, float | str]:
    """Evaluate the chance of loss of many builds once."""
    protection = builds(count, level, spares, np.random.default_rng(4))
    start = time.perf_counter()
    found = loss_probability(protection, 5.0).any_data
    seconds = time.perf_counter() - start
    assert np.isfinite(found).all()
    return {
        "level": level or "mixture",
        "spares": spares,
        "builds": count,
        "seconds": round(seconds, 3),
        "peak_mib": round(peak_mib(), 1),
    }


def one_quote(repeats: int = 50) -> float:
    """Milliseconds for every risk figure of one quote, with its range."""
    protection = Protection(
        members=8,
        redundancy=2,
        spares=1,
        mttf_hours=1.2e6,
        rebuild_hours=20,
        replacement_hours=24,
        drive_bytes=8e12,
        bit_error_rate=1e-15,
    )
    start = time.perf_counter()
    for _ in range(repeats):
        assess(protection, 5.0, media="hdd", usable_tb=48, striped=True, strip_tb=2.6e-7)
    return (time.perf_counter() - start) / repeats * 1e3


def main() -> None:
    """Print the figures."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    figures = {
        "cores": os.cpu_count(),
        "losses": [
            losses(count, None, 0),
            losses(count, "6", 0),
            losses(count, "60", 1),
        ],
        "one_quote_ms": round(one_quote(), 2),
        "peak_mib": round(peak_mib(), 1),
    }
    print(json.dumps(figures, indent=2))


if __name__ == "__main__":
    main()
