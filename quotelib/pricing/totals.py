"""What does it come to: the totals, in the order of EN 16931."""

from dataclasses import dataclass, field, fields
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.catalogue.terms import Terms
from quotelib.facts import Exact, Measure
from quotelib.pricing.lines import PriceBook, charges
from quotelib.pricing.money import digits, exact, share, to_minor
from quotelib.units import round_half_away


@dataclass(frozen=True, slots=True)
class Deal:
    """What the customer and the terms decide about the price.

    Parameters
    ----------
    builds : int
        How many alike.
    discount_pct : Decimal
        Agreed with the customer; the volume discount counts instead where it is larger.
    tax_code : str or None
        Key of the terms' tax table; None for no tax.
    services : tuple of str
        Skus of the services chosen, each as often as it is asked for.
    all_builds : int or None
        How many servers the whole quote has, for its volume discount; None: these alone.
    """

    builds: int = 1
    discount_pct: Decimal = Decimal(0)
    tax_code: str | None = None
    services: tuple[str, ...] = ()
    all_builds: int | None = None

    @property
    def counted(self) -> int:
        """Count the servers that the volume discount goes by."""
        return self.builds if self.all_builds is None else self.all_builds


@dataclass(frozen=True, slots=True)
class Sums:
    """What some equal builds come to before tax, each sum at the currency's minor unit.

    Parameters
    ----------
    lines_total : Decimal
        Sum of all lines.
    once_total : Decimal
        What of them is charged once a quote and is no part of the price of a build.
    discount_pct, discount : Decimal
        The discount that counts, and what it comes to.
    volume_discount : bool
        Whether it is the volume discount that counts.
    freight, net : Decimal
        Freight, and lines less discount plus freight.
    """

    builds: int
    lines_total: Exact
    discount_pct: Measure
    discount: Exact
    volume_discount: bool
    freight: Exact
    net: Exact
    once_total: Exact = field(default=Decimal(0), kw_only=True)


@dataclass(frozen=True, slots=True)
class Totals(Sums):
    """Sums of a quote with tax on net, what is to be paid, and the net of one of its builds.

    The last is None where the quote has servers of several kinds, or more than servers.
    """

    net_per_build: Exact | None
    tax_code: str | None
    tax_pct: Measure
    tax: Exact
    gross: Exact


@dataclass(frozen=True, slots=True)
class Price(Sums):
    """Sums of some equal builds, and what their lines cost us."""

    cost: Decimal

    @property
    def margin_pct(self) -> Decimal | None:
        """Give (net - freight - cost) / (net - freight) in per cent, unrounded.

        None where nothing is left to take a margin of.
        """
        revenue = self.net - self.freight
        return (revenue - self.cost) / revenue * 100 if revenue > 0 else None

    @property
    def margin_shown(self) -> Decimal | None:
        """Give the margin in per cent as it is shown, rounded to two digits."""
        return None if self.margin_pct is None else round_half_away(self.margin_pct, 2)

    def under_floor(self, floor_pct: Decimal) -> bool:
        """Tell whether the margin misses a floor; exact, since a quotient would be rounded."""
        revenue = self.net - self.freight
        return revenue <= 0 or (revenue - self.cost) * 100 < floor_pct * revenue


def effective_discount(terms: Terms, deal: Deal) -> tuple[Decimal, bool]:
    """Give the discount that counts, and whether it is the volume discount."""
    volume = terms.volume_discount_pct(deal.counted)
    return (volume, True) if volume > deal.discount_pct else (deal.discount_pct, False)


def freight(book: PriceBook, mass_g: Decimal, builds: int, *, with_base: bool = True) -> Decimal:
    """Give the freight of some equal masses: converted and multiplied, and rounded once."""
    terms = book.price_list.terms.freight
    each = terms.per_kg * mass_g / 1000 + (terms.base if with_base else 0)
    return to_minor(book.currency, each, book.rate, builds)


def price(build: Build, book: PriceBook, deal: Deal) -> Price:
    """Price some equal builds before tax.

    References
    ----------
    EN 16931-1, order of document totals: sum of lines, allowances and charges, total without
    tax, tax, total with tax.
    """
    terms, places = book.price_list.terms, digits(book.currency)
    with exact():  # one context for all: a search prices tens of thousands of builds
        lines_total = cost = once = Decimal(0)
        for thing, number, only_once in charges(build, book.price_list, deal.builds, deal.services):
            unit_price, unit_cost = book.unit(thing)
            lines_total += number * unit_price
            cost += number * unit_cost
            if only_once:
                once += number * unit_price
        lines_total, once = round_half_away(lines_total, places), round_half_away(once, places)
        pct, by_volume = effective_discount(terms, deal)
        discount = round_half_away((lines_total - once) * pct / 100, places)
        carried = freight(book, build.mass_g(shipped_only=True), deal.builds)
        net = lines_total - discount + carried
        cost = round_half_away(cost, places)
    return Price(
        deal.builds, lines_total, pct, discount, by_volume, carried, net, cost, once_total=once
    )


def totals(priced: Price, book: PriceBook, deal: Deal, *, alike: bool = True) -> Totals:
    """Add tax and, where all is for servers `alike`, the price of one build."""
    tax_pct = book.price_list.terms.tax[deal.tax_code] if deal.tax_code else Decimal(0)
    sums = {one.name: getattr(priced, one.name) for one in fields(Sums)}
    with exact():
        tax = share(book.currency, priced.net, tax_pct)
        of_builds = priced.net - priced.once_total
        return Totals(
            **sums,
            net_per_build=to_minor(book.currency, of_builds / deal.builds) if alike else None,
            tax_code=deal.tax_code,
            tax_pct=tax_pct,
            tax=tax,
            gross=priced.net + tax,
        )
