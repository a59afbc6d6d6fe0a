"""Read a bench sheet as somebody at the bench would: bays in sentences, hazards in steps."""

import re

from quotelib.bench.shown import BenchSheet, BenchStep, Check

# What in a step's words calls for which caution, written without a look at the code.
CALLS = {
    "data": r"create (the array|array )|assign the|initialise|read-back check|"
    r"passed through by itself|backup made",
    "supply": r"cover off|supply cord|connect the supply|disconnect every|electrical|cord in turn",
    "static": r"seat .* (board edge|in slot)|onto the connector|bracket .*(to|of) \S+\.|"
    r"each .*drive into|push in|plug|strap on\b|pack the drives",
    "lifting": r"\blift\b|\bpack the chassis",
    "edges": r"cover (off|on)|riser|remove the blank|screws\. evenly|leads .*seated|"
    r"ends must lock|hours under load|and start\b",
    "lithium": r"cache protection of \S+\. it must be whole|cpm-",
}
# What a step of a bench sheet may start with: it says what to do.
VERB = re.compile(
    r"(assign|ask|check|compare|connect|create|export|fetch|find|fit|go|have|initialise|keep|lift|"
    r"measure|note|pack|pass|photograph|plug|press|pull|push|put|read|refit|remove|run|seat|send|set|"
    r"settle|shut|stop|take|wait|weigh)\b",
    re.IGNORECASE,
)


def said(one: BenchStep) -> str:
    """Give all of what a step says."""
    return f"{one.title}. {one.words}"


def pushed(bench: BenchSheet) -> list[set[int]]:
    """Read the bays that drives are pushed into, step by step."""
    return [bays_in(one.words) for one in bench.steps if one.title.startswith("Push in")]


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
    """List what a step calls for and neither it nor the cautions in full tell of."""
    head = {c.hazard for c in bench.cautions}
    missing = []
    for one in bench.steps:
        words = said(one).lower()
        for hazard, calls in CALLS.items():
            if re.search(calls, words):
                if hazard not in {c.hazard for c in one.cautions}:
                    missing.append(f"{one.number} {one.title}: {hazard} at the step")
                if hazard not in head:
                    missing.append(f"{one.number} {one.title}: {hazard} over the steps")
    return missing
