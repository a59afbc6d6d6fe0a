"""What holds for every quote from a price list: currency, tax, freight, discounts, seller, risk."""

import re
from decimal import Decimal
from functools import cache
from typing import Annotated, Any

import iso4217
from pydantic import BeforeValidator, Field

from quotelib.catalogue import cells
from quotelib.catalogue import quantities as q
from quotelib.facts import Frozen

_FLOOR = cells.amount("-100", "100", "give a percentage from -100 to 100")
_YEARS = q.between("0.01", "100", "years")


_MOST = 200
"""Entries of a list."""
_MEMBERS = cells.whole(2, 1000, "give a whole number of members, 2 to 1000")
_TB = q.between("0.001", "1000000", "TB")
_SCRUB = cells.whole(1, 3650, "give whole days between two scrubs, such as 30")
_RESTORE = q.between("0.1", "100000", "MB/s")
_MONTHS = cells.whole(2, 120, "give whole months, 2 to 120")
_MINUTES = cells.whole(1, 10_000, "give whole minutes at the bench, such as 420")
# Incoterms 2020, all eleven.
_RULES = ("EXW", "FCA", "CPT", "CIP", "DAP", "DPU", "DDP", "FAS", "FOB", "CFR", "CIF")
_DELIVERY = re.compile(rf"(?:{'|'.join(_RULES)}) \S.*")


def _delivery(cell: Any) -> str:
    value: str = cells.apply(cells.text(200), cell)
    if not _DELIVERY.fullmatch(value):
        right = f"write a rule ({', '.join(_RULES)}) and the place, such as DAP Marrowhithe"
        raise cells.wrong("is no Incoterms 2020 rule with a place", right)
    return value


def _several(cell: Any) -> Any:
    if not isinstance(cell, list | tuple):
        raise cells.wrong("is not a list", "put it between square brackets")
    if len(cell) > _MOST:
        raise cells.wrong(f"has {len(cell)} entries", f"use at most {_MOST}")
    return cell


def _truth(cell: Any) -> bool:
    if not isinstance(cell, bool):
        raise cells.wrong("is neither true nor false", "write true or false, without quotes")
    return cell


class Seller(Frozen):
    """Who signs the quote."""

    name: cells.Text
    address: cells.Text
    contact: cells.Text
    tax_id: cells.MaybeWord = None
    company_number: cells.MaybeWord = None
    bank: cells.MaybeText = None


class OfferTerms(Frozen):
    """What an offer says beside its figures; None or nothing: not given.

    Parameters
    ----------
    delivery : str or None
        A rule of Incoterms 2020 and the place.
    tax_reasons : dict of str to str
        By tax code, why its rate is zero.
    """

    payment: cells.MaybeText = None
    delivery: Annotated[str | None, cells.blank_as(None, BeforeValidator(_delivery))] = None
    warranty: cells.MaybeText = None
    exclusions: Annotated[tuple[cells.Text, ...], BeforeValidator(_several)] = ()
    conditions: Annotated[tuple[cells.Text, ...], BeforeValidator(_several)] = ()
    tax_reasons: dict[cells.Word, cells.Text] = Field(default_factory=dict)


class Freight(Frozen):
    """What sending one build costs, in the price list's currency."""

    base: q.Money
    per_kg: q.Money


class VolumeDiscount(Frozen):
    """A discount from some number of equal builds on."""

    min_builds: Annotated[int, cells.whole(1, 10**9, "give a whole number, 1 or more")]
    pct: q.Percent


class RiskTerms(Frozen):
    """How long we look ahead, and from what chance of losing the array we advise against.

    Parameters
    ----------
    scrub_days : int or None
        Days between two scrubs of an array, as the seller sets them up; None: nobody knows.
    restore_mb_s : Decimal or None
        Rate at which a customer's backup is read back; None: not known.
    """

    years: Annotated[Decimal, _YEARS]
    advise_loss_pct: q.Percent
    scrub_days: Annotated[int | None, _SCRUB] = None
    restore_mb_s: Annotated[Decimal | None, _RESTORE] = None


class Electricity(Frozen):
    """What electricity costs where the server will run, in the price list's currency."""

    price_per_kwh: q.Money


class AdviceTerms(Frozen):
    """From where on we advise or note something; None: never.

    Parameters
    ----------
    wide_group_members, wide_group_tb
        Most disks of at least so many TB in one parity group.
    supply_pct
        Percentage of what the supplies carry.
    chipset_parity : bool
        Whether parity on a chipset controller is advised against.
    shared_expander : bool
        Whether two controllers on one expander backplane are advised against.
    """

    wide_group_members: Annotated[int | None, _MEMBERS] = None
    wide_group_tb: Annotated[Decimal | None, _TB] = None
    supply_pct: q.Percent | None = None
    chipset_parity: Annotated[bool, BeforeValidator(_truth)] = False
    shared_expander: Annotated[bool, BeforeValidator(_truth)] = False


class BenchTerms(Frozen):
    """How the bench works; None: not given.

    Parameters
    ----------
    minutes_per_day : int or None
        Work that is done in one working day.
    soak_hours : int or None
        How long a server runs under load before it is released.
    holidays : tuple of date
        Days without work beside weekends.
    """

    minutes_per_day: Annotated[int | None, _MINUTES] = None
    holidays: Annotated[tuple[cells.Day, ...], BeforeValidator(_several)] = ()
    soak_hours: Annotated[int | None, cells.whole(1, 1000, "give whole hours, 1 to 1000")] = None


def _instalments(cell: Any) -> Any:
    if not _several(cell):
        raise cells.wrong("names no number of months", "name some, such as [12, 24, 36]")
    return sorted(set(cell)) if all(isinstance(one, int) for one in cell) else cell


class InstalmentTerms(Frozen):
    """Over how many months a quote may be paid, and at which rate.

    Parameters
    ----------
    yearly_rate_pct : Decimal
        Nominal: each month bears a twelfth of it.
    from_amount : Decimal
        What is to be paid at least, tax included, in the price list's currency.
    """

    months: Annotated[tuple[Annotated[int, _MONTHS], ...], BeforeValidator(_instalments)]
    yearly_rate_pct: q.Percent
    from_amount: q.Money = Decimal(0)


class Terms(Frozen):
    """What holds for every quote from this price list."""

    currency: str
    quote_valid_days: Annotated[int, cells.whole(1, 3650, "give whole days, 1 to 3650")]
    margin_floor_pct: Annotated[Decimal, _FLOOR]
    rates: dict[str, q.Rate] = Field(default_factory=dict)
    tax: dict[cells.Word, q.Percent] = Field(default_factory=dict)
    freight: Freight
    volume_discount: tuple[VolumeDiscount, ...] = ()
    seller: Seller
    risk: RiskTerms
    offer: OfferTerms = OfferTerms()
    electricity: Electricity | None = None
    instalments: InstalmentTerms | None = None
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
