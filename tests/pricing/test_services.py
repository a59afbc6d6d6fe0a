"""Services: how often they are charged, and what is taken from what is charged once a quote."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.pricing.lines import PriceBook, in_vain, times
from quotelib.pricing.totals import Deal, price, totals
from tests import billing
from tests.services import prices
from tests.small_list import build

PRICES = prices()
MIRROR = Layout("1", 2)


def quantities(made: Build, deal: Deal) -> dict[str, int]:
    """Count the lines of services by sku."""
    lines = billing.lines(made, PriceBook(PRICES, "GBP"), deal)
    return {line.sku: line.quantity for line in lines if line.share == "Services"}


ALWAYS = {"ASSEMBLE": 1, "FIT-DRIVE": 2, "ARRAY": 1}


def test_nothing_is_charged_that_nobody_chose() -> None:
    made = build(PRICES, "BOX-4 BOARD DISK-4T", MIRROR)
    assert quantities(made, Deal()) == {**ALWAYS, "PAPER": 1}


def test_chosen_services_count_as_often_as_they_are_asked_for() -> None:
    made = build(PRICES, "BOX-12 CARD DISK-8T", Layout("5", 3, spares=1))
    asked = ("VISIT", "CERT", "CERT", "TUNE", "FLASH", "MOVE", "MOVE", "MOVE")
    found = quantities(made, Deal(5, services=asked))
    always = {"ASSEMBLE": 5, "FIT-DRIVE": 20, "FIT-CARD": 5, "ARRAY": 5, "PAPER": 1}
    # 4 drives x 5 builds x 2; what is done once a quote is not multiplied by the builds.
    assert found == {**always, "VISIT": 5, "CERT": 40, "TUNE": 5, "FLASH": 5, "MOVE": 3}


@pytest.mark.parametrize(
    ("currency", "deal", "expected"),
    [
        # Three alike in EUR at 1.164, the example of test_money with services on top:
        #   all else                                         2898.36
        #   VISIT   80 x 1.164 =  93.12            x 3        279.36
        #   CERT     3 x 1.164 =   3.492 -> 3.49   x 12        41.88
        #   what the discount is taken from                  3219.60, 3 % = 96.588
        #   MOVE 300.25 x 1.164 = 349.491 -> 349.49 x 2       698.98
        #   PAPER  2.50 x 1.164 =   2.91                        2.91
        #   tax    8.875 % of 3929.10 = 348.707625
        #   cost   2283.78 + 58.20 x 3 + 2.33 x 12 + 232.80 x 2 + 1.16
        (
            "EUR",
            Deal(3, Decimal(3), "ODD", ("VISIT", "CERT", "CERT", "MOVE", "MOVE")),
            "3921.49 701.89 96.59 104.20 3929.10 1075.74 348.71 4277.81 2953.10",
        ),
        # Five alike in JPY at 196.35: the volume discount of 2.5 % is more than 1 %.
        #   98175 x 5, 19635 x 10, 2356 x 10, 10799 x 5, 982 x 10, 8050 x 5 = 814850
        #   VISIT 15708 x 5 = 78540: 893390, of which 2.5 % = 22334.75
        #   MOVE  58954.0875 -> 58954, PAPER 490.875 -> 491
        #   cost  (78540 + 15708 x 2 + 1767 x 2 + 7854 + 589 x 2 + 5891 + 9818) x 5 + 39270 + 196
        (
            "JPY",
            Deal(5, Decimal(1), "S", ("VISIT", "MOVE")),
            "952835 59445 22335 29295 959795 180070 191959 1151754 730621",
        ),
        # One in KWD at 0.3985, 10 % agreed, no tax.
        #   199.250 + 39.850 x 2 + 4.782 x 2 + 21.918 + 1.993 x 2 + 16.339 = 330.757
        #   VISIT 31.880: 362.637, of which 10 % = 36.2637
        #   MOVE  119.649625 -> 119.650, PAPER 0.99625 -> 0.996
        #   cost  159.400 + 31.880 x 2 + 3.587 x 2 + 15.940 + 1.196 x 2 + 11.955 + 19.925
        #         + 79.700 + 0.399
        (
            "KWD",
            Deal(1, Decimal(10), None, ("MOVE", "VISIT")),
            "483.283 120.646 36.264 11.891 458.910 338.264 0.000 458.910 360.645",
        ),
        # Two in GBP with all of it off: freight and what is charged once are left.
        #   (500 + 100 x 2 + 12 x 2 + 55 + 5 x 2 + 41 + 80) x 2 = 1820
        #   cost (400 + 80 x 2 + 9 x 2 + 40 + 3 x 2 + 30 + 50) x 2 + 201
        (
            "GBP",
            Deal(2, Decimal(100), "S", ("MOVE", "VISIT")),
            "2122.75 302.75 1820.00 59.68 362.43 29.84 72.49 434.92 1609.00",
        ),
    ],
)
def test_money(currency: str, deal: Deal, expected: str) -> None:
    made = build(PRICES, "BOX-4 BOARD DISK-4T", MIRROR)
    book = PriceBook(PRICES, currency)
    priced = price(made, book, deal)
    summed = totals(priced, book, deal)
    names = "lines_total once_total discount freight net net_per_build tax gross"
    found = [*(str(getattr(summed, name)) for name in names.split()), str(priced.cost)]
    assert found == expected.split()
    lines = billing.lines(made, book, deal)
    assert sum(line.amount for line in lines) == summed.lines_total
    assert sum(line.amount for line in lines if line.once) == summed.once_total


def test_margin_counts_what_is_charged_once() -> None:
    made, book = build(PRICES, "BOX-4 BOARD DISK-4T", MIRROR), PriceBook(PRICES, "GBP")
    without, with_it = (price(made, book, Deal(services=s)) for s in ((), ("MOVE",)))
    assert with_it.cost - without.cost == 200
    assert with_it.net - without.net == Decimal("300.25")
    assert with_it.margin_shown != without.margin_shown
    # (830 + 302.75 - cost) / (830 + 302.75); cost 400 + 80 x 2 + 9 x 2 + 40 + 3 x 2 + 30 + 201
    assert str(with_it.margin_shown) == "24.52"


@pytest.mark.parametrize(
    ("names", "layout", "sku", "words"),
    [
        ("BOX-12 THROUGH DISK-8T", Layout("none", 4), "TUNE", "takes a RAID level and the action"),
        ("BOX-4 BOARD DISK-4T", MIRROR, "FLASH", "FLASH takes a controller to fit"),
        ("BOX-4 BOARD DISK-4T", MIRROR, "LOOK", "the action keep or grow"),
    ],
)
def test_a_service_in_vain_says_what_it_takes(
    names: str, layout: Layout, sku: str, words: str
) -> None:
    (found,) = in_vain(
        [PRICES.services[sku], PRICES.services["VISIT"]], build(PRICES, names, layout)
    )
    assert (found.code, found.severity) == ("service_elsewhere", "stop")
    assert words in found.what
    assert found.change == "choose that, or leave the service out"


def test_services_of_kept_arrays_count_those_only() -> None:
    new = build(PRICES, "BOX-12 CARD DISK-8T", Layout("5", 3))
    kept = replace(new.arrays[0], layout=Layout("6", 5), action="keep")
    mixed = replace(new, arrays=(*new.arrays, kept))
    all_kept = replace(new, arrays=(kept,))
    counted = {
        sku: tuple(times(PRICES.services[sku], made) for made in (new, mixed, all_kept))
        for sku in ("LOOK", "TUNE", "CERT", "FIT-DRIVE", "VISIT", "MOVE", "FIT-CARD")
    }
    assert counted == {
        "LOOK": (0, 1, 1),
        "TUNE": (1, 1, 0),
        "CERT": (3, 3, 0),
        "FIT-DRIVE": (3, 3, 0),
        "VISIT": (1, 1, 1),
        "MOVE": (1, 1, 1),
        "FIT-CARD": (1, 1, 1),
    }
    # What is always done once a quote, and names no action, is done whatever the action.
    theirs = replace(all_kept, chassis_owned=True)
    assert [times(PRICES.services["PAPER"], made) for made in (new, theirs)] == [1, 1]
    bound = PRICES.services["MOVE"].model_copy(update={"actions": ("keep",)})
    assert [times(bound, made) for made in (new, mixed)] == [0, 1]
