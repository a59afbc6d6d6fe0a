"""The contract's money: exact decimals, rounded only where it says so."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Context, Decimal

from babel.numbers import get_currency_precision

from .boxes import Box, accessories_of, mass_g, service_count
from .orders import QuoteAsk, ServerAsk
from .reading import Accessory, Part, Prices, Service

# Wide enough for every product here to be exact.
EXACT = Context(prec=100, rounding=ROUND_HALF_UP)


def rounded(value: Decimal, digits: int) -> Decimal:
    """Round half away from zero (which is what the library calls half up)."""
    return value.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP, context=EXACT)


@dataclass(frozen=True)
class Totals:
    """Money of one quote in its currency."""

    lines_total: Decimal
    discount: Decimal
    freight: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    cost: Decimal


@dataclass
class Till:
    """Prices servers and the whole quote; call under the `EXACT` context."""

    prices: Prices
    quote: QuoteAsk
    digits: int = field(init=False)
    rate: Decimal = field(init=False)
    discount_pct: Decimal = field(init=False)
    _units: dict[tuple[type, str], tuple[Decimal, Decimal]] = field(
        init=False, default_factory=dict
    )

    def __post_init__(self) -> None:
        first = self.quote.first
        self.digits = get_currency_precision(first.currency)
        own = first.currency == self.prices.currency
        self.rate = Decimal(1) if own else self.prices.rates[first.currency]
        tiers = self.prices.volume_discount
        volume = [pct for least, pct in tiers if least <= self.quote.builds]
        self.discount_pct = max([first.discount_pct, *volume])

    def unit(self, item: Part | Service) -> tuple[Decimal, Decimal]:
        """Price and cost of one, after exchange."""
        key = (type(item), item.sku)
        if key not in self._units:
            self._units[key] = (
                rounded(item.unit_price * self.rate, self.digits),
                rounded(item.unit_cost * self.rate, self.digits),
            )
        return self._units[key]

    def discount(self, lines: Decimal) -> Decimal:
        """Discount on so much."""
        return rounded(lines * self.discount_pct / 100, self.digits)

    def freight(self, grams: Decimal, builds: int) -> Decimal:
        """Freight of some equal servers."""
        each = self.prices.freight_base + self.prices.freight_per_kg * grams / 1000
        return rounded(each * self.rate * builds, self.digits)

    def sold(
        self, asked: ServerAsk, box: Box, accessories: list[tuple[Accessory, int]]
    ) -> list[tuple[Part | Service, int]]:
        """List what is sold with one server and how many of it, services per quote left out."""
        found: list[tuple[Part | Service, int]] = [
            (part, count)
            for part, count, ours in box.parts()
            # A board controller is in the price of its chassis.
            if ours and getattr(part, "mounting", "") != "board"
        ]
        found += accessories
        chosen = dict(asked.services)
        for service in self.prices.services:
            times = chosen.get(service, 0) if service.chosen else 1
            if service.per != "quote" and times * service_count(service, box):
                found.append((service, times * service_count(service, box)))
        return found

    def once(self, boxes: list[Box]) -> list[tuple[Service, int]]:
        """List services per quote: those chosen on any row, and those that are always done."""
        found = []
        for service in self.prices.services:
            if service.per != "quote":
                continue
            if service.chosen:
                times = sum(
                    dict(asked.services).get(service, 0) * service_count(service, box)
                    for asked, box in zip(self.quote.servers, boxes, strict=True)
                )
                times += dict(self.quote.services).get(service, 0)
            else:
                anywhere = any(service_count(service, box) for box in boxes)
                times = 1 if not service.actions or anywhere else 0
            if times:
                found.append((service, times))
        return found

    def _sums(self, items: list[tuple[Part | Service, int]]) -> tuple[Decimal, Decimal]:
        price = cost = Decimal(0)
        for item, count in items:
            unit_price, unit_cost = self.unit(item)
            price += count * unit_price
            cost += count * unit_cost
        return price, cost

    def net(self, lines: Decimal, grams: Decimal, builds: int) -> Decimal:
        """Net of some equal servers by themselves; `lines` are of all of them."""
        return lines - self.discount(lines) + self.freight(grams, builds)

    def server_net(
        self, asked: ServerAsk, box: Box, accessories: list[tuple[Accessory, int]]
    ) -> Decimal:
        """Net of one server's builds by which it is chosen: nothing that is charged once."""
        builds = asked.first.builds
        price, _ = self._sums(self.sold(asked, box, accessories))
        return self.net(price * builds, mass_g(box, accessories, shipped=True), builds)

    def totals(self, boxes: list[Box]) -> Totals:
        """Price the whole quote, its servers in order."""
        discounted = undiscounted = freight = cost = Decimal(0)
        for asked, box in zip(self.quote.servers, boxes, strict=True):
            added, builds = accessories_of(self.prices, box), asked.first.builds
            price, unit_cost = self._sums(self.sold(asked, box, added))
            discounted += price * builds
            cost += unit_cost * builds
            freight += self.freight(mass_g(box, added, shipped=True), builds)
        loose: list[tuple[Part | Service, int]] = [
            *self.quote.loose,
            *(s for s in self.quote.services if s[0].per != "quote"),
        ]
        price, more = self._sums(loose)
        discounted, cost = discounted + price, cost + more
        price, more = self._sums([*self.once(boxes)])
        undiscounted, cost = undiscounted + price, cost + more
        for line in self.quote.lines:
            undiscounted += line.quantity * line.price
            cost += line.quantity * line.cost
        if self.quote.loose:
            grams = sum(part.mass_g * count for part, count in self.quote.loose)
            base = Decimal(0) if boxes else self.prices.freight_base
            kilos = self.prices.freight_per_kg * grams / 1000
            freight += rounded((base + kilos) * self.rate, self.digits)
        discount = self.discount(discounted)
        net = discounted + undiscounted - discount + freight
        code = self.quote.first.tax_code
        tax = rounded(net * (self.prices.tax[code] if code else Decimal(0)) / 100, self.digits)
        lines_total = discounted + undiscounted
        return Totals(lines_total, discount, freight, net, tax, net + tax, cost)

    def lead_days(
        self, asked: ServerAsk, box: Box, accessories: list[tuple[Accessory, int]]
    ) -> int:
        """Longest wait among the parts we ship and do not have enough of."""
        wanted: dict[Part, int] = {}
        for item, count in self.sold(asked, box, accessories):
            if isinstance(item, Part):
                wanted[item] = wanted.get(item, 0) + count * asked.first.builds
        return max((part.lead_days for part, n in wanted.items() if part.stock < n), default=0)
