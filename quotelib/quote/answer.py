"""What do we answer: from an enquiry to a quote record, or to the reason why there is none."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Literal

from quotelib import __version__
from quotelib.build import fit
from quotelib.build.build import Build, Layout
from quotelib.build.fit import Finding
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import Line, LineKind, PriceBook, part_items
from quotelib.pricing.money import digits, to_minor
from quotelib.pricing.totals import Totals, price
from quotelib.quote import words
from quotelib.quote.demands import Candidate
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.record import (
    Alternative,
    CapacityFacts,
    CapacityShare,
    FindingFacts,
    InternalFacts,
    LevelFacts,
    LineFacts,
    PartFacts,
    PriceShare,
    QuoteRecord,
    Reason,
    SellerFacts,
    TotalFacts,
)
from quotelib.quote.search import Choice, choose, deal_of, rank
from quotelib.units import GB, TB, TIB, plain, round_half_away

MARGIN_FLOOR = "margin_floor"
"""Code of the hold that is not a finding: the margin is under the floor of the terms."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one enquiry that could be read.

    Parameters
    ----------
    outcome : str
        ``quoted``, ``held`` or ``refused``.
    reasons : tuple of Reason
        Why it is held or refused; empty for ``quoted``.
    record : QuoteRecord or None
        None where it is refused.
    """

    outcome: Literal["quoted", "held", "refused"]
    reasons: tuple[Reason, ...]
    record: QuoteRecord | None

    @property
    def reason(self) -> str:
        """Give the reasons in one line."""
        return "; ".join(f"{reason.code}: {reason.words}" for reason in self.reasons)


@lru_cache(maxsize=64)
def answer(
    price_list: PriceList, enquiry: Enquiry, date: dt.date, *, alternatives: bool = True
) -> Answer:
    """Answer an enquiry.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
        Read against this price list.
    date : date
        Of the quote.
    alternatives : bool
        Whether to look for builds at other levels too. Without them a pinned build is
        answered in milliseconds, which the workbook needs while somebody types.

    Returns
    -------
    Answer
        The same for the same three.
    """
    choice = choose(price_list, enquiry)
    if choice.best is None:
        reasons = choice.refusal.reasons if choice.refusal else ()
        told = tuple(Reason(code=code, words=text) for code, text in reasons)
        return Answer("refused", told, None)
    others = tuple(_alternatives(price_list, enquiry, choice, choice.best)) if alternatives else ()
    record = _record(price_list, enquiry, date, choice.best, others)
    return Answer(record.outcome, record.internal.hold_reasons, record)


def _record(
    price_list: PriceList,
    enquiry: Enquiry,
    date: dt.date,
    best: Candidate,
    others: tuple[Alternative, ...],
) -> QuoteRecord:
    build, terms = best.build, price_list.terms
    currency = enquiry.currency or terms.currency
    book = PriceBook(price_list, currency)
    lines, totals = price(build, book, deal_of(enquiry))
    findings = _findings(price_list, build)
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
        layout=words.layout_facts(build),
        capacity=_capacity(build),
        protection=tuple(words.protection(build)),
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
        alternatives=others,
        watts=build.watts,
        supply_w=build.chassis.supply_w,
        mass_kg=round_half_away(build.mass_g() / 1000, 3),
        lead_days=lead,
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


def _findings(price_list: PriceList, build: Build) -> list[Finding]:
    return [*fit.advice(build), *fit.notes(build)]


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


def _alternatives(
    price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> Iterator[Alternative]:
    """Give the build of least cost at each other level."""
    feasible = choice.feasible
    if enquiry.level is not None or enquiry.members is not None or enquiry.spans is not None:
        open_enquiry = enquiry.without("level", "members", "spans")
        if enquiry.usable_tb is None:
            wanted = Decimal(best.usable_bytes) / TB
            open_enquiry = open_enquiry.model_copy(update={"usable_tb": wanted})
        feasible = choose(price_list, open_enquiry).feasible
    for level in LEVELS:
        at_level = [c for c in feasible if c.build.layout.level == level]
        if not at_level or level == best.build.layout.level:
            continue
        found = min(at_level, key=lambda c: rank(c, enquiry.accept))
        yield _alternative("level", found, best, enquiry)


def _alternative(
    kind: Literal["level", "least_risk", "fastest"],
    found: Candidate,
    best: Candidate,
    enquiry: Enquiry,
) -> Alternative:
    build, layout = found.build, found.build.layout
    net, best_net = found.net, best.net
    assert net is not None and best_net is not None  # priced by the search
    return Alternative(
        kind=kind,
        title=layout.rule.label,
        level=layout.level,
        words=layout.words,
        chassis=build.chassis.sku,
        controller=build.controller.sku,
        drive=build.drive.sku,
        members=layout.members,
        spans=layout.spans,
        spares=layout.spares,
        usable_bytes=found.usable_bytes,
        survives=layout.rule.survives,
        net=net,
        net_difference=net - best_net,
        open_advice=tuple(
            advice.code for advice in fit.advice(build) if advice.code not in enquiry.accept
        ),
    )


def _next_steps(contact: str, holds: tuple[Reason, ...]) -> Iterator[str]:
    if holds:
        yield "This is a draft: we still have to confirm it before it becomes an offer."
    else:
        yield f"To order, tell us the quote number ({contact})."
    yield "We then pick the parts, build and test the server, and record what we measured."
    yield "You receive it with the array made, checked and documented."
