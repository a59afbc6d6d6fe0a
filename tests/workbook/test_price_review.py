"""The review of a price list, on a list with faults put in by hand."""

import csv
import datetime as dt
import io
import os
from decimal import Decimal
from pathlib import Path

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.quoting import quote
from quotelib.workbook import price_review, price_review_demo

DATE = dt.date(2026, 11, 25)


def _set(path: Path, which: str, **cells: str) -> None:
    rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
    for row in rows:
        if row["sku"] == which:
            row.update(cells)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def test_starter_is_sound(starter: PriceList) -> None:
    assert price_review.under_floor(starter) == []
    assert price_review.odd_prices(starter) == []
    assert price_review.useless_parts(starter) == []


def test_under_floor(copy_of_starter: Path) -> None:
    _set(copy_of_starter / "drives.csv", "DRV-HDD-2T-SATA", unit_price="100", unit_cost="86.01")
    _set(copy_of_starter / "drives.csv", "DRV-HDD-4T-SATA", unit_price="100", unit_cost="86")
    found = price_review.under_floor(load_price_list(copy_of_starter))
    # 13.99 % is under the floor of 14 %, 14.00 % is not.
    assert [item.sku for item in found] == ["DRV-HDD-2T-SATA"]
    assert "13.99 %" in found[0].why


def test_zero_prices(copy_of_starter: Path) -> None:
    _set(copy_of_starter / "chassis.csv", "CHS-1U-4L", unit_price="0")
    found = price_review.odd_prices(load_price_list(copy_of_starter))
    assert [(item.sku, item.why) for item in found] == [("CHS-1U-4L", "unit_price is 0")]


def test_useless_parts(copy_of_starter: Path) -> None:
    _set(copy_of_starter / "controllers.csv", "CTL-PT-12G-MZ", sas_gbit_s="", sata_gbit_s="")
    _set(copy_of_starter / "controllers.csv", "CTL-PT-12G-MZ", nvme_gen="4")
    _set(copy_of_starter / "accessories.csv", "CAR-35", needed_by="")
    found = {i.sku: i.why for i in price_review.useless_parts(load_price_list(copy_of_starter))}
    # Chassis with a mezzanine socket have no NVMe bays, so an NVMe mezzanine goes nowhere.
    assert set(found) == {"CTL-PT-12G-MZ", "CAR-35"}
    assert found["CAR-35"] == "no part needs it"


def test_changes(starter: PriceList, copy_of_starter: Path) -> None:
    _set(copy_of_starter / "drives.csv", "DRV-HDD-2T-SATA", unit_price="85.80")
    _set(copy_of_starter / "drives.csv", "DRV-HDD-4T-SATA", unit_cost="93")
    _set(copy_of_starter / "services.csv", "SVC-PACK", sku="SVC-PACK-2")
    found = price_review.changes(starter, load_price_list(copy_of_starter))
    words = {change.sku: change.words for change in found}
    assert words == {
        "DRV-HDD-2T-SATA": "+10.0 %",  # 78.00 to 85.80
        "DRV-HDD-4T-SATA": "only the cost has moved: is the price stale?",
        "SVC-PACK": "gone",
        "SVC-PACK-2": "new",
    }


def test_effect_on_open_quotes(copy_of_starter: Path, tmp_path: Path) -> None:
    records = tmp_path / "records"
    records.mkdir()
    cells = {"customer": "Open", "usable_tb": "6", "survive": "1"}
    record = quote({**cells, "enquiry_id": "A"}, date=DATE.isoformat())
    drive = record.part("drive")
    (records / "A.json").write_text(record.to_json(), "utf-8")
    old = quote({**cells, "enquiry_id": "B"}, date="2026-01-01")
    (records / "B.json").write_text(old.to_json(), "utf-8")
    (records / "C.json").write_text("{}", "utf-8")
    cost = record.internal.unit_costs[drive.sku]
    price = next(line.unit_price for line in record.lines if line.sku == drive.sku)
    raised = {"unit_cost": f"{cost + 300}", "unit_price": f"{price + 400}"}
    _set(copy_of_starter / "drives.csv", drive.sku, **raised)
    found = price_review.effects(load_price_list(copy_of_starter), records, DATE)
    assert [effect.file for effect in found] == ["A.json", "C.json"]  # B is past its validity
    effect = found[0]
    assert effect.new_net == record.totals.net + 400 * drive.quantity
    income = record.totals.net - record.totals.freight
    expected = 100 * (income - record.internal.cost - 300 * drive.quantity) / income
    assert effect.margin_pct is not None
    assert abs(effect.margin_pct - expected) <= Decimal("0.005")
    assert "under the floor of 14 % now" in effect.words
    assert "cannot be read" in found[1].words


def test_effect_of_a_part_gone(copy_of_starter: Path, tmp_path: Path) -> None:
    records = tmp_path / "records"
    records.mkdir()
    record = quote({"enquiry_id": "A", "customer": "Open", "usable_tb": "6"}, date="2026-11-25")
    (records / "A.json").write_text(record.to_json(), "utf-8")
    sku = record.part("drive").sku
    _set(copy_of_starter / "drives.csv", sku, sku="DRV-OTHER")
    for name in ("accessories.csv",):
        path = copy_of_starter / name
        path.write_text(path.read_text("utf-8").replace(sku, "DRV-OTHER"), "utf-8")
    found = price_review.effects(load_price_list(copy_of_starter), records, DATE)
    assert sku in found[0].words
    assert found[0].new_net is None


def test_old_files(copy_of_starter: Path) -> None:
    moment = dt.datetime(2026, 3, 1, 12).timestamp()
    for path in copy_of_starter.iterdir():
        os.utime(path, (dt.datetime(2026, 11, 20).timestamp(),) * 2)
    os.utime(copy_of_starter / "drives.csv", (moment, moment))
    found = price_review.old_files(copy_of_starter, DATE, 120)
    assert [item.file for item in found] == ["drives.csv"]
    assert "269 days" in found[0].why


def test_demo_shows_each_kind(tmp_path: Path) -> None:
    prices, older, records = price_review_demo.demo(tmp_path / "demo", DATE)
    price_list = load_price_list(prices)
    assert price_review.under_floor(price_list)
    assert price_review.useless_parts(price_list)
    assert price_review.odd_prices(price_list)
    assert price_review.changes(load_price_list(older), price_list)
    assert price_review.effects(price_list, Path(records), DATE)
