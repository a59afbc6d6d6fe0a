"""Is the money right: ISO 4217 minor units, the rounding points, the order of EN 16931."""

from decimal import Decimal

import pytest

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import minor_digits
from quotelib.pricing.lines import Line, PriceBook
from quotelib.pricing.money import digits, share, to_minor
from quotelib.pricing.totals import Deal, Price, Totals, effective_discount, price, totals
from tests.billing import lines
from tests.small_list import TERMS, build, change, copy, price_list

MIRROR = Layout("1", 2)


def billed(
    made: Build, book: PriceBook, deal: Deal | None = None
) -> tuple[tuple[Line, ...], Price, Totals]:
    """Give lines, price before tax and totals."""
    deal = deal or Deal()
    priced = price(made, book, deal)
    return lines(made, book, deal), priced, totals(priced, book, deal)


@pytest.mark.parametrize(
    ("code", "places", "status"),
    [
        # ISO 4217 list one, exponent of the minor unit.
        ("JPY", 0, "memory"),
        ("KRW", 0, "memory"),
        ("ISK", 0, "memory"),
        ("CLP", 0, "memory"),
        ("EUR", 2, "memory"),
        ("GBP", 2, "memory"),
        ("USD", 2, "memory"),
        ("HUF", 2, "memory"),  # everyday use has none, the standard has two
        ("KWD", 3, "memory"),
        ("BHD", 3, "memory"),
        ("TND", 3, "memory"),
        ("IQD", 3, "memory"),
        ("CLF", 4, "memory"),
        ("XAU", None, "memory"),  # gold: no minor unit
        ("XTS", None, "memory"),  # reserved for testing
        ("ZZZ", None, "not a code"),
        ("eur", None, "not a code: the standard's are upper case"),
        ("", None, "not a code"),
    ],
)
def test_minor_units(code: str, places: int | None, status: str) -> None:
    assert minor_digits(code) == places, status


def test_digits_refuses_what_is_no_currency() -> None:
    with pytest.raises(ValueError, match="'ZZZ' is not an ISO 4217 currency"):
        digits("ZZZ")


@pytest.mark.parametrize(
    ("currency", "amount", "rate", "expected"),
    [
        ("EUR", "10.005", "1", "10.01"),
        ("EUR", "10.0049999", "1", "10.00"),
        ("EUR", "-10.005", "1", "-10.01"),
        ("EUR", "-0.004", "1", "0.00"),
        ("JPY", "100.5", "1", "101"),
        ("JPY", "-100.5", "1", "-101"),
        ("JPY", "101.5", "1", "102"),
        ("JPY", "0.01", "196.35", "2"),  # 1.9635
        ("KWD", "1.0005", "1", "1.001"),
        ("KWD", "55", "0.3985", "21.918"),  # 21.9175
        ("KWD", "-55", "0.3985", "-21.918"),
        ("CLF", "1.00005", "1", "1.0001"),
    ],
)
def test_half_away_from_zero(currency: str, amount: str, rate: str, expected: str) -> None:
    assert str(to_minor(currency, Decimal(amount), Decimal(rate))) == expected


def test_a_long_product_is_rounded_once() -> None:
    # 999,999,999,999.99 x 1.00000000000001 = 999,999,999,999.99 + 0.0099999999999999 ...
    # which needs more than 28 digits; 1,000,000,000,000.00 after rounding.
    product = to_minor("EUR", Decimal("999999999999.99"), Decimal("1.00000000000001"))
    assert product == Decimal("1000000000000.00")


@pytest.mark.parametrize(
    ("currency", "amount", "pct", "expected"),
    [
        ("EUR", "2.50", "5", "0.13"),  # 0.125
        ("EUR", "2.49", "5", "0.12"),  # 0.1245
        ("JPY", "10", "5", "1"),  # 0.5
        ("JPY", "30", "5", "2"),  # 1.5
        ("KWD", "0.010", "5", "0.001"),  # 0.0005
        ("EUR", "123.45", "0", "0.00"),
        ("EUR", "123.45", "100", "123.45"),
    ],
)
def test_share(currency: str, amount: str, pct: str, expected: str) -> None:
    assert str(share(currency, Decimal(amount), Decimal(pct))) == expected


def figures(priced: Price, summed: Totals) -> dict[str, str]:
    names = ("lines_total", "discount", "freight", "net", "tax", "gross")
    for name in names[:4]:
        assert getattr(priced, name) == getattr(summed, name)
    return {**{name: str(getattr(summed, name)) for name in names}, "cost": str(priced.cost)}


