"""What is on the bill: one line for each part and service, in a fixed order."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from quotelib.build.build import Build
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.facts import Exact
from quotelib.pricing.money import to_minor


class Charge(NamedTuple):
    """Something of which one build is charged so many, before it has a price in a currency."""

    thing: Part | Service
    quantity: int


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a quote.

    Parameters
    ----------
    share : str
        What it counts as where the price is told apart: ``Drives``, ``Services`` ...
    sku, description : str
        From the price list.
    quantity : int
        For all builds together.
    unit_price, amount : Decimal
        In the quote's currency, at its minor unit.
    """

    share: str
    sku: str
    description: str
    quantity: int
    unit_price: Exact
    amount: Exact


def _times(service: Service, build: Build) -> int:
    """Count how often a service is done on one build."""
    if service.per == "build":
        return 1
    if service.per == "drive":
        return build.drives
    if service.per == "controller":
        return sum(piece.count for piece, _ in build.controllers() if piece.part.takes != "board")
    return sum(array.layout.rule.is_array for array in build.arrays)


def charges(build: Build, price_list: PriceList) -> Iterator[Charge]:
    """List everything that one build is charged for, parts before services.

    What the customer owns is not among them, nor is a board controller, which comes with its
    chassis.
    """
    for piece in build.lead_pieces:
        yield Charge(piece.part, piece.count)
    for service in price_list.services.values():
        if quantity := _times(service, build):
            yield Charge(service, quantity)


class PriceBook:
    """Unit prices and costs in one of a price list's currencies, converted and rounded once."""

    def __init__(self, price_list: PriceList, currency: str) -> None:
        self.price_list = price_list
        self.currency = currency
        self.rate = price_list.terms.rate(currency)
        self._units: dict[str, tuple[Exact, Exact]] = {}

    def unit(self, thing: Part | Service) -> tuple[Exact, Exact]:
        """Give unit price and unit cost at the currency's minor unit."""
        if thing.sku not in self._units:
            self._units[thing.sku] = (
                to_minor(self.currency, thing.unit_price, self.rate),
                to_minor(self.currency, thing.unit_cost, self.rate),
            )
        return self._units[thing.sku]

    def lines(self, build: Build, builds: int) -> tuple[Line, ...]:
        """Price every charge of some equal builds."""
        made = []
        for thing, quantity in charges(build, self.price_list):
            price, total = self.unit(thing)[0], quantity * builds
            amount = to_minor(self.currency, total, price)
            made.append(Line(thing.share, thing.sku, thing.description, total, price, amount))
        return tuple(made)

    def unit_costs(self, build: Build) -> dict[str, Exact]:
        """Give what one of each thing charged for costs us, by sku."""
        return {thing.sku: self.unit(thing)[1] for thing, _ in charges(build, self.price_list)}
