"""Read a bench sheet as somebody at the bench would: bays in sentences, hazards in steps."""

import re

from quotelib.bench.shown import BenchSheet, BenchStep, Check

# What in a step's words calls for which caution, written without a look at the code.
CALLS = {
    "data": r"create the array|assign.* (hot )?spare|initialisation|read-back check|"
    r"passed through by itself|backup made",
    "supply": r"cover off|supply cord|connect the supply|disconnect every",
    "static": r"seat .* (board edge|fully)|onto the connector|bracket .* card|each .*drive into|"
    r"push \S+ into|plug|strap on\b",
    "lifting": r"\blift\b|\bpack with\b",
    "edges": r"cover off|riser|remove the blank|screws, evenly|leads? .*seated|ends must lock|"
    r"hours under load|and start\b",
    "lithium": r"cache protection|plug its lead|cpm-",
}


def checks_of(bench: BenchSheet) -> list[Check]:
    return [*(c for array in bench.arrays for c in array.checks), *bench.checks]


def bays_in(words: str) -> set[int]:
    """Read the bays that a sentence names."""
    found: set[int] = set()
    for text in re.findall(r"\b[Bb]ays? (\d+(?: to \d+)?(?:, \d+(?: to \d+)?)*)", words):
        for part in text.split(", "):
            first, _, last = part.partition(" to ")
            found.update(range(int(first), int(last or first) + 1))
    return found


def step(bench: BenchSheet, title: str) -> BenchStep:
    (found,) = [s for s in bench.steps if s.title == title]
    return found


def uncautioned(bench: BenchSheet) -> list[str]:
    """List what a step calls for and neither it nor the head of the sheet cautions about."""
    head = {c.hazard for c in bench.cautions}
    missing = []
    for one in bench.steps:
        words = f"{one.title}: {one.words}".lower()
        for hazard, calls in CALLS.items():
            if re.search(calls, words):
                if hazard not in {c.hazard for c in one.cautions}:
                    missing.append(f"{one.number} {one.title}: {hazard} at the step")
                if hazard not in head:
                    missing.append(f"{one.number} {one.title}: {hazard} before the first step")
    return missing
