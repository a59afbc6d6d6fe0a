"""How fast is it: operations, response, throughput, states and the write cache."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from quotelib.estimate.performance.cases import (
    CACHE_ANSWER_MS,
    CONTROLLER_MS,
    FLASH_SHARED,
    HIGH,
    INNER_TRACKS,
    VALUE,
)
from quotelib.estimate.performance.day import BUSY_HOURS
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
OPEN = (
    "M/G/1: Pollaczek and Khinchine, and Takacs for the variance (Kleinrock, Queueing Systems 1, "
    "1975, section 5.7)",
)
_LONG_LOW = {"hdd": INNER_TRACKS, "ssd": FLASH_SHARED}

SHARED_LANES = "lanes shared behind the expander"

UNKNOWN_SPEED = "A rate of the drive is not stated, so this is not known."

_WORKED_OUT = (
    "Service time of a drive (disk: seek, half a turn, transfer; flash: rated rate) times the "
    "drive operations the level needs for each of the host's, with links, controller and host "
    "link as further stations, at the workload's outstanding operations, which never pause: the "
    "most it does. A disk with n queued finds its place n ^ (1/4) times as fast; each outstanding "
    "operation that is not random is a stream of its own, fetched 2 MiB at a time from each drive. "
)
_THROUGH = "Writes are answered once the drives have them. "
_CACHED = (
    "Writes are answered from the protected cache and reach the drives in order of place; it is "
    "full, as when writes never pause. "
)
_ENDS = (
    "Low end: drives a fifth slower that order half as well (common practice, no source), fetches "
    "of 1 MiB and waits for the slowest drive; high end: no waiting but for the busiest part, "
    "disks that order as well as the best data sheets say, fetches of 4 MiB, and a controller "
    "whose limits count the host's operations only."
)

_made = partial(made, "speed", missing=UNKNOWN_SPEED, sources=(*QUEUEING, *LEVEL_COSTS))


def speed_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of speed."""
    inputs = (*workload_inputs(o), *drive_inputs(o))
    m = o.mixed
    cached = bool(one(o.f.serving.cached))
    basis = f"{_WORKED_OUT}{_CACHED if cached else _THROUGH}{_ENDS}"
    name = "operations under your workload"
    yield _made("host_iops", name, "a second", _range(m), basis=basis, inputs=inputs)
    # What follows from it rests on the same, which is said once.
    row = partial(_made, inputs=inputs[:1])
    times = (m.response_low_ms, m.response_ms, m.response_high_ms)
    name = "time for one operation under your workload"
    basis = "Outstanding operations divided by the operations a second."
    yield row("response_ms", name, "ms", times, basis=basis, sources=QUEUEING)
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
        basis = f"As the operations under your workload, were they all random {kind}."
        yield row(key, name, "a second", _range(found), basis=basis)
    yield from _alone(o, cached)
    yield from _day(o)
    yield from _long(o)
    yield from _states(o, inputs[:1])
    yield from _cache(o, inputs[:1], block_mb)


def _alone(o: Forecast, cached: bool) -> Iterator[Estimate]:
    """List how long a random operation takes that finds nothing queued."""
    inputs = (workload_inputs(o)[3], *drive_inputs(o)[:2])
    read = o.lone_read
    yield _made(
        "lone_read_ms",
        "one random read by itself",
        "ms",
        (read.response_low_ms, read.response_ms, read.response_high_ms),
        basis="The drive's own time, with nothing queued and nothing in a cache.",
        inputs=inputs,
    )
    write, full = o.lone_write, o.own_writes
    low, value, high = write.response_low_ms, write.response_ms, full.response_high_ms
    if cached:
        answer = CONTROLLER_MS + CACHE_ANSWER_MS
        low, value = answer[HIGH], answer[VALUE]
        high = np.where(np.isnan(high), np.inf, high)  # nobody knows how long, so no end is said
    yield _made(
        "write_ms",
        "until a write is answered",
        "ms",
        (low, value, high),
        basis=(
            "By itself, from the protected cache (common practice, no source); high end: the cache "
            "is full and the workload's outstanding writes wait for the drives."
            if cached
            else "By itself, once the drives have it, as no protected cache answers it; high end: "
            "all outstanding operations of the workload are writes."
        ),
        inputs=inputs,
    )


