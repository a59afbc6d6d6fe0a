"""What does it come to: the totals, in the order of EN 16931."""

from dataclasses import dataclass
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.catalogue.parts import Terms
from quotelib.pricing.lines import Line, PriceBook, items
from quotelib.pricing.money import exact, share, to_minor


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
    """

    builds: int = 1
    discount_pct: Decimal = Decimal(0)
    tax_code: str | None = None


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of a quote, each at the currency's minor unit.

    Parameters
    ----------
    lines_total : Decimal
        Sum of the lines.
    discount_pct, discount : Decimal
        The discount that counts, and what it comes to.
    volume_discount : bool
        Whether it is the volume discount that counts.
    freight, net : Decimal
        Freight, and lines less discount plus freight.
    tax_pct, tax, gross : Decimal
        Tax on net, and what is to be paid.
    cost : Decimal
        What the lines cost us.
    """

    lines_total: Decimal
    discount_pct: Decimal
    discount: Decimal
    volume_discount: bool
    freight: Decimal
    net: Decimal
    tax_pct: Decimal
    tax: Decimal
    gross: Decimal
    cost: Decimal

    @property
    def margin_pct(self) -> Decimal | None:
        """Give (net - freight - cost) / (net - freight) in per cent, unrounded.

        Returns
        -------
        Decimal or None
            None where nothing is left to take a margin of.
        """
        revenue = self.net - self.freight
        return (revenue - self.cost) / revenue * 100 if revenue > 0 else None

    def under_floor(self, floor_pct: Decimal) -> bool:
        """Tell whether the margin misses a floor; exact, since a quotient would be rounded."""
        revenue = self.net - self.freight
        return revenue <= 0 or (revenue - self.cost) * 100 < floor_pct * revenue


def freight(build: Build, book: PriceBook, builds: int) -> Decimal:
    """Price the freight of some equal builds.

    Base and mass are taken for one build, converted and multiplied, and rounded once.
    """
    terms = book.price_list.terms.freight
    with exact():
        one = terms.base + terms.per_kg * build.mass_g(shipped_only=True) / 1000
    return to_minor(book.currency, one, book.rate, builds)


def effective_discount(terms: Terms, deal: Deal) -> tuple[Decimal, bool]:
    """Give the discount that counts, and whether it is the volume discount."""
    volume = terms.volume_discount_pct(deal.builds)
    return (volume, True) if volume > deal.discount_pct else (deal.discount_pct, False)


def net_total(build: Build, book: PriceBook, deal: Deal) -> Decimal:
    """Price a build before tax, without making the lines."""
    with exact():
        lines_total = deal.builds * sum(
            (item.quantity * book.unit(item.thing)[0] for item in items(build, book.price_list)),
            Decimal(0),
        )
        pct, _ = effective_discount(book.price_list.terms, deal)
        discount = share(book.currency, lines_total, pct)
        return lines_total - discount + freight(build, book, deal.builds)


def price(build: Build, book: PriceBook, deal: Deal) -> tuple[tuple[Line, ...], Totals]:
    """Price some equal builds.

    Parameters
    ----------
    build : Build
    book : PriceBook
        Unit prices in the quote's currency.
    deal : Deal

    Returns
    -------
    lines : tuple of Line
    totals : Totals

    References
    ----------
    EN 16931-1, order of document totals: sum of lines, allowances and charges, total without
    tax, tax, total with tax.
    """
    with exact():
        return _price(build, book, deal)


def _price(build: Build, book: PriceBook, deal: Deal) -> tuple[tuple[Line, ...], Totals]:
    terms, currency = book.price_list.terms, book.currency
    lines = book.lines(build, deal.builds)
    lines_total = to_minor(currency, sum((line.amount for line in lines), Decimal(0)))
    pct, by_volume = effective_discount(terms, deal)
    discount = share(currency, lines_total, pct)
    freight_amount = freight(build, book, deal.builds)
    net = lines_total - discount + freight_amount
    tax_pct = terms.tax[deal.tax_code] if deal.tax_code else Decimal(0)
    tax = share(currency, net, tax_pct)
    return lines, Totals(
        lines_total=lines_total,
        discount_pct=pct,
        discount=discount,
        volume_discount=by_volume,
        freight=freight_amount,
        net=net,
        tax_pct=tax_pct,
        tax=tax,
        gross=net + tax,
        cost=to_minor(currency, sum((line.cost for line in lines), Decimal(0))),
    )
