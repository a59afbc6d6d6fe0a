"""Is what is odd in a price list found, on lists with faults put in by hand?"""

import csv
import datetime as dt
import io
import os
import re
from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.catalogue.checks import CONTENTS_FILE
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from quotelib.review import (
    changes,
    effects,
    odd_prices,
    old_files,
    sums,
    under_floor,
    useless_parts,
)

DATE = dt.date(2026, 11, 25)
# An open quote names its parts whether they were asked for or found; found takes longer.
HERE = {"chassis": "CHS-2U-12L"}


def _set(path: Path, which: str, **cells: str) -> None:
    rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
    for row in rows:
        if row["sku"] == which:
            row.update(cells)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def _quoted(folder: Path, date: dt.date = DATE, **cells: str) -> QuoteRecord:
    """Quote from the starter list and keep the record in a folder."""
    starter = load_price_list()
    row = {"enquiry_id": "A", "customer": "Open", "usable_tb": "6", **HERE, **cells}
    record = answer(starter, read_request([row], starter), date, alternatives=False).record
    assert record is not None
    folder.mkdir(exist_ok=True)
    (folder / f"{row['enquiry_id']}.json").write_text(record.to_json(), "utf-8")
    return record


def _drive(record: QuoteRecord) -> tuple[str, int]:
    """Give the drive of the only array, and how many there are."""
    (server,) = record.servers
    (drive,) = [part for part in server.parts if part.role == "drive"]
    return drive.sku, drive.quantity_all


def test_starter_is_sound(starter: PriceList) -> None:
    assert under_floor(starter) == []
    assert odd_prices(starter) == []
    assert useless_parts(starter) == []


def test_under_floor(copy_of_starter: Path) -> None:
    _set(copy_of_starter / "drives.csv", "DRV-HDD-2T-SATA", unit_price="100", unit_cost="86.01")
    _set(copy_of_starter / "drives.csv", "DRV-HDD-4T-SATA", unit_price="100", unit_cost="86")
    found = under_floor(load_price_list(copy_of_starter))
    # 13.99 % is under the floor of 14 %, 14.00 % is not.
    assert [item.sku for item in found] == ["DRV-HDD-2T-SATA"]
    assert "13.99 %" in found[0].why


def test_zero_prices(copy_of_starter: Path) -> None:
    _set(copy_of_starter / "accessories.csv", "CAR-35", unit_price="0")
    found = odd_prices(load_price_list(copy_of_starter))
    assert [(item.sku, item.why) for item in found] == [("CAR-35", "unit_price is 0")]


def test_useless_parts(copy_of_starter: Path) -> None:
    _set(copy_of_starter / "controllers.csv", "CTL-PT-12G-MZ", sas_gbit_s="", sata_gbit_s="")
    _set(copy_of_starter / "controllers.csv", "CTL-PT-12G-MZ", nvme_gen="4")
    _set(copy_of_starter / "accessories.csv", "CAR-35", needed_by="")
    found = {i.sku: i.why for i in useless_parts(load_price_list(copy_of_starter))}
    # Chassis with a mezzanine socket have no NVMe bays, so an NVMe mezzanine goes nowhere.
    assert set(found) == {"CTL-PT-12G-MZ", "CAR-35"}
    assert found["CAR-35"] == "no part needs it"


def test_changes(starter: PriceList, copy_of_starter: Path) -> None:
    _set(copy_of_starter / "drives.csv", "DRV-HDD-2T-SATA", unit_price="85.80")
    _set(copy_of_starter / "drives.csv", "DRV-HDD-4T-SATA", unit_cost="93")
    _set(copy_of_starter / "services.csv", "SVC-PACK", sku="SVC-PACK-2")
    changed = load_price_list(copy_of_starter)
    words = {change.sku: change.words for change in changes(starter, changed)}
    assert words == {
        "DRV-HDD-2T-SATA": "+10.0 %",  # 78.00 to 85.80
        "DRV-HDD-4T-SATA": "only the cost has moved: is the price stale?",
        "SVC-PACK": "gone",
        "SVC-PACK-2": "new",
    }
    for file, (before, now) in sums(starter, changed).items():
        with (copy_of_starter / file).open(encoding="utf-8", newline="") as rows:
            assert now == sum(Decimal(row["unit_price"]) for row in csv.DictReader(rows))
        assert now - before == (Decimal("7.80") if file == "drives.csv" else 0)
    assert "services.csv" not in sums(starter, changed)


def test_old_files(copy_of_starter: Path) -> None:
    long_ago = dt.datetime(2026, 3, 1, 12).timestamp()
    for path in copy_of_starter.iterdir():
        os.utime(path, (dt.datetime(2026, 11, 20).timestamp(),) * 2)
    for name in ("drives.csv", CONTENTS_FILE):  # the latter has no prices
        os.utime(copy_of_starter / name, (long_ago, long_ago))
    found = old_files(copy_of_starter, DATE, 120)
    assert [item.file for item in found] == ["drives.csv"]
    assert "269 days" in found[0].why