def _day(o: Forecast) -> Iterator[Estimate]:
    """List what the workload comes to over a day, and how long its operations take then."""
    day, hours, found = o.day, BUSY_HOURS, o.open
    if found is None:
        return
    writes = f"{figure(float(o.workload.writes_gb_per_day))} GB"
    inputs: Inputs = (("written a day", writes), workload_inputs(o)[0])
    yield _made(
        "day_iops",
        "operations a second that the workload's day comes to",
        "a second",
        (np.nan, day.iops, np.nan),
        basis="What is written a day divided by block, share of writes and a day's seconds. Power, "
        "wear and rebuild go by it; the figures above are the most it does.",
        sources=("arithmetic",),
        inputs=inputs,
    )
    late = bool(np.isinf(found.p99_ms[0]).any())
    missing = (
        f"not known: more than the drives do within {hours[0]:g} h." if late else UNKNOWN_SPEED
    )
    basis = (
        "Operations come at random, and each drive is a queue of its own: mean and variance of its "
        "wait, a gamma distribution for each kind of operation. All of the day's within "
        f"{hours[0]:g} hours; low end: {hours[1]:g}, high end: {hours[2]:g} (common practice, no "
        "source)."
    )
    for key, name, part in (
        ("day_response_ms", "mean time for one operation in a busy part of the day", "mean_ms"),
        ("day_p95_ms", "within which 95 of 100 operations are answered then", "p95_ms"),
        ("day_p99_ms", "within which 99 of 100 are", "p99_ms"),
    ):
        three = np.asarray(getattr(found, part))[:, 0]
        value, low, high = three
        value = value if np.isfinite(value) else np.nan
        yield _made(
            key, name, "ms", (low, value, high), basis=basis, sources=OPEN, inputs=inputs,
            missing=missing,
        )  # fmt: skip


def held_back(o: Forecast, station: object) -> str:
    """Name what holds an array back; links are shared lanes where fewer work at once."""
    name = str(bottleneck_name(np.asarray(station))[0])
    shared = one(o.f.path.links_at_once) < o.array.layout.members
    return SHARED_LANES if shared and name == "drive links" else name


def _range(found: MixedThroughput, each: float = 1.0) -> tuple[object, object, object]:
    return found.iops_low * each, found.iops * each, found.iops_bound * each


def _long(o: Forecast) -> Iterator[Estimate]:
    seq = o.long
    media = o.array.drive.media
    low = "half, as on the inner tracks" if media == "hdd" else "a fifth less, common practice"
    basis = (
        "One stream: drives' worth of data times the sustained rate of one, held back by the "
        "tightest of the drives' links, lanes they share, the controller (copies and parity "
        f"counted) and the host link. Low end: {low}"
    )
    best = "; high end: copies and parity drives read as well."
    for key, name, value, high, tight, more in (
        ("read_mb_s", "long reads", seq.read_mb_s, seq.read_best_mb_s, seq.read_bottleneck, best),
        (
            "write_mb_s",
            "long writes",
            seq.write_mb_s,
            seq.write_best_mb_s,
            seq.write_bottleneck,
            "; high end: the controller's limit counts the host's data only.",
        ),
    ):
        limit = ("what holds it back", held_back(o, tight))
        yield _made(
            key,
            name,
            "MB/s",
            (_LONG_LOW[media] * value, value, high),
            basis=basis + more,
            sources=SEQUENTIAL,
            inputs=(limit, *drive_inputs(o)[2:]),
        )


def _states(o: Forecast, inputs: Inputs) -> Iterator[Estimate]:
    if not o.array.layout.rule.survives:
        return
    basis = (
        "As in normal state, with the reads that stand in for the missing drive; a rebuild takes "
        "three tenths of the group's time, and an operation waits for the piece it is at (common "
        "practice, no source); high end: half of that, for a rebuild that gives way."
    )
    row = partial(_made, basis=basis, inputs=inputs)
    name = "operations with one drive failed"
    yield row("degraded_iops", name, "a second", _range(o.degraded))
    name = "operations while a rebuild runs"
    yield row("rebuilding_iops", name, "a second", _range(o.rebuilding))


def _cache(o: Forecast, inputs: Inputs, block_mb: float) -> Iterator[Estimate]:
    controller = o.array.controller
    if not one(o.f.serving.cached):
        return
    destage = o.own_writes.iops * block_mb
    if np.isnan(destage).any():
        return
    path = o.f.path
    front = np.minimum(np.asarray(path.controller_mb_s), np.asarray(path.host_link_mb_s))
    front = np.minimum(front, np.asarray(path.controller_iops) * block_mb)
    took = cached_writes(controller.cache_mib, True, np.inf, destage, front)
    if np.isfinite(took.burst_mb_s).all():
        yield _made(
            "burst_seconds",
            f"how long a burst of writes runs at {figure(one(took.burst_mb_s))} MB/s before "
            "the cache is full",
            "s",
            (np.nan, took.seconds_until_full, np.nan),
            basis="Cache divided by the difference of what comes in and what goes out in order of "
            "place; what is written again meanwhile is left out and helps.",
            sources=("conservation of bytes, no source needed",),
            inputs=(("protected cache", f"{controller.cache_mib} MiB"), *inputs),
            missing="It never fills at this rate.",
        )
    basis = "Writes a second, as random as the workload's, times its block."
    name = "the workload's writes alone once the cache is full"
    yield _made(
        "destage_mb_s", name, "MB/s", _range(o.own_writes, block_mb), basis=basis, inputs=inputs
    )
