"""How fast is it: operations, response, throughput, states and the write cache."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from quotelib.estimate.performance.load import bottleneck_name
from quotelib.estimate.performance.mixed import MixedThroughput
from quotelib.estimate.performance.write_cache import cached_writes
from quotelib.predict.estimate import Estimate, Inputs, made, one
from quotelib.predict.forecast import Forecast, drive_inputs, workload_inputs
from quotelib.text import figure
from quotelib.units import KIB, MB

QUEUEING = (
    "Mean value analysis of a closed network (Reiser and Lavenberg, J. ACM 27(2), 1980)",
    "bounds of Lazowska, Zahorjan, Graham and Sevcik, Quantitative System Performance, 1984",
)
LEVEL_COSTS = ("Chen et al., ACM Computing Surveys 26(2), 1994, Table 3",)
SEQUENTIAL = ("Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 38", *LEVEL_COSTS)
# Inner tracks are slower than the sustained rate, shared systems too. Common practice, no source.
SEQUENTIAL_LOW = 0.8

SHARED_LANES = "lanes shared behind the expander"

UNKNOWN_SPEED = "A rate of the drive is missing in the price list, so this is not known."

_WORKED_OUT = (
    "Service time of a drive (disk: seek, half a turn, transfer; flash: rated rate) times the "
    "drive operations the level needs for each of the host's, with links, controller and host "
    "link as further stations, at the workload's outstanding operations. Low end: drives a "
    "fifth slower and waits for the slowest; high end: the bound nothing can pass."
)

_made = partial(made, "speed", missing=UNKNOWN_SPEED, sources=(*QUEUEING, *LEVEL_COSTS))


def speed_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of speed."""
    inputs = (*workload_inputs(o), *drive_inputs(o))
    m = o.mixed
    row = partial(_made, basis=_WORKED_OUT, inputs=inputs)
    yield row("host_iops", "operations under your workload", "a second", _range(m))
    times = (m.response_low_ms, m.response_ms, m.response_high_ms)
    name = "time for one operation under your workload"
    yield row("response_ms", name, "ms", times, sources=QUEUEING)
    block_mb = float(o.workload.block_kib) * KIB / MB
    basis = "Operations a second times the workload's block."
    name = "throughput under your workload"
    yield row("host_mb_s", name, "MB/s", _range(m, block_mb), basis=basis)
    yield row(
        "knee_outstanding",
        "outstanding operations beyond which more of them mostly wait",
        "operations",
        (np.nan, m.knee_outstanding, np.nan),
        basis="Where the two asymptotic bounds on throughput cross.",
        sources=("Lazowska et al., Quantitative System Performance, 1984",),
        digits=2,
    )
    for key, kind, found in (("read_iops", "reads", o.reads), ("write_iops", "writes", o.writes)):
        name = f"random {kind} alone, at the workload's block and outstanding operations"
        yield row(key, name, "a second", _range(found))
    yield from _long(o)
    yield from _states(o, inputs)
    yield from _cache(o, inputs, block_mb)


def held_back(o: Forecast, station: object) -> str:
    """Name what holds an array back; links are shared lanes where fewer work at once."""
    name = str(bottleneck_name(np.asarray(station))[0])
    shared = one(o.f.path.links_at_once) < o.array.layout.members
    return SHARED_LANES if shared and name == "drive links" else name


def _range(found: MixedThroughput, each: float = 1.0) -> tuple[object, object, object]:
    return found.iops_low * each, found.iops * each, found.iops_bound * each


def _long(o: Forecast) -> Iterator[Estimate]:
    seq = o.long
    basis = (
        "Drives' worth of data times the sustained rate of one, held back by the tightest of the "
        "drives' links, lanes they share, the controller and the host link. Low end: a fifth "
        "less, as on inner tracks (common practice, no source)"
    )
    best = "; high end: copies and parity drives read as well."
    for key, name, value, high, tight, more in (
        ("read_mb_s", "long reads", seq.read_mb_s, seq.read_best_mb_s, seq.read_bottleneck, best),
        ("write_mb_s", "long writes", seq.write_mb_s, seq.write_mb_s, seq.write_bottleneck, "."),
    ):
        limit = ("what holds it back", held_back(o, tight))
        yield _made(
            key,
            name,
            "MB/s",
            (SEQUENTIAL_LOW * value, value, high),
            basis=basis + more,
            sources=SEQUENTIAL,
            inputs=(limit, *drive_inputs(o)),
        )


def _states(o: Forecast, inputs: Inputs) -> Iterator[Estimate]:
    if not o.array.layout.rule.survives:
        return
    basis = (
        "As in normal state, with the reads that stand in for the missing drive; a "
        "rebuild takes three tenths of the group's time (common practice, no source)."
    )
    row = partial(_made, basis=basis, inputs=inputs)
    name = "operations with one drive failed"
    yield row("degraded_iops", name, "a second", _range(o.degraded))
    name = "operations while a rebuild runs"
    yield row("rebuilding_iops", name, "a second", _range(o.rebuilding))


def _cache(o: Forecast, inputs: Inputs, block_mb: float) -> Iterator[Estimate]:
    controller = o.array.controller
    if not controller.cache_mib or not o.build.is_protected(controller):
        return
    destage = o.writes.iops * block_mb
    if np.isnan(destage).any():
        return
    front = np.minimum(np.asarray(o.f.path.controller_mb_s), np.asarray(o.f.path.host_link_mb_s))
    took = cached_writes(controller.cache_mib, True, np.inf, destage, front)
    if np.isfinite(took.burst_mb_s).all():
        yield _made(
            "burst_seconds",
            f"how long a burst of writes runs at {figure(one(took.burst_mb_s))} MB/s before "
            "the cache is full",
            "s",
            (np.nan, took.seconds_until_full, np.nan),
            basis="Cache divided by the difference of what comes in and what goes out; rewrites "
            "and sorting in the cache are left out and help.",
            sources=("conservation of bytes, no source needed",),
            inputs=(("protected cache", f"{controller.cache_mib} MiB"), *inputs),
            missing="It never fills at this rate.",
        )
    basis = "Random writes a second times the workload's block."
    name = "random writes once the cache is full"
    yield _made(
        "destage_mb_s", name, "MB/s", _range(o.writes, block_mb), basis=basis, inputs=inputs
    )