def test_totals_in_the_order_of_en_16931(small: PriceList) -> None:
    # EN 16931-1: sum of lines, allowances, charges, total without tax, tax, total with tax.
    # Status of the order: memory. The example is ours, worked by hand. Three alike in EUR at
    # 1.164, 3 % agreed discount, 8.875 % tax; board controller: no line, no fitting.
    #   chassis    500 x 1.164 = 582.00            x 3 = 1746.00
    #   drive      100 x 1.164 = 116.40            x 6 =  698.40
    #   carrier     12 x 1.164 =  13.968 -> 13.97  x 6 =   83.82
    #   assembly    55 x 1.164 =  64.02            x 3 =  192.06
    #   fitting      5 x 1.164 =   5.82            x 6 =   34.92
    #   array       41 x 1.164 =  47.724 -> 47.72  x 3 =  143.16
    #   lines                                            2898.36
    #   discount   3 % = 86.9508                        -  86.95
    #   freight    mass 10.0 + 2 x 0.7 + 2 x 0.1 = 11.6 kg
    #              (16.50 + 1.15 x 11.6) x 1.164 x 3
    #              = 29.84 x 1.164 x 3 = 104.20128      + 104.20
    #   net                                              2915.61
    #   tax        8.875 % = 258.7603875                + 258.76
    #   gross                                            3174.37
    #   cost       465.60 x 3 + 93.12 x 6 + 10.48 x 6 + 46.56 x 3 + 3.49 x 6 + 34.92 x 3
    #              = 1396.80 + 558.72 + 62.88 + 139.68 + 20.94 + 104.76 = 2283.78
    made = build(small, "BOX-4 BOARD DISK-4T", MIRROR)
    book = PriceBook(small, "EUR")
    deal = Deal(builds=3, discount_pct=Decimal(3), tax_code="ODD")
    listed, priced, summed = billed(made, book, deal)
    assert [
        (line.sku, line.quantity, str(line.unit_price), str(line.amount)) for line in listed
    ] == [
        ("BOX-4", 3, "582.00", "1746.00"),
        ("DISK-4T", 6, "116.40", "698.40"),
        ("CARRIER", 6, "13.97", "83.82"),
        ("ASSEMBLE", 3, "64.02", "192.06"),
        ("FIT-DRIVE", 6, "5.82", "34.92"),
        ("ARRAY", 3, "47.72", "143.16"),
    ]
    assert figures(priced, summed) == {
        "lines_total": "2898.36",
        "discount": "86.95",
        "freight": "104.20",
        "net": "2915.61",
        "tax": "258.76",
        "gross": "3174.37",
        "cost": "2283.78",
    }
    # margin (2915.61 - 104.20 - 2283.78) / (2915.61 - 104.20) = 527.63 / 2811.41 = 18.767... %
    assert priced.margin_pct is not None
    assert round(priced.margin_pct, 3) == Decimal("18.767")
    assert not priced.under_floor(Decimal("18.767"))
    assert priced.under_floor(Decimal("18.768"))


def test_yen_have_no_minor_unit(small: PriceList) -> None:
    # At 196.35: chassis 98175; drives 2 x 19635 = 39270; carriers 2 x 2356 (2356.2) = 4712;
    # assembly 10799 (10799.25); fitting 2 x 982 (981.75) = 1964; array 8050 (8050.35).
    # Lines 162970; freight 29.84 x 196.35 = 5859.084; net 168829; tax 20 % = 33765.8.
    made = build(small, "BOX-4 BOARD DISK-4T", MIRROR)
    _, priced, summed = billed(made, PriceBook(small, "JPY"), Deal(tax_code="S"))
    got = figures(priced, summed)
    assert (got["lines_total"], got["freight"], got["net"]) == ("162970", "5859", "168829")
    assert (got["discount"], got["tax"], got["gross"]) == ("0", "33766", "202595")


def test_dinars_have_three_decimals(small: PriceList) -> None:
    # At 0.3985: chassis 199.250; drives 2 x 39.850 = 79.700; carriers 2 x 4.782 = 9.564;
    # assembly 21.918 (21.9175); fitting 2 x 1.993 (1.9925) = 3.986; array 16.339 (16.3385).
    # Lines 330.757; freight 29.84 x 0.3985 = 11.89124; net 342.648; tax 20 % = 68.5296.
    made = build(small, "BOX-4 BOARD DISK-4T", MIRROR)
    _, priced, summed = billed(made, PriceBook(small, "KWD"), Deal(tax_code="S"))
    got = figures(priced, summed)
    assert (got["lines_total"], got["freight"], got["net"]) == ("330.757", "11.891", "342.648")
    assert (got["discount"], got["tax"], got["gross"]) == ("0.000", "68.530", "411.178")


