"""A whole quote by hand: servers, loose parts, services, what is charged once, and own lines."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import Charge, FreeLine, Line, PriceBook, charges, times
from quotelib.pricing.quote import AGREED, TAKEN, Item, Ordered, items, once_charges, summed
from quotelib.pricing.totals import Deal, Price
from tests.services import prices, tables
from tests.small_list import build, price_list, table

PRICES = prices()
BOOK = PriceBook(PRICES, "GBP")
SMALL = build(PRICES, "BOX-4 BOARD DISK-4T", Layout("1", 2))
# Somebody else's chassis, in which the array stays as it is.
KEPT = replace(SMALL, chassis_owned=True, arrays=(replace(SMALL.arrays[0], action="keep"),))
WORDS = (
    FreeLine("Carried upstairs", 3, Decimal("12.345"), Decimal("4.5")),
    FreeLine("Old server taken in payment", 1, Decimal(-100), Decimal(0)),
)


def by_kind(ordered: Ordered) -> dict[str, Item]:
    found = list(items(ordered, BOOK))
    assert len({item.kind for item in found}) == len(found)
    return {item.kind: item for item in found}


def test_each_item_by_hand() -> None:
    """A server, 2 disks and a cable, a visit and two moves beside them, and two lines.

    Lines: 500 + 100 x 2 + 12 x 2 + 55 + 5 x 2 + 41; 100 x 2 + 40; 80; 300.25 x 2 + 2.50;
    12.35 x 3 - 100 (12.345 is rounded first). Freight: 16.50 + 1.15 x 11.6; then, without another
    base, 1.15 x (2 x 0.7 + 0.2) = 1.84.
    """
    disk, cable = PRICES.drives["DISK-4T"], PRICES.accessories["CABLE"]
    servers = ((SMALL, Deal()),)
    ordered = Ordered(servers, (disk, cable, disk), ("VISIT", "MOVE", "MOVE"), WORDS)
    found = by_kind(ordered)
    assert {kind: str(item.lines_total) for kind, item in found.items()} == {
        "server": "830.00",
        "parts": "240.00",
        "services": "80.00",
        "once": "603.00",
        "lines": "-62.95",
    }
    assert {kind: str(item.freight) for kind, item in found.items()} == {
        "server": "29.84",
        "parts": "1.84",
        "services": "0.00",
        "once": "0.00",
        "lines": "0.00",
    }
    # 400 + 80 x 2 + 9 x 2 + 40 + 3 x 2 + 30; 80 x 2 + 30; 50; 200 x 2 + 1; 4.50 x 3.
    assert {kind: str(item.cost) for kind, item in found.items()} == {
        "server": "654.00",
        "parts": "190.00",
        "services": "50.00",
        "once": "401.00",
        "lines": "13.50",
    }
    told = [(line.sku, line.quantity, line.once) for line in found["parts"].lines]
    assert told == [("DISK-4T", 2, False), ("CABLE", 1, False)]
    assert [line.once for line in found["once"].lines] == [True, True]
    assert [(line.description, line.once) for line in found["lines"].lines] == [
        ("Carried upstairs", True),
        ("Old server taken in payment", True),
    ]


def test_only_a_price_below_nothing_is_taken_in_payment() -> None:
    words = [FreeLine("x", 1, Decimal(price), Decimal(0)) for price in ("-0.01", "0", "0.01")]
    found = by_kind(Ordered((), (), (), tuple(words)))["lines"]
    assert [line.share for line in found.lines] == [TAKEN, AGREED, AGREED]


def test_no_discount_of_what_is_charged_once_or_agreed() -> None:
    disk = PRICES.drives["DISK-4T"]
    deal = Deal(discount_pct=Decimal(10))
    ordered = Ordered(((SMALL, deal),), (disk,), ("VISIT", "MOVE"), WORDS)
    priced = summed(list(items(ordered, BOOK)), BOOK, deal)
    # 830 + 100 + 80 + 302.75 - 62.95, and 10 % of the first three.
    assert str(priced.lines_total) == "1249.80"
    assert str(priced.once_total) == "239.80"
    assert str(priced.discount) == "101.00"
    assert str(priced.freight) == "30.65"  # 29.84 and 0.805
    assert str(priced.net) == "1179.45"
    assert str(priced.cost) == "998.50"  # 654 + 80 + 50 + 201 + 13.50


def test_loose_parts_alone_pay_their_own_base_freight() -> None:
    found = by_kind(Ordered((), (PRICES.drives["DISK-4T"],)))
    assert str(found["parts"].freight) == "17.31"  # 16.50 + 1.15 x 0.7 = 17.305
    # What is always done once a quote and names no action is done without a server, too.
    assert [line.sku for line in found["once"].lines] == ["PAPER"]
    assert set(found) == {"parts", "once"}


def bound(*actions: str, when: str = "always") -> PriceList:
    """Give a price list with one service a quote, done for the sake of some actions."""
    more = tables()
    more["services.csv"] = [row for row in more["services.csv"] if row["sku"] != "PAPER"]
    more["services.csv"] += table(
        "sku description per minutes unit_cost unit_price when actions",
        f"BOUND Bound quote 4 1 2.50 {when} {';'.join(actions) or '-'}",
    )
    return price_list(more)


@pytest.mark.parametrize(
    ("actions", "servers", "number"),
    [
        ((), (), 1),
        ((), (SMALL,), 1),
        ((), (KEPT, KEPT), 1),
        (("keep",), (), 0),
        (("keep",), (SMALL,), 0),
        (("keep",), (SMALL, KEPT), 1),
        (("keep",), (KEPT, KEPT), 1),
        (("new",), (KEPT,), 0),
    ],
)
def test_what_is_done_once_a_quote(
    actions: tuple[str, ...], servers: tuple[Build, ...], number: int
) -> None:
    made = Ordered(tuple((one, Deal()) for one in servers))
    found = list(once_charges(made, bound(*actions)))
    assert [(c.thing.sku, c.quantity, c.once) for c in found] == [("BOUND", number, True)][:number]


def test_what_is_chosen_once_a_quote_counts_as_often_as_rows_choose_it() -> None:
    servers = ((SMALL, Deal(services=("BOUND",))), (KEPT, Deal(services=("BOUND", "BOUND"))))
    found = list(once_charges(Ordered(servers, (), ("BOUND",)), bound(when="chosen")))
    assert [(c.thing.sku, c.quantity) for c in found] == [("BOUND", 4)]
    kept = list(once_charges(Ordered(servers, (), ("BOUND",)), bound("keep", when="chosen")))
    assert [(c.thing.sku, c.quantity) for c in kept] == [("BOUND", 3)]


def test_a_chosen_service_is_done_whatever_the_action_and_another_is_not() -> None:
    assert times(PRICES.services["VISIT"], KEPT) == 1
    assert times(PRICES.services["ASSEMBLE"], KEPT) == 0
    assert times(PRICES.services["TUNE"], KEPT) == 0


def test_charges_are_for_one_build_unless_told() -> None:
    found = {c.thing.sku: c.quantity for c in charges(SMALL, PRICES)}
    assert (found["BOX-4"], found["DISK-4T"], found["ASSEMBLE"], found["PAPER"]) == (1, 2, 1, 1)


def test_a_line_is_not_charged_once_unless_told() -> None:
    assert BOOK.line(Charge(PRICES.drives["DISK-4T"], 2)).once is False
    assert Line("Drives", "X", "A drive", 1, Decimal(1), Decimal(1)).once is False


@pytest.mark.parametrize(
    ("net", "freight", "cost", "floor", "under"),
    [
        ("10", "10", "0", "0", True),  # nothing left to take a margin of
        ("11", "10", "0", "0", False),
        ("10.50", "10", "0.45", "10", False),  # 10 % of 50 pence, and no less
        ("10.50", "10", "0.46", "10", True),
        ("110", "10", "90", "10", False),
        ("110", "10", "90.01", "10", True),
    ],
)
def test_the_floor_of_the_margin(
    net: str, freight: str, cost: str, floor: str, under: bool
) -> None:
    lines = Decimal(net) - Decimal(freight)
    nothing = Decimal(0)
    priced = Price(
        1, lines, nothing, nothing, False, Decimal(freight), Decimal(net), cost=Decimal(cost)
    )
    assert priced.under_floor(Decimal(floor)) is under
    assert priced.once_total == 0
    if lines:
        assert priced.margin_pct == (lines - Decimal(cost)) / lines * 100
