"""What can hurt at the bench: each hazard's caution in full, and in short for its steps.

Usual cautions, deferring to makers' manuals, local rules and licensed practice. Static: IEC
61340-5-1, ANSI/ESD S20.20. Mass: the lifting constant of the revised NIOSH equation.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.estimate.running.mass import LIFTING_CONSTANT_KG
from quotelib.quote.bench.record import BenchCaution, Hazard, StepCaution
from quotelib.units import plain, round_half_away

RULE = (
    "Follow the maker's manual and local rules, before this sheet; electrical work only by those "
    "licensed to do it."
)

_NAMES: dict[Hazard, str] = {
    "data": "Erasing data",
    "supply": "Mains and stored energy",
    "static": "Static",
    "lifting": "Mass",
    "edges": "Edges, heat, fans",
    "lithium": "Lithium cells",
}


def has_lithium(build: Build) -> bool:
    """Tell whether cells in a cache protection are to be reckoned with."""
    return build.controller.cache_protection != "none" or build.parts.cache_is_protected


def kg(mass_g: Decimal) -> str:
    """Write a mass."""
    return f"{plain(round_half_away(mass_g / 1000, 1))} kg"


def too_heavy(build: Build) -> bool:
    """Tell whether the complete build is over the lifting constant."""
    return build.mass_g() > Decimal(str(LIFTING_CONSTANT_KG)) * 1000


def _mass(build: Build) -> str:
    limit = f"{LIFTING_CONSTANT_KG:g} kg"
    text = (
        f"The chassis has {kg(build.chassis.mass_g)} empty, {kg(build.mass_g())} with all parts. "
    )
    if too_heavy(build):
        return (
            f"{text}That is over the lifting constant of {limit} (revised NIOSH equation): two "
            "people or a lift, never one person. Local limits may be lower."
        )
    return (
        f"{text}The lifting constant of {limit} (revised NIOSH equation) is for a perfect lift: "
        "reach, height and twisting lower it, and so may local limits. In doubt, a second person."
    )


def _words(hazard: Hazard, build: Build) -> str:
    theirs = "drive" in build.parts.owned
    return {
        "data": (
            "Creating an array, assigning a hot spare, and writing test data each erase the drives "
            "they touch. Only drives of this build may be connected: compare bays and serial "
            "numbers first."
            + (
                " These drives are the customer's and may hold the only copy of something."
                if theirs
                else ""
            )
        ),
        "supply": (
            "Before the cover comes off: shut down, disconnect every supply cord and wait until "
            "all lights are out, and as long as the maker's manual says. Supply units stay closed."
        ),
        "static": (
            "Wrist strap on the bench's earth point, dissipative mat, parts in their bags until "
            "fitted (IEC 61340-5-1, ANSI/ESD S20.20). No strap while mains is connected and the "
            "cover is off."
        ),
        "lifting": _mass(build),
        "edges": (
            "Sheet metal cuts. Heat sinks, controllers and drives stay hot after shut-down: let "
            "them cool. Keep fingers, hair, cords and straps out of fans."
        ),
        "lithium": (
            "The cache protection may hold lithium cells: do not open, crush, short, heat or fit a "
            "swollen one. Lithium rules for transport (UN 38.3) apply when it is sent."
        ),
    }[hazard]


def cautions(build: Build, hazards: Iterable[Hazard]) -> Iterator[BenchCaution]:
    """Say the caution of each hazard in full, in the order of this module."""
    there = set(hazards)
    for hazard, name in _NAMES.items():
        if hazard in there:
            yield BenchCaution(hazard=hazard, name=name, words=_words(hazard, build))


def at_step(hazard: Hazard, build: Build, note: str = "") -> StepCaution:
    """Say a hazard's caution in short.

    Parameters
    ----------
    hazard : str
    build : Build
    note : str
        What bites at this very step, in place of the usual words.
    """
    mass = kg(build.mass_g())
    usual: dict[Hazard, str] = {
        "data": "This erases drives: compare bays and serial numbers first.",
        "supply": "Mains and stored energy: every cord out, lights out, wait.",
        "static": "Static: strap on, parts in bags until fitted.",
        "lifting": f"{mass} complete, over {LIFTING_CONSTANT_KG:g} kg: two people or a lift."
        if too_heavy(build)
        else f"{mass} complete: in doubt, two people.",
        "edges": "Sheet metal cuts.",
        "lithium": "Lithium: do not open, crush, short or heat the module.",
    }
    return StepCaution(hazard=hazard, words=note or usual[hazard])
