"""How long do the flash drives last: writes against their rating."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from quotelib.estimate.performance.drive_work import normal_work
from quotelib.estimate.running.wear import drive_writes_gb_per_day, rated_writes_tb, years_to_rating
from quotelib.predict.estimate import NOT_KNOWN, Estimate, made, one
from quotelib.predict.forecast import Forecast
from quotelib.text import figure


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
        why = "not known: the price list gives no writes_per_day for the drive."
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
    work = normal_work(o.f.shape)
    scattered, long = one(work.random_write_writes), one(work.sequential_write)
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
