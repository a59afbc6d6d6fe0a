"""How is a record put together: every fact of a chosen build, in the words a document shows."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib import __version__
from quotelib.build import fit, placement
from quotelib.build.build import Build, Layout
from quotelib.build.fit import Finding
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import Line, LineKind, PriceBook, part_items
from quotelib.pricing.money import digits, to_minor
from quotelib.pricing.totals import Totals, price
from quotelib.quote import words
from quotelib.quote.alternatives import Other
from quotelib.quote.bench.sheet import bench_facts
from quotelib.quote.candidate import Candidate
from quotelib.quote.comparison.record import ControllerComparison
from quotelib.quote.comparison.twins import SlotSaving, only_slot_used
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.facts import Reason
from quotelib.quote.look import look
from quotelib.quote.outlook import estimates, outlook
from quotelib.quote.record import (
    CapacityFacts,
    CapacityShare,
    FindingFacts,
    InternalFacts,
    LayoutFacts,
    LevelFacts,
    LineFacts,
    PartFacts,
    PriceShare,
    QuoteRecord,
    SellerFacts,
    TotalFacts,
)
from quotelib.quote.search import deal_of
from quotelib.quote.upgrade import upgrade_words
from quotelib.units import GB, TB, TIB, plain, round_half_away

MARGIN_FLOOR = "margin_floor"
"""Code of the hold that is not a finding: the margin is under the floor of the terms."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What a record shows beside its own build.

    Parameters
    ----------
    alternatives : tuple of Other
        Other builds that meet the enquiry.
    slot_saving : SlotSaving or None
        What keeping a slot free costs or saves.
    controllers : ControllerComparison or None
        Every controller against the enquiry.
    """

    alternatives: tuple[Other, ...] = ()
    slot_saving: SlotSaving | None = None
    controllers: ControllerComparison | None = None


def assemble(
    price_list: PriceList,
    enquiry: Enquiry,
    date: dt.date,
    best: Candidate,
    beside: Beside,
) -> QuoteRecord:
    """Put the record of a chosen build together.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
    date : date
        Of the quote.
    best : Candidate
        The build to propose.
    beside : Beside

    Returns
    -------
    QuoteRecord
    """
    build, terms = best.build, price_list.terms
    currency = enquiry.currency or terms.currency
    book = PriceBook(price_list, currency)
    lines, totals = price(build, book, deal_of(enquiry))
    places = placement.place(build)
    workload = price_list.workloads[enquiry.workload] if enquiry.workload else None
    ahead = look(build, workload, terms)
    findings = _findings(price_list, best, places)
    holds = tuple(_holds(findings, totals, terms.margin_floor_pct, enquiry))
    lead = lead_days(build, enquiry.builds)
    return QuoteRecord(
        program_version=__version__,
        price_list_fingerprint=price_list.fingerprint,
        quote_number=f"Q-{date:%Y%m%d}-{enquiry.enquiry_id}",
        enquiry_id=enquiry.enquiry_id,
        date=date,
        valid_until=date + dt.timedelta(days=terms.quote_valid_days),
        outcome="held" if holds else "quoted",
        draft=bool(holds),
        seller=SellerFacts(**terms.seller.model_dump()),
        customer=enquiry.customer,
        note=enquiry.note,
        enquiry=enquiry.cells(),
        asked=tuple(words.asked(enquiry, price_list, currency)),
        currency=currency,
        currency_digits=digits(currency),
        proposal=words.proposal(build, enquiry.builds),
        parts=tuple(_parts(build)),
        layout=_layout(build),
        capacity=_capacity(build),
        protection=tuple(words.protection(build)),
        placement=places,
        slot_saving=beside.slot_saving,
        upgrade=upgrade_words(enquiry, build),
        lines=tuple(_line(line) for line in lines),
        totals=_totals(totals, enquiry, currency),
        price_shares=tuple(_price_shares(lines)),
        findings=tuple(
            FindingFacts(
                code=found.code,
                severity=found.severity,
                message=found.message,
                accepted=found.code in enquiry.accept,
            )
            for found in findings
        ),
        levels=tuple(_levels(build)),
        alternatives=tuple(other.facts for other in beside.alternatives),
        controllers=beside.controllers,
        outlook=outlook(ahead, beside.alternatives, terms),
        estimates=tuple(estimates(ahead, terms)),
        watts=build.watts,
        supply_w=build.chassis.supply_w,
        mass_kg=round_half_away(build.mass_g() / 1000, 3),
        lead_days=lead,
        bench=bench_facts(
            price_list,
            build,
            places,
            enquiry.builds,
            fit.erases_data(build) is None or "erases_data" in enquiry.accept,
        ),
        bench_minutes=_bench_minutes(price_list, lines),
        cautions=tuple(words.cautions(build)),
        terms=tuple(words.terms_words(terms, enquiry, lead)),
        next_steps=tuple(_next_steps(terms.seller.contact, holds)),
        internal=InternalFacts(
            cost=totals.cost,
            margin_pct=None if totals.margin_pct is None else round_half_away(totals.margin_pct, 2),
            margin_floor_pct=terms.margin_floor_pct,
            unit_costs={line.sku: line.unit_cost for line in lines},
            hold_reasons=holds,
        ),
    )


def _findings(price_list: PriceList, best: Candidate, places: placement.Placement) -> list[Finding]:
    of_places = (only_slot_used(price_list, best.build), placement.speed_capped(places))
    return [*best.advice, *filter(None, of_places), *fit.notes(best.build)]


def _holds(
    findings: list[Finding], totals: Totals, floor_pct: Decimal, enquiry: Enquiry
) -> Iterator[Reason]:
    for found in findings:
        if found.severity == "advise" and found.code not in enquiry.accept:
            yield Reason(code=found.code, words=found.message)
    if totals.under_floor(floor_pct):
        margin = totals.margin_pct
        got = (
            "there is no margin"
            if margin is None
            else (f"the margin is {round_half_away(margin, 2)} %")
        )
        text = (
            f"{got}, under the floor of {plain(floor_pct)} %; raise the price or lower the discount"
        )
        yield Reason(code=MARGIN_FLOOR, words=text)


def lead_days(build: Build, builds: int) -> int:
    """Give the longest lead time among parts whose stock does not cover the order."""
    return max(
        (
            item.thing.lead_days
            for item in part_items(build)
            if item.thing.stock < item.quantity * builds
        ),
        default=0,
    )


def _parts(build: Build) -> Iterator[PartFacts]:
    owned = build.parts.owned
    yield PartFacts(
        role="chassis",
        sku=build.chassis.sku,
        description=build.chassis.description,
        quantity=1,
        owned="chassis" in owned,
        facts=tuple(words.chassis_facts(build.chassis)),
    )
    yield PartFacts(
        role="controller",
        sku=build.controller.sku,
        description=build.controller.description,
        quantity=1,
        owned="controller" in owned,
        facts=tuple(words.controller_facts(build.controller)),
    )
    yield PartFacts(
        role="drive",
        sku=build.drive.sku,
        description=build.drive.description,
        quantity=build.layout.drives,
        owned="drive" in owned,
        facts=tuple(words.drive_facts(build.drive)),
    )


def _capacity(build: Build) -> CapacityFacts:
    layout, level = build.layout, build.layout.rule
    usable = build.usable_bytes
    redundancy = (layout.members - layout.data_members) * build.member_bytes
    name = "Second copies" if level.copies == 2 else "Parity"
    shares = [
        CapacityShare(name="Usable", bytes=usable, why="what your system will show"),
        CapacityShare(name=name, bytes=redundancy, why="what lets the array survive failures"),
        CapacityShare(
            name="Hot spares",
            bytes=layout.spares * build.drive_bytes,
            why="drives that wait to take a failed one's place",
        ),
        CapacityShare(
            name="Reserve",
            bytes=layout.members * (build.drive_bytes - build.member_bytes),
            why="the controller's own notes, and what does not fill a strip",
        ),
    ]
    return CapacityFacts(
        label_bytes=layout.drives * build.drive.capacity_gb * GB,
        drive_bytes=build.drive_bytes,
        member_bytes=build.member_bytes,
        raw_bytes=layout.drives * build.drive_bytes,
        usable_bytes=usable,
        usable_tb=round_half_away(Decimal(usable) / TB, 3),
        usable_tib=round_half_away(Decimal(usable) / TIB, 3),
        shares=tuple(share for share in shares if share.bytes),
        words=words.capacity_words(build),
    )


def _line(line: Line) -> LineFacts:
    return LineFacts(
        kind=line.kind,
        sku=line.sku,
        description=line.description,
        quantity=line.quantity,
        unit_price=line.unit_price,
        amount=line.amount,
    )


def _totals(totals: Totals, enquiry: Enquiry, currency: str) -> TotalFacts:
    pct = plain(totals.discount_pct)
    if not totals.discount_pct:
        discount_words = "no discount"
    elif totals.volume_discount:
        discount_words = f"volume discount of {pct} % for {enquiry.builds} alike"
    else:
        discount_words = f"discount of {pct} %"
    return TotalFacts(
        builds=enquiry.builds,
        lines_total=totals.lines_total,
        discount_pct=totals.discount_pct,
        discount=totals.discount,
        discount_words=discount_words,
        freight=totals.freight,
        net=totals.net,
        net_per_build=to_minor(currency, totals.net / enquiry.builds),
        tax_code=enquiry.tax_code,
        tax_pct=totals.tax_pct,
        tax=totals.tax,
        gross=totals.gross,
    )


_SHARE_NAMES: dict[LineKind, str] = {
    "chassis": "Chassis",
    "controller": "Controller",
    "drive": "Drives",
    "accessory": "Accessories",
    "service": "Services",
}


def _price_shares(lines: tuple[Line, ...]) -> Iterator[PriceShare]:
    for kind, name in _SHARE_NAMES.items():
        amount = sum((line.amount for line in lines if line.kind == kind), Decimal(0))
        if amount:
            yield PriceShare(name=name, amount=amount)


def _bench_minutes(price_list: PriceList, lines: tuple[Line, ...]) -> Decimal:
    return sum(
        (
            price_list.services[line.sku].minutes * line.quantity
            for line in lines
            if line.kind == "service"
        ),
        Decimal(0),
    )


def _levels(build: Build) -> Iterator[LevelFacts]:
    """Compare what these member drives would give at each level."""
    layout = build.layout
    for level in LEVELS.values():
        counts = (n for n in range(layout.members, 0, -1) if level.spans_for(n))
        members = next(counts, None)
        if members is None:
            continue
        proposed = level.name == layout.level
        spans = layout.spans if proposed else level.spans_for(members)[0]
        other = Build(build.parts, Layout(level.name, members, spans, 0, layout.strip_kib))
        yield LevelFacts(
            level=level.name,
            label=level.label,
            members=members,
            spans=spans,
            usable_bytes=other.usable_bytes,
            survives=level.survives,
            offered=fit.level_not_offered(other) is None,
            proposed=proposed,
        )


def _layout(build: Build) -> LayoutFacts:
    """Describe the layout."""
    layout = build.layout
    return LayoutFacts(
        level=layout.level,
        label=layout.rule.label,
        members=layout.members,
        spans=layout.spans,
        spares=layout.spares,
        data_members=layout.data_members,
        survives=layout.rule.survives,
        strip_kib=layout.strip_kib,
        words=layout.words,
    )


def _next_steps(contact: str, holds: tuple[Reason, ...]) -> Iterator[str]:
    if holds:
        yield "This is a draft: we still have to confirm it before it becomes an offer."
    else:
        yield f"To order, tell us the quote number ({contact})."
    yield "We then pick the parts, build and test the server, and record what we measured."
    yield "You receive it with the array made, checked and documented."