@pytest.mark.parametrize(
    ("builds", "agreed", "pct", "by_volume"),
    [
        (1, "0", "0", False),
        (4, "1", "1", False),
        (5, "0", "2.5", True),
        (5, "2", "2.5", True),
        (5, "2.5", "2.5", False),
        (5, "3", "3", False),  # they do not add up to 5.5
        (12, "4", "5", True),
        (100, "0", "5", True),
    ],
)
def test_the_larger_discount_counts(builds: int, agreed: str, pct: str, by_volume: bool) -> None:
    # The tiers stand in falling order here: their order must not matter.
    tiers = "[[volume_discount]]\nmin_builds = 12\npct = 5\n\n[[volume_discount]]"
    terms = price_list(terms=TERMS.replace("[[volume_discount]]", tiers)).terms
    found = effective_discount(terms, Deal(builds, Decimal(agreed)))
    assert found == (Decimal(pct), by_volume)


def test_what_the_customer_owns_is_neither_charged_nor_sent(small: PriceList) -> None:
    # The carrier comes with a chassis of ours, so not here; fitting and assembly still apply.
    # Freight: 16.50 + 1.15 x (2 x 0.7 kg) = 18.11. The whole build weighs 11.4 kg.
    made = build(small, "BOX-4 BOARD DISK-4T", MIRROR, owned="chassis")
    listed, priced, _ = billed(made, PriceBook(small, "GBP"))
    assert [line.sku for line in listed] == ["DISK-4T", "ASSEMBLE", "FIT-DRIVE", "ARRAY"]
    assert priced.freight == Decimal("18.11")
    assert made.mass_g() == 11_400
    assert made.mass_g(shipped_only=True) == 1_400


def test_an_adapter_comes_also_for_drives_the_customer_owns(small: PriceList) -> None:
    made = build(small, "BOX-4 BOARD FLASH-1T", MIRROR, owned="drive")
    listed, *_ = billed(made, PriceBook(small, "GBP"))
    quantities = {line.sku: line.quantity for line in listed}
    assert "FLASH-1T" not in quantities
    assert quantities["ADAPTER"] == 2


def test_an_adapter_comes_only_where_a_small_drive_meets_a_large_bay(small: PriceList) -> None:
    made = build(small, "BOX-8 MEZZ FLASH-1T", Layout("5", 3))
    assert "ADAPTER" not in {a.sku for a in made.accessories}


@pytest.mark.parametrize(
    ("names", "layout", "expected"),
    [
        ("BOX-4 BOARD DISK-4T", MIRROR, {"ASSEMBLE": 1, "FIT-DRIVE": 2, "ARRAY": 1}),
        ("BOX-4 BOARD DISK-4T", Layout("none", 3), {"ASSEMBLE": 1, "FIT-DRIVE": 3}),
        (
            "BOX-12 CARD DISK-8T",
            Layout("5", 3, spares=1),
            {"ASSEMBLE": 1, "FIT-DRIVE": 4, "FIT-CARD": 1, "ARRAY": 1},
        ),
        (
            "BOX-12 THROUGH DISK-8T",
            Layout("none", 4),
            {"ASSEMBLE": 1, "FIT-DRIVE": 4, "FIT-CARD": 1},
        ),
    ],
)
def test_services(small: PriceList, names: str, layout: Layout, expected: dict[str, int]) -> None:
    listed, *_ = billed(build(small, names, layout), PriceBook(small, "GBP"))
    assert {line.sku: line.quantity for line in listed if line.share == "Services"} == expected


def test_spares_are_paid_for_and_weigh(small: PriceList) -> None:
    book = PriceBook(small, "GBP")
    listed, *_ = billed(build(small, "BOX-4 BOARD DISK-4T", Layout("1", 2, spares=1)), book)
    assert {line.sku: line.quantity for line in listed if line.share == "Drives"} == {"DISK-4T": 3}


def test_a_margin_of_nothing() -> None:
    free = copy()
    for sku in ("BOX-4", "DISK-4T", "CARRIER", "ASSEMBLE", "FIT-DRIVE", "ARRAY"):
        change(free, sku, unit_price=0)
    prices = price_list(free)
    made = build(prices, "BOX-4 BOARD DISK-4T", MIRROR)
    priced = price(made, PriceBook(prices, "GBP"), Deal())
    assert priced.margin_pct is None
    assert priced.under_floor(Decimal(-100))
    assert priced.net == priced.freight
