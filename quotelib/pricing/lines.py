"""What is on the bill: one line for each part and service, in a fixed order."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Generic, Literal, TypeVar

from quotelib.build.build import Build
from quotelib.catalogue.parts import Part, Service
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.money import to_minor

LineKind = Literal["chassis", "controller", "drive", "accessory", "service"]


_Thing = TypeVar("_Thing", bound=Part | Service, covariant=True)


@dataclass(frozen=True, slots=True)
class Item(Generic[_Thing]):
    """Something a build is charged for, before it has a price in the quote's currency.

    Parameters
    ----------
    kind : str
        What sort of thing it is.
    thing : Part or Service
        From the price list.
    quantity : int
        In one build.
    """

    kind: LineKind
    thing: _Thing
    quantity: int


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a quote.

    Parameters
    ----------
    kind : str
        ``chassis``, ``controller``, ``drive``, ``accessory`` or ``service``.
    sku, description : str
        From the price list.
    quantity : int
        For all builds together.
    unit_price, amount : Decimal
        In the quote's currency, at its minor unit.
    unit_cost : Decimal
        What one costs us, likewise.
    """

    kind: LineKind
    sku: str
    description: str
    quantity: int
    unit_price: Decimal
    amount: Decimal
    unit_cost: Decimal

    @property
    def cost(self) -> Decimal:
        """Give what the line costs us."""
        return self.quantity * self.unit_cost


def service_quantity(service: Service, build: Build) -> int:
    """Count how often a service is done on one build."""
    layout = build.layout
    counts = {
        "build": 1,
        "drive": layout.drives,
        "controller": 0 if build.controller.mounting == "board" else 1,
        "array": 1 if layout.rule.is_array else 0,
    }
    return counts[service.per]


def part_items(build: Build) -> Iterator[Item[Part]]:
    """List the parts we deliver with one build.

    What the customer owns is not among them, nor is a board controller, which comes with its
    chassis.
    """
    parts = build.parts
    if "chassis" not in parts.owned:
        yield Item("chassis", parts.chassis, 1)
    if "controller" not in parts.owned and parts.controller.mounting != "board":
        yield Item("controller", parts.controller, 1)
    if "drive" not in parts.owned:
        yield Item("drive", parts.drive, build.layout.drives)
    for accessory in parts.accessories:
        yield Item("accessory", accessory, build.quantity(accessory))


def items(build: Build, price_list: PriceList) -> Iterator[Item[Part | Service]]:
    """List everything that one build is charged for, parts before services."""
    yield from part_items(build)
    for service in price_list.services.values():
        quantity = service_quantity(service, build)
        if quantity:
            yield Item("service", service, quantity)


class PriceBook:
    """Unit prices and costs in one currency, converted and rounded once each.

    Parameters
    ----------
    price_list : PriceList
    currency : str
        One of the price list's currencies.
    """

    def __init__(self, price_list: PriceList, currency: str) -> None:
        self.price_list = price_list
        self.currency = currency
        self.rate = price_list.terms.rate(currency)
        self._units: dict[str, tuple[Decimal, Decimal]] = {}

    def unit(self, thing: Part | Service) -> tuple[Decimal, Decimal]:
        """Give unit price and unit cost at the currency's minor unit."""
        found = self._units.get(thing.sku)
        if found is None:
            found = (
                to_minor(self.currency, thing.unit_price, self.rate),
                to_minor(self.currency, thing.unit_cost, self.rate),
            )
            self._units[thing.sku] = found
        return found

    def lines(self, build: Build, builds: int) -> tuple[Line, ...]:
        """Price every item of some equal builds."""
        made = []
        for item in items(build, self.price_list):
            price, cost = self.unit(item.thing)
            quantity = item.quantity * builds
            sku, description = item.thing.sku, item.thing.description
            amount = to_minor(self.currency, quantity, price)
            made.append(Line(item.kind, sku, description, quantity, price, amount, cost))
        return tuple(made)
