"""The review of a price list in a notebook: something of each kind in the demonstration."""

import csv
import datetime as dt
import io
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.charts import Drawing
from quotelib.documents.sections import Html
from quotelib.notebook import batch, review
from quotelib.resources import starter_prices
from quotelib.review import (
    changes,
    effects,
    odd_prices,
    old_files,
    under_floor,
    useless_parts,
)

DATE = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str, str]:
    return review.demo(tmp_path_factory.mktemp("demo") / "made", DATE)


def test_demo_shows_each_kind(demo: tuple[str, str, str]) -> None:
    prices, older, records = demo
    price_list = load_price_list(prices)
    assert under_floor(price_list)
    assert useless_parts(price_list)
    assert odd_prices(price_list)
    assert old_files(Path(prices), DATE, 120)
    assert changes(load_price_list(older), price_list)
    found = effects(price_list, Path(records), DATE)
    assert len({effect.words for effect in found}) > 1
    assert all(effect.new_net is not None for effect in found)


def test_tables_say_what_is_found(demo: tuple[str, str, str]) -> None:
    prices, older, records = demo
    said = {
        "Under the margin floor of 14 %: 1": review.under_floor(prices),
        "Parts that no build can use: 2": review.useless_parts(prices),
        "Zero or stale prices: 2": review.odd_prices(prices, DATE, 120),
        "Prices and costs that have changed: 19": review.changes(prices, older),
        "Open quotes: 6": review.effects(prices, records, DATE),
    }
    for caption, table in said.items():
        assert caption in repr(table)
    for path in Path(records).glob("*.json"):
        assert path.name in repr(said["Open quotes: 6"])
    drawn = review.change_chart(prices, older)
    assert isinstance(drawn, Drawing)
    with (Path(older) / "drives.csv").open(encoding="utf-8", newline="") as file:
        before = sum(round(100 * float(row["unit_price"])) for row in csv.DictReader(file))
    # The one drive that is new is on one list only.
    assert f"drives, before {before / 100:,.2f}" in drawn.words


def test_on_sale_counts_every_file() -> None:
    shown = repr(review.on_sale(""))
    assert "On the list, in GBP" in shown
    for name in ("drives", "controllers", "chassis", "accessories", "services", "workloads"):
        rows = (starter_prices() / f"{name}.csv").read_text("utf-8").splitlines()
        assert f"{name} {len(rows) - 1}" in shown


def test_a_line_where_there_is_nothing(tmp_path: Path, copy_of_small: Path) -> None:
    said = {
        "Everything earns at least the floor of 14 %": review.under_floor(""),
        "Every part can go into some build": review.useless_parts(str(copy_of_small)),
        "Everything has a price and a cost": review.odd_prices("", DATE, 120),
        "No older price list is named": review.changes("", ""),
        "No quote is open": review.effects("", tmp_path, DATE),
        "no such folder of records": review.effects("", "", DATE),
        "The starter price list is used": batch.price_list_problems(),
    }
    for line, shown in said.items():
        assert line in repr(shown)
        assert "<table" not in shown.html
    assert isinstance(review.change_chart("", ""), Html)


def test_problems_are_listed_with_their_place(copy_of_starter: Path) -> None:
    path = copy_of_starter / "drives.csv"
    rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
    rows[0]["unit_price"], rows[1]["unit_cost"] = "<b>dear</b>", ""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    shown = batch.price_list_problems(str(copy_of_starter))
    assert "Problems: 2" in repr(shown)
    assert "&lt;b&gt;dear&lt;/b&gt;" in shown.html
    assert "<b>dear" not in shown.html
    enquiries = copy_of_starter / "asked.csv"
    enquiries.write_text("enquiry_id,customer,usable_tb\nA,Nobody,6\nB,Nobody,six\n", "utf-8")
    assert "Problems: 1" in repr(batch.enquiry_problems(enquiries))
    assert "asked.csv" in repr(batch.enquiry_problems(enquiries))
