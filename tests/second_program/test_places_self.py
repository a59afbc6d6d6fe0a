"""Checks where the second program puts cards and drives, by hand: contract 2, "Places" (c)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from .comparing import compare
from .comparing_places import place_differences
from .places import Card, FreeSlots, enough_free, goes_in, seated
from .reading import Row, Slot
from .reference import ORDER_COLUMNS, PLACES
from .test_options_self import with_options
from .test_reference_self import PINNED, ask, plain_list, table
from .test_search_self import written


def slot(
    number: int, lanes: int, height: str = "full", gen: int = 4, connector: int | None = None
) -> Slot:
    return Slot(number, gen, lanes, height, connector, 1)


def card(sku: str = "A", lanes: int | None = 8, gen: int | None = 4, low: bool = True) -> Card:
    return Card(sku, ("low", "full") if low else ("full",), lanes, gen, None)


@pytest.mark.parametrize(
    ("cards", "slots", "numbers"),
    [
        # Own lanes first: a low slot of four lanes would throttle it.
        ([card()], [slot(1, 4, "low"), slot(2, 16)], [2]),
        # Then its own generation, in spite of height, lanes and number.
        ([card()], [slot(1, 8, "low", 3), slot(2, 16)], [2]),
        # Lanes count before generation.
        ([card()], [slot(1, 4, gen=4), slot(2, 8, gen=3)], [2]),
        # Then the lowest height, then the fewest lanes, then the lowest number.
        ([card()], [slot(1, 8), slot(2, 16, "low")], [2]),
        ([card()], [slot(1, 16), slot(2, 8)], [2]),
        ([card()], [slot(2, 8), slot(1, 8)], [1]),
        # What is not known of a card loses nothing anywhere.
        ([card(lanes=None, gen=None)], [slot(1, 16), slot(2, 4, gen=3)], [2]),
        # All cards together: the first leaves the only long slot to the second.
        ([card(lanes=4), card("B", lanes=16)], [slot(1, 16), slot(2, 8)], [2, 1]),
        # The one that has no low bracket gets the full-height slot.
        ([card(), card("B", low=False)], [slot(1, 8), slot(2, 8, "low")], [2, 1]),
        # Six lanes lost in sum either way: the first card gets the lower number.
        ([card(), card("B")], [slot(1, 8), slot(2, 2)], [1, 2]),
    ],
)
def test_cards_go_where_they_lose_least(
    cards: list[Card], slots: list[Slot], numbers: list[int]
) -> None:
    found = seated(tuple(cards), tuple(slots), 0)
    assert found is not None
    assert [one.slot for one in found] == numbers


def test_too_few_slots_seat_nothing() -> None:
    assert seated((card(), card()), (slot(1, 8),), 0) is None
    assert seated((card(low=False),), (slot(1, 8, "low"),), 0) is None
    assert seated((), (), 0) == ()


@pytest.mark.parametrize(
    ("of_card", "of_slot", "fits"),
    [(16, 8, False), (8, 8, True), (None, 8, True), (16, None, True)],
)
def test_a_long_connector_needs_a_long_slot(
    of_card: int | None, of_slot: int | None, fits: bool
) -> None:
    one = Card("A", ("full",), 8, 4, of_card)
    assert goes_in(one, slot(1, 8, connector=of_slot), 0) is fits


@pytest.mark.parametrize(("processors", "fits"), [(0, True), (1, False), (2, True)])
def test_a_slot_of_the_second_processor(processors: int, fits: bool) -> None:
    second = Slot(1, 4, 8, "full", None, 2)
    assert goes_in(card(), second, processors) is fits


@pytest.mark.parametrize(
    ("demands", "enough"),
    [
        ([FreeSlots(3)], True),
        ([FreeSlots(4)], False),
        ([FreeSlots(2, "full")], True),
        ([FreeSlots(3, "full")], False),
        ([FreeSlots(3, "low")], True),  # a full-height slot serves, too
        ([FreeSlots(1, "full", 16)], True),
        ([FreeSlots(1, "low", 16), FreeSlots(1, "full", 16)], False),  # only one is that long
        ([FreeSlots(1, "low"), FreeSlots(1, "full", 16), FreeSlots(1, "full")], True),
        ([FreeSlots(1, "full", 12)], True),
        ([FreeSlots(2, "", 12)], False),  # 16 lanes in a connector of 8 are 8
    ],
)
def test_each_demand_has_slots_of_its_own(demands: list[FreeSlots], enough: bool) -> None:
    free = (slot(1, 8, "low"), slot(2, 4, connector=16), slot(3, 16, connector=8))
    assert enough_free(tuple(demands), free) is enough


def three_arrays() -> dict[str, list[Row]]:
    """The options list with a second card slot, and a pass-through mezzanine controller."""
    tables = with_options()
    tables["chassis"][0] |= {"mezzanine_sockets": "1", "backplane": "direct"}
    tables["slots"] += table("chassis_sku slot gen lanes height", "CHS 2 4 16 full")
    tables["controllers"][0] |= {"host_gen": "4", "host_lanes": "8", "ports": "8"}
    mezzanine = {"sku": "MEZ", "kind": "pass_through", "levels": "", "cache_mib": "0"}
    mezzanine |= {"mounting": "mezzanine", "brackets": ""}
    tables["controllers"].append(tables["controllers"][0] | mezzanine)
    tables["options"][-1] |= {"brackets": "low;full", "connector_lanes": "16", "gen": "4"}
    return tables


BOOT: Row = {"enquiry_id": "Q", "array": "boot", "controller": "CTL", "drive": "DRV"}
BOOT |= {"members": "2", "level": "1", "accept": "no_redundancy"}
DATA = BOOT | {"array": "data", "members": "4", "level": "5", "spares": "1"}
REST = BOOT | {"array": "rest", "controller": "MEZ", "members": "2", "level": "none"}


def test_places_of_three_arrays(tmp_path: Path) -> None:
    rows = ask(tmp_path, three_arrays(), BOOT | {"chassis": "CHS", "options": "NET"}, DATA, REST)
    assert [row["outcome"] for row in rows] == ["quoted"] * 3
    places = json.loads(rows[0][PLACES])
    # The controller has eight lanes, so the network card gets the sixteen it has.
    assert places["slots"] == [["CTL", 1], ["NET", 2]]
    uses = ["member"] * 6 + ["passed_through"] * 2 + ["empty"] * 3 + ["spare"]
    assert [use for _, use, _ in places["bays"]] == uses
    arrays = [0] * 2 + [1] * 4 + [2] * 2 + [None] * 3 + [1]
    assert [array for _, _, array in places["bays"]] == arrays
    assert [bay for bay, _, _ in places["bays"]] == list(range(1, 13))


def test_ports_are_short_on_a_direct_backplane(tmp_path: Path) -> None:
    tables = three_arrays()
    wide = [BOOT | {"chassis": "CHS"}, DATA | {"members": "6"}]
    short = ask(tmp_path, tables, *wide)  # 2 + 6 + 1 lanes on 8 ports
    tables["chassis"][0]["backplane"] = "expander"
    behind = ask(tmp_path, tables, *wide)
    tables["chassis"][0]["backplane"] = "direct"
    flash = {"interface": "nvme", "lanes": "2"}
    tables["drives"].append(tables["drives"][0] | flash | {"sku": "NV"})
    tables["chassis"][0]["bay_interfaces"] = "nvme;sas"
    tables["controllers"][0]["nvme_gen"] = "4"
    narrow = PINNED | {"drive": "NV", "members": "4"}
    four, five = ask(tmp_path, tables, narrow, narrow | {"members": "5", "level": "5"})
    assert [row["reason"] for row in short] == ["ports_short"] * 2
    assert [row["outcome"] for row in behind] == ["quoted"] * 2
    assert (four["outcome"], five["reason"]) == ("quoted", "ports_short")  # 8 and 10 lanes


def test_bays_and_drives_are_counted_over_all_arrays(tmp_path: Path) -> None:
    tables = three_arrays()
    tables["controllers"][0] |= {"ports": "", "max_drives": "7"}
    pinned = [BOOT | {"chassis": "CHS"}, DATA]
    first, _ = ask(tmp_path, tables, *pinned, REST)[:2]
    assert first["outcome"] == "quoted"  # 2 + 5 drives on one controller, 2 on the other
    seven = ask(tmp_path, tables, pinned[0], DATA | {"spares": "2"})
    assert seven[0]["reason"] == "too_many_drives"
    tables["chassis"][0]["bays"] = "8"
    full = ask(tmp_path, tables, *pinned, REST)
    assert full[0]["reason"] == "bays_full"
    tables["chassis"][0] |= {"bays": "12", "mezzanine_sockets": "0"}
    assert ask(tmp_path, tables, *pinned, REST)[0]["reason"] == "no_socket"


def record(rows: list[Row]) -> dict[str, Any]:
    """Make a record with what is compared, seats in another order."""
    places = json.loads(rows[0][PLACES])
    seats = [{"sku": s, "takes": "slot", "number": n} for s, n in reversed(places["slots"])]
    seats.append({"sku": "MEZ", "takes": "socket", "number": 1})
    bays = [{"bay": bay, "use": use, "array": array} for bay, use, array in places["bays"]]
    placement = {"chassis": "CHS", "seats": seats, "bays": bays}
    return {"servers": [{"builds": 1, "placement": placement}]}


def test_places_are_compared_with_records(tmp_path: Path) -> None:
    rows = ask(tmp_path, three_arrays(), BOOT | {"chassis": "CHS", "options": "NET"}, DATA, REST)
    summary = written(tmp_path / "summary.csv", rows, ORDER_COLUMNS)
    assert place_differences(tmp_path, rows) == ["record of 'Q': there is none"]
    path, made = tmp_path / "Q.json", record(rows)
    path.write_text(json.dumps(made), encoding="utf-8")
    assert compare(summary, rows, tmp_path, ORDER_COLUMNS) == []
    made["servers"][0]["placement"]["bays"][0]["use"] = "empty"
    made["servers"][0]["placement"]["seats"][0]["number"] = 3
    path.write_text(json.dumps(made), encoding="utf-8")
    slots, bays = compare(summary, rows, tmp_path, ORDER_COLUMNS)
    assert "slots is [['CTL', 1], ['NET', 3]]" in slots
    assert "bays is" in bays
    path.write_text('{"servers": []}', encoding="utf-8")
    assert place_differences(tmp_path, rows) == ["record of 'Q': has 0 servers, not 1"]


def test_a_cache_is_protected_by_the_module_it_brings(tmp_path: Path) -> None:
    tables = plain_list()
    tables["controllers"].append(tables["controllers"][0] | {"sku": "TWO"})
    tables["slots"] += table("chassis_sku slot gen lanes height", "CHS 2 4 8 low")
    rows = ask(
        tmp_path, tables, BOOT | {"chassis": "CHS"}, DATA | {"controller": "TWO", "spares": ""}
    )
    assert [row["reason"] for row in rows] == ["cache_unprotected"] * 2
