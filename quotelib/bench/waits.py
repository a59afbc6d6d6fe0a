"""How long does it run by itself: hours of self-test, initialisation and soak, beside minutes."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Literal

from quotelib.bench.shown import Wait
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.estimate.performance.whole_drive import AT_MOST
from quotelib.predict.estimate import Estimate
from quotelib.ready.unattended import initialised_hours, tested_hours
from quotelib.text import both, figure, sentence
from quotelib.units import plain

_What = Literal["self_test", "initialisation", "growth", "rebuilds"]
_IDLE = "idle machine; the range is common practice, no source"
_ON_IDLE = {
    "self_test": ("self-test", "each drive read"),
    "initialisation": ("initialisation", "each member written"),
}
_AT_WORK = {
    "growth": "growing",
    "rebuilds": "rebuilds (one a day, or one after the other where each takes longer)",
}


def change_of(array: Array, estimates: Sequence[Estimate]) -> Wait | None:
    """Say how long a change of an array runs; None where none is asked or it is not known."""
    what: _What
    if array.action == "grow":
        what, name, key, in_hours = "growth", "growing", "growth_hours", 1
    elif array.action == "replace":
        what, name, key, in_hours = "rebuilds", "rebuilds", "replacement_days", 24
    else:
        return None
    found = next((one for one in estimates if one.key == key), None)
    if found is None or found.value is None:
        return None
    hours = in_hours * found.value
    high = hours if found.high is None else in_hours * found.high
    words = f"about {figure(hours, 2)} hours {name} (up to {figure(high, 2)})"
    return Wait(what=what, hours=hours, high_hours=high, words=words, basis=found.basis)


def change_words(wait: Wait | None) -> str:
    """Say how long a change runs."""
    return "how long that takes is not known" if wait is None else wait.words


def waits(
    build: Build, soak_hours: int, may_erase: bool, changes: Sequence[Wait | None] = ()
) -> Iterator[Wait]:
    """List what runs unattended in one server, one after the other; nothing where it must not."""
    if not may_erase:
        return
    if hours := tested_hours(build):
        basis = f"each drive tested read once at its rated rate; each states its own time; {_IDLE}"
        yield _estimated("self_test", "self-test", hours, basis)
    if hours := initialised_hours(build):
        basis = (
            f"every member written once at the rate that drive, link and controller allow; {_IDLE}"
        )
        yield _estimated("initialisation", "initialisation", hours, basis)
    yield from filter(None, changes)
    if build.only_keeps_arrays:
        return  # what stays is not written to
    soak = float(soak_hours)
    yield Wait(
        what="soak", hours=soak, high_hours=soak, words=f"{soak_hours} hours soak",
        basis="as the acceptance table says",
    )  # fmt: skip


def _estimated(what: _What, name: str, hours: float, basis: str) -> Wait:
    most = AT_MOST * hours
    words = f"about {figure(hours, 2)} hours {name} (up to {figure(most, 2)})"
    return Wait(what=what, hours=hours, high_hours=most, words=words, basis=basis)


def time_words(build: Build, minutes: Decimal, found: Sequence[Wait], may_erase: bool) -> str:
    """Say hands-on and unattended time, and what the estimates of it rest on."""
    words = f"Hands-on: {plain(minutes)} minutes (from services)."
    if not may_erase:
        return f"{words} Unattended: none before the customer has said whether the data must stay."
    changed = sum(array.action in ("grow", "replace") for array in build.arrays)
    said = [wait.words for wait in found]
    if sum(wait.what in _AT_WORK for wait in found) < changed:
        said.append("a change of the array for which no time is known")
    words += f" Unattended: {', '.join(said) or 'none'}."
    runs = {wait.what for wait in found}
    at_work = [name for what, name in _AT_WORK.items() if what in runs]
    if idle := [of for what, of in _ON_IDLE.items() if what in runs]:
        names, ways = zip(*idle, strict=True)
        which = f"{sentence(both(names))}: estimated" if at_work else "Estimated"
        words += f" {which} for an idle machine, {both(ways)} once; at most twice that (common "
        words += "practice)."
    if at_work:
        words += f" {sentence(both(at_work))}: estimated for an array that works meanwhile."
    return words
