"""What can hurt, and how is it said: in full over the steps of a page, in short at a step.

Common practice, no source, deferring to makers' manuals, local rules and licensed practice.
Static: IEC 61340-5-1, ANSI/ESD S20.20. Mass: the lifting constant of the revised NIOSH equation.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from quotelib.bench.shown import BenchCaution, BenchStep, Hazard, StepCaution
from quotelib.build.build import Build
from quotelib.estimate.running import LIFTING_CONSTANT_KG
from quotelib.text import kg

Hazards = dict[Hazard, str]
"""What can hurt at a step, each with a note where the usual words will not do."""
Words = dict[Hazard, tuple[str, str, str]]
"""Of each hazard, the gravest first: name, caution in full and in short."""

STATIC: Hazards = {"static": ""}
EDGES: Hazards = {"edges": ""}
SUPPLY: Hazards = {"supply": ""}
LIFTING: Hazards = {"lifting": ""}
LITHIUM: Hazards = {"lithium": ""}
HELD: Hazards = {"static": "Static and shock: strap on."}

USUAL: Words = {
    "supply": (
        "Mains and stored energy",
        "Before the cover comes off: shut down, disconnect every supply cord and wait until all "
        "lights are out, and as long as the maker's manual says. Supply units stay closed. Cover "
        "on before a cord goes in; sound cords and outlets only.",
        "Mains: every cord out, lights out, wait.",
    ),
    "static": (
        "Static",
        "Strap on the bench's earth point, dissipative mat, parts bagged until fitted, drives held "
        "by the sides (IEC 61340-5-1, ANSI/ESD S20.20). No strap while mains is connected and the "
        "cover is off.",
        "Static: strap on.",
    ),
    "edges": (
        "Edges, heat, fans",
        "Sheet metal cuts. Heat sinks, cards and drives stay hot: let them cool. Keep fingers, "
        "hair, cords and straps out of fans.",
        "Sheet metal cuts.",
    ),
    "lithium": (
        "Lithium cells",
        "Cache protection may hold them: do not open, crush, short or heat it, fit no swollen one. "
        "UN 38.3 and transport rules apply.",
        "Lithium: do not open, crush, short or heat.",
    ),
}
"""Hazards that are the same whatever is built."""


@dataclass(frozen=True, slots=True)
class Step:
    """A step without its number: what to do, starting with a verb, and how."""

    title: str
    words: str
    hazards: Hazards = field(default_factory=dict)


def mass_words(mass_g: Decimal, whole: str, first: str = "") -> tuple[str, str]:
    """Say in full, after what comes first, and in short how a `whole` mass is lifted."""
    limit, all_of_it = f"{LIFTING_CONSTANT_KG:g} kg", f"{kg(mass_g)} {whole}"
    if mass_g > LIFTING_CONSTANT_KG * 1000:
        text = (
            f"{first}That is over the lifting constant of {limit} (revised NIOSH equation): two "
            "people or a lift, never one person. Local limits may be lower."
        )
        return text, f"{all_of_it}, over {limit}: two people or a lift."
    text = (
        f"{first}The lifting constant of {limit} (revised NIOSH equation) is for a perfect lift: "
        "reach, height and twisting lower it, and so may local limits. In doubt, a second person."
    )
    return text, f"{all_of_it}: in doubt, two people."


def words_of(build: Build) -> Words:
    """Give the words for the hazards of a build."""
    empty, whole = kg(build.chassis.mass_g), kg(build.mass_g())
    masses = f"The chassis has {empty} empty, {whole} with all parts. "
    theirs = ""
    if any(array.have_drives for array in build.arrays):
        some = "Some of these" if any(array.bought_drives for array in build.arrays) else "These"
        theirs = f" {some} drives are the customer's and may hold the only copy of something."
    data = (
        "Erasing data",
        "Creating an array, assigning a spare and writing test data erase the drives they "
        f"touch. Connect only those of this build; compare bays and serial numbers.{theirs}",
        "This erases drives: compare bays and serial numbers first.",
    )
    if "new" not in build.actions:
        data = (
            "The customer's data",
            "What is on these drives may be the only copy of it. Nothing on this sheet makes or "
            "clears an array: where that is offered, answer nothing, shut down, ask.",
            "Change nothing on these drives.",
        )
    return {
        "data": data,
        "supply": USUAL["supply"],
        "static": USUAL["static"],
        "lifting": ("Mass", *mass_words(build.mass_g(), "complete", masses)),
        "edges": USUAL["edges"],
        "lithium": USUAL["lithium"],
    }


def numbered(phases: Mapping[str, Iterable[Step]], words: Words) -> Iterator[BenchStep]:
    """Number the steps of phases through; a hazard that `words` does not know is none here."""
    every = ((name, step) for name, steps in phases.items() for step in steps)
    for number, (phase, step) in enumerate(every, start=1):
        hurts = tuple(
            StepCaution(hazard=hazard, words=note or words[hazard][2])
            for hazard, note in step.hazards.items()
            if hazard in words
        )
        yield BenchStep(
            number=number, phase=phase, title=step.title, words=step.words, cautions=hurts
        )


def in_full(steps: Iterable[BenchStep], words: Words) -> Iterator[BenchCaution]:
    """Say in full the hazards that steps meet, in the order of `words`."""
    there = {caution.hazard for step in steps for caution in step.cautions}
    for hazard, (name, full, _) in words.items():
        if hazard in there:
            yield BenchCaution(hazard=hazard, name=name, words=full)
