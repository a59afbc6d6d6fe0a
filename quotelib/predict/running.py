"""What does it take to run: power, heat and energy of a server, wear of its flash drives."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from statistics import fmean

import numpy as np

from quotelib.build.build import Build
from quotelib.catalogue.terms import Terms
from quotelib.estimate.performance.drive_work import normal_work, pieces
from quotelib.estimate.running import (
    cost_per_year,
    drive_writes_gb_per_day,
    heat_btu_per_hour,
    kwh_per_year,
    mean_watts,
    rated_writes_tb,
    supply_share,
    years_to_rating,
)
from quotelib.predict.estimate import NOT_KNOWN, Estimate, made, one
from quotelib.predict.forecast import Forecast
from quotelib.pricing.money import to_minor
from quotelib.text import figure
from quotelib.units import KIB, plain

_BASIS = (
    "Base, controller and accessories as stated, plus the drives between idle "
    "and active by the share of time they work: over the day that the workload writes so much of, "
    "or all the time where it does not say. Hot spares wait. Low end: drives idle; high end: all "
    "active."
)
_SHEET = ("figures stated for the parts",)
_ARITHMETIC = ("arithmetic",)


def server_estimates(
    build: Build, forecasts: Sequence[Forecast], terms: Terms
) -> Iterator[Estimate]:
    """List the estimates of a whole server: power. `forecasts` has one an array of the build."""
    full = float(build.watts)
    # What drives draw more when they work than when they do not; hot spares wait.
    more = [max(float(o.array.drive.active_w - o.array.drive.idle_w), 0.0) for o in forecasts]
    idle = full - sum(o.array.drives * each for o, each in zip(forecasts, more, strict=True))
    swings = [o.array.layout.members * each for o, each in zip(forecasts, more, strict=True)]
    share = _share_of_time(forecasts, swings)
    mean = one(mean_watts(idle, idle + sum(swings), share))
    supply = build.supply_w
    inputs: tuple[tuple[str, str], ...] = (
        ("all drives active", f"{plain(build.watts)} W"),
        ("drives idle", f"{figure(idle)} W"),
        ("share of time the drives work", f"{100 * share:.0f} %"),
    )
    name, basis = "mean power under your workload", _BASIS
    if not forecasts:
        inputs = (("all parts", f"{plain(build.watts)} W"),)
        name, basis = "power", "All parts as stated; there are no drives."

    def at(of: Callable[[float], object]) -> tuple[object, object, object]:
        return of(idle), of(mean), of(full)

    row = partial(made, "power", inputs=inputs)
    yield row("mean_watts", name, "W", (idle, mean, full), basis=basis, sources=_SHEET)
    basis, sources = "All power ends as heat: 3.412 BTU/h a watt.", ("NIST SP 811",)
    yield row("heat_btu_h", "heat", "BTU/h", at(heat_btu_per_hour), basis=basis, sources=sources)
    basis = "Mean power over 8760 hours; cooling and the supply's own losses come on top."
    year = at(kwh_per_year)
    yield row("kwh_year", "energy in a year", "kWh", year, basis=basis, sources=_ARITHMETIC)
    yield row(
        "supply_pct",
        "share of the supply in use",
        "%",
        at(lambda watts: 100 * one(supply_share(watts, float(supply)))),
        basis="Power divided by what the supply is rated for.",
        sources=_SHEET,
        inputs=(("supply", f"{plain(supply)} W"), *inputs),
        digits=2,
    )
    unit = terms.currency
    row = partial(row, "energy_cost_year", "energy cost of a year", unit, sources=_ARITHMETIC)
    tariff = None if terms.electricity is None else terms.electricity.price_per_kwh
    if tariff is None:
        missing = "not known: no electricity price is stated."
        yield row(NOT_KNOWN, basis="", missing=missing)
        return
    yield row(
        at(lambda watts: to_minor(unit, cost_per_year(watts, tariff))),
        basis="Energy of a year times the stated tariff, in the seller's currency.",
        inputs=(("tariff", f"{unit} {plain(tariff)} a kWh"), *inputs),
    )


def _share_of_time(forecasts: Sequence[Forecast], swings: Sequence[float]) -> float:
    """Give the share of time that drives work, weighted by what it makes them draw, if anything."""
    shares = []
    for o in forecasts:
        # Over a day; a load of which only the most is known counts as that all day long.
        busy = one(o.day.utilisation if o.day.told else o.mixed.drive_utilisation)
        # An unknown load counts as a full one: heat and supply must be enough.
        shares.append(min(busy, 1.0) if busy == busy else 1.0)
    if len(shares) < 2:
        return sum(shares)
    return fmean(shares, swings if any(swings) else None)


def wear_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimate of wear; none for hard disks."""
    drive = o.array.drive
    if drive.media != "ssd":
        return
    row = partial(
        made,
        "wear",
        "wear_years",
        "years until a drive has taken the writes it is rated for",
        "years",
        sources=("JEDEC JESD218: capacity x writes a day x 365 x warranty years",),
    )
    writes = float(o.workload.writes_gb_per_day)
    why = ""
    if drive.writes_per_day is None:
        why = "not known: no rated writes a day are stated for the drive."
    elif not o.named:
        why = "not known: the enquiry names no workload, so nobody said how much is written."
    elif not drive.warranty_years:
        why = "not known: the drive has no warranty years its rating would be for."
    if why:
        yield row(NOT_KNOWN, basis="", missing=why)
        return
    rated = rated_writes_tb(
        drive.capacity_gb, drive.writes_per_day or np.nan, float(drive.warranty_years)
    )
    block = float(o.workload.block_kib) * KIB
    cut = pieces(o.f.shape, block, o.f.serving.strip_bytes)
    work = normal_work(o.f.shape, cut.many, np.asarray(o.f.serving.cached) > 0)
    # Drive bytes for a byte of the host's, of writes that are scattered and of long ones.
    scattered, long = (one(work.writes[kind] * cut.piece_bytes / block) for kind in (1, 3))
    share = float(o.workload.random_pct) / 100
    factors = (max(scattered, long), share * scattered + (1 - share) * long, min(scattered, long))
    members = o.array.layout.members
    low, value, high = (
        years_to_rating(rated, drive_writes_gb_per_day(writes, max(factor, 1.0), members))
        for factor in factors
    )
    yield row(
        (low, value, high),
        basis="Rated writes of a drive divided by its equal share of the day's writes, times the "
        f"bytes the level writes for each of the host's: {figure(factors[1], 2)} for this "
        "workload; ends: all writes scattered, all of them long.",
        inputs=(
            ("rated", f"{figure(one(rated))} TB a drive"),
            ("host writes", f"{figure(writes)} GB a day"),
            ("members", str(members)),
        ),
        missing="The workload writes nothing, so the drives do not wear.",
        digits=2,
    )
