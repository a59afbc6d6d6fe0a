"""Do the sums hold for any prices: hypothesis over prices, rates, discounts and currencies."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.quote import unit_costs
from quotelib.pricing.totals import Deal, price, totals
from tests import billing
from tests.small_list import build, change, copy, price_list

# ISO 4217 minor units (status: memory): of every size there is.
MINOR = {"GBP": 2, "EUR": 2, "JPY": 0, "ISK": 0, "KWD": 3, "BHD": 3, "CLF": 4}

PRICED = ("BOX-12", "CARD", "DISK-8T", "CABLE", "MODULE", "CARRIER", "ASSEMBLE", "FIT-DRIVE")


def decimals(most: int, places: int = 6) -> st.SearchStrategy[Decimal]:
    return st.integers(0, most * 10**places).map(lambda n: Decimal(n).scaleb(-places))


percents = st.one_of(st.sampled_from([Decimal(0), Decimal(100)]), decimals(100, 3))


@st.composite
def offers(draw: st.DrawFn) -> tuple[PriceList, str, Deal]:
    """Draw a price list, a currency of it and a deal."""
    tables = copy()
    for sku in PRICED:
        change(tables, sku, unit_price=draw(decimals(10**6)), unit_cost=draw(decimals(10**6)))
    for sku in ("BOX-12", "DISK-8T", "CARRIER"):
        change(tables, sku, mass_g=draw(decimals(50_000, 3)))
    currency = draw(st.sampled_from(sorted(MINOR)))
    rate = draw(decimals(1000)) + Decimal("0.000001")
    tiers = draw(
        st.lists(st.tuples(st.integers(1, 20), percents), max_size=3).map(
            lambda pairs: [{"min_builds": n, "pct": p} for n, p in pairs]
        )
    )
    terms: dict[str, Any] = {
        "currency": "GBP",
        "quote_valid_days": 30,
        "margin_floor_pct": 0,
        "rates": {} if currency == "GBP" else {currency: rate},
        "tax": {"T": draw(percents)},
        "freight": {"base": draw(decimals(1000)), "per_kg": draw(decimals(100))},
        "volume_discount": tiers,
        "seller": {"name": "Nobody", "address": "Nowhere", "contact": "none"},
        "risk": {"years": 5, "advise_loss_pct": 100},
    }
    deal = Deal(draw(st.integers(1, 30)), draw(percents), draw(st.sampled_from([None, "T"])))
    return price_list(tables, terms), currency, deal


def raid5(prices: PriceList, members: int) -> Build:
    return build(prices, "BOX-12 CARD DISK-8T", Layout("5", members))


def rounded(value: Fraction, places: int) -> Fraction:
    """Round half away from zero, in whole numbers."""
    scaled = abs(value) * 10**places + Fraction(1, 2)
    whole = scaled.numerator // scaled.denominator
    return Fraction(whole if value >= 0 else -whole, 10**places)


@settings(deadline=None)
@given(offers(), st.integers(3, 12))
def test_totals_are_the_sum_of_their_parts(
    offer: tuple[PriceList, str, Deal], members: int
) -> None:
    prices, currency, deal = offer
    made = raid5(prices, members)
    book = PriceBook(prices, currency)
    lines, priced = billing.lines(made, book, deal), price(made, book, deal)
    summed = totals(priced, book, deal)
    places = MINOR[currency]

    for line in lines:
        assert Fraction(line.amount) == line.quantity * Fraction(line.unit_price)
    assert summed.lines_total == sum(line.amount for line in lines)
    assert summed.net == summed.lines_total - summed.discount + summed.freight
    assert summed.gross == summed.net + summed.tax
    for amount in (*(line.amount for line in lines), summed.discount, summed.freight, summed.tax):
        assert -amount.as_tuple().exponent == places

    costs = unit_costs(billing.order(made, deal), book)
    assert priced.cost == sum(line.quantity * costs[line.sku] for line in lines)

    # and each part is the exact fraction, rounded once
    lines_total, net = Fraction(summed.lines_total), Fraction(summed.net)
    pct, tax_pct = Fraction(summed.discount_pct), Fraction(summed.tax_pct)
    assert Fraction(summed.discount) == rounded(lines_total * pct / 100, places)
    assert Fraction(summed.tax) == rounded(net * tax_pct / 100, places)
    kg = Fraction(made.mass_g(shipped_only=True)) / 1000
    terms = prices.terms
    freight = Fraction(terms.freight.base) + Fraction(terms.freight.per_kg) * kg
    rate = Fraction(terms.rate(currency)) * deal.builds
    assert Fraction(summed.freight) == rounded(freight * rate, places)


@settings(deadline=None)
@given(offers())
def test_the_larger_discount_counts_alone(offer: tuple[PriceList, str, Deal]) -> None:
    prices, currency, deal = offer
    earned = [t.pct for t in prices.terms.volume_discount if t.min_builds <= deal.builds]
    priced = price(raid5(prices, 4), PriceBook(prices, currency), deal)
    assert priced.discount_pct == max([*earned, deal.discount_pct])
    assert 0 <= priced.discount <= priced.lines_total


@settings(deadline=None)
@given(offers(), st.integers(3, 11))
def test_one_more_drive_never_costs_less(offer: tuple[PriceList, str, Deal], members: int) -> None:
    # Prices are not negative and a discount is at most 100 %, so net cannot fall.
    prices, currency, deal = offer
    book = PriceBook(prices, currency)
    fewer, more = (price(raid5(prices, n), book, deal).net for n in (members, members + 1))
    assert fewer <= more


@settings(deadline=None)
@given(offers(), percents)
def test_a_larger_discount_never_costs_more(
    offer: tuple[PriceList, str, Deal], other: Decimal
) -> None:
    prices, currency, deal = offer
    book, made = PriceBook(prices, currency), raid5(prices, 4)
    low, high = sorted([deal.discount_pct, other])
    dear, cheap = (price(made, book, Deal(deal.builds, pct)).net for pct in (low, high))
    assert cheap <= dear
