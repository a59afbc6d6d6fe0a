"""What is said of each array: capacity, protection, levels, speed, and what it will do."""

from collections.abc import Iterator
from decimal import Decimal

from quotelib.build import fit
from quotelib.build.build import Build
from quotelib.build.layout import Array, Layout
from quotelib.build.placement import speeds
from quotelib.levels import LEVELS
from quotelib.predict.forecast import Forecast
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.promise import words
from quotelib.promise.shown import ArrayLaid, ArrayShown, Capacity, CapacityShare, LevelShown
from quotelib.units import TB, TIB, round_half_away


def arrays_shown(build: Build, forecasts: tuple[Forecast, ...]) -> Iterator[ArrayShown]:
    """Describe each array of a build with its forecast."""
    for laid, ahead, speed in zip(arrays_laid(build), forecasts, speeds(build), strict=True):
        yield ArrayShown(
            **dict(laid),
            speed=speed,
            outlook=outlook(ahead),
            estimates=tuple(array_estimates(ahead)),
        )


def arrays_laid(build: Build) -> Iterator[ArrayLaid]:
    """Describe of each array of a build what takes no estimate."""
    for place, array in enumerate(build.arrays):
        layout = array.layout
        yield ArrayLaid(
            name=array.name,
            action=array.action,
            controller=array.controller.sku,
            drive=array.drive.sku,
            have_drives=array.have_drives,
            layout=layout,
            strip_words=f"Strip: {layout.strip_kib} KiB" if layout.rule.is_array else "No strip",
            label=layout.rule.label,
            survives=layout.rule.survives,
            data_members=layout.data_members,
            words=layout.words,
            capacity=_capacity(array),
            protection=tuple(words.protection(build, array)),
            levels=tuple(_levels(build, place)),
        )


def _capacity(array: Array) -> Capacity:
    layout, level = array.layout, array.layout.rule
    usable, raw = array.usable_bytes, array.drives * array.drive_bytes
    redundancy = (layout.members - layout.data_members) * array.member_bytes
    name = "Second copies" if level.copies > 1 else "Parity"
    spares = layout.spares * array.drive_bytes
    reserve = layout.members * (array.drive_bytes - array.member_bytes)
    waits = "drives that wait to take a failed one's place"
    keeps = "the controller's own notes, and what does not fill a strip"
    shares = (
        ("usable", "Usable", usable, "what your system will show"),
        ("redundancy", name, redundancy, "what lets the array survive failures"),
        ("spares", "Hot spares", spares, waits),
        ("reserve", "Reserve", reserve, keeps),
    )
    return Capacity(
        label_bytes=int(words.label_bytes(array)),
        drive_bytes=array.drive_bytes,
        member_bytes=array.member_bytes,
        raw_bytes=raw,
        usable_bytes=usable,
        usable_tb=round_half_away(Decimal(usable) / TB, 3),
        usable_tib=round_half_away(Decimal(usable) / TIB, 3),
        shares=tuple(
            CapacityShare(kind=kind, name=name, bytes=size, pct=100 * size / raw, why=why)
            for kind, name, size, why in shares
            if size
        ),
        words=words.capacity_words(array),
    )


def _levels(build: Build, place: int) -> Iterator[LevelShown]:
    """Compare what the member drives of one array would give at each level."""
    own = build.arrays[place].layout
    for level in LEVELS.values():
        members = next((n for n in range(own.members, 0, -1) if level.spans_for(n)), None)
        if members is None:
            continue
        proposed = level.name == own.level
        spans = own.spans if proposed else level.spans_for(members)[0]
        layouts = [array.layout for array in build.arrays]
        layouts[place] = Layout(level.name, members, spans, 0, own.strip_kib)
        other = build.with_layouts(*layouts)
        yield LevelShown(
            level=level.name,
            label=level.label,
            members=members,
            spans=spans,
            usable_bytes=other.arrays[place].usable_bytes,
            survives=level.survives,
            offered=not any(fit.level_not_offered(other)),
            proposed=proposed,
        )
