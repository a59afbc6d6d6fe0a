"""Time and memory of the estimates as quotes and the search use them; prints JSON.

Run: python tests/benchmarks/bench_quote.py [builds]

Limits: a quote's estimates in 5 ms; the throughput, rebuild and loss of 1,000,000 builds in 20 s
on two cores and under 2 GB. Wall time suffers from whatever else the machine does, so the
processor time stands beside it.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from bench_risk import peak_mib

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import chance_of_loss
from quotelib.predict import inputs, workings
from quotelib.predict.forecast import Forecast, forecast
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.predict.running import server_estimates

QUOTES = (
    ("RAID 6 of disks", "6", "hdd", "backup_target", "0"),
    ("RAID 60 of disks", "60", "hdd", "virtual_machines", "0"),
    ("RAID 60 of disks, two hot spares", "60", "hdd", "virtual_machines", "2"),
    ("RAID 10 of flash", "10", "ssd", "ledger_database", "0"),
    ("RAID 5 of flash, no workload", "5", "ssd", None, "0"),
)


def builds(price_list: PriceList, **cells: str) -> list[Build]:
    """List every build of the starter list that an enquiry leaves open."""
    given = {"enquiry_id": "bench", "customer": "nobody", "usable_tb": "4", **cells}
    return [c.build for c in choose(price_list, read_enquiry(given, price_list)).feasible]


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Give wall and processor seconds of some work."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def one_quote(price_list: PriceList, repeats: int = 200) -> dict[str, dict[str, float]]:
    """Work out the estimates of single quotes over and over.

    Parameters
    ----------
    price_list : PriceList
    repeats : int
        Of each quote.

    Returns
    -------
    dict
        Medians in milliseconds, by quote: forecast and estimates, and the charts' inputs.
    """
    found = {}
    for name, level, media, workload, spares in QUOTES:
        build = builds(price_list, level=level, media=media, spares=spares)[0]
        load = price_list.workloads[workload] if workload else None

        def look(build: Build = build, load: Any = load) -> list[Forecast]:
            return [forecast(build, a, load, price_list.terms) for a in build.arrays]

        ahead = look()

        def quote(build: Build = build, look: Any = look) -> None:
            found = look()
            for one in found:
                list(array_estimates(one))
            list(server_estimates(build, found, price_list.terms))

        def charts(ahead: Any = ahead) -> None:
            for one in ahead:
                outlook(one)

        quote()
        wall, processor = np.median([timed(quote) for _ in range(repeats)], axis=0) * 1e3
        drawn = np.median([timed(charts)[1] for _ in range(repeats // 10)]) * 1e3
        found[name] = {
            "estimates_ms": round(float(wall), 2),
            "estimates_processor_ms": round(float(processor), 2),
            "chart_figures_processor_ms": round(float(drawn), 2),
        }
    return found


def tiled(part: Any, count: int) -> Any:
    """Repeat every array of a (nested) dataclass until it has so many elements."""
    if is_dataclass(part) and not isinstance(part, type):
        given = {f.name: tiled(getattr(part, f.name), count) for f in fields(part)}
        return replace(part, **given)
    return np.resize(part, count)


def many_builds(price_list: PriceList, count: int) -> dict[str, float | int]:
    """Evaluate throughput, rebuild and loss of many builds, as the screening does.

    Parameters
    ----------
    price_list : PriceList
    count : int
        Builds: those of the starter list without and with a spare, over and over, each time with
        other rates, so that no two are alike.

    Returns
    -------
    dict
        Seconds by wall and by processor, and the process's peak memory in MiB.
    """
    real = builds(price_list) + builds(price_list, spares="1")
    arrays = [inputs.behind(build, array) for build in real for array in build.arrays]
    f = tiled(inputs.inputs(arrays), count)
    rng = np.random.default_rng(4)
    f = replace(
        f,
        write_mb_s=f.write_mb_s * rng.uniform(0.9, 1.0, count),
        mttf_hours=f.mttf_hours * rng.uniform(0.9, 1.0, count),
    )
    workload = price_list.workloads["ledger_database"]
    load = workings.load_of(workload)

    def screen() -> None:
        mixed = workings.throughput(f, load)
        window = workings.rebuild(f, workings.day(workload, mixed))
        protection = workings.protection(f, window)
        media = np.where(f.flash, "ssd", "hdd")
        expected = mttf_range(protection.mttf_hours, media).expected
        loss = chance_of_loss(replace(protection, mttf_hours=expected), 5.0)
        assert np.isfinite(mixed.iops).all() and np.isfinite(loss).all()

    wall, processor = timed(screen)
    return {
        "builds": count,
        "different_layouts_and_parts": len(real),
        "outstanding": int(np.asarray(load.outstanding)),
        "seconds": round(wall, 2),
        "processor_seconds": round(processor, 2),
        "peak_mib": round(peak_mib(), 1),
    }


def main() -> None:
    """Print all figures as JSON."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    price_list = load_price_list()
    report = {
        "cores": os.cpu_count(),
        "load_average": round(os.getloadavg()[0], 2),
        "one_quote": one_quote(price_list),
        "many_builds": many_builds(price_list, count),
        "peak_mib": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, 1),
    }
    print(json.dumps(report, indent=2))


if __name__ == "__main__":
    main()
