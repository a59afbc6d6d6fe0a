"""How is each array set, and how do we know that it worked: settings and acceptance.

Settings are named in the trade's words, for any maker's utility. Common practice, no source:
write-back only with protection, drives' own write caches off, full initialisation, burn-in of a
day, a read-back larger than the cache.
"""

from collections.abc import Iterable, Iterator

from quotelib.bench.plan import array_name
from quotelib.bench.proving import counted, one_less
from quotelib.bench.shown import ArrayBench, Check
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.placement import Placement
from quotelib.catalogue.parts import Controller
from quotelib.facts import Fact
from quotelib.ready.unattended import SOAK_HOURS
from quotelib.text import bays, count, sentence, size, spelled
from quotelib.units import GIB, plain

READ_BACK_GIB = 16

NOT_YET = (
    Fact(label="Array", value="none before the customer has said whether the data must stay"),
)

ARRAY_WORDS = (
    "In the trade's words: write beside them whatever the maker's set-up utility calls them, where "
    "that differs. Read each back after a restart."
)
PASS_WORDS = (
    "Pass-through: no array is made here, each drive is handed to the customer's system by itself. "
    "Use whatever the maker's set-up utility calls it."
)


STAYS_WORDS = (
    "There already: this is what has to be found, in whatever words the maker's set-up utility "
    "has for it. Nothing is set, made or cleared."
)


def arrays(build: Build, places: Placement, may_erase: bool) -> Iterator[ArrayBench]:
    """Give settings and checks array by array; none that write before anyone has agreed."""
    for index, array in enumerate(build.arrays):
        if array.action != "new":
            found = _found(build, places, index)
            yield ArrayBench(
                name=sentence(array_name(build, index)),
                settings_words=STAYS_WORDS,
                settings=tuple(Fact(label=name, value=it) for name, it in found),
                checks=_checks(_found_checks(build, places, index)) if may_erase else (),
                trial="read" if may_erase else "",
            )
            continue
        facts = tuple(Fact(label=name, value=it) for name, it in _settings(build, places, index))
        yield ArrayBench(
            name=sentence(array_name(build, index)),
            settings_words=ARRAY_WORDS if array.layout.rule.is_array else PASS_WORDS,
            settings=facts if may_erase else NOT_YET,
            checks=_checks(_array_checks(build, places, index)) if may_erase else (),
            trial="write" if may_erase else "",
        )


def _checks(rows: Iterable[tuple[str, str, str]]) -> tuple[Check, ...]:
    return tuple(Check(what=what, must=must, blank=blank) for what, must, blank in rows)


def _settings(build: Build, places: Placement, index: int) -> Iterator[tuple[str, str]]:
    array = build.arrays[index]
    controller, layout = array.controller, array.layout
    if len(build.arrays) > 1:
        yield "Controller", f"{controller.sku}, {places.seat_of(controller.sku).where}"
    if not layout.rule.is_array:
        yield "Array", "none"
        held = bays(places.bays_of(index, "passed_through"))
        yield "Passed through", f"{held}, each by itself"
        yield "Write cache", _cache(build, controller)
        yield "Hot spare", "none"
        yield "Initialisation", "none: the customer's system prepares the drives"
        return
    members, spares = places.bays_of(index, "member"), places.bays_of(index, "spare")
    yield "Level", layout.rule.label
    yield "Members", f"{count(len(members), 'drive')}: {bays(members)}"
    yield "Spans", _spans(array, places, index)
    yield "Strip", _strip(array)
    yield "Size", "all of it, one array"
    yield "Write cache", _cache(build, controller)
    yield "Drives' own write cache", "off, unless the maker says that it survives a loss of power"
    yield "Hot spare", f"{bays(spares)}, for this array" if spares else "none"
    yield "Initialisation", "full, to its end; not the quick kind"
    yield "Scrub", "all members read through once a month, unless agreed (common practice)"


def _found(build: Build, places: Placement, index: int) -> Iterator[tuple[str, str]]:
    """Say what is there, and what it is afterwards."""
    array = build.arrays[index]
    layout, controller = array.layout, array.controller
    yield "Controller", f"{controller.sku}, {places.seat_of(controller.sku).where}"
    if array.controller_before and array.controller_before.sku != controller.sku:
        yield "Made by", array.controller_before.sku
    if not layout.rule.is_array:
        yield "Drives", f"{bays(places.bays_of(index, 'passed_through'))}, each by itself"
        return
    members, then = places.bays_of(index, "member"), array.members_before
    yield "Level", layout.rule.label
    now = f"{count(len(members), 'drive')}: {bays(members)}"
    yield "Members", f"{then} now; {now} once it has grown" if array.action == "grow" else now
    if layout.rule.spanned:
        yield "Spans", _spans(array, places, index)
    yield "Strip", "as it is"
    as_it_is = "" if build.takes_over(array) else "as it is; "
    yield "Write cache", f"{as_it_is}{_cache(build, controller)}"


