"""How is one server of a record put together: every fact of a chosen build, in words."""

import datetime as dt
from collections.abc import Iterator, Sequence
from decimal import Decimal

from quotelib.bench.sheet import bench_sheet
from quotelib.build import advice, cabling, fit, placement
from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.layout import Array, Layout
from quotelib.build.placement import speeds
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Service
from quotelib.choose.candidate import Candidate
from quotelib.choose.twins import only_slot_used
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.levels import LEVELS
from quotelib.predict.changing import change_estimates
from quotelib.predict.forecast import forecast
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.predict.running import server_estimates
from quotelib.pricing.quote import Item
from quotelib.promise import asked, words
from quotelib.promise.part_words import part_facts, warranty_years
from quotelib.promise.record import FindingShown, Server
from quotelib.promise.shown import (
    ArrayLaid,
    ArrayShown,
    Capacity,
    CapacityShare,
    LevelShown,
    PartShown,
)
from quotelib.promise.upgrade import upgrade_words
from quotelib.units import TB, TIB, round_half_away


def describe(
    price_list: PriceList,
    wanted: ServerAsked,
    best: Candidate,
    item: Item,
    once: Sequence[tuple[Service, int]],
    until: dt.date,
    *,
    traded_in: bool,
) -> Server:
    """Describe the build to propose for what was asked, with its lines and what is done `once`.

    The quote is valid `until` that day; `traded_in` tells whether something of the customer's is
    taken in payment with this server.
    """
    build, terms, base = best.build, price_list.terms, wanted.base
    places = placement.place(build)
    loads = [row.load(price_list) for row in wanted.arrays]
    ahead = tuple(
        forecast(build, array, load, terms) for array, load in zip(build.arrays, loads, strict=True)
    )
    arrays = tuple(
        ArrayShown(
            **dict(laid),
            asked=tuple(asked.of_array(row, price_list, build, array)),
            speed=speed,
            outlook=outlook(o),
            estimates=(*array_estimates(o), *change_estimates(o)),
        )
        for laid, row, array, o, speed in zip(
            arrays_laid(build), wanted.arrays, build.arrays, ahead, speeds(build), strict=True
        )
    )
    may_erase = "erases_data" in base.accept or not any(advice.erases_data(build))
    return Server(
        name=wanted.name,
        builds=base.builds,
        asked=tuple(asked.of_server(wanted, price_list, best)),
        proposal=words.proposal(build, base.builds),
        chassis=build.chassis.sku,
        parts=tuple(_parts(build, base.builds)),
        arrays=arrays,
        placement=places,
        room=(*(seat.why for seat in places.seats), places.free.words),
        upgrade=upgrade_words(build, base.builds, [array.estimates for array in arrays]),
        findings=tuple(_findings(price_list, base, best, places, until)),
        lines=item.lines,
        lines_total=item.lines_total,
        freight=item.freight,
        alternatives=(),
        controllers=None,
        estimates=tuple(server_estimates(build, ahead, terms)),
        watts=build.watts,
        supply_w=build.supply_w,
        supplies=words.supplies(build),
        mass_kg=round_half_away(build.mass_g() / 1000, 3),
        lead_days=build.lead_days(base.builds),
        bench=bench_sheet(
            price_list,
            build,
            places,
            base.deal,
            once,
            may_erase=may_erase,
            traded_in=traded_in,
            estimates=[array.estimates for array in arrays],
        ),
    )


def _findings(
    price_list: PriceList,
    base: Enquiry,
    best: Candidate,
    places: placement.Placement,
    until: dt.date,
) -> Iterator[FindingShown]:
    every = (
        *best.advice,
        *only_slot_used(price_list, best.build),
        *placement.speed_capped(best.build, places),
        *advice.supply_high(best.build, price_list.terms.advice.supply_pct),
        *cabling.cable_missing(best.build, price_list),
        *_tax_missing(price_list.terms, base.tax_code),
        *advice.last_buy_near(best.build, until),
        *advice.notes(best.build, price_list.terms.advice),
    )
    # Arrays alike are found the same.
    for found in {found.words: found for found in every}.values():
        accepted = found.code in base.accept
        yield FindingShown(**found.model_dump(), words=found.words, accepted=accepted)


