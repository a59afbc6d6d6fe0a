"""Network cards: they want the slot the controller wants, and everything else loops over them."""

import datetime as dt
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList, read_folder
from quotelib.choose.enumeration import verdicts
from quotelib.choose.search import choose
from quotelib.errors import InputError
from quotelib.promise.answer import answer
from tests.asking import ask, order
from tests.small_list import TABLES, copy, price_list, table, write

DATE = dt.date(2026, 3, 2)
OPTIONS = table(
    "sku description kind fits card brackets gen connector_lanes watts mass_g unit_cost unit_price"
    " lead_days stock",
    "NET-LOW Net network - yes low 4 8 10 120 80 100 3 9",
    "NET-FULL Net network - yes full;low 4 8 12 130 90 120 30 1",
    "NET-12 Net network BOX-12 yes low;full 3 8 9 110 70 90 3 9",
    "NET-BOARD Net network - - - - - 5 40 30 40 3 9",
)
PINS = {"chassis": "BOX-12", "controller": "CARD", "drive": "DISK-8T", "members": "4", "level": "5"}


@pytest.fixture
def prices() -> PriceList:
    return price_list({**copy(TABLES), "options.csv": OPTIONS})


def slots_of(prices: PriceList, **cells: str) -> dict[str, list[int | None]]:
    record = answer(prices, order(prices, **cells), DATE, alternatives=False).record
    assert record is not None
    found: dict[str, list[int | None]] = {}
    for seat in record.servers[0].placement.seats:
        found.setdefault(seat.sku, []).append(seat.number)
    return found


def test_each_card_has_a_slot_of_its_own(prices: PriceList) -> None:
    # BOX-12 has slot 1, full, and slot 2, low; CARD has brackets for both, NET-LOW for low only.
    assert slots_of(prices, **PINS, options="NET-LOW") == {"CARD": [1], "NET-LOW": [2]}


@pytest.mark.parametrize("options", ["NET-LOW*2", "NET-LOW;NET-FULL", "NET-FULL*2"])
def test_three_cards_do_not_go_into_two_slots(prices: PriceList, options: str) -> None:
    (reason,) = choose(prices, ask(prices, **PINS, options=options)).refused
    assert reason.code == "no_slot"
    assert "BOX-12 has 2 slots, too few that suit CARD, NET-" in reason.what
    # The mezzanine version of the controller leaves the slots to the cards that take both.
    free = {**PINS, "controller": "MEZZ"}
    found = choose(prices, ask(prices, **free, options=options))
    heights = [{"low", "full"} if "FULL" in name else {"low"} for name in _cards(options)]
    both = any(
        all(height in wanted for height, wanted in zip(order, heights, strict=True))
        for order in permutations(("full", "low"))
    )
    assert (found.best is not None) == both


def _cards(options: str) -> list[str]:
    return (
        ["NET-FULL", "NET-FULL"]
        if "*2" in options and "FULL" in options
        else (["NET-LOW", "NET-LOW"] if "*2" in options else options.split(";"))
    )


def test_the_slot_goes_to_the_card_and_the_controller_moves(prices: PriceList) -> None:
    # One slot in BOX-4, and the board's own controller needs none.
    pins = {"chassis": "BOX-4", "drive": "DISK-4T", "members": "2", "level": "1"}
    assert slots_of(prices, **pins, options="NET-LOW") == {"BOARD": [None], "NET-LOW": [1]}
    refused = choose(prices, ask(prices, **pins, controller="CARD", options="NET-LOW")).refused
    assert [reason.code for reason in refused] == ["no_slot"]


def test_an_option_for_another_chassis(prices: PriceList) -> None:
    pins = {"chassis": "BOX-4", "drive": "DISK-4T", "members": "2", "level": "1"}
    (reason,) = choose(prices, ask(prices, **pins, options="NET-12")).refused
    assert reason.code == "option_elsewhere"
    assert reason.what == "NET-12 is made for BOX-12, not for BOX-4"
    assert choose(prices, ask(prices, **PINS, options="NET-12")).best is not None


