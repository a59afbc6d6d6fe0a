"""How long would the data be away: reading a backup back, and expected hours of a year."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from quotelib.estimate.changing import copy_hours
from quotelib.estimate.reliability.availability import (
    NOTICE_HOURS,
    hours_without_data,
    losses_per_year,
    restore_rates_mb_s,
)
from quotelib.predict.estimate import Estimate, made, one
from quotelib.predict.forecast import Forecast
from quotelib.predict.losing import CHAIN, unknown
from quotelib.predict.speed import UNKNOWN_SPEED
from quotelib.text import figure
from quotelib.units import plain

_NETWORK = "IEEE 802.3: 1,460 of 1,538 bytes of a frame are data"


def availability_estimates(o: Forecast) -> Iterator[Estimate]:
    """List how long a restore takes, and the hours of a year that the data is expected away."""
    whole, stated = o.array.layout.rule.is_array, o.terms.restore_mb_s
    # Drives passed through are lost, and read back, one by one.
    data = o.array.usable_bytes if whole else o.array.member_bytes
    write = o.long.write_mb_s if whole else np.minimum(o.f.write_mb_s, o.f.path.link_mb_s)
    rates = restore_rates_mb_s(None if stated is None else float(stated))
    restore = [copy_hours(data, np.minimum(rate, write)) for rate in rates]
    row = partial(made, "risk", digits=2)
    if stated is None:
        ends = (
            "Low end: 10 Gbit/s Ethernet; value: 2.5 Gbit/s; high end: 1 Gbit/s, each less its "
            "frames; nobody has stated a rate."
        )
    else:
        ends = (
            f"Value and low end: the {plain(stated)} MB/s that backups are read back at; high "
            "end: half of it, as with many small files (common practice, no source)."
        )
    inputs = (("bytes", f"{data:,}"), ("long writes", f"{figure(one(write))} MB/s"))
    yield row(
        "restore_hours",
        "reading a backup back onto " + ("the whole array" if whole else "one drive"),
        "h",
        values=(restore[0], restore[1], restore[2]),
        basis="All it holds divided by the slower of the backup's rate and its own long writes. "
        f"{ends} Only what was backed up comes back.",
        sources=("bytes divided by rate", *(() if stated else (_NETWORK,))),
        inputs=inputs,
        missing=UNKNOWN_SPEED,
    )
    chances = (o.risk.array_low, o.risk.loss.array, o.risk.array_high)
    away = [
        hours_without_data(losses_per_year(np.asarray(chance), o.years), notice + hours)
        for chance, notice, hours in zip(chances, NOTICE_HOURS, restore, strict=True)
    ]
    what = "the array's data" if whole else "the data of some drive"
    low, usual, high = NOTICE_HOURS
    yield row(
        "hours_without_data_year",
        f"expected hours a year without {what}, through failing drives",
        "h",
        values=(away[0], away[1], away[2]),
        basis=("Losses of the array" if whole else "Losses of any one drive")
        + f" a year, times {usual:g} h until drives are replaced (low end {low:g}, high end "
        f"{high:g}: common practice, no source) and the restore. A mean over many servers: most "
        "have none, a few all of it at once. Left out: power, software, planned stops.",
        sources=(CHAIN, "alternating renewal: Barlow and Proschan, 1965"),
        inputs=inputs,
        missing=unknown(o, array=True) if np.isnan(one(chances[1])) else UNKNOWN_SPEED,
    )
