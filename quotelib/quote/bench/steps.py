"""How is it built: numbered steps from the placement, each with the cautions that bite there.

The order of work is common practice, no source; makers' manuals come first.
"""

from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.build.placement import Placement
from quotelib.quote.bench.cautions import at_step, has_lithium
from quotelib.quote.bench.fitting import (
    Step,
    bays_words,
    fit_controller,
    fit_drives,
    fit_small_parts,
)
from quotelib.quote.bench.record import BenchStep, Hazard
from quotelib.quote.words import count


def steps(
    build: Build, places: Placement, burn_in_hours: int, may_erase: bool
) -> Iterator[BenchStep]:
    """List the steps, numbered.

    Parameters
    ----------
    build : Build
    places : Placement
        Of this build.
    burn_in_hours : int
    may_erase : bool
        Whether the drives may be written over. Where nobody has said so of the customer's, the
        steps end before the array.

    Yields
    ------
    BenchStep
    """
    found = (
        *_begin(build),
        *fit_controller(build, places),
        *fit_small_parts(build, places),
        *fit_drives(build, places),
        *_first_start(build, places),
        *(_array(build, places) if may_erase else _ask_first(build)),
        *_finish(build, places, burn_in_hours, may_erase),
    )
    for number, step in enumerate(found, start=1):
        yield BenchStep(
            number=number,
            title=step.title,
            words=step.words,
            cautions=tuple(at_step(hazard, build, note) for hazard, note in step.hazards),
        )


def _begin(build: Build) -> Iterator[Step]:
    owned = build.parts.owned
    if owned:
        yield Step(
            "Customer's data",
            "Do not start before the box above is filled in: backup made, restore tested.",
            (("data", "What is lost now stays lost."),),
        )
    yield Step(
        "Pick and compare",
        "Fetch everything on the pick list, compare skus, tick, and note serial numbers. Set aside "
        "what is damaged or does not match.",
        (("static", ""),),
    )
    if "chassis" in owned:
        yield Step(
            "Shut down and disconnect",
            "Shut the customer's server down in order, disconnect every supply cord and every "
            "other lead, and wait.",
            (("supply", ""),),
        )
    else:
        yield Step(
            "No supply",
            "Make sure that no supply cord is in the chassis, and that none goes in before the "
            "step that says so.",
            (("supply", ""),),
        )
    yield Step(
        "To the bench",
        f"Lift {build.chassis.sku} onto the mat and put the strap on.",
        (("lifting", ""), ("static", "")),
    )
    if "chassis" in owned:
        yield Step(
            "Drives that are in it already",
            "Label each with its bay number, take it out and set it aside for the customer. Only "
            "those on the pick list go in again, at their step.",
            (("data", "None of them is erased or swapped."), ("static", "")),
        )
    yield Step("Open", "Take the cover off.", (("edges", ""), ("supply", "")))


def _first_start(build: Build, places: Placement) -> Iterator[Step]:
    yield Step(
        "Close and power on",
        "Look for loose screws and leads, put the cover on, take the strap off, then connect the "
        "supply and start.",
        (
            ("supply", "Mains: cover on before the cord goes in; sound cords and outlets only."),
            ("edges", "Fans start at once."),
        ),
    )
    yield Step(
        "What the controller sees",
        f"In the maker's set-up utility {places.controller.sku} must list "
        f"{count(build.layout.drives, 'drive')} {build.drive.sku} without a fault, in the bays of "
        "the plan. Note the firmware version.",
    )


def _ask_first(build: Build) -> Iterator[Step]:
    drives = count(build.layout.drives, "drive")
    yield Step(
        "Stop and ask",
        f"Nobody has said yet whether the data on the customer's {drives} must stay. Make and "
        "change nothing on them, answer no question of the set-up utility about them, and ask who "
        "signed this sheet for one that says so.",
        (("data", "What is on these drives may be the only copy."),),
    )


def _array(build: Build, places: Placement) -> Iterator[Step]:
    layout = build.layout
    if not layout.rule.is_array:
        yield Step(
            "Pass through",
            f"Apply the settings below: no array, {bays_words(places.bays_of('passed_through'))} "
            "each passed through by itself.",
            (("data", "Make no array and initialise nothing: either would erase drives."),),
        )
        return
    yield Step(
        "Create the array",
        f"Apply the settings below: {layout.rule.label}, members in "
        f"{bays_words(places.bays_of('member'))}. Have a second person read the bays back before "
        "you confirm.",
        (
            (
                "data",
                f"This erases {bays_words(places.bays_of('member'))}: compare bays and serial "
                "numbers first.",
            ),
        ),
    )
    if spares := places.bays_of("spare"):
        yield Step(
            "Assign the spare" if len(spares) == 1 else "Assign the spares",
            f"Assign {bays_words(spares)} to this array as hot "
            f"{'spare' if len(spares) == 1 else 'spares'}.",
            (("data", f"This erases {bays_words(spares)}."),),
        )
    yield Step(
        "Initialise",
        "Start the full initialisation and wait until it has ended without an error.",
        (("data", "It overwrites the members."),),
    )


def _finish(build: Build, places: Placement, burn_in_hours: int, may_erase: bool) -> Iterator[Step]:
    if may_erase:
        yield Step(
            "Acceptance and burn-in",
            f"Go through the acceptance table, run the read-back check, then {burn_in_hours} hours "
            "under load. Write down what was measured.",
            (
                ("data", "Test data overwrites what is there."),
                ("edges", "Drives and heat sinks get hot."),
            ),
        )
    rails = [item.sku for item in places.accessories if item.kind == "rail"]
    lithium: tuple[tuple[Hazard, str], ...] = (
        (("lithium", "Lithium: UN 38.3 and the carrier's rules for sending it."),)
        if has_lithium(build)
        else ()
    )
    yield Step(
        "Shut down and pack",
        "Shut down in order, disconnect every cord, wait until all lights are out. Pack with "
        + (f"{' and '.join(rails)}, " if rails else "")
        + "the slot blanks and a copy of this sheet.",
        (("supply", ""), ("lifting", ""), *lithium),
    )
