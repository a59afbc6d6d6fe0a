"""How is it built: numbered steps from the placement, each with the cautions that bite there.

The order of work is common practice, no source; makers' manuals come first.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from quotelib.bench import hazards, staying
from quotelib.bench.fitting import fit_drives, fit_parts
from quotelib.bench.hazards import EDGES, HELD, LIFTING, STATIC, SUPPLY, Hazards, Step
from quotelib.bench.making import ask_first, new_array
from quotelib.bench.proving import before_arrays, prove
from quotelib.bench.shown import BenchStep
from quotelib.build.build import Build
from quotelib.build.placement import Placement
from quotelib.catalogue.parts import Controller
from quotelib.text import both, count, kg

RULE = (
    "Follow the maker's manual and local rules, before this sheet; electrical work only by those "
    "licensed to do it."
)


def steps(
    build: Build,
    places: Placement,
    burn_in_hours: int,
    may_erase: bool,
    took: Sequence[str] = (),
) -> Iterator[BenchStep]:
    """List the steps, numbered; while nothing may be erased they end before the arrays.

    `took` says of each array how long its change takes.
    """
    built = (*_begin(build), *fit_parts(build, places), *fit_drives(build, places), *_close())
    start = "Start it, set it up, prove it, send it"
    if build.only_keeps_arrays:
        start = "Start it, find what was there, check it, send it"
    done = [step for at in range(len(build.arrays)) for step in _array(build, places, at, took)]
    proved = (*before_arrays(build, places), *done, *prove(build, burn_in_hours))
    if not may_erase:
        start, proved = "Start it, ask, send it", tuple(ask_first(build))
    named = {
        "Build it, with every cord out": built,
        start: (*_first_start(build), *proved, *_send(build, places)),
    }
    yield from hazards.numbered(named, hazards.words_of(build))


def _array(build: Build, places: Placement, at: int, took: Sequence[str]) -> Iterator[Step]:
    if build.arrays[at].action == "new":
        yield from new_array(build, places, at)
        return
    yield from staying.find_again(build, places, at)
    hours = took[at] if at < len(took) else "how long that takes is not known"
    yield from staying.change(build, places, at, hours)


def _begin(build: Build) -> Iterator[Step]:
    if any(piece.owned for piece in build.pieces()):
        words = "Wait for the box above: backup made, restore tested."
        lost: Hazards = {"data": "What is lost now stays lost."}
        yield Step("Settle the customer's data", words, lost)
    words = "All on the pick list: tick, note serial numbers; set aside what is damaged."
    yield Step("Fetch and compare the parts", words, STATIC)
    if build.chassis_owned and build.keeps_arrays:
        words = "Of controllers and arrays, with the log, where they still run; keep the file "
        yield Step("Export the settings it has", f"{words}elsewhere than on its drives.")
    if build.chassis_owned:
        held = ""
        if any(map(build.takes_over, build.arrays)):
            held = ", so that held writes reach the drives (where it no longer starts, ask first)"
        words = f"In order{held}; then disconnect every supply cord and every other lead, and wait."
        yield Step("Shut the customer's server down", words, SUPPLY)
    else:
        words = "None goes in before its step."
        yield Step("Keep every supply cord out", words, SUPPLY)
    yield Step(f"Lift {build.chassis.sku} onto the mat", "Put the strap on.", LIFTING | STATIC)
    if build.chassis_owned:
        words = "Label each with its bay number and set it aside for the customer."
        words += " Only those on the pick list go in again, at their step."
        if not build.makes_arrays:
            words = "Label each with its bay and serial number, set it aside in order. Each goes "
            words += "back into its own bay" + ("." if build.arrays else ", packed apart.")
        kept: Hazards = {"data": "Nothing on them changes, none is swapped."}
        yield Step("Take out the drives that are in it", words, kept | STATIC)
    words = "Photograph cabling and labels as they are." if build.chassis_owned else ""
    yield Step("Take the cover off", words, EDGES | SUPPLY)


def _close() -> Iterator[Step]:
    yield Step("Photograph cabling, labels and slots", "For the paperwork, before it is closed.")
    words = "Look for loose screws and leads first; then take the strap off."
    yield Step("Put the cover on", words, EDGES)


def _first_start(build: Build) -> Iterator[Step]:
    words = "By those licensed to, as local codes say."
    tested: Hazards = {"supply": "Mains: nobody else measures."}
    yield Step("Have its electrical safety tested", words, tested)
    mains = "Mains: cover on first, sound cords and outlets only."
    live: Hazards = {"supply": mains, "edges": "Fans start at once."}
    asked = "Where it asks about arrays, answer nothing yet." if build.keeps_arrays else ""
    yield Step("Connect the supply and start", asked, live)
    controllers = [controller for _, controller in build.controllers()]
    for controller in controllers:
        title = f"Compare what {'the controller' if len(controllers) == 1 else controller.sku} sees"
        drives = _drives_on(build, controller)
        words = f"{controller.sku} must list {drives or 'no drive'}, no fault, bays as planned."
        yield Step(title, words)
    words = "Of chassis, controllers and drives; one version on all drives of an array."
    yield Step(
        "Note the firmware versions", words if build.arrays else "Of every part that has any."
    )


def _drives_on(build: Build, controller: Controller) -> str:
    counts: dict[str, int] = {}
    for array in build.arrays_on(controller):
        # One after the other comes later.
        kinds = array.kinds()
        if array.action == "replace":
            kinds = iter([(array.their_drive, array.drives, True)])
        for drive, number, _ in kinds:
            counts[drive.sku] = counts.get(drive.sku, 0) + number
    return both(f"{count(number, 'drive')} {sku}" for sku, number in counts.items())


def _send(build: Build, places: Placement) -> Iterator[Step]:
    words = "Wait until all lights are out."
    hot: Hazards = {"edges": f"{'Drives' if build.arrays else 'Heat sinks'} are hot."}
    yield Step("Shut down, disconnect every cord", words, SUPPLY | hot)
    mass_g, apart = build.mass_g(), ""
    if build.arrays or build.chassis_owned:
        words = "Each with its bay's number, in its own bag and cushion."
        yield Step("Pack the drives apart", words, HELD)
        drives_g = sum((a.drives * a.drive.mass_g for a in build.arrays), Decimal(0))
        mass_g, apart = mass_g - drives_g, " without its drives"
    rails = "".join(f"{item.sku}, " for item in places.accessories if item.kind == "rail")
    removed = [old for old in staying.replaced_controllers(build) if old.takes != "board"]
    unknown = staying.old_is_unknown(build)
    with_it = rails + "".join(f"the old {old.sku}, " for old in removed)
    with_it += "what was taken out, " if unknown else ""
    words = f"{kg(mass_g)}{apart}; with {with_it}slot blanks, photographs, settings, reports and a "
    words += "copy of this sheet."
    rules = "Lithium: UN 38.3 and the carrier's rules for sending it."
    cells = has_lithium(build) or unknown or any(old.cache_mib for old in removed)
    lithium: Hazards = {"lithium": rules} if cells else {}
    yield Step("Pack the chassis", words, LIFTING | lithium)


def has_lithium(build: Build) -> bool:
    """Tell whether cells in a cache protection are to be reckoned with."""
    return any(build.is_protected(controller) for _, controller in build.controllers())
