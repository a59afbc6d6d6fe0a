"""Checks the second program against cases worked out by hand, in the comments.

Level arithmetic and money rules: common practice, no source beyond the data contract.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from .generate import write_table
from .levels import lba_count
from .money import rounded
from .reading import Row
from .reference import fixed, reference_rows

TERMS = """\
currency = "GBP"
quote_valid_days = 30
margin_floor_pct = 12
[rates]
EUR = 1.15
JPY = 190.5
KWD = 0.4055
[tax]
STD = 20
ODD = 8.875
[freight]
base = 20
per_kg = 1.5
[[volume_discount]]
min_builds = 2
pct = 3
[[volume_discount]]
min_builds = 5
pct = 5
[seller]
name = "Invented"
address = "Nowhere"
contact = "none"
[risk]
years = 5
advise_loss_pct = 100
"""


def table(columns: str, *lines: str) -> list[Row]:
    return [dict(zip(columns.split(), line.split(), strict=True)) for line in lines]


def plain_list() -> dict[str, list[Row]]:
    """One chassis, one cached array controller with its protection module, one drive."""
    money = "mass_g unit_cost unit_price lead_days stock"
    return {
        "chassis": table(
            "sku bays bay_width_in bay_interfaces supply_w base_w " + money,
            "CHS 12 3.5 sata;sas 400 90.5 14000 700 1000.01 10 1",
        ),
        "controllers": table(
            "sku kind levels cache_mib cache_protection sata_gbit_s sas_gbit_s mounting brackets"
            " max_drives reserve_mib watts " + money,
            "CTL raid 0;1;5;6;10;50;60 2048 none 6 12 card low 24 512 15.25 250 250 400 3 100",
        ),
        "drives": table(
            "sku media interface width_in capacity_gb block_bytes active_w " + money,
            "DRV hdd sas 3.5 8000 512 9.5 720 110 150.15 5 20",
        ),
        "slots": table("chassis_sku slot gen lanes height", "CHS 1 4 8 low"),
        "accessories": table(
            "sku kind needed_by per watts " + money,
            "PROTECT cache_protection CTL build 0 120.5 30 50.05 7 5",
            "CABLE cable CTL build 0 60 4.50 12.34 1 100",
        ),
        "services": table(
            "sku per minutes unit_cost unit_price",
            "ASSEMBLE build 30 10 25",
            "FIT drive 2 1 2.5",
            "CREATE array 5 5 15",
        ),
        "workloads": [],
    }


def ask(folder: Path, tables: dict[str, list[Row]], *enquiries: Row) -> list[Row]:
    prices = folder / "prices"
    prices.mkdir(exist_ok=True)
    for name, rows in tables.items():
        write_table(prices / f"{name}.csv", rows)
    (prices / "terms.toml").write_text(TERMS, encoding="utf-8")
    rows = [{"enquiry_id": f"E{n}", "customer": "Invented"} | e for n, e in enumerate(enquiries)]
    write_table(folder / "enquiries.csv", rows)
    return reference_rows(prices, folder / "enquiries.csv")


PINNED = {"chassis": "CHS", "controller": "CTL", "drive": "DRV", "members": "6", "level": "6"}


@pytest.mark.parametrize(
    ("capacity_gb", "block_bytes", "blocks"),
    [
        (80, 512, 156_301_488),  # LBA1-02, worked example: seen
        (6000, 512, 11_721_045_168),  # as reported by drives: seen
        (8000, 512, 15_628_053_168),  # as reported by drives: seen
        (10000, 512, 19_532_873_728),  # as reported by drives: seen
        (8000, 4096, 15_628_053_168 // 8),  # the linear formula is 1/8 of the other: re-derived
        # 8001 GB / 512 = 15,626,953,125; / 2^21 = 7451.5...; 7452 x 2^21: re-derived
        (8001, 512, 15_627_976_704),
        # 10^13 / 4096 = 2,441,406,250; / 2^18 = 9313.2...; 9314 x 2^18: re-derived
        (10000, 4096, 2_441_609_216),
    ],
)
def test_block_counts(capacity_gb: int, block_bytes: int, blocks: int) -> None:
    assert lba_count(capacity_gb, block_bytes) == blocks


def test_pounds_two_builds(tmp_path: Path) -> None:
    (row,) = ask(
        tmp_path,
        plain_list(),
        PINNED | {"builds": "2", "spares": "1", "discount_pct": "2.5", "tax_code": "STD"},
    )
    expected = {
        "outcome": "quoted",
        "currency": "GBP",
        # 1000.01 + 400 + 7 x 150.15 + 50.05 + 12.34 + 25 + 7 x 2.50 + 15 = 2570.95; twice
        "lines_total": "5141.90",
        # 2 builds earn 3 %, more than the 2.5 % asked for: 154.257
        "discount": "154.26",
        # 14000 + 250 + 7 x 720 + 120.5 + 60 = 19470.5 g; (20 + 1.5 x 19.4705) x 2 = 98.4115
        "freight": "98.41",
        "mass_kg": "19.471",
        "net": "5086.05",
        "tax_code": "STD",
        "tax": "1017.21",
        "gross": "6103.26",
        # cost (700 + 250 + 770 + 30 + 4.50 + 10 + 7 + 5) x 2 = 3553; 1434.64 / 4987.64
        "margin_pct": "28.76",
        # 15,628,053,168 x 512 - 512 x 2^20 = 8,001,026,351,104, of which 90,112 are no whole
        # strip: 8,001,026,260,992 a member, four of them hold data
        "usable_bytes": "32004105043968",
        "usable_tb": "32.004",
        "usable_tib": "29.108",  # 32,004,105,043,968 / 1,099,511,627,776 = 29.10756
        "watts": "172.25",  # 90.5 + 7 x 9.5 + 15.25
        "lead_days": "10",  # two chassis, one in stock; 14 drives of 20
        "members": "6",
        "level": "6",
        "spans": "1",
        "spares": "1",
    }
    assert {column: row[column] for column in expected} == expected


def test_yen_round_each_unit_price(tmp_path: Path) -> None:
    (row,) = ask(
        tmp_path,
        plain_list(),
        PINNED | {"currency": "JPY", "spares": "1", "discount_pct": "2.5", "tax_code": "STD"},
    )
    expected = {
        # x 190.5, rounded: 190502, 76200, 28604 x 7, 9535, 2351, 4763 (from 4762.5),
        # 476 x 7, 2858 (from 2857.5)
        "lines_total": "489769",
        "discount": "12244",  # 12244.225
        "freight": "9374",  # 49.20575 x 190.5 = 9373.695...
        "net": "486899",
        "tax": "97380",  # 97379.8
        "gross": "584279",
        # cost 133350 + 47625 + 7 x 20955 + 5715 + 857 + 1905 + 7 x 191 + 953 = 338427;
        # 139098 / 477525
        "margin_pct": "29.13",
    }
    assert {column: row[column] for column in expected} == expected


def test_dinar_owned_parts(tmp_path: Path) -> None:
    (row,) = ask(
        tmp_path,
        plain_list(),
        PINNED
        | {"currency": "KWD", "builds": "10", "spares": "1", "discount_pct": "2.5"}
        | {"tax_code": "ODD", "owned": "chassis;drive"},
    )
    expected = {
        # x 0.4055, rounded: 162.200, 20.295, 5.004, 10.138 (from 10.1375), 7 x 1.014,
        # 6.083 (from 6.0825) = 210.818, ten times
        "lines_total": "2108.180",
        "discount": "105.409",  # 10 builds: 5 %
        # 430.5 g shipped: (20 + 1.5 x 0.4305) x 0.4055 x 10 = 83.71851625
        "freight": "83.719",
        "net": "2086.490",
        "tax": "185.176",  # 185.1759875
        "gross": "2271.666",
        # cost (101.375 + 12.165 + 1.825 + 4.055 + 7 x 0.406 + 2.028) x 10 = 1242.90;
        # 759.871 / 2002.771
        "margin_pct": "37.94",
        "mass_kg": "19.471",  # the whole build, owned parts too
        "lead_days": "7",  # ten protection modules, five in stock; the drives are not ours
    }
    assert {column: row[column] for column in expected} == expected


def test_rounding_is_half_away_from_zero() -> None:
    assert [fixed(Decimal(v), 2) for v in ("0.125", "-0.125", "0.135")] == [
        "0.13",
        "-0.13",
        "0.14",
    ]
    assert rounded(Decimal("4762.5"), 0) == 4763


def test_full_discount_leaves_no_margin(tmp_path: Path) -> None:
    (row,) = ask(tmp_path, plain_list(), PINNED | {"discount_pct": "100"})
    assert (row["outcome"], row["margin_pct"], row["net"]) == ("held", "", row["freight"])


def test_advice_is_avoided_then_held_then_accepted(tmp_path: Path) -> None:
    drives = {"drive": "DRV", "members": "2"}
    rows = ask(
        tmp_path,
        plain_list(),
        # Two drives at level 0 and level 1 cost alike; only level 1 needs no yes.
        drives | {"usable_tb": "8"},
        drives | {"level": "0"},
        drives | {"level": "0", "accept": "no_redundancy"},
        # Accepted, level 0 ties with level 1 and comes first in the table of levels.
        drives | {"usable_tb": "8", "accept": "no_redundancy"},
        # An owned controller gets no protection module.
        PINNED | {"owned": "controller"},
    )
    assert [(r["outcome"], r["level"], r["reason"]) for r in rows] == [
        ("quoted", "1", ""),
        ("held", "0", "no_redundancy"),
        ("quoted", "0", ""),
        ("quoted", "0", ""),
        ("held", "6", "cache_unprotected"),
    ]


def test_spans(tmp_path: Path) -> None:
    tables = plain_list()
    tables["accessories"] = tables["accessories"][:1]
    twelve = {"drive": "DRV", "members": "12", "level": "50"}
    rows = ask(
        tmp_path,
        tables,
        twelve,  # 2, 3 and 4 spans cost alike: fewest
        twelve | {"spans": "4"},
        twelve | {"spans": "1"},
        twelve | {"spans": "5"},
        PINNED | {"spans": "2"},
        PINNED | {"level": "60"},  # two spans of three
        twelve | {"spans": "4", "usable_tb": "65"},  # 8 x 8.001 TB = 64.008 TB
    )
    assert [(r["outcome"], r["spans"] or r["reason"]) for r in rows] == [
        ("quoted", "2"),
        ("quoted", "4"),
        ("refused", "member_count"),
        ("refused", "member_count"),
        ("refused", "member_count"),
        ("refused", "member_count"),
        ("refused", ""),
    ]


def test_ties_go_by_drives_then_sku(tmp_path: Path) -> None:
    tables = plain_list()
    tables["drives"] = [tables["drives"][0] | {"sku": s, "unit_price": "0"} for s in ("B", "A")]
    tables["services"] = tables["services"][:1]
    terms_free_of_mass = [row | {"mass_g": "0"} for row in tables["drives"]]
    (row,) = ask(tmp_path, tables | {"drives": terms_free_of_mass}, {"usable_tb": "7"})
    # Any number of free, weightless drives costs the same: two at level 1.
    assert (row["drive"], row["members"], row["level"]) == ("A", "2", "1")
