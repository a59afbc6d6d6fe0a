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

from quotelib.estimate.montecarlo import Weibull, simulate
from quotelib.estimate.risk import Protection, group_shape, loss_probability
from quotelib.estimate.risk_summary import assess

LAYOUTS = (("none", 4, 1), ("0", 4, 1), ("1", 2, 1), ("5", 6, 1), ("6", 8, 1), ("10", 12, 1),
           ("50", 12, 2), ("60", 16, 2))  # fmt: skip


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
    table = [x for x in LAYOUTS if level in (None, x[0])]
    names, members, spans = zip(
        *(table[i] for i in rng.integers(0, len(table), count)), strict=True
    )
    shape = group_shape(np.array(names), np.array(members), np.array(spans))
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


def array_decades_per_second(life: Weibull, rebuild: Weibull, trials: int) -> float:
    """Decades of an eight-drive double-parity array simulated in a second."""
    start = time.perf_counter()
    simulate(trials, 10.0, members=8, redundancy=2, life=life, rebuild=rebuild,
             replacement=Weibull(24.0), unreadable=0.3, seed=1)  # fmt: skip
    return trials / (time.perf_counter() - start)


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
        "array_decades_per_second": {
            "exponential, data sheet 1.2e6 h": round(
                array_decades_per_second(Weibull(1.2e6), Weibull(20.0), 1_000_000)
            ),
            "weibull, 1.12, 4.6e5 h": round(
                array_decades_per_second(Weibull(4.6e5, 1.12), Weibull(20.0, 2.0), 400_000)
            ),
            "exponential, field 8.6 % a year": round(
                array_decades_per_second(Weibull(8760 / 0.086), Weibull(20.0), 200_000)
            ),
        },
        "peak_mib": round(peak_mib(), 1),
    }
    print(json.dumps(figures, indent=2))


if __name__ == "__main__":
    main()
