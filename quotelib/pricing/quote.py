"""What does a whole quote come to: servers, loose parts, services and lines of one's own."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from quotelib.build.build import Build
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.facts import Exact
from quotelib.pricing.lines import Charge, FreeLine, Line, PriceBook, charges, times
from quotelib.pricing.money import exact, share, to_minor
from quotelib.pricing.totals import Deal, Price, effective_discount, freight

AGREED, TAKEN = "Agreed", "Taken in payment"
"""What free lines count as: those that charge something, or nothing, and those below zero."""
Kind = Literal["server", "parts", "services", "once", "lines"]


@dataclass(frozen=True, slots=True)
class Ordered:
    """What a quote is made of, before it has a price.

    Parameters
    ----------
    servers : tuple of (Build, Deal)
        Each with how many alike and the services chosen for it.
    parts, services : tuple
        What belongs to no server, each as often as it is ordered; services by sku.
    lines : tuple of FreeLine
        Words, prices and costs of one's own.
    """

    servers: tuple[tuple[Build, Deal], ...]
    parts: tuple[Part, ...] = ()
    services: tuple[str, ...] = ()
    lines: tuple[FreeLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a quote: some equal servers, or all of one kind beside them.

    Parameters
    ----------
    lines_total, freight : Decimal
        Its sub-totals, before discount and tax.
    cost : Decimal
        What its lines cost us.
    """

    kind: Kind
    lines: tuple[Line, ...]
    lines_total: Exact
    freight: Exact
    cost: Exact


def items(ordered: Ordered, book: PriceBook) -> Iterator[Item]:
    """Price every item of a quote: one a server, then one of each other kind there is."""
    prices = book.price_list
    for build, deal in ordered.servers:
        charged = [c for c in charges(build, prices, deal.builds, deal.services) if not c.once]
        sent = build.mass_g(shipped_only=True)
        yield _item("server", charged, book, freight(book, sent, deal.builds))
    if ordered.parts:
        counts = Counter(part.sku for part in ordered.parts)
        parts = {part.sku: part for part in ordered.parts}
        mass_g = sum((part.mass_g for part in ordered.parts), Decimal(0))
        carried = freight(book, mass_g, 1, with_base=not ordered.servers)
        yield _item("parts", (Charge(parts[sku], n) for sku, n in counts.items()), book, carried)
    loose = Counter(sku for sku in ordered.services if prices.services[sku].per != "quote")
    if loose:
        each = (Charge(prices.services[sku], number) for sku, number in loose.items())
        yield _item("services", each, book)
    if once := list(once_charges(ordered, prices)):
        yield _item("once", once, book)
    if ordered.lines:
        yield _free(ordered.lines, book.currency)


def once_charges(ordered: Ordered, prices: PriceList) -> Iterator[Charge]:
    """List the services charged once a quote.

    Those always done count once where their actions are blank, or where any server has such an
    array; those chosen as often as rows choose them.
    """
    for service in prices.services.values():
        if service.per != "quote":
            continue
        if service.when == "chosen":
            number = ordered.services.count(service.sku) + sum(
                deal.services.count(service.sku) * times(service, build)
                for build, deal in ordered.servers
            )
        else:
            done = (times(service, build) for build, _ in ordered.servers)
            number = int(not service.actions or any(done))
        if number:
            yield Charge(service, number, True)


def _item(
    kind: Kind, charged: Iterable[Charge], book: PriceBook, carried: Decimal = Decimal(0)
) -> Item:
    charged = tuple(charged)
    lines = tuple(book.line(charge) for charge in charged)
    with exact():
        costs = (charge.quantity * book.unit(charge.thing)[1] for charge in charged)
        cost = sum(costs, Decimal(0))
    return _of(kind, lines, book.currency, carried, cost)


def _of(
    kind: Kind, lines: tuple[Line, ...], currency: str, carried: Decimal, cost: Decimal
) -> Item:
    with exact():
        total = to_minor(currency, sum((line.amount for line in lines), Decimal(0)))
        return Item(kind, lines, total, to_minor(currency, carried), to_minor(currency, cost))


def _free(free: Sequence[FreeLine], currency: str) -> Item:
    with exact():
        lines = tuple(_line(one, currency) for one in free)
        cost = sum((one.quantity * one.cost for one in free), Decimal(0))
    return _of("lines", lines, currency, Decimal(0), cost)


def _line(free: FreeLine, currency: str) -> Line:
    price = to_minor(currency, free.price)
    amount = to_minor(currency, free.quantity, price)
    share = TAKEN if free.price < 0 else AGREED
    return Line(share, "", free.words, free.quantity, price, amount, True)


def summed(made: Sequence[Item], book: PriceBook, deal: Deal) -> Price:
    """Add the items of a quote up before tax; `deal` says how many servers it has in all.

    References
    ----------
    EN 16931-1, order of document totals.
    """
    with exact():
        lines_total = sum((item.lines_total for item in made), Decimal(0))
        fixed = sum((ln.amount for item in made for ln in item.lines if ln.once), Decimal(0))
        pct, by_volume = effective_discount(book.price_list.terms, deal)
        discount = share(book.currency, lines_total - fixed, pct)
        carried = sum((item.freight for item in made), Decimal(0))
        cost = sum((item.cost for item in made), Decimal(0))
        net = lines_total - discount + carried
    return Price(
        deal.counted, lines_total, pct, discount, by_volume, carried, net, cost,
        once_total=fixed,
    )  # fmt: skip


def unit_costs(ordered: Ordered, book: PriceBook) -> dict[str, Exact]:
    """Give what one of each thing charged for costs us, by sku; of a free line, by its words."""
    prices = book.price_list
    things: list[Part | Service] = [
        charge.thing
        for build, deal in ordered.servers
        for charge in charges(build, prices, chosen=deal.services)
        if not charge.once
    ]
    things += ordered.parts
    things += [prices.services[sku] for sku in ordered.services]
    things += [charge.thing for charge in once_charges(ordered, prices)]
    costs = {thing.sku: book.unit(thing)[1] for thing in things}
    return costs | {one.words: to_minor(book.currency, one.cost) for one in ordered.lines}
