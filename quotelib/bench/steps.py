"""How is it built: numbered steps from the placement, each with the cautions that bite there.

The order of work is common practice, no source; makers' manuals come first. So are the cautions,
deferring to makers' manuals, local rules and licensed practice. Static: IEC 61340-5-1, ANSI/ESD
S20.20. Mass: the lifting constant of the revised NIOSH equation.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from quotelib.bench import fitting
from quotelib.bench.fitting import EDGES, STATIC, Hazards, Step
from quotelib.bench.plan import array_name, of_array
from quotelib.bench.shown import BenchCaution, BenchStep, Hazard, StepCaution
from quotelib.build.build import Build
from quotelib.build.placement import Placement
from quotelib.catalogue.parts import Controller
from quotelib.estimate.running import LIFTING_CONSTANT_KG
from quotelib.text import bays, both, count, kg, plural

_SUPPLY: Hazards = {"supply": ""}
_LIFTING: Hazards = {"lifting": ""}

RULE = (
    "Follow the maker's manual and local rules, before this sheet; electrical work only by those "
    "licensed to do it."
)


def steps(
    build: Build, places: Placement, burn_in_hours: int, may_erase: bool
) -> Iterator[BenchStep]:
    """List the steps, numbered; while nothing may be erased they end before the arrays."""
    found = (
        *_begin(build),
        *fitting.fit_parts(build, places),
        *fitting.fit_small_parts(build, places),
        *fitting.fit_drives(build, places),
        *_first_start(build),
        *(_make(build, places) if may_erase else _ask_first(build)),
        *_finish(build, places, burn_in_hours, may_erase),
    )
    usual = _words(build)
    for number, step in enumerate(found, start=1):
        hurts = tuple(
            StepCaution(hazard=hazard, words=note or usual[hazard][2])
            for hazard, note in step.hazards.items()
        )
        yield BenchStep(number=number, title=step.title, words=step.words, cautions=hurts)


def _begin(build: Build) -> Iterator[Step]:
    if any(piece.owned for piece in build.pieces()):
        words = "Do not start before the box above is filled in: backup made, restore tested."
        yield Step("Customer's data", words, {"data": "What is lost now stays lost."})
    words = "Fetch everything on the pick list, compare skus, tick, and note serial numbers."
    words += " Set aside what is damaged or does not match."
    yield Step("Pick and compare", words, STATIC)
    if build.chassis_owned:
        words = "Shut the customer's server down in order, disconnect every supply cord"
        yield Step("Shut down and disconnect", f"{words} and every other lead, and wait.", _SUPPLY)
    else:
        words = "Make sure that no supply cord is in the chassis,"
        words += " and that none goes in before the step that says so."
        yield Step("No supply", words, _SUPPLY)
    words = f"Lift {build.chassis.sku} onto the mat and put the strap on."
    yield Step("To the bench", words, _LIFTING | STATIC)
    if build.chassis_owned:
        words = "Label each with its bay number, take it out and set it aside for the customer."
        words += " Only those on the pick list go in again, at their step."
        kept: Hazards = {"data": "None of them is erased or swapped."}
        yield Step("Drives that are in it already", words, kept | STATIC)
    yield Step("Open", "Take the cover off.", EDGES | _SUPPLY)


def _first_start(build: Build) -> Iterator[Step]:
    words = "Look for loose screws and leads, put the cover on, take the strap off,"
    mains = "Mains: cover on before the cord goes in; sound cords and outlets only."
    live: Hazards = {"supply": mains, "edges": "Fans start at once."}
    yield Step("Close and power on", f"{words} then connect the supply and start.", live)
    controllers = [controller for _, controller in build.controllers()]
    for controller in controllers:
        title = f"What {'the controller' if len(controllers) == 1 else controller.sku} sees"
        drives = _drives_on(build, controller)
        words = f"In the maker's set-up utility {controller.sku} must list {drives}"
        words += " without a fault, in the bays of the plan. Note the firmware version."
        yield Step(title, words)


def _drives_on(build: Build, controller: Controller) -> str:
    counts: dict[str, int] = {}
    for array in build.arrays_on(controller):
        counts[array.drive.sku] = counts.get(array.drive.sku, 0) + array.drives
    return both(f"{count(number, 'drive')} {sku}" for sku, number in counts.items())


def _ask_first(build: Build) -> Iterator[Step]:
    drives = count(sum(array.have_drives for array in build.arrays), "drive")
    words = (
        f"Nobody has said yet whether the data on the customer's {drives} must stay. Make and "
        "change nothing on them, answer no question of the set-up utility about them, and ask who "
        "signed this sheet for one that says so."
    )
    only = "What is on these drives may be the only copy."
    yield Step("Stop and ask", words, {"data": only})


def _make(build: Build, places: Placement) -> Iterator[Step]:
    """Make one array after the other, or hand its drives over."""
    for index, array in enumerate(build.arrays):
        name = array_name(build, index)
        its, whose = f" {name}" if name else "", of_array(build, index)
        settings = f"Apply the settings{whose} below"
        settings += f", on {array.controller.sku}" if name else ""
        if not array.layout.rule.is_array:
            held = bays(places.bays_of(index, "passed_through"))
            words = f"{settings}: no array, {held} each passed through by itself."
            only = "Make no array and initialise nothing: either would erase drives."
            yield Step(f"Pass through{its}", words, {"data": only})
            continue
        members, spares = places.bays_of(index, "member"), places.bays_of(index, "spare")
        words = f"{settings}: {array.layout.rule.label}, members in {bays(members)}."
        words += " Have a second person read the bays back before you confirm."
        erases = f"This erases {bays(members)}: compare bays and serial numbers first."
        yield Step(f"Create {name or 'the array'}", words, {"data": erases})
        if spares:
            noun = plural(len(spares), "spare")
            words = f"Assign {bays(spares)} to this array as hot {noun}."
            yield Step(f"Assign the {noun}{whose}", words, {"data": f"This erases {bays(spares)}."})
        words = "Start the full initialisation and wait until it has ended without an error."
        yield Step(f"Initialise{its}", words, {"data": "It overwrites the members."})


def _finish(build: Build, places: Placement, burn_in_hours: int, may_erase: bool) -> Iterator[Step]:
    if may_erase:
        words = "Go through the acceptance table, run the read-back check,"
        words += f" then {burn_in_hours} hours under load. Write down what was measured."
        hot = "Drives and heat sinks get hot."
        over: Hazards = {"data": "Test data overwrites what is there."} if build.arrays else {}
        hurts: Hazards = {**over, "edges": hot}
        yield Step("Acceptance and burn-in", words, hurts)
    rails = [item.sku for item in places.accessories if item.kind == "rail"]
    words = (
        "Shut down in order, disconnect every cord, wait until all lights are out. Pack with "
        f"{' and '.join(rails)}{', ' if rails else ''}the slot blanks and a copy of this sheet."
    )
    rules = "Lithium: UN 38.3 and the carrier's rules for sending it."
    lithium: Hazards = {"lithium": rules} if has_lithium(build) else {}
    yield Step("Shut down and pack", words, _SUPPLY | _LIFTING | lithium)


def has_lithium(build: Build) -> bool:
    """Tell whether cells in a cache protection are to be reckoned with."""
    return any(build.is_protected(controller) for _, controller in build.controllers())


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


USUAL: dict[Hazard, tuple[str, str, str]] = {
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
"""Name, caution in full and in short of hazards that are the same whatever is built."""


def _words(build: Build) -> dict[Hazard, tuple[str, str, str]]:
    """Give each hazard's name, its caution in full, and in short."""
    empty, whole = kg(build.chassis.mass_g), kg(build.mass_g())
    masses = f"The chassis has {empty} empty, {whole} with all parts. "
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
        "supply": USUAL["supply"],
        "static": USUAL["static"],
        "lifting": ("Mass", *mass_words(build.mass_g(), "complete", masses)),
        "edges": USUAL["edges"],
        "lithium": USUAL["lithium"],
    }


def cautions(build: Build, hazards: Iterable[Hazard]) -> Iterator[BenchCaution]:
    """Say the caution of each hazard in full, in the order of `_words`."""
    there = set(hazards)
    for hazard, (name, words, _) in _words(build).items():
        if hazard in there:
            yield BenchCaution(hazard=hazard, name=name, words=words)
