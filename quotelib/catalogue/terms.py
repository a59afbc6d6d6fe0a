"""What holds for every quote from a price list: currency, tax, freight, discounts, seller, risk."""

from decimal import Decimal
from functools import cache
from typing import Annotated

import iso4217
from pydantic import Field

from quotelib.catalogue import cells
from quotelib.facts import Frozen

_FLOOR = cells.amount("-100", "100", "give a percentage from -100 to 100")
_RATE = cells.amount("0", None, "give units per unit of the list's currency", low_open=True)
_YEARS = cells.amount("0", "100", "give years above 0, such as 5", low_open=True)


class Seller(Frozen):
    """Who signs the quote."""

    name: cells.Text
    address: cells.Text
    contact: cells.Text


class Freight(Frozen):
    """What sending one build costs, in the price list's currency."""

    base: cells.Money
    per_kg: cells.Money


class VolumeDiscount(Frozen):
    """A discount from some number of equal builds on."""

    min_builds: cells.PositiveCount
    pct: cells.Percent


class RiskTerms(Frozen):
    """How long we look ahead, and from what chance of loss we advise against."""

    years: Annotated[Decimal, _YEARS]
    advise_loss_pct: cells.Percent


class Electricity(Frozen):
    """What electricity costs where the server will run, in the price list's currency."""

    price_per_kwh: cells.Money


class AdviceTerms(Frozen):
    """From which percentage of what the supplies carry a draw is noted; None: never."""

    supply_pct: cells.Percent | None = None


class BenchTerms(Frozen):
    """How long a server runs under load before it is released; None: not given."""

    soak_hours: Annotated[int | None, cells.whole(1, 1000, "give whole hours, 1 to 1000")] = None


class Terms(Frozen):
    """What holds for every quote from this price list."""

    currency: str
    quote_valid_days: Annotated[int, cells.whole(1, 3650, "give whole days, 1 to 3650")]
    margin_floor_pct: Annotated[Decimal, _FLOOR]
    rates: dict[str, Annotated[Decimal, _RATE]] = Field(default_factory=dict)
    tax: dict[cells.Word, cells.Percent] = Field(default_factory=dict)
    freight: Freight
    volume_discount: tuple[VolumeDiscount, ...] = ()
    seller: Seller
    risk: RiskTerms
    electricity: Electricity | None = None
    bench: BenchTerms = BenchTerms()
    advice: AdviceTerms = AdviceTerms()

    def rate(self, currency: str) -> Decimal:
        """Give units of `currency` per unit of the price list's currency."""
        return Decimal(1) if currency == self.currency else self.rates[currency]

    def volume_discount_pct(self, builds: int) -> Decimal:
        """Give the largest volume discount that this many equal builds earn."""
        earned = (tier.pct for tier in self.volume_discount if builds >= tier.min_builds)
        return max(earned, default=Decimal(0))


@cache
def minor_digits(code: str) -> int | None:
    """Count the decimals of a currency's minor unit: 2 for EUR, 0 for JPY, 3 for KWD.

    None where the alphabetic code is unknown or has no minor unit (precious metals, test codes).

    Notes
    -----
    From ISO 4217's list one. CLDR's figures follow everyday use instead and differ for some
    currencies (IQD: 0 there, 3 here).
    """
    try:
        exponent: int | None = iso4217.Currency(code).exponent
    except ValueError:
        return None
    return exponent
