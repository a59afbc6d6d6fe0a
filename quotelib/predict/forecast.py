"""What will one build do: everything worked out once, before it is put into words."""

from dataclasses import dataclass, fields, replace

import numpy as np

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.speed import lanes_words
from quotelib.catalogue.terms import RiskTerms, Terms
from quotelib.catalogue.work import Workload
from quotelib.estimate.performance.load import REBUILD_SHARE
from quotelib.estimate.performance.mixed import MixedThroughput
from quotelib.estimate.performance.sequential import SequentialThroughput, sequential_throughput
from quotelib.estimate.reliability.assessment import Risk, assess
from quotelib.estimate.reliability.rebuild import RebuildWindow
from quotelib.predict import inputs
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
    load = workload or inputs.NEUTRAL
    f = inputs.inputs([inputs.behind(build, array)])
    asked = inputs.load_of(load)
    # The workload, reads alone and writes alone in one go: it saves half the time.
    three = replace(
        asked,
        read_share=np.array([asked.read_share, 1.0, 0.0]),
        random_share=np.array([asked.random_share, 1.0, 1.0]),
    )
    mixed, reads, writes = _apart(inputs.throughput(f, three))
    # A rebuild that takes no share is none, so one run gives both states.
    shares = np.array([0.0, REBUILD_SHARE])
    degraded, rebuilding = _apart(inputs.throughput(f, asked, "rebuilding", shares))
    window = inputs.rebuild(f)
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
    protection = inputs.protection(f, window)
    # What is not known of the value is not known of the ends either; none without redundancy.
    none, unknown = ~f.shape.redundant, np.isnan(protection.rebuild_hours)
    low, high = (
        np.where(none, 1.0, np.where(unknown, np.nan, hours))
        for hours in (window.idle_hours, window.busy_hours)
    )
    return assess(
        protection,
        float(terms.years),
        media=inputs.media(f),
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
