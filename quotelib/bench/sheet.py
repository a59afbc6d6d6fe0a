"""What does the bench need: pick list, tools, steps with cautions, settings, checks and times."""

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal

from quotelib.bench import array
from quotelib.bench.hazards import in_full, words_of
from quotelib.bench.plan import plan, plan_bays, where_words
from quotelib.bench.returned import returned
from quotelib.bench.shown import BenchSheet, PickLine, ServiceTime
from quotelib.bench.steps import RULE, steps
from quotelib.bench.waits import change_of, change_words, time_words, waits
from quotelib.build.advice import is_heavy
from quotelib.build.bays import Bay
from quotelib.build.build import Build, Placed
from quotelib.build.placement import Placement
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.predict.estimate import Estimate
from quotelib.pricing.lines import charges
from quotelib.pricing.totals import Deal
from quotelib.ready.unattended import SOAK_HOURS
from quotelib.text import bays, both, count, either, plural


def bench_sheet(
    price_list: PriceList,
    build: Build,
    places: Placement,
    deal: Deal,
    once: Sequence[tuple[Service, int]] = (),
    *,
    may_erase: bool,
    traded_in: bool = False,
    estimates: Sequence[Sequence[Estimate]] = (),
) -> BenchSheet:
    """Put together what a bench sheet shows, for one of some equal servers.

    Parameters
    ----------
    price_list
        Whose services say how long it takes, and whose terms how long the burn-in.
    may_erase
        Whether the drives may be written over: ours always, the customer's once a person has
        said so. Until then no step, setting or check creates, initialises or writes.
    deal
        How many alike, and the services chosen: these add time, and never a step.
    once
        What is done once for the whole quote, and how often.
    traded_in
        Whether something of the customer's is taken in payment with this server.
    estimates
        Of each array: how long growing it or changing its drives takes.
    """
    soak = price_list.terms.bench.soak_hours
    hours = soak or SOAK_HOURS
    changes = [change_of(build.arrays[at], found) for at, found in enumerate(estimates)]
    changed = sum(array.action in ("grow", "replace") for array in build.arrays)
    took = [change_words(found) for found in changes]
    done = tuple(steps(build, places, hours, may_erase, took))
    unattended = tuple(waits(build, hours, may_erase, changes))
    chosen = [price_list.services[sku] for sku in deal.services]
    builds, services = deal.builds, tuple(_services(price_list, build, deal.services, once))
    minutes = sum((service.minutes for service in services if not service.once), Decimal(0))
    return BenchSheet(
        builds=builds,
        rule=RULE,
        data_first=tuple(_data_first(build, may_erase)),
        pick=tuple(_pick(build, places, builds)),
        tools=tuple(_tools(build)),
        cautions=tuple(in_full(done, words_of(build))),
        steps=done,
        plan=tuple(plan(build, places)),
        bays=tuple(plan_bays(build, places)),
        arrays=tuple(array.arrays(build, places, may_erase)),
        checks=array.server_checks(build, places, soak) if may_erase else (),
        burn_in_hours=hours,
        sign_off=tuple(_sign_off(build)),
        services=services,
        minutes=minutes,
        minutes_all=sum((s.minutes * (1 if s.once else builds) for s in services), Decimal(0)),
        waits=unattended,
        unattended_hours=sum(wait.hours for wait in unattended),
        unattended_high_hours=sum(wait.high_hours for wait in unattended),
        waits_unknown=changed > sum(found is not None for found in changes),
        time_words=time_words(build, minutes, unattended, may_erase),
        returned=returned(build, chosen, traded_in),
    )


def _sign_off(build: Build) -> Iterator[str]:
    """Say who signs for what."""
    yield "Built by"
    if build.makes_arrays:
        yield "Settings made and checked by"
    if build.arrays:
        yield "Bays read back by a second person"
    yield "Checked, released by" if build.only_keeps_arrays else "Burn-in ended, released by"


def _pick(build: Build, places: Placement, builds: int) -> Iterator[PickLine]:
    """Count equal parts together, the customer's and ours apart; what is on a board is there."""
    counts: Counter[tuple[Part, bool]] = Counter()
    for piece in build.pieces():
        if piece.part.takes != "board":
            counts[piece.part, piece.owned] += piece.count
    held: dict[tuple[str, bool], list[Bay]] = {}
    for bay in places.bays:
        if bay.array is not None:
            held.setdefault((build.arrays[bay.array].drive.sku, bay.owned), []).append(bay)
    for (part, owned), quantity in counts.items():
        there = held.get((part.sku, owned), [])
        where = _bays_words(there) if there else _location(part.sku, owned, build, places)
        where = "with the paperwork" if part.takes == "paperwork" else where
        yield PickLine(
            role=part.role,
            sku=part.sku,
            description=part.description,
            quantity=quantity,
            quantity_all=quantity * builds,
            location=where,
            owned=owned,
            bays=tuple(bay.bay for bay in there),
        )


