"""A page is made of a record and nothing else: no price list, no enquiry, no choice."""

import csv
import datetime as dt
import json
import pickle
import shutil
from pathlib import Path

import papermill
import pytest

from quotelib import resources
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.batch.run import run_batch
from quotelib.documents.making import annex_page, bench_page, offer_page
from quotelib.documents.quoting import read_record, record_of
from quotelib.errors import InputError
from quotelib.promise.record import QuoteRecord
from tests import small_list

DATE = dt.date(2026, 11, 25)
CELLS = {"enquiry_id": "A1", "customer": "Invented", "usable_tb": "6", "survive": "1"}


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Answer an enquiry from a price list that is gone afterwards."""
    folder = tmp_path_factory.mktemp("alone")
    prices = small_list.write(folder / "prices")
    with (folder / "enquiries.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, CELLS)
        writer.writeheader()
        writer.writerow(CELLS)
    run_batch(folder / "enquiries.csv", folder / "out", prices=prices, date=DATE)
    shutil.rmtree(prices)
    (folder / "enquiries.csv").unlink()
    load_price_list.__globals__["_load"].cache_clear()
    return folder / "out"


def test_pages_of_a_record_file_are_the_batchs_to_the_byte(
    done: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("a page asked for more than its record")

    for name in ("load_price_list", "answer", "read_request"):
        monkeypatch.setattr(f"quotelib.documents.quoting.{name}", never)
    file = done / "records" / "A1.json"
    assert offer_page(file).encode() == (done / "quotes" / "A1.html").read_bytes()
    assert annex_page(file).encode() == (done / "quotes" / "A1-annex.html").read_bytes()
    assert bench_page(file).encode() == (done / "bench" / "A1.html").read_bytes()


def test_a_record_file_holds_all_of_the_record(done: Path) -> None:
    text = (done / "records" / "A1.json").read_text("utf-8")
    made = QuoteRecord.model_validate_json(text)
    assert made.to_json() == text
    assert json.loads(text) == made.model_dump(mode="json")
    assert pickle.loads(pickle.dumps(made)) == made


@pytest.mark.parametrize(("name", "outputs"), [("offer", 9), ("annex", 16), ("bench_sheet", 2)])
def test_a_kernel_of_its_own_makes_the_same_of_a_record_file(
    name: str, outputs: int, done: Path, tmp_path: Path
) -> None:
    file = done / "records" / "A1.json"
    made = papermill.execute_notebook(
        str(resources.templates() / f"{name}.ipynb"),
        str(tmp_path / "made.ipynb"),
        {"record": str(file)},
        progress_bar=False,
    )
    pages = {"offer": offer_page, "annex": annex_page, "bench_sheet": bench_page}
    page = pages[name](file)
    shown = [o["data"] for c in made.cells if c.cell_type == "code" for o in c.outputs]
    assert len(shown) >= outputs
    for data in shown:
        html = "".join(data.get("text/html", data.get("image/svg+xml", "")))
        for line in html.splitlines():
            assert line.strip() in page


def test_an_enquiry_by_hand_makes_the_record_first(tmp_path: Path) -> None:
    prices = str(small_list.write(tmp_path / "prices"))
    made = record_of("", {**CELLS, "usable_tb": 6, "note": ""}, prices, "2026-11-25")
    assert made.customer == "Invented"
    with pytest.raises(InputError, match="colour"):
        record_of("", {**CELLS, "colour": "red"}, prices, "2026-11-25")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Invalid JSON"),
        ("[]", "Input should be an object"),
        ('{"format": "quotelib quote record 1"}', "quotelib quote record 5"),
    ],
)
def test_a_file_that_is_no_record_is_told(text: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "record.json"
    file.write_text(text)
    with pytest.raises(InputError) as wrong:
        read_record(file)
    assert said in str(wrong.value) and "record.json" in str(wrong.value)
    with pytest.raises(InputError, match="cannot be read"):
        read_record(tmp_path / "none.json")
