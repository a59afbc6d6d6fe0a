"""How long does it run by itself: hours of self-test, initialisation and soak, beside minutes."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Literal

from quotelib.bench.shown import Wait
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.speed import drive_link_mb_s
from quotelib.estimate.performance.whole_drive import AT_MOST, initialise_hours, self_test_hours
from quotelib.text import figure
from quotelib.units import plain

_What = Literal["self_test", "initialisation"]
_UNKNOWN = float("inf")
_IDLE = "idle machine; the range is common practice, no source"
_ESTIMATED = (
    "an idle machine, each drive read and each member written once; at most twice that (common "
    "practice)"
)


def waits(build: Build, soak_hours: int, may_erase: bool) -> Iterator[Wait]:
    """List what runs unattended in one server, one after the other; nothing where it must not."""
    if not may_erase:
        return
    made = [array for array in build.arrays if array.layout.rule.is_array]
    tests = (float(self_test_hours(a.drive_bytes, a.drive.read_mb_s)) for a in build.arrays)
    if hours := max(tests, default=0.0):
        basis = f"every drive read once at its rated rate; each states its own time; {_IDLE}"
        yield _estimated("self_test", "self-test", hours, basis)
    if hours := max((_initialise_hours(array, made) for array in made), default=0.0):
        basis = (
            f"every member written once at the rate that drive, link and controller allow; {_IDLE}"
        )
        yield _estimated("initialisation", "initialisation", hours, basis)
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
