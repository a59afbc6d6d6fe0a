"""Checks what the second program says of options against cases worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from .reading import Row
from .test_reference_self import PINNED, ask, plain_list, table


def with_options() -> dict[str, list[Row]]:
    """The plain list, with room and two supply bays, and an option of some kinds."""
    tables = plain_list()
    room = {"processor_sockets": "2", "memory_slots": "4", "supply_bays": "2"}
    tables["chassis"] = [row | room for row in tables["chassis"]]
    rows = table(
        "sku kind supply_w card brackets watts mass_g unit_cost unit_price lead_days stock",
        "CPU processor - - - 80 50 150 200 4 9",
        "MEM memory - - - 4 40 40 55.50 2 99",
        "PSU supply 400 - - 6 900 90 120 3 9",
        "BIG supply 500 - - 6 900 90 120 3 9",
        "NET network - yes low 9 100 60 80 3 9",
    )
    tables["options"] = [
        {name: "" if cell == "-" else cell for name, cell in row.items()} for row in rows
    ]
    return tables


def test_options_are_weighed_priced_and_powered(tmp_path: Path) -> None:
    asked = {"options": "CPU*2;MEM*2;MEM*2;PSU", "redundant_supply": "yes", "max_watts": "344.75"}
    (row,) = ask(tmp_path, with_options(), PINNED | asked)
    expected = {
        "outcome": "quoted",
        # 90.5 + 15.25 + 6 x 9.5 = 162.75; 2 x 80 + 4 x 4 + 6 = 182
        "watts": "344.75",
        # 14000 + 250 + 6 x 720 + 120.5 + 60 = 18750.5; 2 x 50 + 4 x 40 + 900 = 1160
        "mass_kg": "19.911",
        # 1000.01 + 400 + 900.90 + 50.05 + 12.34 + 25 + 15 + 15 = 2418.30; 400 + 222 + 120 = 742
        "lines_total": "3160.30",
        # 20 + 1.5 x 19.9105 = 49.86575
        "freight": "49.87",
    }
    assert {name: row[name] for name in expected} == expected


@pytest.mark.parametrize(
    ("asked", "codes"),
    [
        ({"options": "CPU*3"}, "power sockets_full"),  # 162.75 + 240 W
        ({"options": "MEM*5"}, "memory_full"),
        ({"options": "PSU*2"}, "supplies_full"),
        ({"options": "BIG"}, "power"),
        ({"options": "NET"}, "no_slot"),  # the one slot is the controller's
        ({"redundant_supply": "yes"}, "power"),
        # 162.75 + 3 x 80 + 6 W: more than one supply gives, and a socket short
        ({"options": "CPU*3;PSU", "redundant_supply": "yes"}, "power sockets_full"),
        ({"options": "CPU*3;PSU"}, "sockets_full"),
    ],
)
def test_what_stops_options(tmp_path: Path, asked: Row, codes: str) -> None:
    (row,) = ask(tmp_path, with_options(), PINNED | asked)
    assert (row["outcome"], row["reason"]) == ("refused", codes)


def test_a_draw_that_is_too_high_and_uneven_memory(tmp_path: Path) -> None:
    too_much, uneven, accepted = ask(
        tmp_path,
        with_options(),
        PINNED | {"max_watts": "162.7"},
        PINNED | {"options": "CPU*2;MEM"},
        PINNED | {"options": "CPU*2;MEM", "accept": "memory_uneven"},
    )
    assert (too_much["outcome"], too_much["reason"]) == ("refused", "")
    assert (uneven["outcome"], uneven["reason"]) == ("held", "memory_uneven")
    assert accepted["outcome"] == "quoted"


def test_room_that_is_not_stated_stops_nothing(tmp_path: Path) -> None:
    tables = with_options()
    tables["chassis"] = plain_list()["chassis"]
    several, supply = ask(
        tmp_path, tables, PINNED | {"options": "CPU*2"}, {**PINNED, "options": "PSU"}
    )
    assert several["outcome"] == "quoted"
    assert supply["reason"] == "supplies_full"
