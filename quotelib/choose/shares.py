"""What each part adds to the price of a server: the shares by which a search is bounded."""

from collections.abc import Iterable, Set
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.catalogue.parts import Chassis, Controller, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Action, Service
from quotelib.choose.packages import Package
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import PriceBook, charges
from quotelib.pricing.money import digits
from quotelib.pricing.totals import effective_discount

_NONE = Decimal(0)


class Shares:
    """Shares of the net of all builds, without what is charged once, before it is rounded.

    The net of a server is within one `unit` of the sum of its shares, or above it where parts
    bring in what no part brings in alone.
    """

    def __init__(self, price_list: PriceList, base: Enquiry) -> None:
        terms = price_list.terms
        self.prices, self.base, self.deal = price_list, base, base.deal
        self.book = PriceBook(price_list, base.currency or terms.currency)
        self.unit = Decimal(1).scaleb(-digits(self.book.currency))
        pct, _ = effective_discount(terms, self.deal)
        self.line = self.deal.builds * (1 - pct / 100)
        self.gram = terms.freight.per_kg * self.book.rate * self.deal.builds / 1000
        self._base = terms.freight.base * self.book.rate * self.deal.builds
        self._done = [(s, self._times(s)) for s in price_list.services.values()]
        self._known: dict[object, Decimal] = {}

    def _times(self, service: Service) -> int:
        return self.deal.services.count(service.sku) if service.when == "chosen" else 1

    def of(self, build: Build, actions: Set[Action] = frozenset()) -> Decimal:
        """Give what a build, or a part of one, comes to with everything it brings along.

        `actions` are what will be done with the whole, where its arrays are not in it yet.
        """
        deal = self.deal
        charged = charges(build, self.prices, deal.builds, deal.services, actions)
        lines = sum((n * self.book.unit(t)[0] for t, n, once in charged if not once), _NONE)
        per_build = lines / deal.builds
        return self._base + per_build * self.line + build.mass_g(shipped_only=True) * self.gram

    def box(self, chassis: Chassis) -> Decimal:
        """Give the share of a chassis with the options that the enquiry names."""
        key = chassis.sku
        if key not in self._known:
            options = self.base.value("options") or ()
            share = self._base + self._parts(self.prices.options[sku] for sku in options)
            owned = "chassis" in self.base.owned
            self._known[key] = share + (_NONE if owned else self._parts((chassis,)))
        return self._known[key]

    def package(self, package: Package) -> Decimal:
        """Give the share of processors and memory."""
        return sum((number * self._parts((part,)) for part, number in package.pieces), _NONE)

    def controller(self, controller: Controller, owned: bool) -> Decimal:
        """Give the share of a controller by itself."""
        board, there = controller.takes == "board", "chassis" in self.base.owned
        # In the customer's chassis it hangs on the arrays what is done.
        done = _NONE if board or there else self.services("controller", "new")
        return done if owned or board else done + self._parts((controller,))

    def _parts(self, parts: Iterable[Part]) -> Decimal:
        return sum((self.book.unit(p)[0] * self.line + p.mass_g * self.gram for p in parts), _NONE)

    def services(self, per: str, action: Action) -> Decimal:
        """Give the share of what is done once for each drive, controller or array."""
        key = (per, action)
        if key not in self._known:
            done = (
                (s, times)
                for s, times in self._done
                if s.per == per and action in (s.actions or ("new",))
            )
            total = sum((times * self.book.unit(s)[0] for s, times in done), _NONE)
            self._known[key] = total * self.line
        return self._known[key]
