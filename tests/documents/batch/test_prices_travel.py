"""A batch sells from the price list it began with, whatever happens to the folder meanwhile."""

import csv
import datetime as dt
import pickle
import shutil
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.batch.run import run_batch
from tests.small_list import change, copy, write

DATE = dt.date(2026, 11, 25)
IDS = [f"E{number}" for number in range(6)]


@pytest.fixture
def enquiries(tmp_path: Path) -> Path:
    path = tmp_path / "enquiries.csv"
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["enquiry_id", "customer", "usable_tb"])
        writer.writerows([name, "Invented", "4"] for name in IDS)
    return path


@pytest.mark.parametrize("jobs", [1, 2])
@pytest.mark.parametrize("gone", [False, True], ids=["dearer", "gone"])
def test_a_folder_that_changes_in_the_middle_changes_no_price(
    jobs: int, gone: bool, enquiries: Path, tmp_path: Path
) -> None:
    prices = write(tmp_path / "prices")

    def disturb(*_: object) -> None:
        shutil.rmtree(prices, ignore_errors=True)
        if not gone:
            write(prices, change(copy(), "BOX-4", unit_price=900))

    whole = run_batch(enquiries, tmp_path / "whole", prices=prices, date=DATE)
    nets = {row["net"] for row in whole.rows}
    assert len(nets) == 1 and nets != {""}
    done = run_batch(
        enquiries, tmp_path / "out", prices=prices, date=DATE, jobs=jobs, progress=disturb
    )
    assert [row["net"] for row in done.rows] == list(nets) * len(IDS)
    for name in IDS:
        for room in ("quotes", "bench"):
            file = f"{room}/{name}.html"
            assert (tmp_path / "out" / file).read_bytes() == (
                tmp_path / "whole" / file
            ).read_bytes()
    if not gone:
        # It would have been another price, had the folder been read again.
        again = run_batch(enquiries, tmp_path / "again", prices=prices, date=DATE)
        assert {row["net"] for row in again.rows} != nets


def test_a_price_list_travels_whole(starter: PriceList) -> None:
    arrived = pickle.loads(pickle.dumps(starter))
    assert arrived == starter and arrived.fingerprint == starter.fingerprint
    for name in ("drives", "controllers", "chassis", "accessories", "services", "workloads"):
        assert dict(getattr(arrived, name)) == dict(getattr(starter, name))
        assert list(getattr(arrived, name)) == list(getattr(starter, name))
        with pytest.raises(TypeError):
            getattr(arrived, name)["x"] = None
    assert arrived.terms == load_price_list().terms
