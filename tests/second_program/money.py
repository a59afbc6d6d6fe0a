"""The contract's money: exact decimals, rounded only where it says so."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Context, Decimal

from babel.numbers import get_currency_precision

from .enquiry import Enquiry
from .reading import Accessory, Part, Prices, Service
from .rules import Build, accessories_of, freight_mass_g, quantity, service_count

# Wide enough for every product here to be exact.
EXACT = Context(prec=100, rounding=ROUND_HALF_UP)


def rounded(value: Decimal, digits: int) -> Decimal:
    """Round half away from zero (which is what the library calls half up)."""
    return value.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP, context=EXACT)


@dataclass(frozen=True)
class Totals:
    """Money of one quote (all builds) in its currency; `once` is part of lines total and net."""

    lines_total: Decimal
    discount: Decimal
    freight: Decimal
    net: Decimal
    cost: Decimal
    once: Decimal


@dataclass
class Till:
    """Prices builds for one enquiry; call under the `EXACT` context."""

    prices: Prices
    enquiry: Enquiry
    digits: int = field(init=False)
    rate: Decimal = field(init=False)
    discount_pct: Decimal = field(init=False)
    _units: dict[tuple[type, str], tuple[Decimal, Decimal]] = field(
        init=False, default_factory=dict
    )

    def __post_init__(self) -> None:
        currency = self.enquiry.currency
        self.digits = get_currency_precision(currency)
        own = currency == self.prices.currency
        self.rate = Decimal(1) if own else self.prices.rates[currency]
        tiers = self.prices.volume_discount
        volume = [pct for least, pct in tiers if least <= self.enquiry.builds]
        self.discount_pct = max([self.enquiry.discount_pct, *volume])

    def lines(self, build: Build) -> list[tuple[Part | Service, int]]:
        """List what is sold with one build and how many of it, services per quote left out."""
        owned = self.enquiry.owned
        sold: list[tuple[Part | Service, int]] = []
        if "chassis" not in owned:
            sold.append((build.chassis, 1))
        if "controller" not in owned and build.controller.mounting != "board":
            sold.append((build.controller, 1))
        if "drive" not in owned:
            sold.append((build.drive, build.drives))
        sold += build.options
        for accessory in self._accessories(build):
            sold.append((accessory, quantity(accessory, build.drives)))
        sold += [(s, count) for s, count in self.services(build) if s.per != "quote"]
        return sold

    def services(self, build: Build) -> list[tuple[Service, int]]:
        """List the services of one build, and those of the quote, with how often each is done."""
        chosen = {service.sku: count for service, count in self.enquiry.services}
        found = []
        for service in self.prices.services:
            times = chosen.get(service.sku, 0) if service.chosen else 1
            if times * service_count(service, build):
                found.append((service, times * service_count(service, build)))
        return found

    def _accessories(self, build: Build) -> list[Accessory]:
        return accessories_of(
            self.prices,
            build.chassis,
            build.controller,
            build.drive,
            self.enquiry.owned,
            build.options,
        )

    def _unit(self, item: Part | Service) -> tuple[Decimal, Decimal]:
        key = (type(item), item.sku)
        if key not in self._units:
            self._units[key] = (
                rounded(item.unit_price * self.rate, self.digits),
                rounded(item.unit_cost * self.rate, self.digits),
            )
        return self._units[key]

    def totals(self, build: Build) -> Totals:
        """Price one build, times the number of builds."""
        builds = self.enquiry.builds
        lines_total = cost = Decimal(0)
        for item, count in self.lines(build):
            unit_price, unit_cost = self._unit(item)
            lines_total += count * unit_price * builds
            cost += count * unit_cost * builds
        # Whatever else is discounted, what is charged once a quote is not.
        once = Decimal(0)
        for service, count in self.services(build):
            if service.per == "quote":
                once += count * self._unit(service)[0]
                cost += count * self._unit(service)[1]
        discount = rounded(lines_total * self.discount_pct / 100, self.digits)
        grams = freight_mass_g(build, self._accessories(build), self.enquiry.owned)
        freight = rounded(
            (self.prices.freight_base + self.prices.freight_per_kg * grams / 1000)
            * self.rate
            * builds,
            self.digits,
        )
        net = lines_total - discount + freight + once
        return Totals(lines_total + once, discount, freight, net, cost, once)

    def lead_days(self, build: Build) -> int:
        """Longest wait among the parts we ship and do not have enough of."""
        return max(
            (
                item.lead_days
                for item, count in self.lines(build)
                if isinstance(item, Part) and item.stock < count * self.enquiry.builds
            ),
            default=0,
        )