def _bays_words(held: list[Bay]) -> str:
    spares = [bay.bay for bay in held if bay.use == "spare"]
    members = [bay.bay for bay in held if bay.use != "spare"]
    said = [bays(members)] if members else []
    return "; ".join([*said, f"{bays(spares)} as spare"] if spares else said)


def _location(sku: str, owned: bool, build: Build, places: Placement) -> str:
    if sku == places.chassis:
        return "the bench"
    for item in places.accessories:
        if item.sku == sku:
            return where_words(item, build, places)
    seats = [seat.where for seat in places.seats if (seat.sku, seat.owned) == (sku, owned)]
    return both(seats) if seats else f"in {places.chassis}"


def _data_first(build: Build, may_erase: bool) -> Iterator[str]:
    """Say what to settle first; common practice, no source."""
    owned = [piece for piece in build.pieces() if piece.owned]
    if not owned:
        return
    yield (
        f"The customer's own: {', '.join(map(_owned_words, owned))}. Not from our shelf; inspect "
        "on arrival, note serial numbers, and report what is worn or does not match before "
        "building."
    )
    yield (
        "Do not open, erase or reconfigure anything before the customer has confirmed that a "
        "backup exists and that restoring it was tried on another machine."
    )
    staying = [array for array in build.arrays if array.action != "new"]
    if staying:
        there = (a.drives if a.action == "replace" else a.have_drives for a in staying)
        drives = count(sum(there), "drive")
        yield (
            f"The data on {drives} of the customer's stays. An array that is not found as it was "
            "is not made anew: stop, change nothing, ask who signed this sheet."
        )
    theirs = [one for one in build.arrays if one.have_drives and one.action == "new"]
    remade = [one.have_drives for one in theirs if one.layout.rule.is_array]
    if theirs and not may_erase:
        drives = count(sum(one.have_drives for one in theirs), "drive")
        yield (
            f"Not settled: whether the data on the customer's {drives} must "
            "stay. This sheet ends before anything is written to them."
        )
    elif remade:
        yield (
            f"The new {plural(len(remade), 'array')} {'erases' if len(remade) == 1 else 'erase'} "
            f"all {sum(remade)} of the customer's drives. Data that is to "
            "stay must have been moved off already; the level is not changed with data in place."
        )
    if theirs and may_erase and len(remade) < len(theirs):
        yield (
            "Drives that were members of an array cannot be read one by one; data that is to stay "
            "must have been moved off already."
        )
    for piece, controller in build.controllers():
        if piece.owned and build.is_fitted(piece):
            cached = ", and its cache may hold writes not yet on the drives"
            cleared = "note them, and clear them only after the confirmation."
            if any(map(build.takes_over, build.arrays_on(controller))):
                cleared = "note them. Ask before clearing any, and never with these drives in it."
            yield (
                f"{controller.sku} may still hold the settings of its old array"
                f"{cached if controller.cache_mib else ''}: {cleared}"
            )
    new_ones = [
        controller.sku
        for piece, controller in build.controllers()
        if not piece.owned and any(a.action == "new" for a in build.arrays_on(controller))
    ]
    if new_ones:
        one = len(list(build.controllers())) == 1
        yield (
            f"{'The controller' if one else either(new_ones)} is not the one that made the old "
            "array: it may not read it and may offer to erase it. Decline; old drives that are "
            "not on the pick list stay untouched."
        )


def _owned_words(piece: Placed) -> str:
    if piece.part.takes == "bay" or piece.count > 1:
        return f"{count(piece.count, piece.part.role)} {piece.part.sku}"
    return f"{piece.part.role} {piece.part.sku}"


def _tools(build: Build) -> Iterator[str]:
    """List tools; common practice, no source."""
    yield "wrist strap, dissipative mat, earth point"
    yield "screwdrivers as the chassis needs, torque as the maker says"
    if is_heavy(build):
        yield "a lift or a second person"
    yield "cut-proof gloves for the sheet metal"
    yield "barcode reader, labels, pen, camera"
    yield "test load and checksum program, power meter, thermometer"


def _services(
    price_list: PriceList,
    build: Build,
    chosen: Sequence[str],
    once: Sequence[tuple[Service, int]],
) -> Iterator[ServiceTime]:
    """List what the bench does; a chosen service that takes it no time is done elsewhere."""
    charged = charges(build, price_list, chosen=chosen)
    done = {c.thing: c.quantity for c in charged if isinstance(c.thing, Service) and not c.once}
    done |= dict(once)
    for service in price_list.services.values():
        times = done.get(service, 0)
        if times and (service.minutes or service.when == "always"):
            yield ServiceTime(
                sku=service.sku,
                description=service.description,
                quantity=times,
                minutes_each=service.minutes,
                minutes=times * service.minutes,
                once=service.per == "quote",
            )
