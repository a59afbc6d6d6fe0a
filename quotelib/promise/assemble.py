"""How is a record put together: servers, what stands beside them, sums, holds and terms."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence, Set
from decimal import Decimal

from quotelib import __version__
from quotelib.bench.loose import loose_sheet
from quotelib.build.build import Build
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.choose.candidate import Candidate
from quotelib.choose.server import ordered
from quotelib.enquiry.request import Request
from quotelib.facts import Reason
from quotelib.pricing.instalments import instalments
from quotelib.pricing.lines import Line, PriceBook
from quotelib.pricing.quote import Item, Ordered, items, once_charges, summed, unit_costs
from quotelib.pricing.totals import Price, totals
from quotelib.promise import asked, words
from quotelib.promise.offer_asked import lacking_words
from quotelib.promise.part_words import part_facts, warranty_years
from quotelib.promise.record import (
    AskedRow,
    Internal,
    PriceShare,
    QuoteRecord,
    Server,
)
from quotelib.promise.server import describe
from quotelib.promise.shipping import (
    Due,
    Shipping,
    due_of,
    late,
    leaves_words,
    shipping,
    wanted_words,
)
from quotelib.promise.shown import ItemShown, PartShown, called
from quotelib.promise.texts import texts
from quotelib.ready.leaving import Job
from quotelib.ready.stock import of_build, of_parts
from quotelib.units import plain, round_half_away

MARGIN_FLOOR = "margin_floor"
"""Code of the hold that is not a finding: the margin is under the floor of the terms."""


def assemble(
    price_list: PriceList,
    request: Request,
    date: dt.date,
    best: Sequence[Candidate],
    holds: Sequence[Reason] = (),
    nearest: str = "",
    approved: Set[str] = frozenset(),
) -> QuoteRecord:
    """Put the record of the builds to propose together, one a server of the request.

    It is without what else would meet the enquiry. It is held for the reasons given, too, but for
    nothing that is `approved`; findings that somebody has said yes to are in the request. `nearest`
    says what could be shipped sooner, where nothing can be in time.
    """
    terms, first, deal = price_list.terms, request.first, request.deal
    currency = first.currency or terms.currency
    until = date + dt.timedelta(days=terms.quote_valid_days)
    book = PriceBook(price_list, currency)
    builds = [candidate.build for candidate in best]
    made_of = ordered(price_list, request, builds)
    made = tuple(items(made_of, book))
    of_servers = [item for item in made if item.kind == "server"]
    others = tuple(_item(item, made_of) for item in made if item.kind != "server")
    beside = words.apart([item.kind for item in others])
    priced = summed(made, book, deal)
    once = [(c.thing, c.quantity) for c in once_charges(made_of, price_list)]
    done_once = [(thing, number) for thing, number in once if isinstance(thing, Service)]
    traded_in = any(line.price < 0 for line in made_of.lines)
    servers = tuple(
        # What is done or comes back once is on the sheet of the first.
        describe(
            price_list, wanted, candidate, item, () if number else done_once, until,
            traded_in=traded_in and not number,
        )
        for number, (wanted, candidate, item) in enumerate(
            zip(request.servers, best, of_servers, strict=True)
        )
    )  # fmt: skip
    wanted_by = first.value("ship_by")
    sent = shipping(date, wanted_by, terms.bench, tuple(_due(servers, builds, made_of.parts)))
    if sent is not None:
        servers, others = _dated(servers, others, sent)
    holds = (
        *holds,
        *_holds(servers, priced, terms.margin_floor_pct),
        *late(sent, wanted_by, nearest),
    )
    holds = tuple(reason for reason in holds if reason.code not in approved)
    alike = len(servers) == 1 and not any(item.kind in {"parts", "services"} for item in made)
    sums = totals(priced, book, deal, alike=alike)
    every = [line for item in made for line in item.lines]
    discount = words.discount_words(sums, len(servers), beside)
    agreed = [line for item in others if item.kind == "lines" for line in item.lines]
    wishes = asked.of_quote(request, price_list, discount, agreed, wanted_words(sent))
    said = words.terms_words(terms, first, sent.words if sent else (), servers=bool(builds))
    lacks = tuple(asked.lacking(request, builds))
    buyer = price_list.customers.get(first.customer)
    return QuoteRecord(
        program_version=__version__,
        price_list_fingerprint=price_list.fingerprint,
        quote_number=f"Q-{date:%Y%m%d}-{first.enquiry_id}",
        enquiry_id=first.enquiry_id,
        date=date,
        valid_until=until,
        outcome="held" if holds else "quoted",
        draft=bool(holds),
        seller=terms.seller,
        customer=first.customer,
        buyer=buyer,
        language=buyer.language if buyer else "en",
        customer_ref=first.value("customer_ref") or "",
        rows=tuple(
            AskedRow(cells=row.cells(), server=server, array=array)
            for row, (server, array) in zip(request.rows, request.places(), strict=True)
        ),
        asked=tuple(wishes),
        lacks=lacks,
        not_included=(*lacking_words(lacks, texts("en")), *terms.offer.exclusions),
        currency=currency,
        servers=servers,
        items=others,
        totals=sums,
        discount_words=discount,
        each_words=words.each_words(sums, beside),
        price_shares=tuple(_price_shares(every, priced.freight)),
        bench_minutes=sum((server.bench.minutes_all for server in servers), Decimal(0)),
        cautions=words.cautions(builds, made_of.parts),
        offer_terms=terms.offer,
        ship_date=sent.date if sent else None,
        shipping=sent,
        instalments=instalments(sums.gross, currency, book.rate, terms.instalments),
        terms=tuple(said),
        internal=Internal(
            cost=priced.cost,
            margin_pct=priced.margin_shown,
            margin_floor_pct=terms.margin_floor_pct,
            unit_costs=unit_costs(made_of, book),
            hold_reasons=holds,
            note=request.note,
        ),
    )


def _item(item: Item, made_of: Ordered) -> ItemShown:
    """Show what a quote has beside servers."""
    parts = made_of.parts if item.kind == "parts" else ()
    counts = Counter(part.sku for part in parts)
    late = [part.lead_days for part in parts if part.stock < counts[part.sku]]
    mass_g = sum((part.mass_g for part in parts), Decimal(0))
    return ItemShown(
        kind=item.kind,
        name=words.ITEMS[item.kind],
        lines=item.lines,
        lines_total=item.lines_total,
        freight=item.freight,
        mass_kg=round_half_away(mass_g / 1000, 3),
        lead_days=max(late, default=0),
        pick=tuple(
            PartShown(
                role=part.role, sku=sku, description=part.description, quantity=counts[sku],
                quantity_all=counts[sku], owned=False, facts=tuple(part_facts(part)),
                condition=part.condition, warranty_years=warranty_years(part),
            )
            for sku, part in {part.sku: part for part in parts}.items()
        ),
        bench=loose_sheet(parts) if parts else None,
    )  # fmt: skip


def _due(
    servers: Sequence[Server], builds: Sequence[Build], parts: Sequence[Part]
) -> Iterator[Due]:
    """List what is to leave: the servers, then loose parts."""
    names = called("server", [server.name for server in servers])
    for name, server, build in zip(names, servers, builds, strict=True):
        may_erase = all(f.accepted for f in server.findings if f.code == "erases_data")
        needs = of_build(build, server.builds)
        yield due_of(name, needs, server.bench, may_erase=may_erase)
    if parts:
        name = words.ITEMS["parts"].lower() if servers else ""
        yield Due("parts", name, of_parts(parts), Job(0))


def _dated(
    servers: tuple[Server, ...], others: tuple[ItemShown, ...], sent: Shipping
) -> tuple[tuple[Server, ...], tuple[ItemShown, ...]]:
    """Say on each bench sheet when it must leave."""
    said = [leaves_words(sent, item) for item in sent.items]
    dated = tuple(
        server.model_copy(update={"bench": server.bench.model_copy(update={"leaves": leaves})})
        for server, leaves in zip(servers, said, strict=False)
    )
    beside = tuple(
        item.model_copy(update={"bench": item.bench.model_copy(update={"leaves": said[-1]})})
        if item.bench is not None
        else item
        for item in others
    )
    return dated, beside


def _holds(servers: Sequence[Server], priced: Price, floor_pct: Decimal) -> Iterator[Reason]:
    names = called("server", [server.name for server in servers])
    for of, server in zip(names, servers, strict=True):
        for found in server.findings:
            if found.severity == "advise" and not found.accepted:
                what = f"{of}: {found.what}" if of else found.what
                yield Reason(code=found.code, what=what, change=found.change)
    if priced.under_floor(floor_pct):
        margin = priced.margin_shown
        got = "there is no margin" if margin is None else f"the margin is {margin} %"
        what = f"{got}, under the floor of {plain(floor_pct)} %"
        yield Reason(code=MARGIN_FLOOR, what=what, change="raise the price or lower the discount")


def _price_shares(lines: Iterable[Line], freight: Decimal) -> Iterator[PriceShare]:
    amounts: dict[str, Decimal] = {}
    for line in lines:
        amounts[line.share] = amounts.get(line.share, Decimal(0)) + line.amount
    total = sum((amount for amount in amounts.values() if amount > 0), Decimal(0))
    for name, amount in amounts.items():
        if amount:
            # What is taken off, a trade-in say, is no share of what is charged.
            pct = float(100 * amount / total) if amount > 0 else None
            yield PriceShare(name=name, amount=amount, pct=pct)
    if freight:
        yield PriceShare(name="Freight", amount=freight, pct=None)
