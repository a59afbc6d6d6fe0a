"""What does it come to by the month: instalments at a stated yearly rate, to the last coin."""

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from quotelib.catalogue.terms import InstalmentTerms
from quotelib.facts import Exact, Frozen, Measure
from quotelib.pricing.money import digits, to_minor
from quotelib.units import plain


class InstalmentPlan(Frozen):
    """So many equal instalments, each at the end of a month.

    Parameters
    ----------
    monthly, last
        What is paid each month but the last, and then: it takes what rounding leaves.
    total, interest
        What all of them come to, and how much of it is interest.
    """

    months: int
    monthly: Exact
    last: Exact
    total: Exact
    interest: Exact


class Instalments(Frozen):
    """What paying by the month comes to, for an amount with tax; indicative.

    `words` says on what it rests.
    """

    amount: Exact
    currency: str
    yearly_rate_pct: Measure
    rows: tuple[InstalmentPlan, ...]
    words: str


def annuity(amount: Decimal, yearly_rate_pct: Decimal, months: int) -> Fraction:
    """Give the equal payment at the end of each month that pays an amount off, exactly.

    The amount times r / (1 - (1 + r)^-n), with r a twelfth of the nominal yearly rate; without
    interest the n-th part of the amount.

    References
    ----------
    The ordinary annuity of any handbook of financial mathematics; also OpenFormula (OpenDocument
    1.2, part 2), function PMT. From memory.
    """
    rate = Fraction(yearly_rate_pct) / 1200
    if not rate:
        return Fraction(amount) / months
    grown = (1 + rate) ** months
    return Fraction(amount) * rate * grown / (grown - 1)


def instalments(
    amount: Decimal, currency: str, rate: Decimal, terms: InstalmentTerms | None
) -> Instalments | None:
    """Say what an amount comes to by the month; None where the terms offer nothing for it.

    `rate` is that of the currency, for the least amount.
    """
    if terms is None or amount <= 0 or amount < to_minor(currency, terms.from_amount, rate):
        return None
    rows = tuple(_plans(amount, currency, terms))
    if not rows:
        return None
    pct = plain(terms.yearly_rate_pct)
    return Instalments(
        amount=amount,
        currency=currency,
        yearly_rate_pct=terms.yearly_rate_pct,
        rows=rows,
        words=f"Indicative, for the whole amount with tax, at a nominal rate of {pct} % a year: a "
        "twelfth of it each month, the first instalment a month after delivery. The last one takes "
        "what rounding leaves. An agreement of its own is needed, and other charges are not in it.",
    )


def _plans(amount: Decimal, currency: str, terms: InstalmentTerms) -> Iterator[InstalmentPlan]:
    for months in terms.months:
        exact = annuity(amount, terms.yearly_rate_pct, months)
        monthly, total = _rounded(exact, currency), _rounded(months * exact, currency)
        last = total - (months - 1) * monthly
        # Of a few coins there is nothing left for the last month, or nothing for the others.
        if monthly > 0 and last > 0:
            yield InstalmentPlan(
                months=months, monthly=monthly, last=last, total=total, interest=total - amount
            )


def _rounded(value: Fraction, currency: str) -> Decimal:
    """Round half up to the currency's minor unit; nothing here is below zero."""
    places = digits(currency)
    coins = (2 * value * 10**places + 1) // 2
    return to_minor(currency, Decimal(coins).scaleb(-places))
