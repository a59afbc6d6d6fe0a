"""How long does it take to fill an array, to grow it, or to replace its drives one by one."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from quotelib.estimate.changing import COPY_MB_S, GROWTH_SHARES, copy_hours, growth_hours
from quotelib.predict.estimate import Estimate, made, one
from quotelib.predict.forecast import Forecast, drive_inputs
from quotelib.predict.speed import UNKNOWN_SPEED
from quotelib.text import count, figure, size

_DAY_HOURS = 24


def change_estimates(o: Forecast) -> Iterator[Estimate]:
    """List how long it takes to fill a new array, or to change one that is there already."""
    if o.array.action == "new":
        yield _filling(o)
    elif o.array.action == "grow":
        yield _growth(o)
    elif o.array.action == "replace":
        yield from _replacement(o)


def _filling(o: Forecast) -> Estimate:
    data, write = o.array.usable_bytes, o.long.write_mb_s
    low, value, high = (copy_hours(data, np.minimum(rate, write)) for rate in COPY_MB_S)
    return made(
        "speed",
        "filling_hours",
        "filling it once, when data is moved in over a network",
        "h",
        values=(low, value, high),
        basis="All it holds divided by the slower of the network and its own long writes. Low end: "
        "10 Gbit/s Ethernet; value: 2.5 Gbit/s; high end: 1 Gbit/s, each less its frames. The side "
        "it comes from may be slower, and many small files are.",
        sources=("bytes divided by rate", "IEEE 802.3: 1,460 of 1,538 bytes of a frame are data"),
        inputs=(("bytes", f"{data:,}"), ("long writes", f"{figure(one(write))} MB/s")),
        missing=UNKNOWN_SPEED,
    )


def _growth(o: Forecast) -> Estimate:
    array, layout = o.array, o.array.layout
    before = layout.rule.data_members(array.members_before, array.spans_before or layout.spans)
    data = before * array.member_bytes
    read = np.minimum(o.f.read_mb_s, o.f.path.link_mb_s)
    write = np.minimum(o.f.write_mb_s, o.f.path.link_mb_s)
    idle = growth_hours(data, array.members_before, layout.data_members, read, write)
    return made(
        "rebuild",
        "growth_hours",
        f"growing from {array.members_before} to {count(layout.members, 'member')}",
        "h",
        values=tuple(idle / share for share in GROWTH_SHARES),  # type: ignore[arg-type]
        basis="All the data is read from the members there were and written, with its redundancy, "
        "over all there are then. Low end: idle server, nothing but the drives' rates; value: "
        "three tenths of the drives' time; high end: a tenth of it, where the controller goes in "
        "small steps (shares: common practice, no source). The array works meanwhile, slowly.",
        sources=("bytes divided by rate",),
        inputs=(("held before", size(data)), *drive_inputs(o)),
        missing=UNKNOWN_SPEED,
    )


def _replacement(o: Forecast) -> Iterator[Estimate]:
    array, window = o.array, o.window
    drives = array.layout.members - array.members_before
    row = partial(made, "rebuild", sources=("bytes divided by rate",), missing=UNKNOWN_SPEED)
    each = window.idle_hours, window.loaded_hours, window.busy_hours
    inputs = (("drives replaced", str(drives)), *drive_inputs(o))
    yield row(
        "replacement_hours",
        "rebuild of each replaced drive",
        "h",
        values=each,
        basis="As any rebuild: idle host, your workload going on, drives kept busy all the time.",
        inputs=inputs,
    )
    low, value, high = (one(hours) for hours in each)
    days = (
        drives * low / _DAY_HOURS,
        drives * float(np.maximum(value, _DAY_HOURS)) / _DAY_HOURS,
        drives * (high + _DAY_HOURS) / _DAY_HOURS,
    )
    yield row(
        "replacement_days",
        f"until all {drives} drives are replaced" if drives > 1 else "until the drive is replaced",
        "days",
        values=days,
        basis="One rebuild after the other. Low end: the next drive goes in at once, with an idle "
        "host; value: one a day, or one a rebuild where that takes longer; high end: a day's wait "
        "before each (waits: common practice, no source).",
        inputs=inputs,
    )
