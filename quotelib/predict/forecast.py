"""What will one build do: everything worked out once, before it is put into words."""

from dataclasses import dataclass, fields, replace

import numpy as np

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.speed import lanes_words
from quotelib.catalogue.terms import RiskTerms, Terms
from quotelib.catalogue.work import Workload
from quotelib.estimate.performance.day import OpenResponse
from quotelib.estimate.performance.mixed import MixedThroughput
from quotelib.estimate.performance.sequential import SequentialThroughput, sequential_throughput
from quotelib.estimate.reliability.assessment import Risk, assess
from quotelib.estimate.reliability.rebuild import RebuildWindow
from quotelib.predict import inputs, workings
from quotelib.units import KIB, TB, plain


@dataclass(frozen=True)
class Forecast:
    """Everything worked out for one array; its arrays of numbers have one element.

    Parameters
    ----------
    workload : Workload
        The enquiry's (`named`), or the neutral one.
    mixed, degraded, rebuilding : MixedThroughput
        Under the workload: as it is, with one drive failed, while a rebuild runs.
    reads, writes : MixedThroughput
        Random ones alone.
    own_writes : MixedThroughput
        Writes alone, as random as the workload's.
    lone_read, lone_write : MixedThroughput
        One random operation at a time.
    day : Day
        What the workload comes to over a day.
    open : OpenResponse
        Response times of the day's operations, if they come within each of `BUSY_HOURS`.
    window : RebuildWindow
        With its range.
    terms : RiskTerms
        How far `risk` looks ahead, and what the seller says of scrubs and restores.
    """

    build: Build
    array: Array
    workload: Workload
    named: bool
    f: inputs.Inputs
    mixed: MixedThroughput
    degraded: MixedThroughput
    rebuilding: MixedThroughput
    reads: MixedThroughput
    writes: MixedThroughput
    own_writes: MixedThroughput
    lone_read: MixedThroughput
    lone_write: MixedThroughput
    day: workings.Day
    open: OpenResponse | None
    long: SequentialThroughput
    window: RebuildWindow
    risk: Risk
    terms: RiskTerms

    @property
    def years(self) -> float:
        """How far the risk looks ahead."""
        return float(self.terms.years)


def forecast(build: Build, array: Array, workload: Workload | None, terms: Terms) -> Forecast:
    """Work everything out for one array of a build that has no ``stop`` findings.

    Without a workload the neutral one counts; the terms say how many years to look ahead.
    """
    load = workload or workings.NEUTRAL
    f = inputs.inputs([inputs.behind(build, array)])
    asked = workings.load_of(load)
    times = workings.drive_times(f, asked.block_bytes)
    # All in one go: it saves most of the time.
    read, rand, many = asked.read_share, asked.random_share, load.outstanding
    eight = replace(
        asked,
        read_share=np.array([read, 1.0, 0.0, 0.0, 1.0, 0.0, read, read]),
        random_share=np.array([rand, 1.0, 1.0, rand, 1.0, 1.0, rand, rand]),
        outstanding=np.array([many, many, many, many, 1, 1, many, many]),
    )
    states = ["normal"] * 6 + ["degraded", "rebuilding"]
    found = _apart(workings.throughput(f, eight, states, times=times))
    mixed, reads, writes, own_writes, lone_read, lone_write, degraded, rebuilding = found
    day = workings.day(load, mixed)
    window = workings.rebuild(f, day)
    return Forecast(
        build=build,
        array=array,
        workload=load,
        named=workload is not None,
        f=f,
        mixed=mixed,
        degraded=degraded,
        rebuilding=rebuilding,
        reads=reads,
        writes=writes,
        own_writes=own_writes,
        lone_read=lone_read,
        lone_write=lone_write,
        day=day,
        open=workings.open_day(f, asked, day, times) if day.told else None,
        long=sequential_throughput(f.shape, f.read_mb_s, f.write_mb_s, f.path),
        window=window,
        risk=risk_of(f, window, array, terms.risk),
        terms=terms.risk,
    )


def _apart(found: MixedThroughput) -> list[MixedThroughput]:
    """Take the elements apart that were worked out together."""
    return [
        replace(found, **{f.name: getattr(found, f.name)[i : i + 1] for f in fields(found)})
        for i in range(len(found.iops))
    ]


def risk_of(f: inputs.Inputs, window: RebuildWindow, array: Array, terms: RiskTerms) -> Risk:
    """Assess the risk of some arrays that differ in their layout only."""
    protection = workings.protection(f, window)
    # What is not known of the value is not known of the ends either; none without redundancy.
    none, unknown = ~f.shape.redundant, np.isnan(protection.rebuild_hours)
    low, high = (
        np.where(none, 1.0, np.where(unknown, np.nan, hours))
        for hours in (window.idle_hours, window.busy_hours)
    )
    return assess(
        protection,
        float(terms.years),
        media=workings.media(f),
        usable_tb=f.usable_bytes / TB,
        striped=f.striped,
        strip_tb=array.layout.strip_kib * KIB / TB,
        rebuild_hours_low=low,
        rebuild_hours_high=high,
        scrub_hours=None if terms.scrub_days is None else 24.0 * terms.scrub_days,
    )


def workload_inputs(o: Forecast) -> tuple[tuple[str, str], ...]:
    """Name the load an estimate rests on."""
    w = o.workload
    return (
        ("workload", w.name if o.named else "none named, so a neutral one"),
        ("reads", f"{plain(w.read_pct)} %"),
        ("random", f"{plain(w.random_pct)} %"),
        ("block", f"{plain(w.block_kib)} KiB"),
        ("outstanding", f"{w.outstanding} operations"),
    )


def _stated(value: float | None, unit: str) -> str:
    return "not stated" if value is None else f"{value:g} {unit}"


def drive_inputs(o: Forecast) -> tuple[tuple[str, str], ...]:
    """Name what an estimate takes of the drives."""
    drive = inputs.member(o.array)
    if drive.media == "hdd":
        first = ("average seek", _stated(drive.seek_ms, "ms"))
        second = ("speed", _stated(drive.rpm, "rpm"))
    else:
        first = ("rated random reads", _stated(drive.read_iops, "a second"))
        second = ("rated random writes", _stated(drive.write_iops, "a second"))
    rate = ("sustained read and write", f"{drive.read_mb_s:g} and {drive.write_mb_s:g} MB/s")
    sharing = len(o.build.arrays_on(o.array.controller))
    beside = (("arrays on its controller", f"{sharing}, each with a fair share"),)
    members = ("members", str(o.array.layout.members))
    lanes = ("lanes to the drives", lanes_words(o.array, o.build.chassis.backplane))
    return (first, second, rate, members, lanes, *(beside if sharing > 1 else ()))