def test_watts_mass_price_freight_and_lead_time_count_it(prices: PriceList) -> None:
    pins = {**PINS, "controller": "MEZZ"}
    bare, with_two = (
        answer(prices, order(prices, **pins, options=options, builds="3"), DATE, alternatives=False)
        for options in ("", "NET-FULL*2")
    )
    assert bare.record is not None and with_two.record is not None
    (less,), (more,) = bare.record.servers, with_two.record.servers
    assert more.watts - less.watts == 24
    assert more.mass_kg - less.mass_kg == Decimal("0.260")
    assert more.lead_days == 30  # six cards wanted, one in stock
    (line,) = [line for line in more.lines if line.sku == "NET-FULL"]
    assert (line.share, line.quantity, line.unit_price, line.amount) == ("Options", 6, 120, 720)
    # Freight: 1.15 a kilogram of 0.26 kg, three times, rounded with the rest once.
    extra = with_two.record.totals.freight - bare.record.totals.freight
    assert abs(extra - Decimal("0.897")) <= Decimal("0.01")
    assert with_two.record.totals.lines_total - bare.record.totals.lines_total == 720
    assert with_two.record.internal.cost - bare.record.internal.cost == 540


def test_the_bench_picks_and_fits_each_card(prices: PriceList) -> None:
    request = order(prices, **{**PINS, "controller": "MEZZ"}, options="NET-FULL*2")
    record = answer(prices, request, DATE, alternatives=False).record
    assert record is not None
    bench = record.servers[0].bench
    (pick,) = [line for line in bench.pick if line.sku == "NET-FULL"]
    assert pick.quantity == 2
    told = {step.title for step in bench.steps}
    assert {"Seat NET-FULL in slot 1", "Seat NET-FULL in slot 2"} <= told
    assert any(fact.asked.startswith("2 × NET-FULL") for fact in record.servers[0].asked)


def test_every_build_has_what_was_asked_for(prices: PriceList) -> None:
    enquiry = ask(prices, usable_tb="4", options="NET-LOW")
    for verdict in verdicts(prices, enquiry):
        assert [p.part.sku for p in verdict.build.parts].count("NET-LOW") == 1
    free = choose(prices, ask(prices, usable_tb="4", options="NET-LOW", free_slots="1")).best
    assert free is not None and free.build.slots_free >= 1


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("NET-LO", "'NET-LO', which is not among the price list's options; use NET-LOW"),
        ("NET-LOW*0", "'NET-LOW*0' in its list; separate skus by ';'"),
        ("NET-LOW*x", "'NET-LOW*x' in its list; separate skus by ';'"),
        ("NET-LOW*1e3", "'NET-LOW*1e3' in its list"),
        ("NET-LOW*65", "asks for 65 of 'NET-LOW'; separate skus by ';' and put a count of 1 to 64"),
        ("*2", "in its list; separate skus"),
    ],
)
def test_what_cannot_be_asked_for(prices: PriceList, cell: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        ask(prices, usable_tb="4", options=cell)
    assert words in str(caught.value)


def test_a_cell_comes_back_as_it_was_meant(prices: PriceList) -> None:
    enquiry = ask(prices, usable_tb="4", options="NET-LOW*2; NET-FULL")
    again = ask(prices, **{**enquiry.cells()})
    assert again == enquiry
    assert enquiry.value("options") == ("NET-LOW", "NET-LOW", "NET-FULL")


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"brackets": ""}, "are blank for a card"),
        ({"card": ""}, "are listed, though it is no card"),
        ({"fits": "BOX-9"}, "'BOX-9' is not in chassis.csv"),
        ({"kind": "radio"}, "'radio' is not known"),
        ({"sku": "DISK-4T"}, "is a sku of drives.csv too"),
    ],
)
def test_a_list_that_is_wrong(tmp_path: Path, changed: dict[str, str], words: str) -> None:
    rows = [{**OPTIONS[0], **changed}]
    folder = write(tmp_path / "list", {**copy(TABLES), "options.csv": rows})
    found, problems = read_folder(folder)
    assert found is None
    assert [words in str(problem) for problem in problems] == [True]


def test_a_list_without_options_is_as_good_as_ever(tmp_path: Path) -> None:
    found, problems = read_folder(write(tmp_path / "list", copy(TABLES)))
    assert found is not None and problems == []
    assert not found.options