def test_effect_on_open_quotes(copy_of_starter: Path, tmp_path: Path) -> None:
    records = tmp_path / "records"
    record = _quoted(records, survive="1")
    _quoted(records, dt.date(2026, 1, 1), enquiry_id="B", survive="1")
    (records / "C.json").write_text("{}", "utf-8")
    (records / "D.json").write_bytes(b"\xff")
    sku, drives = _drive(record)
    cost = record.internal.unit_costs[sku]
    lines = record.servers[0].lines
    unit_price = next(line.unit_price for line in lines if line.sku == sku)
    raised = {"unit_cost": f"{cost + 300}", "unit_price": f"{unit_price + 400}"}
    _set(copy_of_starter / "drives.csv", sku, **raised)
    found = effects(load_price_list(copy_of_starter), records, DATE)
    # B is past its validity
    assert [effect.file for effect in found] == ["A.json", "C.json", "D.json"]
    effect = found[0]
    assert effect.new_net == record.totals.net + 400 * drives
    income = record.totals.net - record.totals.freight
    expected = 100 * (income - record.internal.cost - 300 * drives) / income
    assert effect.margin_pct is not None
    assert abs(effect.margin_pct - expected) <= Decimal("0.005")
    assert "under the floor of 14 % now" in effect.words
    for other in found[1:]:
        assert "cannot be read" in other.words


def test_effect_of_a_part_gone(copy_of_starter: Path, tmp_path: Path) -> None:
    sku, _ = _drive(_quoted(tmp_path / "records"))
    for name in ("drives.csv", "accessories.csv"):
        path = copy_of_starter / name
        path.write_text(re.sub(rf"{sku}(?![\w-])", "DRV-OTHER", path.read_text("utf-8")), "utf-8")
    found = effects(load_price_list(copy_of_starter), tmp_path / "records", DATE)
    assert sku in found[0].words
    assert found[0].new_net is None


def test_effect_of_a_part_that_does_not_fit_any_more(copy_of_starter: Path, tmp_path: Path) -> None:
    record = _quoted(tmp_path / "records", survive="1")
    _, drives = _drive(record)
    _set(copy_of_starter / "chassis.csv", record.servers[0].chassis, bays=f"{drives - 1}")
    (found,) = effects(load_price_list(copy_of_starter), tmp_path / "records", DATE)
    assert "cannot be built any more from this list" in found.words
    assert f"{drives} drives" in found.words
    assert found.new_net is None


@pytest.mark.parametrize(
    "cells",
    [
        {"survive": "2", "spares": "1", "builds": "6", "discount_pct": "3", "tax_code": "S"},
        {"level": "50", "survive": "1"},
        {"currency": "EUR", "media": "ssd", "max_price": "9000", "free_slots": "1",
         "chassis": "CHS-2U-24S"},
        {"usable_tb": "2", "level": "none", "accept": "no_redundancy"},
    ],
    ids=["spare, many", "spans", "other currency", "passed through"],
)  # fmt: skip
def test_a_list_that_did_not_change_has_no_effect(cells: dict[str, str], tmp_path: Path) -> None:
    record = _quoted(tmp_path / "records", **cells)
    (found,) = effects(load_price_list(), tmp_path / "records", DATE)
    assert (found.new_net, found.margin_pct) == (record.totals.net, record.internal.margin_pct)
    assert found.words == "unchanged"


ROWS = [
    {"server": "a", "array": "x", "usable_tb": "6", "survive": "1", "builds": "2", "cores": "8"},
    {"server": "a", "array": "y", "usable_tb": "1", "media": "ssd", "survive": "1"},
    {
        "server": "b",
        "usable_tb": "2",
        "survive": "1",
        "services": "SVC-ONSITE-3Y",
        "max_price": "9999",
    },
    {"parts": "DRV-HDD-8T-SAS*8", "line": "Carriage", "line_price": "12.5", "line_cost": "9.99"},
    {"services": "SVC-MIGRATE", "note": "Ours."},
]


def test_a_quote_of_many_rows_is_priced_anew_as_it_was(starter: PriceList, tmp_path: Path) -> None:
    first = {"enquiry_id": "M", "customer": "Open", "currency": "EUR", "discount_pct": "1"}
    asked = [first | ROWS[0], *({"enquiry_id": "M"} | row for row in ROWS[1:])]
    record = answer(starter, read_request(asked, starter), DATE, alternatives=False).record
    assert record is not None
    (tmp_path / "M.json").write_text(record.to_json(), "utf-8")
    (found,) = effects(starter, tmp_path, DATE)
    assert (found.words, found.new_net) == ("unchanged", record.totals.net)
    assert found.margin_pct == record.internal.margin_pct
    again = answer(starter, read_request(record.as_quoted(), starter), DATE, alternatives=False)
    assert again.record is not None
    assert [s.placement for s in again.record.servers] == [s.placement for s in record.servers]
    assert again.record.items == record.items


def test_pins_of_a_record_lead_to_its_server(starter: PriceList, tmp_path: Path) -> None:
    record = _quoted(tmp_path / "records", level="60", spares="1")
    (server,) = record.servers
    cells = {"enquiry_id": "again", "customer": "Open", **server.pins()}
    again = answer(starter, read_request([cells], starter), DATE, alternatives=False).record
    assert again is not None
    assert again.servers[0].placement == server.placement
    assert again.servers[0].arrays[0].layout == server.arrays[0].layout
    assert again.totals.net == record.totals.net


@pytest.mark.parametrize("currency", [" ", "GBP ", "gbp"])
def test_a_currency_that_is_none_is_told(starter: PriceList, tmp_path: Path, currency: str) -> None:
    record = _quoted(tmp_path / "made")
    folder = tmp_path / "records"
    folder.mkdir()
    text = record.model_copy(update={"currency": currency}).to_json()
    (folder / "A.json").write_text(text, "utf-8")
    (found,) = effects(starter, folder, DATE)
    assert "cannot be priced anew" in found.words
