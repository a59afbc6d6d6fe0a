"""What is on the bill: one line for each part and service, in a fixed order."""

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Action, Service
from quotelib.facts import Exact
from quotelib.pricing.money import to_minor
from quotelib.text import either


@dataclass(frozen=True, slots=True)
class FreeLine:
    """A line in somebody's own words; price and cost of one, in the quote's currency."""

    words: str
    quantity: int
    price: Decimal
    cost: Decimal


class Charge(NamedTuple):
    """Something of which so many are charged, before it has a price in a currency."""

    thing: Part | Service
    quantity: int
    once: bool = False


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
    once : bool
        Whether it is charged once a quote, whatever is built; no discount is taken from it.
    """

    share: str
    sku: str
    description: str
    quantity: int
    unit_price: Exact
    amount: Exact
    once: bool = False


def times(service: Service, build: Build, actions: Set[Action] = frozenset()) -> int:
    """Count how often a service is done on one build, or for its quote.

    `actions` are what is done with the build; by default what its arrays say.

    It is done where an action of its own (blank: ``new``) is one of the build's: for each array
    with such an action, for each drive that goes into one, for each controller that is fitted, or
    once. What belongs to an array that stays is in its place already. A service that somebody
    chose, or that is done once a quote, and that names no action is done once, or for each
    controller, whatever the action.
    """
    wanted = service.actions or ("new",)
    always = not service.actions and (service.when == "chosen" or service.per == "quote")
    if (actions or build.actions).isdisjoint(wanted) and not (always and service.per in _WHOLE):
        return 0
    arrays = [array for array in build.arrays if array.action in wanted]
    if service.per == "drive":
        return sum(array.fitted_drives for array in arrays)
    if service.per == "controller":
        return sum(
            piece.count
            for piece, _ in build.controllers()
            if piece.part.takes != "board" and build.is_fitted(piece)
        )
    return sum(a.layout.rule.is_array for a in arrays) if service.per == "array" else 1


_WHOLE = {"build", "controller", "quote"}
_NEEDS = {
    "array": "a RAID level", "controller": "a controller to fit", "drive": "a drive to fit",
}  # fmt: skip


def in_vain(services: Iterable[Service], build: Build) -> Iterator[Finding]:
    """Find the services that are asked for and would never be done on a build."""
    for service in (service for service in services if not times(service, build)):
        need = _NEEDS.get(service.per, "a server")
        what = f"the service {service.sku} takes {need} and the action "
        what += f"{either(service.actions or ('new',))}, which is not so here"
        yield finding("service_elsewhere", what, "choose that, or leave the service out")


def charges(
    build: Build,
    price_list: PriceList,
    builds: int = 1,
    chosen: Sequence[str] = (),
    actions: Set[Action] = frozenset(),
) -> Iterator[Charge]:
    """List everything that some equal builds and their quote are charged for, parts first.

    What the customer owns is not among them, nor is a board controller, which comes with its
    chassis. Services `chosen` are named by sku, as often as they are asked for; for `actions` see
    `times`.
    """
    for piece in build.lead_pieces:
        yield Charge(piece.part, piece.count * builds)
    for service in price_list.services.values():
        asked = chosen.count(service.sku) if service.when == "chosen" else 1
        if quantity := asked and asked * times(service, build, actions):
            once = service.per == "quote"
            yield Charge(service, quantity if once else quantity * builds, once)


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

    def line(self, charge: Charge) -> Line:
        """Price one charge."""
        thing, quantity, once = charge
        price, told = self.unit(thing)[0], (thing.share, thing.sku, thing.description)
        return Line(*told, quantity, price, to_minor(self.currency, quantity, price), once)