def _tax_missing(terms: Terms, code: str | None) -> Iterator[Finding]:
    if terms.tax and code is None:
        what = "no tax is included: the total is one without tax"
        yield finding("tax_missing", what, "tell us which tax applies to you, where one does")


def _parts(build: Build, builds: int) -> Iterator[PartShown]:
    """List what makes the server what it is: all its parts but accessories."""
    small = {item.sku for item in build.accessories}
    for piece in (piece for piece in build.pieces() if piece.part.sku not in small):
        part = piece.part
        yield PartShown(
            role=part.role,
            sku=part.sku,
            description=part.description,
            quantity=piece.count,
            quantity_all=piece.count * builds,
            owned=piece.owned and part.takes != "board",
            facts=tuple(part_facts(part)),
            condition=part.condition,
            warranty_years=warranty_years(part),
        )


def arrays_laid(build: Build) -> Iterator[ArrayLaid]:
    """Describe of each array of a build what takes no estimate."""
    for place, array in enumerate(build.arrays):
        layout = array.layout
        yield ArrayLaid(
            name=array.name,
            action=array.action,
            controller=array.controller.sku,
            drive=array.drive.sku,
            have_drives=array.have_drives,
            controller_before=array.controller_before.sku if array.controller_before else "",
            drive_before=array.drive_before.sku if array.drive_before else "",
            layout=layout,
            strip_words=f"Strip: {layout.strip_kib} KiB" if layout.rule.is_array else "No strip",
            label=layout.rule.label,
            survives=layout.rule.survives,
            data_members=layout.data_members,
            words=layout.words,
            capacity=_capacity(array),
            protection=tuple(words.protection(build, array)),
            levels=tuple(_levels(build, place)),
        )


def _capacity(array: Array) -> Capacity:
    layout, level = array.layout, array.layout.rule
    usable, raw = array.usable_bytes, array.drives * array.drive_bytes
    redundancy = (layout.members - layout.data_members) * array.member_bytes
    name = "Second copies" if level.copies > 1 else "Parity"
    spares = layout.spares * array.drive_bytes
    reserve = layout.members * (array.drive_bytes - array.member_bytes)
    waits = "drives that wait to take a failed one's place"
    keeps = "the controller's own notes, and what does not fill a strip"
    shares = (
        ("usable", "Usable", usable, "what your system will show"),
        ("redundancy", name, redundancy, "what lets the array survive failures"),
        ("spares", "Hot spares", spares, waits),
        ("reserve", "Reserve", reserve, keeps),
    )
    return Capacity(
        label_bytes=int(words.label_bytes(array)),
        drive_bytes=array.drive_bytes,
        member_bytes=array.member_bytes,
        raw_bytes=raw,
        usable_bytes=usable,
        usable_tb=round_half_away(Decimal(usable) / TB, 3),
        usable_tib=round_half_away(Decimal(usable) / TIB, 3),
        shares=tuple(
            CapacityShare(kind=kind, name=name, bytes=size, pct=100 * size / raw, why=why)
            for kind, name, size, why in shares
            if size
        ),
        words=words.capacity_words(array),
    )


def _levels(build: Build, place: int) -> Iterator[LevelShown]:
    """Compare what the member drives of one array would give at each level.

    Of an array that is there already its own only: another level would be another array.
    """
    own, stays = build.arrays[place].layout, build.arrays[place].action != "new"
    for level in (level for level in LEVELS.values() if not stays or level.name == own.level):
        members = next((n for n in range(own.members, 0, -1) if level.spans_for(n)), None)
        if members is None:
            continue
        proposed = level.name == own.level
        spans = own.spans if proposed else level.spans_for(members)[0]
        layouts = [array.layout for array in build.arrays]
        layouts[place] = Layout(level.name, members, spans, 0, own.strip_kib)
        other = build.with_layouts(*layouts)
        yield LevelShown(
            level=level.name,
            label=level.label,
            members=members,
            spans=spans,
            usable_bytes=other.arrays[place].usable_bytes,
            survives=level.survives,
            offered=not any(fit.level_not_offered(other)),
            proposed=proposed,
        )
