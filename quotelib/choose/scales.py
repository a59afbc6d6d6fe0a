"""How money, masses and watts of a price list are written as whole numbers, and a net of them."""

from fractions import Fraction

import numpy as np

from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.quantities import MOST_BAYS
from quotelib.catalogue.work import Service
from quotelib.choose.integers import Whole, decimals, fits, half_up, scaled
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.money import digits
from quotelib.pricing.totals import effective_discount


class Scales:
    """Units in which all that is summed up is whole, and the net as `pricing.totals.price` has it.

    Unit prices are at the minor unit, as the bill has them; masses and watts in the finest decimals
    of the list. Discount and freight are each one product of whole numbers over another, rounded
    once, half away from zero.

    Parameters
    ----------
    wide : bool
        Whether any sum or product of a build of a whole list of accessories could pass 64 bits;
        then all numbers are Python's own, which have no end.
    """

    def __init__(self, prices: PriceList, row: Enquiry) -> None:
        terms, self.builds = prices.terms, row.deal.builds
        self.book = PriceBook(prices, row.currency or terms.currency)
        self.places = digits(self.book.currency)
        self._minor: dict[str, int] = {}
        self._mass: dict[str, int] = {}
        self._draws: dict[str, int] = {}
        lists = (prices.chassis, prices.controllers, prices.drives, prices.options,
                 prices.accessories)  # fmt: skip
        parts: list[Part] = [part for those in lists for part in those.values()]
        self._grams = decimals(part.mass_g for part in parts)
        draws = [part.draws_w for part in parts] + [b.supply_w for b in prices.chassis.values()]
        self._watts = decimals(draws)
        pct, _ = effective_discount(terms, row.deal)
        self._taken = Fraction(pct) / 100
        rate = Fraction(self.book.rate) * self.builds * 10**self.places
        self._each = Fraction(terms.freight.per_kg) / 1000 * rate / 10**self._grams
        self._base = Fraction(terms.freight.base) * rate
        self._over = int(np.lcm(self._each.denominator, self._base.denominator, dtype=object))
        self.wide = not self._fit(parts, list(prices.services.values()))

    def _fit(self, parts: list[Part], services: list[Service]) -> bool:
        """Tell whether the largest sums there can be stay within 64 bits."""
        # Each part at most so often: drives and what comes for each, options and chosen services.
        things: list[Part | Service] = [*parts, *services]
        often = (MOST_BAYS + 1000) * (len(parts) + len(services))
        lines = often * self.builds * max(map(self.minor, things), default=0)
        mass = often * max((self.mass(part) for part in parts), default=0)
        draw = often * max((self.watts(part) for part in parts), default=0)
        taken, each, base = self._taken, int(self._each * self._over), int(self._base * self._over)
        return fits(
            2 * lines * taken.numerator + taken.denominator, 2 * taken.denominator,
            2 * (mass * each + base) + self._over, 2 * self._over, draw, lines,
        )  # fmt: skip

    def minor(self, thing: Part | Service) -> int:
        """Give a unit price in the minor unit of the quote's currency."""
        if thing.sku not in self._minor:
            self._minor[thing.sku] = scaled(self.book.unit(thing)[0], self.places)
        return self._minor[thing.sku]

    def mass(self, part: Part) -> int:
        """Give a mass."""
        if part.sku not in self._mass:
            self._mass[part.sku] = scaled(part.mass_g, self._grams)
        return self._mass[part.sku]

    def watts(self, part: Part) -> int:
        """Give what a part draws."""
        if part.sku not in self._draws:
            self._draws[part.sku] = scaled(part.draws_w, self._watts)
        return self._draws[part.sku]

    @property
    def gram(self) -> Fraction:
        """Give how many grams one of its units of mass is."""
        return Fraction(1, 10**self._grams)

    @property
    def watt_places(self) -> int:
        """Give the decimals in which watts are whole."""
        return self._watts

    def net(self, line: Whole, mass: Whole) -> Whole:
        """Give the net of all builds, in minor units, of the lines of one and what it weighs."""
        lines = line * self.builds
        less = half_up(lines * self._taken.numerator, self._taken.denominator)
        each, base = int(self._each * self._over), int(self._base * self._over)
        return np.asarray(lines - less + half_up(mass * each + base, self._over))
