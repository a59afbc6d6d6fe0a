"""How is a record put together: every fact of a chosen build, in the words a document shows."""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal

from quotelib import __version__
from quotelib.bench.sheet import bench_sheet
from quotelib.build import advice, fit, placement
from quotelib.build.build import Build
from quotelib.build.layout import Array, Layout
from quotelib.build.placement import speeds
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.twins import only_slot_used
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.levels import LEVELS
from quotelib.predict.forecast import forecast
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.predict.running import server_estimates
from quotelib.pricing.lines import Line, PriceBook
from quotelib.pricing.totals import Price, price, totals
from quotelib.promise import words
from quotelib.promise.part_words import part_facts
from quotelib.promise.record import FindingShown, Internal, PriceShare, QuoteRecord, Server
from quotelib.promise.shown import (
    ArrayLaid,
    ArrayShown,
    Capacity,
    CapacityShare,
    LevelShown,
    PartShown,
)
from quotelib.promise.upgrade import upgrade_words
from quotelib.units import TB, TIB, plain, round_half_away

MARGIN_FLOOR = "margin_floor"
"""Code of the hold that is not a finding: the margin is under the floor of the terms."""


def assemble(
    price_list: PriceList, enquiry: Enquiry, date: dt.date, best: Candidate
) -> QuoteRecord:
    """Put the record of the build to propose together, without what else would meet the enquiry."""
    terms, build = price_list.terms, best.build
    currency = enquiry.currency or terms.currency
    book = PriceBook(price_list, currency)
    priced = price(build, book, enquiry.deal)
    server = _server(price_list, enquiry, best, book)
    holds = tuple(_holds(server.findings, priced, terms.margin_floor_pct))
    summed = totals(priced, book, enquiry.deal)
    return QuoteRecord(
        program_version=__version__,
        price_list_fingerprint=price_list.fingerprint,
        quote_number=f"Q-{date:%Y%m%d}-{enquiry.enquiry_id}",
        enquiry_id=enquiry.enquiry_id,
        date=date,
        valid_until=date + dt.timedelta(days=terms.quote_valid_days),
        outcome="held" if holds else "quoted",
        draft=bool(holds),
        seller=terms.seller,
        customer=enquiry.customer,
        enquiry=enquiry.cells(),
        asked=tuple(words.asked(enquiry, price_list)),
        currency=currency,
        servers=(server,),
        totals=summed,
        discount_words=words.discount_words(summed),
        price_shares=tuple(_price_shares(server.lines, priced.freight)),
        bench_minutes=server.bench.minutes_all,
        cautions=words.cautions(build),
        terms=tuple(words.terms_words(terms, enquiry, server.lead_days)),
        next_steps=tuple(words.next_steps(terms.seller.contact, bool(holds))),
        internal=Internal(
            cost=priced.cost,
            margin_pct=priced.margin_shown,
            margin_floor_pct=terms.margin_floor_pct,
            unit_costs=book.unit_costs(build, enquiry.deal.services),
            hold_reasons=holds,
            note=enquiry.note,
        ),
    )


def _server(price_list: PriceList, enquiry: Enquiry, best: Candidate, book: PriceBook) -> Server:
    build, terms = best.build, price_list.terms
    places = placement.place(build)
    workload = enquiry.load(price_list)
    ahead = tuple(forecast(build, array, workload, terms) for array in build.arrays)
    arrays = tuple(
        ArrayShown(
            **dict(laid), speed=speed, outlook=outlook(o), estimates=tuple(array_estimates(o))
        )
        for laid, o, speed in zip(arrays_laid(build), ahead, speeds(build), strict=True)
    )
    may_erase = "erases_data" in enquiry.accept or not any(advice.erases_data(build))
    return Server(
        name="",
        builds=enquiry.builds,
        proposal=words.proposal(build, enquiry.builds),
        chassis=build.chassis.sku,
        parts=tuple(_parts(build, enquiry.builds)),
        arrays=arrays,
        placement=places,
        room=(*(seat.why for seat in places.seats), places.free.words),
        upgrade=upgrade_words(build, enquiry.builds),
        findings=tuple(_findings(price_list, enquiry, best, places)),
        lines=book.lines(build, enquiry.builds, enquiry.deal.services),
        alternatives=(),
        controllers=None,
        estimates=tuple(server_estimates(build, ahead, terms)),
        watts=build.watts,
        supply_w=build.supply_w,
        supplies=words.supplies(build),
        mass_kg=round_half_away(build.mass_g() / 1000, 3),
        lead_days=lead_days(build, enquiry.builds),
        bench=bench_sheet(price_list, build, places, enquiry.deal, may_erase=may_erase),
    )


def _findings(
    price_list: PriceList, enquiry: Enquiry, best: Candidate, places: placement.Placement
) -> Iterator[FindingShown]:
    for found in (
        *best.advice,
        *only_slot_used(price_list, best.build),
        *placement.speed_capped(best.build, places),
        *advice.supply_high(best.build, price_list.terms.advice.supply_pct),
        *advice.notes(best.build),
    ):
        accepted = found.code in enquiry.accept
        yield FindingShown(**found.model_dump(), words=found.words, accepted=accepted)


def _holds(
    findings: tuple[FindingShown, ...], priced: Price, floor_pct: Decimal
) -> Iterator[Reason]:
    for found in findings:
        if found.severity == "advise" and not found.accepted:
            yield Reason(code=found.code, what=found.what, change=found.change)
    if priced.under_floor(floor_pct):
        margin = priced.margin_shown
        got = "there is no margin" if margin is None else f"the margin is {margin} %"
        what = f"{got}, under the floor of {plain(floor_pct)} %"
        yield Reason(code=MARGIN_FLOOR, what=what, change="raise the price or lower the discount")


def lead_days(build: Build, builds: int) -> int:
    """Give the longest lead time among parts whose stock does not cover the order."""
    short = (p.part for p in build.lead_pieces if p.part.stock < p.count * builds)
    return max((part.lead_days for part in short), default=0)


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
        )


def _price_shares(lines: tuple[Line, ...], freight: Decimal) -> Iterator[PriceShare]:
    amounts: dict[str, Decimal] = {}
    for line in lines:
        amounts[line.share] = amounts.get(line.share, Decimal(0)) + line.amount
    total = sum(amounts.values(), Decimal(0))
    for name, amount in amounts.items():
        if amount:
            yield PriceShare(name=name, amount=amount, pct=float(100 * amount / total))
    if freight:
        yield PriceShare(name="Freight", amount=freight, pct=None)


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
    """Compare what the member drives of one array would give at each level."""
    own = build.arrays[place].layout
    for level in LEVELS.values():
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
