"""A batch sells from the price list it began with, whatever happens to the folder meanwhile."""

import csv
import datetime as dt
import pickle
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.batch.run import run_batch
from tests.small_list import change, copy, write

DATE = dt.date(2026, 11, 25)
IDS = [f"E{number}" for number in range(5)]


@dataclass(frozen=True)
class Undisturbed:
    """What is asked, the net price of each and the pages, where nobody touches the folder."""

    enquiries: Path
    out: Path
    net: str


def ask(path: Path, names: list[str]) -> Path:
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["enquiry_id", "customer", "usable_tb"])
        writer.writerows([name, "Invented", "4"] for name in names)
    return path


def dearer(prices: Path) -> Path:
    return write(prices, change(copy(), "BOX-4", unit_price=900))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Undisturbed:
    folder = tmp_path_factory.mktemp("whole")
    enquiries = ask(folder / "enquiries.csv", IDS)
    done = run_batch(enquiries, folder / "out", prices=write(folder / "prices"), date=DATE)
    (net,) = {row["net"] for row in done.rows}
    assert net
    return Undisturbed(enquiries, folder / "out", net)


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_folder_that_changes_in_the_middle_changes_no_price(
    jobs: int, whole: Undisturbed, tmp_path: Path
) -> None:
    """After the first answer all is dearer, after the next the folder is gone."""
    prices = write(tmp_path / "prices")
    coming = [dearer]

    def disturb(*_: object) -> None:
        shutil.rmtree(prices, ignore_errors=True)
        if coming:
            coming.pop()(prices)

    out = tmp_path / "out"
    done = run_batch(whole.enquiries, out, prices=prices, date=DATE, jobs=jobs, progress=disturb)
    assert [row["net"] for row in done.rows] == [whole.net] * len(IDS)
    for name in IDS:
        for room in ("quotes", "bench"):
            file = f"{room}/{name}.html"
            assert (out / file).read_bytes() == (whole.out / file).read_bytes()


def test_a_folder_read_again_would_give_another_price(whole: Undisturbed, tmp_path: Path) -> None:
    one = ask(tmp_path / "enquiries.csv", IDS[:1])
    prices = dearer(tmp_path / "prices")
    done = run_batch(one, tmp_path / "again", prices=prices, date=DATE)
    assert done.rows[0]["net"] not in {whole.net, ""}


def test_a_price_list_travels_whole(starter: PriceList) -> None:
    arrived = pickle.loads(pickle.dumps(starter))
    assert arrived == starter and arrived.fingerprint == starter.fingerprint
    for name in ("drives", "controllers", "chassis", "accessories", "services", "workloads"):
        assert dict(getattr(arrived, name)) == dict(getattr(starter, name))
        assert list(getattr(arrived, name)) == list(getattr(starter, name))
        with pytest.raises(TypeError):
            getattr(arrived, name)["x"] = None
    assert arrived.terms == load_price_list().terms
