"""A batch sells from the price list it began with, whatever happens to the folder meanwhile."""

import csv
import datetime as dt
import hashlib
import json
import pickle
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli
from quotelib.catalogue import price_list as price_list_module
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.batch.result import BatchResult
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
    prices: Path
    result: BatchResult


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
    prices = write(folder / "prices")
    done = run_batch(enquiries, folder / "out", prices=prices, date=DATE)
    (net,) = {row["net"] for row in done.rows}
    assert net
    return Undisturbed(enquiries, folder / "out", net, prices, done)


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
    assert done.prices_changed and "has changed since this run began" in done.notices[0]
    for name in IDS:
        for room in ("quotes", "bench"):
            file = f"{room}/{name}.html"
            assert (out / file).read_bytes() == (whole.out / file).read_bytes()


def test_all_that_a_run_writes_says_which_price_list(whole: Undisturbed) -> None:
    fingerprint = load_price_list(whole.prices).fingerprint
    assert not whole.result.prices_changed and whole.result.notices == []
    run = json.loads((whole.out / "run.json").read_text("utf-8"))
    assert run["price_list_fingerprint"] == fingerprint
    written = {f.relative_to(whole.out).as_posix(): f for f in whole.out.rglob("*.*")}
    del written["run.json"]
    assert run["files"] == {
        name: hashlib.sha256(file.read_bytes()).hexdigest() for name, file in written.items()
    }
    for name in IDS:
        record = json.loads(written[f"records/{name}.json"].read_text("utf-8"))
        assert record["price_list_fingerprint"] == fingerprint
        sheet = written[f"bench/{name}.html"].read_text("utf-8")
        assert f"<dt>From list</dt><dd>{fingerprint[:8]}</dd>" in sheet
        # What a list is called among us is nothing to a customer.
        offer = written[f"quotes/{name}.html"].read_text("utf-8")
        assert fingerprint[:8] not in offer


def test_the_command_says_it_too(
    whole: Undisturbed, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one = ask(tmp_path / "one.csv", IDS[:1])
    arguments = ["batch", str(one), "--out", str(tmp_path / "out"), "--prices", str(whole.prices)]
    assert cli.main(arguments) == 0
    mark = load_price_list(whole.prices).fingerprint[:8]
    assert f"at the prices of list {mark}" in capsys.readouterr().out


def test_a_list_that_is_changed_and_changed_back_while_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files of two lists are not sold from as one, whatever the fingerprints say."""
    prices = write(tmp_path / "prices")
    file = prices / "chassis.csv"
    before, real = file.read_bytes(), price_list_module._read_file

    def reads(folder: Path, model: Any) -> Any:
        if model.file_name != "chassis.csv":
            return real(folder, model)
        file.write_bytes(before.replace(b",500,", b",900,"))
        found = real(folder, model)
        file.write_bytes(before)
        return found

    monkeypatch.setattr(price_list_module, "_read_file", reads)
    found, problems = price_list_module.read_folder(prices)
    assert found is None
    assert "was changed while it was being read" in str(problems[0])


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
