"""The bill of builds that are at hand: priced as a quote, and checked against the choice's price.

A quote is priced item by item, and the search prices a build by a shorter way; a bill is only given
where both come to the same.
"""

from quotelib.build.build import Build
from quotelib.pricing.lines import Line, PriceBook
from quotelib.pricing.quote import Item, Ordered, items, summed
from quotelib.pricing.totals import Deal, price


def order(made: Build, deal: Deal | None = None) -> Ordered:
    """Order some equal servers and nothing else."""
    return Ordered(((made, deal or Deal()),))


def bill(made: Build, book: PriceBook, deal: Deal | None = None) -> tuple[Item, ...]:
    """Give the items of a quote of some equal servers and nothing else."""
    deal = deal or Deal()
    found = tuple(items(order(made, deal), book))
    assert summed(found, book, deal) == price(made, book, deal)
    return found


def lines(made: Build, book: PriceBook, deal: Deal | None = None) -> tuple[Line, ...]:
    """Give the lines of such a quote, what is charged once last."""
    return tuple(line for item in bill(made, book, deal) for line in item.lines)


def quantities(made: Build, book: PriceBook, deal: Deal | None = None) -> dict[str, int]:
    """Give how many of each sku are charged."""
    found = lines(made, book, deal)
    assert len({line.sku for line in found}) == len(found), "one line a sku"
    return {line.sku: line.quantity for line in found}