def _found_checks(build: Build, places: Placement, index: int) -> Iterator[tuple[str, str, str]]:
    """List what an array that stays has to show; nothing is written to it."""
    array = build.arrays[index]
    layout, rule = array.layout, array.layout.rule
    yield "Drives seen", f"{layout.drives}, no fault in the log", "serial numbers by bay"
    if rule.is_array:
        yield "State", "healthy: not degraded, not rebuilding, nothing under way", "state"
        yield "Size", size(array.usable_bytes), "as the system prints it"
    if array.bought_drives:
        tested = "extended one passed; no bad block"
        yield "Self-test of the new drives", tested, "hours; blocks"
    if array.action == "replace":
        out = [b.bay for b in places.bays if b.array == index and b.use == "member" and not b.owned]
        for bay in out:
            yield f"Bay {bay}", "old drive out, new one in, rebuilt without an error", "from, to"
    yield "Data", "read only: what the customer named opens", "which files; by whom"


def _spans(array: Array, places: Placement, index: int) -> str:
    layout = array.layout
    if layout.rule.spanned:
        each = "; ".join(
            f"span {span}: {bays(places.bays_of(index, 'member', span))}"
            for span in range(1, layout.spans + 1)
        )
        return f"{layout.spans} of {layout.members // layout.spans}: {each}"
    if layout.rule.copies == 2 and layout.data_members > 1:
        pairs = places.bays_of(index, "member")
        named = ", ".join(f"{a} + {b}" for a, b in zip(pairs[::2], pairs[1::2], strict=True))
        return f"one; mirrored pairs, where the utility asks: bays {named}"
    return "one"


def _strip(array: Array) -> str:
    layout = array.layout
    strip, data = f"{layout.strip_kib} KiB on each member", layout.data_members // layout.spans
    if data == 1:
        return f"{strip}, where the utility asks"
    each = " of a span" if layout.rule.spanned else ""
    return f"{strip} (a stripe{each} holds {layout.strip_kib * data} KiB of data)"


def _cache(build: Build, controller: Controller) -> str:
    if not controller.cache_mib:
        return "the controller has none: write-through"
    held = f"{controller.cache_mib} MiB"
    if not build.is_protected(controller):
        return f"write-through: the cache of {held} is not protected"
    owned = any(piece.owned for piece, one in build.controllers() if one.sku == controller.sku)
    whose = "the customer's own" if owned else "its"
    return f"write-back ({held}) only while {whose} protection is ready, else write-through"


def _array_checks(build: Build, places: Placement, index: int) -> Iterator[tuple[str, str, str]]:
    array = build.arrays[index]
    layout, rule, controller = array.layout, array.layout.rule, array.controller
    drives = f"{layout.drives} × {array.drive.sku}, no fault in the log, one firmware on all"
    yield "Drives seen", drives, "firmware"
    tested = "extended one passed; no bad block, nor after the soak"
    yield "Self-test", tested, "hours; blocks"
    yield "Arrays", _how_many(build, controller), "number"
    if rule.is_array:
        yield "State", "healthy: initialised, not degraded, not rebuilding", "state"
        yield "Size", size(array.usable_bytes), "as the system prints it"
    else:
        held = bays(places.bays_of(index, "passed_through"))
        listed = f"{layout.members}, {held}, each healthy"
        yield "Drives the operating system lists", listed, "number"
        yield "Size of each", size(array.drive_bytes), "as the system prints it"
    # Past the cache, or it would be the cache that is read back; yet not past the array.
    cache = -(-2 * controller.cache_mib // 1024)
    gib = max(1, min(max(READ_BACK_GIB, cache), array.usable_bytes // 2 // GIB))
    back = f"{gib} GiB written, restarted, read back: SHA-256 equal, no error logged"
    yield "Read-back", back, "equal? MB/s"


def _how_many(build: Build, controller: Controller) -> str:
    """Say how many arrays a controller must show."""
    made = sum(array.layout.rule.is_array for array in build.arrays_on(controller))
    if not made:
        return "none"
    where = f" on {controller.sku}" if len(build.arrays) > 1 else ""
    return f"{spelled(made)}{where}, and no other"


def server_checks(build: Build, places: Placement, soak_hours: int | None) -> tuple[Check, ...]:
    """List what the whole server must show; hours that the terms do not give are a day."""
    linked = [seat for seat in places.seats if seat.link_words]
    what = "Host link of {}" if len(linked) > 1 else "Host link"
    links = [(what.format(s.sku), s.link_words, "generation, lanes") for s in linked]
    load = f"{soak_hours or SOAK_HOURS} hours under load"
    load += "" if soak_hours else " (common practice)"
    soak = f"{load}; no drive, link or memory error; cool"
    power = f"about {plain(build.watts)} W as rated; well above it, find out why"
    loaded = not build.only_keeps_arrays
    over = "over the soak" if loaded else "meanwhile"
    safety = "tested by those licensed to do it, as local codes say"
    checks = [
        ("Electrical safety", safety, "report"),
        ("Firmware", "of chassis and controllers, noted", "versions"),
        *links,
        ("Test alert", "sent, and received", "by, when"),
        ("Link errors", f"no increase {over}: {counted(build)}", "before, after"),
    ]
    if loaded:
        checks.insert(-1, ("Burn-in", soak, "from, to, hottest °C"))
        checks.append(("Power under load", power, "W"))
    if fitted := build.listed("processor socket", "memory slot"):
        checks.insert(2, ("Processors, memory", f"{fitted}, no error logged", "cores, GB"))
    if one_less(build) and not build.keeps_arrays:
        alone = "stays up, logs the fault and clears it, with each supply's cord out in turn"
        checks.append(("One supply less", alone, "which; W"))
    checks.append(("Settings", "exported, kept with the paperwork", "file"))
    return _checks(checks)
