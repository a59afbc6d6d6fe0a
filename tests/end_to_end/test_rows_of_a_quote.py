"""Quotes of several rows, by the command: what stands on which row of the summary."""

import datetime as dt
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli
from quotelib.enquiry.columns import COLUMNS

from .running import DATE, all_files, read_csv, write_csv

Row = dict[str, str]
MONEY = ("currency", "lines_total", "discount", "freight", "net", "tax", "gross", "margin_pct")
FILES = ("quote_file", "bench_file", "record_file")
WHOLE = ("watts", "mass_kg", "lead_days")
OF_ARRAYS = ("controller", "drive", "members", "level", "spans", "spares", "usable_bytes", "action")
MIRROR = {"drive": "DRV-HDD-4T-SATA", "members": "2", "level": "1"}

QUOTES: dict[str, list[Row]] = {
    "MIXED": [
        {"customer": "Invented", "tax_code": "S", "server": "hosts", "builds": "2", "array": "a",
         "chassis": "CHS-2U-8L", **MIRROR},
        {"parts": "DRV-HDD-8T-SAS*8", "line": "Carriage", "line_price": "48.50",
         "line_cost": "41.00"},
        {"server": "store", "chassis": "CHS-1U-4L", **MIRROR, "services": "SVC-ONSITE-3Y"},
        {"server": "hosts", "array": "b", **MIRROR, "level": "10", "members": "4"},
        {"services": "SVC-MIGRATE"},
    ],
    "REFUSED": [
        {"customer": "Invented", "server": "good", "chassis": "CHS-1U-4L", **MIRROR},
        {"server": "bad", "chassis": "CHS-1U-4L", **MIRROR, "spares": "3"},
        {"parts": "DRV-HDD-8T-SAS"},
    ],
    "INVALID": [
        {"customer": "Invented", "chassis": "CHS-1U-4L", **MIRROR},
        {"parts": "DRV-NONE"},
        {"line": "Carriage", "line_price": "0.001"},
    ],
    "APART": [{"customer": "Invented", "parts": "DRV-HDD-8T-SAS"}],
    "PARTS": [{"customer": "Invented", "parts": "DRV-HDD-8T-SAS*2"}],
    "APART again": [{"customer": "Invented", "parts": "DRV-HDD-8T-SAS"}],
}  # fmt: skip


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Answer all of it."""
    folder = tmp_path_factory.mktemp("rows")
    rows = [
        {**dict.fromkeys(COLUMNS, ""), "enquiry_id": name.split()[0], **row}
        for name, rows in QUOTES.items()
        for row in rows
    ]
    path = write_csv(folder / "enquiries.csv", rows)
    assert cli.main(["batch", str(path), "--out", str(folder / "out"), "--date", DATE]) == 1
    return folder / "out"


def rows_of(out: Path, name: str) -> list[Row]:
    return [row for row in read_csv(out / "summary.csv") if row["enquiry_id"] == name]


def test_one_row_for_each_row_asked_in_their_order(out: Path) -> None:
    asked = [name.split()[0] for name, rows in QUOTES.items() for _ in rows]
    assert [row["enquiry_id"] for row in read_csv(out / "summary.csv")] == asked


def test_each_figure_stands_once(out: Path) -> None:
    rows = rows_of(out, "MIXED")
    assert {row["outcome"] for row in rows} == {"quoted"}
    for column in (*MONEY, *FILES, "tax_code"):
        assert [bool(row[column]) for row in rows] == [True, False, False, False, False], column
    for column in WHOLE:
        assert [bool(row[column]) for row in rows] == [True, False, True, False, False], column
    for column in OF_ARRAYS:
        assert [bool(row[column]) for row in rows] == [True, False, True, True, False], column
    assert [row["chassis"] for row in rows] == ["CHS-2U-8L", "", "CHS-1U-4L", "CHS-2U-8L", ""]
    assert [row["server"] for row in rows] == ["hosts", "", "store", "hosts", ""]
    assert [row["array"] for row in rows] == ["a", "", "", "b", ""]
    assert [row["level"] for row in rows] == ["1", "", "1", "10", ""]
    shipped = record(out, "MIXED")["ship_date"]
    assert [row["ship_date"] for row in rows] == [shipped, "", "", "", ""]
    assert dt.date.fromisoformat(shipped).isoweekday() <= 5


def record(out: Path, name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((out / "records" / f"{name}.json").read_text("utf-8"))
    return found


def test_the_sums_are_those_of_all_items(out: Path) -> None:
    made, first = record(out, "MIXED"), rows_of(out, "MIXED")[0]
    assert [server["builds"] for server in made["servers"]] == [2, 1]
    assert [item["kind"] for item in made["items"]] == ["parts", "once", "lines"]
    items = [*made["servers"], *made["items"]]
    total = sum(Decimal(line["amount"]) for item in items for line in item["lines"])
    assert Decimal(first["lines_total"]) == total
    assert Decimal(first["freight"]) == sum(Decimal(item["freight"]) for item in items)
    net = total - Decimal(first["discount"]) + Decimal(first["freight"])
    assert Decimal(first["net"]) == net
    # 20 % of tax code S; EN 16931: net, tax, total to pay.
    assert Decimal(first["tax"]) == round(net * Decimal("0.2"), 2)
    assert Decimal(first["gross"]) == net + Decimal(first["tax"])


def test_one_server_that_cannot_be_built_costs_its_quote(out: Path) -> None:
    good, bad, parts = rows_of(out, "REFUSED")
    assert {row["outcome"] for row in (good, bad, parts)} == {"refused"}
    assert bad["reason"].startswith("bays_full: ")
    place = read_csv(out / "summary.csv").index(bad) + 2  # as a spreadsheet counts
    assert good["reason"] == parts["reason"] == f"with row {place}, which is refused"


def test_one_wrong_row_costs_its_quote(out: Path) -> None:
    first, *wrong = rows_of(out, "INVALID")
    assert {row["outcome"] for row in (first, *wrong)} == {"invalid"}
    place = read_csv(out / "summary.csv").index(first) + 2
    assert first["reason"] == f"with row {place + 1}, which cannot be read"
    assert f"row {place + 1}, parts: 'DRV-NONE'" in wrong[0]["reason"]
    assert f"row {place + 2}, line_price: '0.001' has more decimals" in wrong[1]["reason"]


def test_rows_apart_are_invalid_and_what_is_between_is_not(out: Path) -> None:
    assert [row["outcome"] for row in rows_of(out, "APART")] == ["invalid", "invalid"]
    (parts,) = rows_of(out, "PARTS")
    assert (parts["outcome"], parts["chassis"], parts["watts"]) == ("quoted", "", "")


def test_only_quotes_have_files(out: Path) -> None:
    of_the_run = {"summary.csv", "run.json", "SELLER_ONLY.txt"}
    written = [name for name in all_files(out) if name not in of_the_run]
    named = [row[column] for row in read_csv(out / "summary.csv") for column in FILES]
    jobs = [name for name in written if name.endswith(".fio")]
    # Of the quote with servers only, one an array.
    assert jobs == [f"bench/MIXED.{place}.fio" for place in ("s1-a1", "s1-a2", "s2-a1")]
    annexes = [f"quotes/{name}-annex.html" for name in ("MIXED", "PARTS")]
    assert sorted(written) == sorted([*jobs, *annexes, *filter(None, named)])
    stems = {Path(name).name.split(".")[0].removesuffix("-annex") for name in written}
    assert stems == {"MIXED", "PARTS"}
