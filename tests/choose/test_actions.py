"""The choice where arrays are there already: what is read, whose a controller is, what it costs."""

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import choose
from quotelib.choose.server import choose_server
from quotelib.enquiry.request import ServerAsked
from tests.asking import ask, order_rows
from tests.small_list import Tables, change, copy, price_list

THERE = {"chassis": "BOX-12", "drive": "DISK-8T", "level": "5", "owned": "chassis"}
GROWN = THERE | {"action": "grow", "members": "4", "have_drives": "3"}
KEPT = THERE | {"action": "keep", "members": "3", "owned": "chassis;drive"}


def listed() -> Tables:
    """Give the small list with families: CARD reads what MEZZ made, and nobody else's."""
    tables = copy()
    says = {"CARD": ("Ash", "Ash;Elm", "5;50"), "MEZZ": ("Elm", "", "5")}
    for row in tables["controllers.csv"]:
        family, imports, grows = says.get(row["sku"], ("", "", ""))
        row |= {"family": family, "imports": imports, "grows": grows}
    return tables


def server(prices: PriceList, *rows: dict[str, str]) -> ServerAsked:
    """Ask for one server, an array a row."""
    named = [{"array": f"a{n}", **row} for n, row in enumerate(rows)]
    (asked,) = order_rows(prices, *named).servers
    return asked


def best(prices: PriceList, *rows: dict[str, str]) -> Candidate:
    """Choose one server."""
    choice = choose_server(prices, server(prices, *rows))
    assert choice.best is not None, choice.refused
    return choice.best


def refused(prices: PriceList, *rows: dict[str, str]) -> list[str]:
    """Name why there is no server."""
    return [reason.code for reason in choose_server(prices, server(prices, *rows)).refused]


@pytest.mark.parametrize("row", [GROWN, KEPT], ids=["grown", "kept"])
def test_only_a_controller_that_reads_the_array_is_chosen(row: dict[str, str]) -> None:
    prices = price_list(listed())
    found = choose(prices, ask(prices, **row, from_controller="MEZZ")).best
    assert found is not None
    # MEZZ would cost less, but does not say that it reads its own family's.
    assert [c.sku for _, c in found.build.controllers()] == ["CARD"]
    other = choose(prices, ask(prices, **row, from_controller="MEZZ", controller="MEZZ"))
    assert [reason.code for reason in other.refused] == ["no_import"]
    assert refused(prices, row | {"from_controller": "MEZZ", "controller": "MEZZ"}, KEPT) == [
        "no_import"
    ]


def test_a_shared_controller_is_theirs_where_one_row_says_so() -> None:
    prices = price_list(listed())
    said = GROWN | {"controller": "CARD", "owned": "chassis;controller"}
    for row in (KEPT, KEPT | {"controller": "CARD"}):
        found = best(prices, said, row)
        assert {piece.owned for piece, _ in found.build.controllers()} == {True}
        assert [one.code for one in found.advice] == []


def test_work_on_what_stays_is_no_reason_against_a_server_that_grows() -> None:
    tables = listed()
    cards = tables["controllers.csv"]
    cards.append(next(row for row in cards if row["sku"] == "CARD") | {"sku": "CARD-B"})
    for row in tables["accessories.csv"]:
        row |= {"with": "", "needed_by": row["needed_by"].replace("CARD", "CARD;CARD-B")}
    rail = next(row for row in tables["accessories.csv"] if row["sku"] == "CARRIER")
    rail |= {"sku": "CLIP", "needed_by": "DISK-8T", "per": "4", "unit_price": "10", "with": "CARD"}
    for row in tables["services.csv"]:
        row["actions"] = "keep" if row["sku"] in ("ASSEMBLE", "FIT-CARD") else "new"
    prices = price_list(tables)
    rows = [GROWN | {"from_controller": "MEZZ"}] * 2
    chosen = best(prices, *rows)
    both = [
        best(prices, *(row | {"controller": sku} for row in rows)) for sku in ("CARD", "CARD-B")
    ]
    assert both[0].net is not None
    assert both[1].net is not None
    assert chosen.net == both[1].net < both[0].net


def test_a_service_in_vain_is_told_beside_a_wish_that_cannot_be_met() -> None:
    tables = change(listed(), "ARRAY", when="chosen", actions="new")
    for row in tables["services.csv"]:
        row |= {"when": row.get("when", ""), "actions": row.get("actions", "")}
    prices = price_list(tables)
    said = GROWN | {"controller": "CARD", "owned": "chassis;controller"}
    assert refused(prices, said | {"usable_tb": "90", "services": "ARRAY"}, KEPT) == [
        *("usable_tb", "service_elsewhere")
    ]


def test_a_service_is_not_in_vain_on_a_server_with_an_array_left_out() -> None:
    tables = change(listed(), "FIT-CARD", when="chosen", actions="new")
    for row in tables["services.csv"]:
        row |= {"when": row.get("when", ""), "actions": row.get("actions", "")}
    prices = price_list(tables)
    small = {"chassis": "BOX-4", "usable_tb": "1"}
    # BARE has no slot there; the other array would be on the board.
    rows = [small | {"controller": "BARE", "services": "FIT-CARD"}, small | {"controller": "BOARD"}]
    assert set(refused(prices, *rows)) == {"no_slot"}


def test_the_only_spans_there_can_be_are_no_open_question() -> None:
    prices = price_list(listed())
    pinned = {"controller": "MEZZ", "owned": "chassis;drive"}
    row = GROWN | pinned | {"level": "50", "members": "8", "have_drives": "6"}
    small = KEPT | pinned | {"level": "none", "members": "1"}
    assert sorted(refused(prices, row, small)) == sorted(
        ["cannot_grow", "level_not_offered", "too_many_drives"]
    )
