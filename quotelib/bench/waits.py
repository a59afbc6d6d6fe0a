"""How long does it run by itself: hours of self-test, initialisation and soak, beside minutes."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Literal

from quotelib.bench.shown import Wait
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.speed import drive_link_mb_s
from quotelib.estimate.performance.whole_drive import AT_MOST, initialise_hours, self_test_hours
from quotelib.predict.estimate import Estimate
from quotelib.text import figure
from quotelib.units import plain

_What = Literal["self_test", "initialisation", "growth", "rebuilds"]
_UNKNOWN = float("inf")
_IDLE = "idle machine; the range is common practice, no source"
_ESTIMATED = (
    "an idle machine, each drive read and each member written once; at most twice that (common "
    "practice)"
)


def change_of(array: Array, estimates: Sequence[Estimate]) -> Wait | None:
    """Say how long growing an array or changing its drives runs; None: neither is asked, or not
    known.
    """
    key, hours = {"grow": ("growth_hours", 1), "replace": ("replacement_days", 24)}.get(
        array.action, ("", 0)
    )
    found = next((one for one in estimates if one.key == key and one.value is not None), None)
    if found is None or found.value is None:
        return None
    what: _What = "growth" if array.action == "grow" else "rebuilds"
    name = "growing" if array.action == "grow" else "rebuilds"
    value = hours * found.value
    high = value if found.high is None else hours * found.high
    words = f"about {figure(value, 2)} hours {name} (up to {figure(high, 2)})"
    return Wait(what=what, hours=value, high_hours=high, words=words, basis=found.basis)


def change_words(wait: Wait | None) -> str:
    """Say how long a change runs."""
    return "how long that takes is not known" if wait is None else wait.words


def waits(
    build: Build, soak_hours: int, may_erase: bool, changes: Sequence[Wait | None] = ()
) -> Iterator[Wait]:
    """List what runs unattended in one server, one after the other; nothing where it must not."""
    if not may_erase:
        return
    made = [a for a in build.arrays if a.layout.rule.is_array and a.action == "new"]
    tests = (float(self_test_hours(a.drive_bytes, a.drive.read_mb_s)) for a in build.arrays)
    if hours := max(tests, default=0.0):
        basis = f"every drive read once at its rated rate; each states its own time; {_IDLE}"
        yield _estimated("self_test", "self-test", hours, basis)
    if hours := max((_initialise_hours(array, made) for array in made), default=0.0):
        basis = (
            f"every member written once at the rate that drive, link and controller allow; {_IDLE}"
        )
        yield _estimated("initialisation", "initialisation", hours, basis)
    yield from filter(None, changes)
    if build.arrays and "new" not in build.actions:
        return  # what stays is not written to
    soak = float(soak_hours)
    yield Wait(
        what="soak", hours=soak, high_hours=soak, words=f"{soak_hours} hours soak",
        basis="as the acceptance table says",
    )  # fmt: skip


def _initialise_hours(array: Array, made: Sequence[Array]) -> float:
    """Give the hours of one array while its controller initialises all of its own."""
    controller = array.controller
    same = [one for one in made if one.controller.sku == controller.sku]
    link = drive_link_mb_s(array.drive, controller)
    return float(
        initialise_hours(
            array.member_bytes,
            array.drive.write_mb_s,
            sum(one.layout.members for one in same),
            _UNKNOWN if link is None else link,
            controller.max_mb_s or _UNKNOWN,
        )
    )


def _estimated(what: _What, name: str, hours: float, basis: str) -> Wait:
    most = AT_MOST * hours
    words = f"about {figure(hours, 2)} hours {name} (up to {figure(most, 2)})"
    return Wait(what=what, hours=hours, high_hours=most, words=words, basis=basis)


def time_words(minutes: Decimal, found: Sequence[Wait]) -> str:
    """Say hands-on and unattended time, and what the estimates of it rest on."""
    words = f"Hands-on: {plain(minutes)} minutes (from services)."
    if not found:
        return f"{words} Unattended: none before the customer has said whether the data must stay."
    words += f" Unattended: {', '.join(wait.words for wait in found)}."
    if len(found) > 1:
        words += f" Estimates are for {_ESTIMATED}."
    return words
