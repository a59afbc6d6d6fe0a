"""How long is it exposed after a drive has failed: rebuild."""

import math
from collections.abc import Iterator
from functools import partial

from quotelib.estimate.reliability.rebuild import ATTENDED_SWAP_HOURS, SPARE_START_HOURS
from quotelib.predict.estimate import Estimate, made, one
from quotelib.predict.forecast import Forecast, drive_inputs
from quotelib.predict.speed import LEVEL_COSTS, UNKNOWN_SPEED
from quotelib.text import figure


def rebuild_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of the rebuild; none for an array without redundancy."""
    if not o.array.layout.rule.survives:
        return
    spares, window = o.array.layout.spares, o.window
    disks = o.array.drive.media == "hdd"
    rim, mean = (f"{figure(one(rate))} MB/s" for rate in (window.rate_mb_s, window.mean_rate_mb_s))
    left, least = one(window.loaded_share), one(window.busy_share)
    shares = f"{100 * left:.0f} %, with busy drives {100 * least:.0f} %"
    inputs = (
        ("bytes to write", f"{o.array.member_bytes:,}"),
        ("rate with an idle host", f"{rim} on outer tracks, {mean} on all" if disks else rim),
        ("share of that rate left", "not known" if math.isnan(left + least) else shares),
        *drive_inputs(o),
    )
    inner = ", at the mean of a disk's tracks (3/4 of its rim's rate, derived)" if disks else ""
    anew = " and has to position anew at every MiB" if disks else ""
    row = partial(made, "rebuild", unit="h", missing=UNKNOWN_SPEED)
    yield row(
        "rebuild_hours",
        "rebuild of one drive while your workload goes on",
        values=(window.idle_hours, window.loaded_hours, window.busy_hours),
        basis="Bytes of the drive divided by the tightest of its write rate, its link, the reads "
        f"it needs and the controller. Low end: idle host; value: a usual day{inner}; high end: "
        f"drives kept busy all the time, so that the rebuild has three tenths of it{anew}. A day "
        "takes half of the drives' time where nobody knows it (shares and chunks: common "
        "practice, no source).",
        sources=(
            "bytes divided by rate",
            f"reads needed: {LEVEL_COSTS[0]}",
            *(("a share of time is none of the rate: Holland and Gibson, ASPLOS 1992",) * disks),
        ),
        inputs=inputs,
    )
    wait = SPARE_START_HOURS if spares else ATTENDED_SWAP_HOURS
    how = "a hot spare starts" if spares else "somebody has replaced the drive"
    yield row(
        "exposed_hours",
        "from a failure to full redundancy",
        values=(
            window.exposed_idle_hours,
            window.exposed_loaded_hours,
            window.exposed_busy_hours,
        ),
        basis=f"{wait:g} h until {how} (common practice, no source), then the rebuild.",
        sources=("bytes divided by rate",),
        inputs=(("hot spares", str(spares)), *inputs),
    )
