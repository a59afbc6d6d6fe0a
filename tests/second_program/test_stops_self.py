"""Checks what stops, holds or spoils a quote of one array against cases worked out by hand.

Common practice, no source beyond the data contract.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from .reading import Row
from .test_reference_self import PINNED, ask, plain_list, table


@pytest.mark.parametrize(
    ("table_name", "change", "enquiry", "codes"),
    [
        ("controllers", {"levels": "0;1"}, {}, "level_not_offered"),
        ("controllers", {"levels": "0;1"}, {"level": "none"}, "level_not_offered"),
        ("controllers", {"max_drives": "6"}, {"spares": "1"}, "too_many_drives"),
        ("controllers", {"sas_gbit_s": ""}, {}, "drive_link"),
        ("controllers", {"brackets": "full"}, {}, "no_slot"),
        ("controllers", {"mounting": "mezzanine"}, {}, "no_socket"),
        ("controllers", {"mounting": "board"}, {}, "board_elsewhere"),
        ("chassis", {"bays": "6"}, {"spares": "1"}, "bays_full"),
        ("chassis", {"bay_width_in": "2.5"}, {}, "bay_width"),
        ("chassis", {"bay_interfaces": "sata"}, {}, "bay_interface"),
        # 90.5 + 6 x 9.5 + 15.25 = 162.75 W
        ("chassis", {"supply_w": "162.74"}, {}, "power"),
        ("chassis", {"supply_w": "162.75"}, {}, ""),
        ("chassis", {"bays": "5", "bay_interfaces": "nvme"}, {}, "bay_interface bays_full"),
        ("drives", {"width_in": "2.5"}, {}, "bay_width"),
    ],
)
def test_each_stop(tmp_path: Path, table_name: str, change: Row, enquiry: Row, codes: str) -> None:
    tables = plain_list()
    tables[table_name] = [tables[table_name][0] | change]
    (row,) = ask(tmp_path, tables, PINNED | enquiry)
    assert (row["outcome"], row["reason"]) == ("refused" if codes else "quoted", codes)


def test_adapters_come_for_owned_drives_too_but_only_where_needed(tmp_path: Path) -> None:
    tables = plain_list()
    adapter = {"sku": "ADAPT", "kind": "adapter", "needed_by": "DRV", "per": "drive"}
    tables["accessories"].append(adapter | {"unit_price": "2", "mass_g": "100"})
    large = ask(tmp_path, tables, PINNED)
    tables["drives"][0]["width_in"] = "2.5"
    small = ask(tmp_path, tables, PINNED, PINNED | {"owned": "drive"})
    # 1000.01 + 400 + 50.05 + 12.34 + 25 + 6 x 2.50 + 15 = 1517.40, drives 900.90, adapters 12
    lines = [row["lines_total"] for row in large + small]
    assert lines == ["2418.30", "2430.30", "1529.40"]


def test_board_controller_is_neither_priced_nor_serviced(tmp_path: Path) -> None:
    tables = plain_list()
    tables["controllers"][0] |= {"mounting": "board", "brackets": "", "cache_mib": "0"}
    tables["controllers"][0] |= {"stock": "0", "lead_days": "99"}
    tables["chassis"][0] |= {"board_controller": "CTL"}
    tables["accessories"] = []
    tables["services"] = table("sku per minutes unit_cost unit_price", "SET-UP controller 5 5 15")
    first, second = ask(tmp_path, tables, PINNED, PINNED | {"owned": "chassis"})
    assert first["lines_total"] == "1900.91"  # 1000.01 + 6 x 150.15
    assert first["lead_days"] == "0"
    assert first["mass_kg"] == "18.570"  # 14000 + 250 + 6 x 720
    assert first["watts"] == "162.75"
    # Only the drives travel: 20 + 1.5 x 4.32
    assert second["freight"] == "26.48"


def test_pass_through_has_no_array(tmp_path: Path) -> None:
    tables = plain_list()
    tables["controllers"][0] |= {"kind": "pass_through", "levels": "", "cache_mib": "0"}
    (row,) = ask(tmp_path, tables, PINNED | {"level": "none", "members": "1"})
    # 1000.01 + 400 + 150.15 + 50.05 + 12.34 + 25 + 2.50, and no service for an array
    assert (row["lines_total"], row["reason"]) == ("1640.05", "no_redundancy")
    assert row["usable_bytes"] == "8001026260992"


def test_demands(tmp_path: Path) -> None:
    # Net of the pinned build: lines 2418.30; (14000 + 250 + 4320 + 180.5) g = 18.7505 kg,
    # freight 20 + 28.12575 = 48.13; net 2466.43
    demands = [
        {"max_price": "2466.43"},
        {"max_price": "2466.42"},
        {"free_slots": "0"},
        {"free_slots": "1"},
        {"media": "hdd"},
        {"media": "ssd"},
        {"survive": "2"},
        {"survive": "3"},
        {"usable_tb": "32.004105043968"},
        {"usable_tb": "32.004105043969"},
    ]
    rows = ask(tmp_path, plain_list(), *(PINNED | demand for demand in demands))
    assert [row["outcome"] for row in rows] == ["quoted", "refused"] * 5


def test_mezzanine_keeps_the_slot_free(tmp_path: Path) -> None:
    tables = plain_list()
    tables["controllers"][0] |= {"mounting": "mezzanine", "brackets": ""}
    tables["chassis"][0] |= {"mezzanine_sockets": "1"}
    rows = ask(tmp_path, tables, PINNED | {"free_slots": "1"}, PINNED | {"free_slots": "2"})
    assert [row["outcome"] for row in rows] == ["quoted", "refused"]


@pytest.mark.parametrize(
    ("unit_cost", "outcome"),
    [
        ("8800", "quoted"),  # exactly the floor of 12 %
        ("8800.01", "held"),  # 11.9999 %, shown as 12.00, is under it
    ],
)
def test_margin_is_compared_unrounded(tmp_path: Path, unit_cost: str, outcome: str) -> None:
    tables = plain_list()
    tables["chassis"][0] |= {"unit_price": "10000", "unit_cost": unit_cost}
    tables["controllers"][0] |= {"cache_mib": "0"}
    tables |= {"accessories": [], "services": []}
    (row,) = ask(tmp_path, tables, PINNED | {"owned": "controller;drive", "accept": "erases_data"})
    assert (row["outcome"], row["margin_pct"], row["reason"]) == (outcome, "12.00", "")


def test_rows_that_cannot_be_read(tmp_path: Path) -> None:
    bad: list[Row] = [
        {"drive": "DRV", "members": "6"},  # neither usable_tb nor all three pins
        PINNED | {"customer": ""},
        PINNED | {"drive": "NONE"},
        PINNED | {"currency": "SEK"},
        PINNED | {"level": "7"},
        PINNED | {"workload": "none such"},
        PINNED | {"tax_code": "none such"},
        PINNED | {"accept": "power"},
        PINNED | {"owned": "drive", "drive": "", "usable_tb": "1"},
        PINNED | {"owned": "cable"},
        PINNED | {"builds": "0"},
        PINNED | {"builds": "1.5"},
        PINNED | {"enquiry_id": "E0"},  # the first row had it
    ]
    rows = ask(tmp_path, plain_list(), *bad)
    assert [row["outcome"] for row in rows] == ["invalid"] * len(bad)
