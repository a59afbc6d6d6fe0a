"""How fast is it: operations, response, throughput, states and the write cache."""

from collections.abc import Iterator

import numpy as np

from quotelib.estimate.performance.load import bottleneck_name
from quotelib.estimate.performance.write_cache import cached_writes
from quotelib.quote.estimate_facts import facts, made, number, one
from quotelib.quote.look import Outlook, drive_inputs, workload_inputs
from quotelib.quote.outlook_record import EstimateFacts
from quotelib.units import KIB, MB

QUEUEING = (
    "Mean value analysis of a closed network (Reiser and Lavenberg, J. ACM 27(2), 1980); bounds "
    "of Lazowska, Zahorjan, Graham and Sevcik, Quantitative System Performance, 1984"
)
LEVEL_COSTS = "Chen et al., ACM Computing Surveys 26(2), 1994, Table 3"
SEQUENTIAL = "Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 38; " + LEVEL_COSTS
# Inner tracks are slower than the sustained rate, shared systems too. Common practice, no source.
SEQUENTIAL_LOW = 0.8


UNKNOWN_SPEED = "A rate of the drive is missing in the price list, so this is not known."


def speed_estimates(o: Outlook) -> Iterator[EstimateFacts]:
    """List the estimates of speed."""
    inputs = (*workload_inputs(o), *drive_inputs(o))
    m = o.mixed
    queueing = (
        "Service time of a drive (disk: seek, half a turn, transfer; flash: rated rate) times the "
        "drive operations the level needs for each of the host's, with links, controller and host "
        "link as further stations, at the workload's outstanding operations. Low end: drives a "
        "fifth slower and waits for the slowest; high end: the bound nothing can pass."
    )
    source = f"{QUEUEING}; {LEVEL_COSTS}"
    rate = ("host_iops", "operations under your workload", "a second")
    yield facts(
        rate[0],
        "speed",
        made(
            rate[1],
            rate[2],
            (m.iops_low, m.iops, m.iops_bound),
            queueing,
            source,
            inputs,
            UNKNOWN_SPEED,
        ),
    )
    yield facts(
        "response_ms",
        "speed",
        made(
            "time for one operation under your workload",
            "ms",
            (m.response_low_ms, m.response_ms, m.response_high_ms),
            queueing,
            QUEUEING,
            inputs,
            UNKNOWN_SPEED,
        ),
    )
    block_mb = float(o.workload.block_kib) * KIB / MB
    yield facts(
        "host_mb_s",
        "speed",
        made(
            "throughput under your workload",
            "MB/s",
            (m.iops_low * block_mb, m.iops * block_mb, m.iops_bound * block_mb),
            "Operations a second times the workload's block.",
            source,
            inputs,
            UNKNOWN_SPEED,
        ),
    )
    yield facts(
        "knee_outstanding",
        "speed",
        made(
            "outstanding operations beyond which more of them mostly wait",
            "operations",
            (np.nan, m.knee_outstanding, np.nan),
            "Where the two asymptotic bounds on throughput cross.",
            "Lazowska et al., Quantitative System Performance, 1984",
            inputs,
            UNKNOWN_SPEED,
        ),
        2,
    )
    for key, name, found in (
        ("read_iops", "random reads alone", o.reads),
        ("write_iops", "random writes alone", o.writes),
    ):
        yield facts(
            key,
            "speed",
            made(
                f"{name}, at the workload's block and outstanding operations",
                "a second",
                (found.iops_low, found.iops, found.iops_bound),
                queueing,
                source,
                inputs,
                UNKNOWN_SPEED,
            ),
        )
    yield from _long(o)
    yield from _states(o, inputs)
    yield from _cache(o, inputs)


def _long(o: Outlook) -> Iterator[EstimateFacts]:
    seq = o.long
    basis = (
        "Drives' worth of data times the sustained rate of one, held back by the tightest of the "
        "drives' links, the controller and the host link. Low end: a fifth less, as on inner "
        "tracks (common practice, no source)"
    )
    for key, name, value, high, tight, more in (
        (
            "read_mb_s",
            "long reads",
            seq.read_mb_s,
            seq.read_best_mb_s,
            seq.read_bottleneck,
            "; high end: copies and parity drives read as well.",
        ),
        ("write_mb_s", "long writes", seq.write_mb_s, seq.write_mb_s, seq.write_bottleneck, "."),
    ):
        limit = ("what holds it back", str(bottleneck_name(tight)[0]))
        yield facts(
            key,
            "speed",
            made(
                name,
                "MB/s",
                (SEQUENTIAL_LOW * value, value, high),
                basis + more,
                SEQUENTIAL,
                (limit, *drive_inputs(o)),
                UNKNOWN_SPEED,
            ),
        )


def _states(o: Outlook, inputs: tuple[tuple[str, str], ...]) -> Iterator[EstimateFacts]:
    if not o.build.layout.rule.survives:
        return
    for key, name, found in (
        ("degraded_iops", "operations with one drive failed", o.degraded),
        ("rebuilding_iops", "operations while a rebuild runs", o.rebuilding),
    ):
        yield facts(
            key,
            "speed",
            made(
                name,
                "a second",
                (found.iops_low, found.iops, found.iops_bound),
                "As in normal state, with the reads that stand in for the missing drive; a "
                "rebuild takes three tenths of the group's time (common practice, no source).",
                f"{QUEUEING}; {LEVEL_COSTS}",
                inputs,
                UNKNOWN_SPEED,
            ),
        )


def _cache(o: Outlook, inputs: tuple[tuple[str, str], ...]) -> Iterator[EstimateFacts]:
    controller, parts = o.build.controller, o.build.parts
    if not controller.cache_mib or not parts.cache_is_protected:
        return
    block_mb = float(o.workload.block_kib) * KIB / MB
    destage = o.writes.iops * block_mb
    if np.isnan(destage).any():
        return
    front = np.minimum(np.asarray(o.f.path.controller_mb_s), np.asarray(o.f.path.host_link_mb_s))
    took = cached_writes(controller.cache_mib, True, np.inf, destage, front)
    if np.isfinite(took.burst_mb_s).all():
        yield facts(
            "burst_seconds",
            "speed",
            made(
                f"how long a burst of writes runs at {number(one(took.burst_mb_s))} MB/s before "
                "the cache is full",
                "s",
                (np.nan, took.seconds_until_full, np.nan),
                "Cache divided by the difference of what comes in and what goes out; rewrites and "
                "sorting in the cache are left out and help.",
                "conservation of bytes, no source needed",
                (("protected cache", f"{controller.cache_mib} MiB"), *inputs),
                "It never fills at this rate.",
            ),
        )
    yield facts(
        "destage_mb_s",
        "speed",
        made(
            "random writes once the cache is full",
            "MB/s",
            (o.writes.iops_low * block_mb, destage, o.writes.iops_bound * block_mb),
            "Random writes a second times the workload's block.",
            f"{QUEUEING}; {LEVEL_COSTS}",
            inputs,
            UNKNOWN_SPEED,
        ),
    )
