"""How long is it exposed after a drive has failed: rebuild."""

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
    spares, window, busy = o.array.layout.spares, o.window, o.busy
    inputs = (
        ("bytes to write", f"{o.array.member_bytes:,}"),
        ("rate with an idle host", f"{figure(one(window.rate_mb_s))} MB/s"),
        *drive_inputs(o),
    )
    row = partial(made, "rebuild", unit="h", missing=UNKNOWN_SPEED)
    yield row(
        "rebuild_hours",
        "rebuild of one drive while your workload goes on",
        values=(window.idle_hours, window.loaded_hours, busy.loaded_hours),
        basis="Bytes of the drive divided by the tightest of its write rate, its link, the reads "
        "it needs and the controller. Low end: idle host; value: your workload goes on and the "
        "rebuild gets what is left, but three tenths at least; high end: drives kept busy all "
        "the time (share: common practice, no source).",
        sources=("bytes divided by rate", f"reads needed: {LEVEL_COSTS[0]}"),
        inputs=inputs,
    )
    wait = SPARE_START_HOURS if spares else ATTENDED_SWAP_HOURS
    how = "a hot spare starts" if spares else "somebody has replaced the drive"
    yield row(
        "exposed_hours",
        "from a failure to full redundancy",
        values=(window.exposed_idle_hours, window.exposed_loaded_hours, busy.exposed_loaded_hours),
        basis=f"{wait:g} h until {how} (common practice, no source), then the rebuild.",
        sources=("bytes divided by rate",),
        inputs=(("hot spares", str(spares)), *inputs),
    )
