"""Checks the second program on arrays that are there already against cases worked out by hand."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import pytest

from .generate import generate_orders
from .levels import grows_evenly
from .reading import Row, read_rows
from .reference import PLACES, reference_rows
from .test_orders_self import shown
from .test_reference_self import ask, plain_list, table


def family_list() -> dict[str, list[Row]]:
    """The plain list without cache, an older controller that ours reads, and other drives."""
    tables = plain_list()
    own = tables["controllers"][0]
    own |= {"cache_mib": "0", "family": "Ash", "imports": "Ash;Elm", "grows": "0;5;10;50"}
    tables["controllers"].append(own | {"sku": "OLD", "family": "Elm", "imports": "", "grows": ""})
    tables["drives"] += table(
        "sku media interface width_in capacity_gb block_bytes active_w mass_g unit_cost unit_price"
        " lead_days stock",
        "HALF hdd sas 3.5 4000 512 8.5 700 90 100.10 2 20",
        "BIG hdd sas 3.5 16000 512 9 730 300 320.30 9 2",
        "SATA hdd sata 3.5 8000 512 9 700 90 100 0 20",
        "FINE hdd sas 3.5 8000 4096 9 700 90 100 0 20",
        "FLASH ssd sas 3.5 8000 512 9 700 90 100 0 20",
    )
    return tables


THERE: Row = {"enquiry_id": "Q", "chassis": "CHS", "owned": "chassis;controller"}
GROW = THERE | {"array": "data", "controller": "CTL", "drive": "DRV", "level": "5"}
GROW |= {"action": "grow", "members": "6", "have_drives": "4"}
KEEP = GROW | {"array": "boot", "action": "keep", "owned": "chassis;controller;drive"}
KEEP |= {"members": "2", "level": "1", "have_drives": ""}
REPLACE = GROW | {"array": "rest", "action": "replace", "members": "4", "have_drives": ""}


def test_only_bought_drives_are_charged_and_shipped(tmp_path: Path) -> None:
    tables = family_list()
    grow, new = ask(tmp_path, tables, GROW, GROW | {"enquiry_id": "N", "action": ""})
    assert shown(grow, "outcome", "lines_total", "freight", "net", "margin_pct") == [
        # 2 x 150.15, and no work that belongs to new arrays; 20 + 1.5 x 1440 g; cost 220
        *("quoted", "300.30", "22.16", "322.46", "26.74")
    ]
    # 90.5 + 15.25 + 6 x 9.5; 14000 + 250 + 6 x 720 g, the modules of theirs are not known
    assert shown(grow, "watts", "mass_kg", "action") == ["162.75", "18.570", "grow"]
    # Made anew over four of their drives: 300.30 + 6 x 2.50 + 15 and no assembly, which is done.
    assert shown(new, "outcome", "reason", "lines_total") == ["held", "erases_data", "355.30"]


def test_services_by_action(tmp_path: Path) -> None:
    tables = family_list()
    tables["services"] = table(
        "sku per unit_cost unit_price when actions",
        "KEPT array 0 1 - keep",
        "PUT-IN drive 0 10 - grow;replace",
        "FIT controller 0 100 - keep",
        "OPEN build 0 1000 - keep;replace",
        "MADE build 0 5 - new",
        "VISIT build 0 10000 chosen -",
        "ONCE quote 0 100000 - -",
        "LATER quote 0 5 - replace",
    )
    for row in tables["services"]:
        row |= {name: "" for name, cell in row.items() if cell == "-"}
    both = [KEEP | {"services": "VISIT"}, GROW]
    first, _ = ask(tmp_path, tables, *both)
    # 300.30 + 1 + 2 x 10 + 1000 + 10000 + 100000; their controller stays where it is.
    assert first["lines_total"] == "111321.30"
    ours = [row | {"owned": row["owned"].replace("controller;", "")} for row in both]
    ours = [row | {"owned": row["owned"].replace(";controller", "")} for row in ours]
    first, _ = ask(tmp_path, tables, *(row | {"from_controller": "OLD"} for row in ours))
    # The controller with its module and cable, 400 + 50.05 + 12.34, and one put in, 100.
    assert first["lines_total"] == "111883.69"
    bare = THERE | {"owned": "chassis", "options": "BELL"}
    tables["options"] = [{"sku": "BELL", "kind": "other", "unit_price": "7"}]
    (kept,) = ask(tmp_path, tables, bare)
    assert kept["lines_total"] == "101007.00"  # theirs without an array is a keep
    (made,) = ask(tmp_path, tables, bare | {"owned": ""})
    assert made["lines_total"] == "101012.01"  # 1000.01 + 7 + 5 + 100000
    (none,) = ask(tmp_path, tables, KEEP | {"enquiry_id": "K", "level": "none", "members": "3"})
    assert none["outcome"] == "refused"  # no array controller passes drives through


def test_drives_that_are_there_keep_the_first_bays(tmp_path: Path) -> None:
    grow = GROW | {"members": "4", "have_drives": "3", "spares": "1"}
    swap = REPLACE | {"members": "2", "level": "1", "have_drives": "1"}
    fresh = GROW | {"array": "new", "action": "", "members": "3", "have_drives": "2"}
    rows = ask(tmp_path, family_list(), grow, KEEP, swap, fresh)
    assert [row["outcome"] for row in rows] == ["held"] * 4
    arrays = [array for _, _, array in json.loads(rows[0][PLACES])["bays"]]
    # Three, two, two (one of them replaced in its bay) and two there; then what is bought.
    assert arrays == [0, 0, 0, 1, 1, 2, 2, 3, 3, 0, 3, 0]
    (ours,) = ask(tmp_path, family_list(), fresh | {"owned": "", "controller": "CTL"})
    assert ours["outcome"] == "held"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({}, ""),
        ({"level": "6"}, "cannot_grow"),  # not among what the controller grows
        ({"have_drives": "6"}, "cannot_grow"),
        ({"have_drives": "2"}, "cannot_grow"),
        ({"level": "10"}, ""),
        ({"level": "10", "have_drives": "5"}, "cannot_grow"),
        ({"from_drive": "HALF"}, ""),
        ({"from_drive": "BIG"}, "drive_mismatch"),
        ({"from_drive": "SATA"}, "drive_mismatch"),
        ({"from_drive": "FINE"}, "drive_mismatch"),
        ({"from_drive": "FLASH"}, "drive_mismatch"),
        ({"action": "replace"}, ""),
        ({"action": "replace", "have_drives": "0"}, ""),
        ({"action": "replace", "have_drives": "6"}, "cannot_replace"),
        ({"action": "replace", "have_drives": "6", "spares": "1"}, "cannot_replace"),
        ({"action": "replace", "level": "0"}, "cannot_replace"),
        ({"action": "replace", "from_drive": "BIG"}, "drive_mismatch"),
    ],
)
def test_what_stops_drives_that_are_added(tmp_path: Path, change: Row, code: str) -> None:
    (row,) = ask(tmp_path, family_list(), GROW | change)
    assert (row["outcome"], row["reason"]) == ("refused" if code else "quoted", code)


@pytest.mark.parametrize(
    ("level", "old", "members", "spans", "possible"),
    [
        ("50", 6, 9, 3, True),  # a span more
        ("50", 6, 8, 2, True),  # one more to each
        ("50", 6, 12, 2, True),  # three more to each: six are no one span, but two
        ("50", 6, 12, 3, False),  # spans of three do not become spans of four and one more
        ("50", 7, 10, 2, False),
        ("60", 8, 12, 3, True),
        ("60", 4, 8, 2, False),  # one span of four is no RAID 60
        ("10", 4, 6, 1, True),
        ("10", 5, 6, 1, False),
        ("5", 2, 6, 1, False),
        ("5", 3, 4, 1, True),
    ],
)
def test_what_grows_by_equal_steps(
    level: str, old: int, members: int, spans: int, possible: bool
) -> None:
    assert grows_evenly(level, old, members, spans) is possible


NOT_OURS: Row = {"owned": "chassis", "from_controller": ""}


@pytest.mark.parametrize(
    ("change", "outcome", "code"),
    [
        ({}, "quoted", ""),  # theirs made it
        ({"from_controller": "CTL"}, "quoted", ""),
        ({"from_controller": "OLD"}, "quoted", ""),  # Ash reads Elm
        ({"controller": "OLD"}, "quoted", ""),
        ({"controller": "OLD", "from_controller": "OLD"}, "quoted", ""),
        ({"controller": "OLD", "from_controller": "CTL"}, "refused", "no_import"),
        (NOT_OURS, "held", "controller_unknown"),
        (NOT_OURS | {"accept": "controller_unknown"}, "quoted", ""),
        # Another of the same kind has to say that it reads its own family's.
        (NOT_OURS | {"from_controller": "CTL"}, "quoted", ""),
        (NOT_OURS | {"controller": "OLD", "from_controller": "OLD"}, "refused", "no_import"),
    ],
)
@pytest.mark.parametrize("action", ["keep", "replace"])
def test_whose_arrays_are_read(
    tmp_path: Path, change: Row, outcome: str, code: str, action: str
) -> None:
    row = KEEP if action == "keep" else REPLACE
    drive = ";drive" if action == "keep" else ""
    owned = f"{change.get('owned', 'chassis;controller')}{drive}"
    # More than freight and what is sold for nothing, or the margin holds it.
    line = {"line": "Work agreed", "line_price": "500"}
    (found,) = ask(tmp_path, family_list(), row | line | change | {"owned": owned})
    assert (found["outcome"], found["reason"]) == (outcome, code)


def test_a_controller_is_theirs_where_one_row_says_so(tmp_path: Path) -> None:
    keep = KEEP | {"owned": "chassis;drive"}
    first, second = ask(tmp_path, family_list(), GROW, keep)
    assert [first["outcome"], second["outcome"]] == ["quoted"] * 2
    assert first["lines_total"] == "300.30"


def test_what_is_left_open_is_chosen(tmp_path: Path) -> None:
    tables = family_list()
    # DRV with 512 MiB left out holds 8,001,026,260,992 bytes: 40.0 TB take six of RAID 5.
    (grown,) = ask(tmp_path, tables, GROW | {"members": "", "usable_tb": "40.0"})
    assert shown(grown, "members", "lines_total") == ["6", "300.30"]
    (least,) = ask(tmp_path, tables, GROW | {"members": "", "usable_tb": "0"})
    assert least["members"] == "5"  # it grows
    # HALF holds 4,000,250,068,992: of six, five count, whatever is added to them.
    open_drive = GROW | {"drive": "", "from_drive": "HALF", "usable_tb": "20.001"}
    (mixed,) = ask(tmp_path, tables, open_drive)
    assert shown(mixed, "drive", "usable_bytes") == ["HALF", "20001250344960"]
    # All of them replaced: 3 x 8,001,026,260,992 is enough, 3 x HALF is not.
    swap = REPLACE | {"drive": "", "from_drive": "HALF", "usable_tb": "24"}
    (swapped,) = ask(tmp_path, tables, swap)
    assert shown(swapped, "drive", "usable_tb") == ["DRV", "24.003"]
    (half,) = ask(tmp_path, tables, swap | {"have_drives": "1"})
    assert half["outcome"] == "refused"  # the one that stays holds no more than before
    keep = KEEP | {"controller": "", "owned": "chassis;drive"}
    (kept,) = ask(tmp_path, tables, keep | {"from_controller": "OLD"})
    assert kept["controller"] == "CTL"  # dearer by its module and cable, but OLD reads none


def test_drives_that_stay_draw_and_weigh_what_they_do(tmp_path: Path) -> None:
    (row,) = ask(tmp_path, family_list(), GROW | {"from_drive": "HALF"})
    # 90.5 + 15.25 + 4 x 8.5 + 2 x 9.5; 14000 + 250 + 4 x 700 + 2 x 720
    assert shown(row, "watts", "mass_kg") == ["158.75", "18.490"]


def test_adapters_are_not_charged_for_drives_in_their_bays(tmp_path: Path) -> None:
    tables = family_list()
    adapter = {"sku": "ADAPT", "kind": "adapter", "needed_by": "DRV", "per": "drive"}
    tables["accessories"].append(adapter | {"unit_price": "2"})
    tables["drives"][0]["width_in"] = "2.5"
    first, _ = ask(tmp_path, tables, GROW, KEEP)
    assert first["lines_total"] == "304.30"
    tables["accessories"].pop()
    grow, keep = ask(tmp_path, tables, GROW, KEEP | {"enquiry_id": "K"})
    assert grow["reason"] == "bay_width"
    assert keep["outcome"] != "refused"


@pytest.mark.parametrize(
    "row",
    [
        GROW | {"action": "rebuild"},
        GROW | {"have_drives": ""},
        GROW | {"have_drives": "7"},
        GROW | {"level": "", "usable_tb": "1"},
        GROW | {"owned": "controller"},
        GROW | {"drive": "", "usable_tb": "1"},
        GROW | {"from_drive": "NOT-SOLD"},
        GROW | {"action": "", "from_drive": "HALF"},
        GROW | {"action": "", "from_controller": "OLD"},
        REPLACE | {"members": "", "usable_tb": "1"},
        REPLACE | {"drive": "", "usable_tb": "1"},
        KEEP | {"owned": "chassis;controller"},
        KEEP | {"have_drives": "1"},
        KEEP | {"from_drive": "DRV"},
        {"enquiry_id": "Q", "parts": "DRV", "action": "keep"},
        {"enquiry_id": "Q", "parts": "DRV", "have_drives": "1"},
        {"enquiry_id": "Q", "parts": "DRV", "from_controller": "OLD"},
    ],
)
def test_rows_that_cannot_be_read(tmp_path: Path, row: Row) -> None:
    (found,) = ask(tmp_path, family_list(), row)
    assert found["outcome"] == "invalid"


def test_random_upgrades_reach_everything(tmp_path: Path) -> None:
    seen: Counter[str] = Counter()
    for seed in range(30):
        folder, enquiries = generate_orders(seed, tmp_path / f"{seed}", upgrades=True)
        rows = reference_rows(folder, enquiries)
        for raw, row in zip(read_rows(enquiries), rows, strict=True):
            if action := raw["action"]:
                built = row["outcome"] in ("quoted", "held")
                seen.update([action, "arrays", row["outcome"], *([f"{action} built"] * built)])
                seen.update(row["reason"].split())
    assert (seen["quoted"] + seen["held"]) * 4 >= seen["arrays"]
    for action in ("keep", "grow", "replace"):
        assert seen[action] >= 30, action
        assert seen[f"{action} built"] >= 15, action
    for name in ("refused", "invalid", "controller_unknown", "drive_mismatch", "cannot_grow"):
        assert seen[name] >= 3, name
