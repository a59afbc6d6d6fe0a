"""What can hurt at the bench: each hazard's caution in full, and in short for its steps.

Usual cautions, deferring to makers' manuals, local rules and licensed practice. Static: IEC
61340-5-1, ANSI/ESD S20.20. Mass: the lifting constant of the revised NIOSH equation.
"""

from collections.abc import Iterable, Iterator

from quotelib.bench.shown import BenchCaution, Hazard, StepCaution
from quotelib.build.advice import is_heavy
from quotelib.build.build import Build
from quotelib.estimate.running import LIFTING_CONSTANT_KG
from quotelib.text import kg

RULE = (
    "Follow the maker's manual and local rules, before this sheet; electrical work only by those "
    "licensed to do it."
)


def has_lithium(build: Build) -> bool:
    """Tell whether cells in a cache protection are to be reckoned with."""
    return any(build.is_protected(controller) for _, controller in build.controllers())


def _mass(build: Build) -> tuple[str, str]:
    limit, all_of_it = f"{LIFTING_CONSTANT_KG:g} kg", kg(build.mass_g())
    text = f"The chassis has {kg(build.chassis.mass_g)} empty, {all_of_it} with all parts. "
    if is_heavy(build):
        text += (
            f"That is over the lifting constant of {limit} (revised NIOSH equation): two "
            "people or a lift, never one person. Local limits may be lower."
        )
        return text, f"{all_of_it} complete, over {limit}: two people or a lift."
    text += (
        f"The lifting constant of {limit} (revised NIOSH equation) is for a perfect lift: "
        "reach, height and twisting lower it, and so may local limits. In doubt, a second person."
    )
    return text, f"{all_of_it} complete: in doubt, two people."


def _words(build: Build) -> dict[Hazard, tuple[str, str, str]]:
    """Give each hazard's name, its caution in full, and in short."""
    theirs = ""
    if any(array.have_drives for array in build.arrays):
        some = "Some of these" if any(array.bought_drives for array in build.arrays) else "These"
        theirs = f" {some} drives are the customer's and may hold the only copy of something."
    return {
        "data": (
            "Erasing data",
            "Creating an array, assigning a hot spare, and writing test data each erase the drives "
            "they touch. Only drives of this build may be connected: compare bays and serial "
            f"numbers first.{theirs}",
            "This erases drives: compare bays and serial numbers first.",
        ),
        "supply": (
            "Mains and stored energy",
            "Before the cover comes off: shut down, disconnect every supply cord and wait until "
            "all lights are out, and as long as the maker's manual says. Supply units stay closed.",
            "Mains and stored energy: every cord out, lights out, wait.",
        ),
        "static": (
            "Static",
            "Wrist strap on the bench's earth point, dissipative mat, parts in their bags until "
            "fitted (IEC 61340-5-1, ANSI/ESD S20.20). No strap while mains is connected and the "
            "cover is off.",
            "Static: strap on, parts in bags until fitted.",
        ),
        "lifting": ("Mass", *_mass(build)),
        "edges": (
            "Edges, heat, fans",
            "Sheet metal cuts. Heat sinks, controllers and drives stay hot after shut-down: let "
            "them cool. Keep fingers, hair, cords and straps out of fans.",
            "Sheet metal cuts.",
        ),
        "lithium": (
            "Lithium cells",
            "The cache protection may hold lithium cells: do not open, crush, short, heat or fit a "
            "swollen one. Lithium rules for transport (UN 38.3) apply when it is sent.",
            "Lithium: do not open, crush, short or heat the module.",
        ),
    }


def cautions(build: Build, hazards: Iterable[Hazard]) -> Iterator[BenchCaution]:
    """Say the caution of each hazard in full, in the order of this module."""
    there = set(hazards)
    for hazard, (name, words, _) in _words(build).items():
        if hazard in there:
            yield BenchCaution(hazard=hazard, name=name, words=words)


def at_step(hazard: Hazard, build: Build, note: str = "") -> StepCaution:
    """Say a hazard's caution in short; a note of what bites at this very step replaces it."""
    return StepCaution(hazard=hazard, words=note or _words(build)[hazard][2])
