"""What does the bench need: pick list, tools, cautions, steps, settings, checks and minutes."""

from collections.abc import Iterator
from decimal import Decimal

from quotelib.build.build import Build, owned_roles
from quotelib.build.placement import Placement
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import items
from quotelib.quote.bench import array, cautions
from quotelib.quote.bench.fitting import bays_words, where_words
from quotelib.quote.bench.record import BenchFacts, PickLine, ServiceTime
from quotelib.quote.bench.steps import steps
from quotelib.quote.words import count

_SIGN_OFF = (
    "Built by",
    "Settings made and checked by",
    "Bays read back by a second person",
    "Burn-in ended, released by",
)


def bench_facts(
    price_list: PriceList, build: Build, places: Placement, builds: int, may_erase: bool
) -> BenchFacts:
    """Put together what a bench sheet shows, for one of some equal builds.

    Parameters
    ----------
    price_list : PriceList
        Whose services say how long it takes.
    build : Build
    places : Placement
        Of this build.
    builds : int
        How many alike.
    may_erase : bool
        Whether the drives may be written over: ours always, the customer's once a person has
        said so. Until then no step, setting or check creates, initialises or writes.

    Returns
    -------
    BenchFacts
    """
    hours = array.burn_in_hours(price_list)
    done = tuple(steps(build, places, hours, may_erase))
    hazards = [caution.hazard for step in done for caution in step.cautions]
    services = tuple(_services(price_list, build))
    sold = array.burn_in_is_sold(price_list)
    return BenchFacts(
        builds=builds,
        rule=cautions.RULE,
        data_first=tuple(_data_first(build, may_erase)),
        pick=tuple(_pick(build, places)),
        tools=tuple(_tools(build)),
        cautions=tuple(cautions.cautions(build, hazards)),
        steps=done,
        settings_words=array.ARRAY_WORDS if build.layout.rule.is_array else array.PASS_WORDS,
        settings=tuple(array.settings(build, places)) if may_erase else array.NOT_YET,
        checks=tuple(array.checks(build, places, build.watts, hours, sold)) if may_erase else (),
        burn_in_hours=hours,
        sign_off=_SIGN_OFF,
        services=services,
        minutes=sum((service.minutes for service in services), Decimal(0)),
    )


def _pick(build: Build, places: Placement) -> Iterator[PickLine]:
    owned = owned_roles(build.controller, build.parts.owned)
    chassis, controller, drive = build.chassis, build.controller, build.drive
    yield PickLine(
        role="chassis",
        sku=chassis.sku,
        description=chassis.description,
        quantity=1,
        location="the bench",
        owned="chassis" in owned,
        bays=(),
    )
    if controller.mounting != "board":
        yield PickLine(
            role="controller",
            sku=controller.sku,
            description=controller.description,
            quantity=1,
            location=places.controller.where,
            owned="controller" in owned,
            bays=(),
        )
    filled = tuple(b.bay for b in places.bays if b.use != "empty")
    spares = places.bays_of("spare")
    members = tuple(bay for bay in filled if bay not in spares)
    spare = f"; {bays_words(spares)} as spare" if spares else ""
    yield PickLine(
        role="drive",
        sku=drive.sku,
        description=drive.description,
        quantity=len(filled),
        location=f"{bays_words(members)}{spare}",
        owned="drive" in owned,
        bays=filled,
    )
    for item in places.accessories:
        yield PickLine(
            role=item.kind,
            sku=item.sku,
            description=item.description,
            quantity=item.quantity,
            location=where_words(item),
            owned=False,
            bays=(),
        )


def _data_first(build: Build, may_erase: bool) -> Iterator[str]:
    """Say what to settle first; common practice, no source."""
    parts, layout = build.parts, build.layout
    if not parts.owned:
        return
    owned = owned_roles(build.controller, parts.owned)
    listed = []
    if "chassis" in owned:
        listed.append(f"chassis {build.chassis.sku}")
    if "controller" in owned:
        listed.append(f"controller {build.controller.sku}")
    if "drive" in owned:
        listed.append(f"{count(layout.drives, 'drive')} {build.drive.sku}")
    yield (
        f"The customer's own: {', '.join(listed)}. Not from our shelf; inspect on arrival, note "
        "serial numbers, and report what is worn or does not match before building."
    )
    yield (
        "Do not open, erase or reconfigure anything before the customer has confirmed that a "
        "backup exists and that restoring it was tried on another machine."
    )
    if "drive" in owned and not may_erase:
        yield (
            f"Not settled: whether the data on the customer's {count(layout.drives, 'drive')} must "
            "stay. This sheet ends before anything is written to them."
        )
    elif "drive" in owned and layout.rule.is_array:
        yield (
            f"The new array erases all {layout.drives} of the customer's drives. Data that is to "
            "stay must have been moved off already; the level is not changed with data in place."
        )
    elif "drive" in owned:
        yield (
            "Drives that were members of an array cannot be read one by one; data that is to stay "
            "must have been moved off already."
        )
    if "controller" in owned:
        cached = ", and its cache may hold writes not yet on the drives"
        yield (
            f"{build.controller.sku} may still hold the settings of its old array"
            f"{cached if parts.controller.cache_mib else ''}: note "
            "them, and clear them only after the confirmation."
        )
    else:
        yield (
            "The controller is not the one that made the old array: it may not read it and may "
            "offer to erase it. Decline; old drives that are not on the pick list stay untouched."
        )


def _tools(build: Build) -> Iterator[str]:
    """List tools; common practice, no source."""
    yield "wrist strap, dissipative mat, earth point"
    yield "screwdrivers as the chassis needs, torque as the maker says"
    if cautions.too_heavy(build):
        yield "a lift or a second person"
    yield "cut-proof gloves for the sheet metal"
    yield "barcode reader, labels, pen"
    yield "test load and checksum program, power meter, thermometer"


def _services(price_list: PriceList, build: Build) -> Iterator[ServiceTime]:
    for item in items(build, price_list):
        if item.kind == "service":
            each = price_list.services[item.thing.sku].minutes
            yield ServiceTime(
                sku=item.thing.sku,
                description=item.thing.description,
                quantity=item.quantity,
                minutes_each=each,
                minutes=item.quantity * each,
            )
