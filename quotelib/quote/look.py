"""What will one build do: everything worked out once, before it is put into words."""

from dataclasses import dataclass, fields, replace

import numpy as np

from quotelib.build.build import Build
from quotelib.catalogue.parts import Terms, Workload
from quotelib.estimate.performance.load import REBUILD_SHARE, bottleneck_name
from quotelib.estimate.performance.mixed import MixedThroughput
from quotelib.estimate.performance.sequential import SequentialThroughput, sequential_throughput
from quotelib.estimate.reliability.assessment import Risk, assess
from quotelib.estimate.reliability.rebuild import RebuildWindow
from quotelib.quote import figures
from quotelib.quote.figures import Figures
from quotelib.units import KIB, TB, plain


@dataclass(frozen=True)
class Outlook:
    """Everything worked out for one build, before it is put into words.

    Parameters
    ----------
    build : Build
    workload : Workload
        The enquiry's, or the neutral one.
    named : bool
        Whether the enquiry named it.
    f : Figures
        Of this one build.
    mixed, degraded, rebuilding, reads, writes : MixedThroughput
    long : SequentialThroughput
    window, busy : RebuildWindow
        Under this load, and with drives kept busy all the time.
    risk : Risk
    years : float
    """

    build: Build
    workload: Workload
    named: bool
    f: Figures
    mixed: MixedThroughput
    degraded: MixedThroughput
    rebuilding: MixedThroughput
    reads: MixedThroughput
    writes: MixedThroughput
    long: SequentialThroughput
    window: RebuildWindow
    busy: RebuildWindow
    risk: Risk
    years: float

    @property
    def bottleneck(self) -> str:
        """Name what limits the workload."""
        return str(bottleneck_name(self.mixed.bottleneck)[0])


def look(build: Build, workload: Workload | None, terms: Terms) -> Outlook:
    """Work everything out for one build.

    Parameters
    ----------
    build : Build
        Without ``stop`` findings.
    workload : Workload or None
        None: the neutral load.
    terms : Terms
        For the years to look ahead.

    Returns
    -------
    Outlook
    """
    load = workload or figures.NEUTRAL
    f = figures.figures([build])
    asked = figures.load_of(load)
    mixed, reads, writes = _normal(f, load)
    # A rebuild that takes no share is none, so one run gives both states.
    shares = np.array([0.0, REBUILD_SHARE])
    degraded, rebuilding = _apart(figures.throughput(f, asked, "rebuilding", shares))
    window = figures.rebuild(f, mixed.drive_utilisation)
    years = float(terms.risk.years)
    return Outlook(
        build=build,
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
        busy=figures.rebuild(f, np.ones(1)),
        risk=risk_of(f, window, build, years),
        years=years,
    )


def _normal(f: Figures, load: Workload) -> list[MixedThroughput]:
    """Work out the workload, reads alone and writes alone in one go: it saves half the time."""
    asked = figures.load_of(load)
    three = replace(
        asked,
        read_share=np.array([np.asarray(asked.read_share), 1.0, 0.0]),
        random_share=np.array([np.asarray(asked.random_share), 1.0, 1.0]),
    )
    return _apart(figures.throughput(f, three))


def _apart(found: MixedThroughput) -> list[MixedThroughput]:
    """Take the elements apart that were worked out together."""
    return [
        replace(found, **{f.name: getattr(found, f.name)[i : i + 1] for f in fields(found)})
        for i in range(len(found.iops))
    ]


def risk_of(f: Figures, window: RebuildWindow, build: Build, years: float) -> Risk:
    """Assess the risk of some builds that differ in their layout only."""
    protection = figures.protection(f, window)
    loaded = np.where(f.shape.redundant, window.loaded_hours, 1.0)
    return assess(
        protection,
        years,
        media=np.where(f.flash, "ssd", "hdd"),
        usable_tb=f.usable_bytes / TB,
        striped=f.striped,
        strip_tb=build.layout.strip_kib * KIB / TB,
        # What is not known at the low end is not known at the high end either.
        rebuild_hours_high=np.where(np.isnan(protection.rebuild_hours), np.nan, loaded),
    )


def workload_inputs(o: Outlook) -> tuple[tuple[str, str], ...]:
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


def drive_inputs(o: Outlook) -> tuple[tuple[str, str], ...]:
    """Name what an estimate takes of the drives."""
    drive = o.build.drive
    if drive.media == "hdd":
        speed: tuple[tuple[str, str], ...] = (
            ("average seek", _stated(drive.seek_ms, "ms")),
            ("speed", _stated(drive.rpm, "rpm")),
        )
    else:
        speed = (
            ("rated random reads", _stated(drive.read_iops, "a second")),
            ("rated random writes", _stated(drive.write_iops, "a second")),
        )
    rate = f"{drive.read_mb_s:g} and {drive.write_mb_s:g} MB/s"
    return (*speed, ("sustained read and write", rate), ("members", str(o.build.layout.members)))
