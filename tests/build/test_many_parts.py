"""Does everything loop: builds of two arrays, several controllers and several cards, by hand."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.build import advice, fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Layout
from quotelib.build.placement import place, speeds
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import AdviceTerms
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import Deal, price
from tests import billing
from tests.small_list import build, change, copy, price_list, server

# A mirror of two 4 TB disks to boot from on the board, RAID 5 over three of them and a hot
# spare on the card.
BOOT_AND_DATA = ("BOX-12 BOARD DISK-4T CARD DISK-4T", Layout("1", 2), Layout("5", 3, spares=1))


@pytest.fixture(scope="module")
def prices() -> PriceList:
    tables = copy()
    change(tables, "BOX-12", board_controller="BOARD")
    return price_list(tables)


@pytest.fixture(scope="module")
def made(prices: PriceList) -> Build:
    return build(prices, *BOOT_AND_DATA)


def with_second_card(prices: PriceList, made: Build) -> Build:
    more = (*made.parts, Placed(prices.controllers["THROUGH"]))
    return assemble(prices, made.chassis, False, more, made.arrays)


def test_it_fits(made: Build) -> None:
    assert fit.stops(made) == []
    assert [f.code for f in advice.advice(made, AdviceTerms())] == []


def test_pieces_watts_and_mass(made: Build) -> None:
    listed = [(p.part.sku, p.count, p.ours) for p in made.pieces()]
    assert listed == [
        ("BOX-12", 1, True),
        ("BOARD", 1, False),  # comes with its chassis
        ("CARD", 1, True),
        ("DISK-4T", 2, True),
        ("DISK-4T", 4, True),
        ("CABLE", 1, True),
        ("MODULE", 1, True),
        ("CARRIER", 6, True),
    ]
    # 200 + 15 + 6 x 10 + 2; 16000 + 180 + 6 x 700 + 200 + 120 + 6 x 100
    assert made.watts == 277
    assert made.mass_g() == made.mass_g(shipped_only=True) == 21_300
    assert [(p.part.sku, p.count) for p in made.lead_pieces if p.part.sku == "DISK-4T"] == [
        ("DISK-4T", 6)
    ]


def test_bays_no_bay_twice_first_array_first_spares_last(made: Build) -> None:
    places = place(made)
    assert [bay.bay for bay in places.bays] == list(range(1, 13))
    assert places.bays_of(0) == (1, 2)
    assert places.bays_of(1, "member") == (3, 4, 5)
    assert places.bays_of(1, "spare") == (12,)
    assert places.filled == (1, 2, 3, 4, 5, 12)
    assert places.free.bays == tuple(range(6, 12))


def test_each_controller_has_its_own_seat_and_speed(made: Build) -> None:
    places = place(made)
    assert [(s.sku, s.takes, s.number) for s in places.seats] == [
        ("BOARD", "board", None),
        ("CARD", "slot", 2),  # the low one
    ]
    boot, data = speeds(made)
    assert (boot.members, boot.rated_mb_s, boot.controller_mb_s) == (2, 400, None)
    assert (data.members, data.rated_mb_s, data.controller_mb_s) == (3, 600, 6000)


def test_accessories_go_with_the_arrays_they_serve() -> None:
    # Narrow flash behind the board needs an adapter each; the wide disks on the card do not.
    tables = copy()
    change(tables, "BOX-12", board_controller="BOARD")
    prices = price_list(tables)
    made = build(
        prices, "BOX-12 BOARD FLASH-1T CARD DISK-8T", Layout("1", 2), Layout("5", 3, spares=1)
    )
    assert fit.stops(made) == []
    places = {item.sku: item for item in place(made).accessories}
    assert (places["ADAPTER"].quantity, places["ADAPTER"].bays) == (2, (1, 2))
    assert (places["CARRIER"].quantity, places["CARRIER"].bays) == (6, (1, 2, 3, 4, 5, 12))
    assert places["CABLE"].where == "from CARD, slot 2, low-profile bracket, to the backplane, " + (
        "bays 1 to 12"
    )
    by_sku = {item.sku: item for item in made.accessories}
    assert made.served(by_sku["ADAPTER"]) == {0: 2}
    assert made.served(by_sku["MODULE"]) == {1: 4}


def test_prices_lines_merged_by_sku(prices: PriceList, made: Build) -> None:
    book, deal = PriceBook(prices, "GBP"), Deal(builds=2)
    lines = billing.lines(made, book, deal)
    assert [(line.sku, line.quantity, str(line.amount)) for line in lines] == [
        ("BOX-12", 2, "2400.00"),
        ("CARD", 2, "800.00"),
        ("DISK-4T", 12, "1200.00"),
        ("CABLE", 2, "80.00"),
        ("MODULE", 2, "160.00"),
        ("CARRIER", 12, "144.00"),
        ("ASSEMBLE", 2, "110.00"),
        ("FIT-DRIVE", 12, "60.00"),  # every drive of both arrays
        ("FIT-CARD", 2, "48.00"),  # the card; nobody fits the board
        ("ARRAY", 4, "164.00"),  # two a server
    ]
    priced = price(made, book, deal)
    assert priced.lines_total == Decimal("5166.00")
    # (16.50 + 1.15 x 21.3) x 2 = 81.99
    assert priced.net == Decimal("5166.00") + Decimal("81.99")


def test_drives_passed_through_are_no_array_to_charge_for(prices: PriceList) -> None:
    mixed = build(prices, "BOX-12 BOARD DISK-4T CARD DISK-8T", Layout("none", 2), Layout("5", 3))
    quantities = billing.quantities(mixed, PriceBook(prices, "GBP"))
    assert (quantities["ARRAY"], quantities["FIT-DRIVE"], quantities["FIT-CARD"]) == (1, 5, 1)
    assert [f.code for f in advice.no_redundancy(mixed)] == ["no_redundancy"]


def test_a_second_card_takes_a_slot_of_its_own() -> None:
    tables = copy()
    change(tables, "BOX-12", board_controller="BOARD")
    tables["slots.csv"].append(
        {"chassis_sku": "BOX-12", "slot": "3", "gen": "3", "lanes": "8", "height": "low"}
    )
    prices = price_list(tables)
    made = with_second_card(prices, build(prices, *BOOT_AND_DATA))
    assert fit.stops(made) == []
    places = place(made)
    # Both low ones: neither card is held back by three or four disks in any slot.
    seated = {s.sku: s.number for s in places.seats if s.takes == "slot"}
    assert seated == {"CARD": 2, "THROUGH": 3}
    assert [slot.slot for slot in places.free.slots] == [1]
    assert made.slots_free == 1
    lines = billing.quantities(made, PriceBook(prices, "GBP"))
    assert (lines["THROUGH"], lines["FIT-CARD"]) == (1, 2)
    assert made.watts == 277 + 10


def test_too_many_cards_for_the_slots() -> None:
    tables = copy()
    change(tables, "BOX-4", bays=12, supply_w=900)
    prices = price_list(tables)
    made = build(prices, "BOX-4 CARD DISK-4T THROUGH DISK-4T", Layout("1", 2), Layout("none", 1))
    (found,) = fit.stops(made)
    assert found.code == "no_slot"
    assert "BOX-4 has 1 slot, too few that suit CARD and THROUGH together" in found.words


def test_ports_are_counted_by_controller(prices: PriceList) -> None:
    # BOARD runs 4 drives, CARD 24: five on the board are too many, however few on the card.
    made = build(prices, "BOX-12 BOARD DISK-4T CARD DISK-4T", Layout("0", 5), Layout("1", 2))
    (found,) = fit.stops(made)
    assert found.code == "too_many_drives"
    assert "BOARD runs at most 4 drives, not 5" in found.words
    # Two arrays on one controller share its ports; the controller is there once.
    shared = build(prices, "BOX-12 BOARD DISK-4T BOARD DISK-4T", Layout("1", 2), Layout("0", 3))
    assert [p.part.sku for p in shared.parts] == ["BOARD"]
    (found,) = fit.stops(shared)
    assert "BOARD runs at most 4 drives, not 5" in found.words


def test_bays_and_power_are_counted_over_all_arrays(prices: PriceList) -> None:
    names = "BOX-12 MEZZ DISK-8T CARD DISK-8T"
    assert fit.stops(build(prices, names, Layout("1", 2), Layout("6", 10))) == []
    (found,) = fit.stops(build(prices, names, Layout("1", 2, spares=1), Layout("6", 10)))
    assert found.code == "bays_full"
    assert "13 drives (1 of them spares)" in found.words


def test_each_array_has_its_own_findings(prices: PriceList) -> None:
    made = build(prices, "BOX-12 BOARD DISK-8T MEZZ FLASH-NV", Layout("5", 3), Layout("6", 4))
    found = [(f.code, f.what.split()[0]) for f in fit.stops(made)]
    assert ("level_not_offered", "BOARD") in found
    assert ("level_not_offered", "MEZZ") in found
    assert ("drive_link", "BOARD") in found
    assert ("drive_link", "MEZZ") in found


def test_what_the_customer_has_of_one_array_only(prices: PriceList) -> None:
    whole = build(prices, *BOOT_AND_DATA)
    boot, data = whole.arrays
    made = assemble(
        prices, whole.chassis, False, whole.parts, (boot, replace(data, their_drives=2))
    )
    drives = [(p.count, p.owned) for p in made.pieces() if p.part.sku == "DISK-4T"]
    assert drives == [(2, False), (2, True), (2, False)]
    assert billing.quantities(made, PriceBook(prices, "GBP"))["DISK-4T"] == 4
    assert made.mass_g() - made.mass_g(shipped_only=True) == 2 * 700
    places = place(made)
    assert [bay.bay for bay in places.bays if bay.owned] == [3, 4]
    (found,) = advice.erases_data(made)
    assert "the customer's 2 drives DISK-4T" in found.words


def test_a_controller_stands_once_however_many_arrays_it_runs(prices: PriceList) -> None:
    pair = [("CARD", "DISK-8T", Layout("1", 2)), ("CARD", "DISK-4T", Layout("5", 3))]
    made = server(prices, "BOX-12", pair)
    assert [seat.sku for seat in place(made).seats] == ["CARD"]
    quantities = billing.quantities(made, PriceBook(prices, "GBP"))
    assert (quantities["CARD"], quantities["FIT-CARD"], quantities["ARRAY"]) == (1, 1, 2)
    assert quantities["MODULE"] == quantities["CABLE"] == 1
