"""Checks the second program on quotes of several rows against cases worked out by hand."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from .comparing import compare
from .generate import generate_orders
from .reading import Row, read_rows
from .reference import CODES_RULE, ORDER_COLUMNS, reference_rows
from .test_options_self import with_options
from .test_reference_self import PINNED, ask, plain_list
from .test_search_self import written

Q: Row = {"enquiry_id": "Q"}
MONEY = ("lines_total", "discount", "freight", "net", "tax", "gross", "margin_pct")
BOOT = Q | {"array": "boot", "controller": "CTL", "drive": "DRV", "members": "2", "level": "1"}
DATA = BOOT | {"array": "data", "members": "4", "level": "5"}
SERVER = PINNED | Q


def shown(row: Row, *columns: str) -> list[str]:
    return [row[column] for column in columns]


def test_two_arrays_share_a_controller(tmp_path: Path) -> None:
    first, second = ask(tmp_path, plain_list(), BOOT | {"chassis": "CHS"}, DATA)
    assert shown(first, *MONEY[:4]) == [
        # 1000.01 + 400 + 6 x 150.15 + 50.05 + 12.34 + 25 + 6 x 2.50 + 2 x 15
        "2433.30",
        "0.00",
        "48.13",  # 20 + 1.5 x (14000 + 250 + 6 x 720 + 120.5 + 60) g
        "2481.43",
    ]
    assert shown(first, "watts", "mass_kg", "lead_days") == ["162.75", "18.751", "0"]
    assert shown(second, *MONEY, "watts", "mass_kg", "lead_days") == [""] * 10
    assert shown(first, "array", "level", "members", "action") == ["boot", "1", "2", "new"]
    assert shown(second, "array", "level", "members", "action") == ["data", "5", "4", "new"]
    assert shown(second, "chassis", "controller", "drive") == ["CHS", "CTL", "DRV"]


def test_stock_counts_the_drives_of_all_arrays(tmp_path: Path) -> None:
    tables = plain_list()
    tables["drives"][0] |= {"stock": "5", "lead_days": "30"}
    (boot,) = ask(tmp_path, tables, BOOT)
    both, _ = ask(tmp_path, tables, BOOT | {"max_lead_days": "30"}, DATA)
    ours, _ = ask(tmp_path, tables, BOOT, DATA | {"owned": "drive"})
    late, _ = ask(tmp_path, tables, BOOT | {"max_lead_days": "29"}, DATA)
    assert [row["lead_days"] for row in (boot, both, ours)] == ["0", "30", "0"]
    assert late["outcome"] == "refused"


def test_volume_discount_counts_the_builds_of_all_servers(tmp_path: Path) -> None:
    one, two = SERVER | {"server": "one"}, SERVER | {"server": "two", "builds": "4"}
    first, second = ask(tmp_path, plain_list(), one, two)
    # 5 x 2418.30 (see test_demands); five builds earn 5 %: 604.575; freight of one build
    # 48.12575, of four 192.503
    assert shown(first, *MONEY[:4]) == ["12091.50", "604.58", "240.63", "11727.55"]
    assert shown(first, "server", "lead_days") == ["one", "0"]
    # Four chassis, one in stock; 24 drives, 20 in stock.
    assert shown(second, "server", "lead_days", "watts") == ["two", "10", "162.75"]


def test_loose_parts_travel_by_themselves_or_with_a_server(tmp_path: Path) -> None:
    parts = Q | {"parts": "DRV*2; PROTECT", "tax_code": "STD"}
    alone, more = ask(tmp_path, plain_list(), parts, Q | {"parts": "PROTECT"})
    # 2 x 150.15 + 2 x 50.05 = 400.40; 20 + 1.5 x (1440 + 241) g = 22.5215; cost 280
    assert shown(alone, *MONEY) == [
        *("400.40", "0.00", "22.52", "422.92"),
        *("84.58", "507.50", "30.07"),
    ]
    assert shown(alone, "chassis", "watts", "lead_days", "action") == [""] * 4
    assert {more[column] for column in ORDER_COLUMNS[3:]} == {""}
    first, _ = ask(tmp_path, plain_list(), SERVER, parts | {"tax_code": ""})
    # 2418.30 + 350.35; 48.13 + 1.5 x 1560.5 g = 2.34075
    assert shown(first, "lines_total", "freight") == ["2768.65", "50.47"]


def test_free_lines_are_neither_discounted_nor_exchanged(tmp_path: Path) -> None:
    row = Q | {"discount_pct": "10", "currency": "EUR", "parts": "PROTECT", "tax_code": "STD"}
    row |= {"line": "Old one back", "line_quantity": "2", "line_price": "-7.5", "line_cost": "1.25"}
    first, _ = ask(tmp_path, plain_list(), row, Q | {"line": "Labels", "line_price": "3"})
    # 50.05 x 1.15 = 57.5575; 57.56 - 15 + 3; discount on 57.56 only; freight
    # (20 + 1.5 x 0.1205) x 1.15 = 23.2078625; cost 34.50 + 2.50
    assert shown(first, *MONEY) == [
        *("45.56", "5.76", "23.21", "63.01"),
        *("12.60", "75.61", "7.04"),  # (39.80 - 37.00) / 39.80
    ]
    assert first["outcome"] == "held"


def test_services_of_servers_rows_and_quotes(tmp_path: Path) -> None:
    tables = plain_list()
    money = {"unit_cost": "1", "unit_price": "10"}
    tables["services"] = [
        money | {"sku": "EACH", "per": "array", "when": "chosen"},
        money | {"sku": "VISIT", "per": "quote", "when": "chosen", "unit_price": "100"},
        money | {"sku": "PAPERS", "per": "quote", "unit_price": "1000"},
        money | {"sku": "CREATED", "per": "quote", "actions": "new", "unit_price": "10000"},
    ]
    more = {"discount_pct": "50", "builds": "2"}
    rows = [
        BOOT | more | {"server": "one", "chassis": "CHS", "services": "EACH;VISIT"},
        DATA | {"server": "one", "services": "EACH*2"},
        Q | {"services": "EACH*5; VISIT*2"},
    ]
    first, *_ = ask(tmp_path, tables, *rows)
    # 2 x (1000.01 + 400 + 900.90 + 50.05 + 12.34) = 4726.60; EACH: 3 x 2 arrays x 2 builds and
    # 5 more = 170; VISIT 3 x 100, once; PAPERS and CREATED once. Half of 4896.60 is discounted.
    assert shown(first, "lines_total", "discount") == ["16196.60", "2448.30"]
    (alone,) = ask(tmp_path, tables, Q | {"services": "VISIT"})
    assert shown(alone, "lines_total", "freight") == ["1100.00", "0.00"]  # nothing was created


def test_a_server_without_array(tmp_path: Path) -> None:
    (row,) = ask(tmp_path, with_options(), Q | {"chassis": "CHS", "options": "CPU;MEM*2"})
    # 1000.01 + 200 + 111 and ASSEMBLE 25; no drive, no controller, no array
    assert shown(row, "outcome", "lines_total", "watts") == ["quoted", "1336.01", "178.5"]
    assert shown(row, "chassis", "controller", "level", "action") == ["CHS", "", "", ""]


@pytest.mark.parametrize(
    ("asked", "outcome", "lines_total"),
    [
        ({}, "quoted", "2418.30"),
        ({"cores": "8"}, "quoted", "2618.30"),
        ({"cores": "9"}, "quoted", "2818.30"),  # two of eight
        ({"cores": "17"}, "refused", ""),  # two sockets
        ({"memory_gb": "33"}, "quoted", "2584.80"),  # three of sixteen
        ({"memory_gb": "65"}, "refused", ""),  # four slots
        ({"cores": "9", "memory_gb": "33"}, "quoted", "3040.30"),  # as many for each processor
        ({"options": "CPU", "cores": "8"}, "quoted", "2618.30"),  # named: none added
        ({"options": "CPU", "cores": "9"}, "refused", ""),
        ({"options": "CPU*2", "memory_gb": "1"}, "quoted", "2929.30"),
        ({"options": "MEM*3", "memory_gb": "48"}, "quoted", "2584.80"),
        ({"options": "MEM*3", "memory_gb": "49"}, "refused", ""),
    ],
)
def test_cores_and_memory(tmp_path: Path, asked: Row, outcome: str, lines_total: str) -> None:
    tables = with_options()
    tables["options"][0]["cores"], tables["options"][1]["memory_gb"] = "8", "16"
    tables["chassis"][0]["supply_w"] = "600"
    (row,) = ask(tmp_path, tables, PINNED | asked)
    assert shown(row, "outcome", "lines_total") == [outcome, lines_total]


def test_processors_are_added_only_where_sockets_are_known(tmp_path: Path) -> None:
    tables = with_options()
    tables["options"][0]["cores"] = "8"
    tables["chassis"] = plain_list()["chassis"]
    (row,) = ask(tmp_path, tables, PINNED | {"cores": "8"})
    assert shown(row, "outcome", "reason") == ["refused", ""]


def test_refurbished_parts_come_in_where_pinned_or_any(tmp_path: Path) -> None:
    tables = plain_list()
    old = {"unit_price": "1", "condition": "refurbished"}
    tables["drives"].append(tables["drives"][0] | old | {"sku": "OLD"})
    tables["chassis"].append(tables["chassis"][0] | old | {"sku": "WORN"})
    tables["slots"].append(tables["slots"][0] | {"chassis_sku": "WORN"})
    either = {"usable_tb": "8", "level": "1"}
    rows = ask(
        tmp_path,
        tables,
        either,
        either | {"drive": "OLD"},
        either | {"condition": "any"},
        either | {"enquiry_id": "Q", "array": "a", "condition": "any"},
        either | {"enquiry_id": "Q", "array": "b"},  # its own drives have to be new
    )
    assert [(row["chassis"], row["drive"]) for row in rows] == [
        ("CHS", "DRV"),
        ("CHS", "OLD"),
        ("WORN", "OLD"),
        ("WORN", "OLD"),
        ("WORN", "DRV"),
    ]


@pytest.mark.parametrize(
    ("change", "price"),
    [
        ({"per": "4", "needed_by": "DRV"}, "20.00"),  # six drives: two
        ({"per": "3", "needed_by": "CHS"}, "20.00"),
        ({"per": "drive", "needed_by": "DRV", "interfaces": "sata"}, "0.00"),
        ({"per": "drive", "needed_by": "CTL", "interfaces": "sata;sas"}, "60.00"),
        ({"per": "build", "needed_by": "CTL", "with": "DRV"}, "10.00"),
        ({"per": "build", "needed_by": "CTL", "with": "ELSE"}, "0.00"),
    ],
)
def test_accessories_by_the_drive(tmp_path: Path, change: Row, price: str) -> None:
    tables = plain_list()
    tables["accessories"].append({"sku": "MORE", "kind": "cable", "unit_price": "10"} | change)
    (row,) = ask(tmp_path, tables, PINNED)
    assert f"{float(row['lines_total']) - 2418.30:.2f}" == price


def test_an_owned_array_beside_a_bought_one(tmp_path: Path) -> None:
    tables = plain_list()
    carrier = {"sku": "CARRIER", "kind": "carrier", "needed_by": "DRV", "unit_price": "10"}
    tables["accessories"].append(carrier | {"per": "drive"})
    kept = DATA | {"owned": "controller;drive"}
    first, _ = ask(tmp_path, tables, BOOT | {"chassis": "CHS", "accept": "erases_data"}, kept)
    # 1000.01 + 2 x (150.15 + 10) + 25 + 6 x 2.50 + 2 x 15: the piece both share is theirs, and
    # so brings neither cable nor module.
    assert shown(first, "lines_total", "outcome", "reason") == [
        *("1390.31", "held"),
        "cache_unprotected",
    ]
    assert first["freight"] == "43.16"  # 20 + 1.5 x (14000 + 1440) g


def test_one_refused_server_refuses_the_quote(tmp_path: Path) -> None:
    rows = ask(
        tmp_path,
        plain_list(),
        SERVER | {"server": "good"},
        SERVER | {"server": "bad", "members": "13"},
        Q | {"parts": "DRV"},
    )
    assert [row["outcome"] for row in rows] == ["refused"] * 3
    assert [row["reason"] for row in rows] == ["with", "bays_full", "with"]
    assert [row[CODES_RULE] for row in rows] == ["with", "all", "with"]


@pytest.mark.parametrize(
    ("rows", "rules"),
    [
        ([SERVER, SERVER], "with own"),  # two arrays of one name
        ([BOOT, DATA | {"customer": "Another"}], "with own"),
        ([BOOT | {"customer": ""}, DATA], "own either"),
        ([BOOT, DATA | {"customer": ""}], " "),
        ([BOOT | {"builds": "2"}, DATA | {"builds": "2"}], " "),
        ([BOOT | {"builds": "2"}, DATA | {"builds": "3"}], "with own"),
        ([BOOT | {"discount_pct": "2.50"}, DATA | {"discount_pct": "2.5"}], " "),
        ([BOOT, DATA | {"server": "one"}], "own with"),
        ([BOOT, Q | {"parts": "DRV", "array": "data"}], "with own"),
        ([BOOT, Q | {"parts": "DRV", "note": "x"}], " "),
        ([BOOT, Q | {"parts": "DRV*0"}], "with own"),
        ([BOOT, Q | {"parts": "ELSE"}], "with own"),
        ([BOOT, Q], "with own"),  # asks for nothing
        ([Q | {"line": "x", "line_price": "1.234"}], "own"),
        ([Q | {"line": "x", "line_price": "1.230"}], ""),
        ([Q | {"currency": "JPY", "line": "x", "line_price": "1.2"}], "own"),
        ([BOOT | {"free_slots": "1:tall"}, DATA], "own with"),
        ([BOOT, DATA | {"owned": "chassis"}], "with own"),  # which?
        ([BOOT | {"enquiry_id": "R"}, SERVER, DATA | {"enquiry_id": "R"}], "own  own"),
    ],
)
def test_rows_of_a_quote_stand_and_fall_together(
    tmp_path: Path, rows: list[Row], rules: str
) -> None:
    found = ask(tmp_path, plain_list(), *rows)
    assert [row[CODES_RULE].replace("advise", "") for row in found] == rules.split(" ")
    for row in found:
        assert (row["outcome"] == "invalid") == (row[CODES_RULE] in ("own", "with", "either"))


def test_compare_sees_whose_fault_it_is(tmp_path: Path) -> None:
    rows = ask(tmp_path, plain_list(), SERVER, Q | {"parts": "ELSE"}, PINNED)
    path = tmp_path / "summary.csv"
    good = [rows[0] | {"reason": "with row 3"}, rows[1] | {"reason": "no such part"}, rows[2]]
    assert compare(written(path, good, ORDER_COLUMNS), rows) == []
    both = [good[0], good[1] | {"reason": "with row 2"}, rows[2]]
    assert "the row itself is wrong" in compare(written(path, both, ORDER_COLUMNS), rows)[0]
    refused = ask(tmp_path, plain_list(), SERVER | {"members": "13"}, DATA | {"array": "more"})
    silent = [row | {"reason": "with row 2"} for row in refused]
    assert "no row of the server" in compare(written(path, silent, ORDER_COLUMNS), refused)[0]
    neither = [good[0] | {"reason": "no such part"}, *good[1:]]
    assert "another row is at fault" in compare(written(path, neither, ORDER_COLUMNS), rows)[0]


def test_compare_lets_only_currency_and_tax_code_be_repeated(tmp_path: Path) -> None:
    rows = ask(tmp_path, plain_list(), BOOT | {"tax_code": "STD"}, DATA)
    path = tmp_path / "summary.csv"
    for change, differences in [
        ({"currency": "GBP", "tax_code": "STD"}, 0),
        ({"currency": "EUR"}, 1),
        ({"net": rows[0]["net"]}, 1),
        ({"array": "boot"}, 1),
        ({"server": "one"}, 1),
        ({"action": "keep"}, 1),
    ]:
        changed = [rows[0], rows[1] | change]
        assert len(compare(written(path, changed, ORDER_COLUMNS), rows)) == differences


def test_random_orders_reach_everything(tmp_path: Path) -> None:
    seen: Counter[str] = Counter()
    for seed in range(12):
        folder, enquiries = generate_orders(seed, tmp_path / f"{seed}")
        again, enquiries_again = generate_orders(seed, tmp_path / f"{seed}-again")
        for path in [*folder.iterdir(), enquiries]:
            twin = enquiries_again if path == enquiries else again / path.name
            assert path.read_bytes() == twin.read_bytes()
        rows = reference_rows(folder, enquiries)
        servers = Counter((row["enquiry_id"], row["server"]) for row in rows if row["level"])
        seen.update(f"{count} arrays" for count in servers.values())
        seen.update(row["outcome"] for row in rows)
        seen.update(row[CODES_RULE] for row in rows)
        for raw, row in zip(read_rows(enquiries), rows, strict=True):
            if row["outcome"] in ("quoted", "held"):
                seen.update(column for column, cell in raw.items() if cell)
    for name in (
        *("1 arrays", "2 arrays", "3 arrays", "quoted", "held", "refused", "invalid"),
        *("all", "some", "with", "own", "server", "cores", "memory_gb", "free_slots", "options"),
        *("services", "parts", "line", "condition", "owned", "max_price", "max_lead_days"),
    ):
        assert seen[name] >= 3, name
