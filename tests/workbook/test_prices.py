"""A price list that changes on disk while a page is open: noticed, said, and not mixed."""

import csv
import json
import re
import shutil
import threading
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from quotelib.documents.batch.lock import alone_in
from quotelib.workbook.page import Workbook

CELLS = {
    "customer": "Tarn Lamp Oil (invented)",
    "enquiry_id": "C-1",
    "chassis": "BOX-12",
    "controller": "CARD",
    "drive": "DISK-8T",
    "members": "4",
    "level": "6",
}


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    made = Workbook(str(copy_of_small), "2026-11-25", tmp_path / "desk")
    for name, text in CELLS.items():
        made.form.fields[name].value = text
    return made


def _set(path: Path, which: str, **cells: str) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row.update(cells if row["sku"] == which else {})
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def _net(workbook: Workbook) -> Decimal:
    assert workbook.results.record is not None
    return workbook.results.record.totals.net


def _there(workbook: Workbook) -> bool:
    return workbook.prices.notice.layout.display != "none"


def test_screen_record_and_page_agree(workbook: Workbook, copy_of_small: Path) -> None:
    net = _net(workbook)
    assert not _there(workbook)
    _set(copy_of_small / "drives.csv", "DISK-8T", unit_price="999")
    workbook.write()
    # Said on the page, and beside what was written.
    mark = workbook.prices.list.fingerprint[:8]
    for told in (workbook.prices._told.value, workbook.writer.told.value):
        assert "has changed since this page was opened" in told
        assert mark in told
    assert _there(workbook)
    record = json.loads((workbook.folder / "records" / "C-1.json").read_text("utf-8"))
    page = (workbook.folder / "quotes" / "C-1.html").read_text("utf-8")
    totals = re.search(r'<tr class="net">.*?([\d,]+\.\d\d)</td>', page, re.S)
    assert totals is not None
    assert Decimal(totals[1].replace(",", "")) == net
    assert Decimal(record["totals"]["net"]) == net == _net(workbook)
    assert f"GBP {net:,f}" in re.sub("<[^>]*>", "", workbook.results.line.value)
    assert record["price_list_fingerprint"] == workbook.prices.list.fingerprint


def test_the_screen_says_which_list_it_is(workbook: Workbook) -> None:
    mark = workbook.prices.list.fingerprint[:8]
    assert any(f"price list {mark}" in getattr(one, "value", "") for one in _lines(workbook))


def _lines(workbook: Workbook) -> list[Any]:
    return [one for one in _widgets(workbook.page) if isinstance(getattr(one, "value", 0), str)]


def _gone(prices: Path) -> None:
    shutil.rmtree(prices)


def _broken(prices: Path) -> None:
    for file in prices.iterdir():
        file.write_bytes(b"\xff" * 50)


def _folders_for_files(prices: Path) -> None:
    for file in list(prices.iterdir()):
        file.unlink()
        file.mkdir()


def _cut_off(prices: Path) -> None:
    for file in prices.iterdir():
        file.write_bytes(file.read_bytes()[:-9])


@pytest.mark.parametrize("disturb", [_gone, _broken, _folders_for_files, _cut_off])
def test_whatever_becomes_of_the_folder(
    disturb: Callable[[Path], None], workbook: Workbook, copy_of_small: Path
) -> None:
    net = _net(workbook)
    disturb(copy_of_small)
    workbook.form.fields["members"].value = "5"
    assert _there(workbook) and _net(workbook) > net
    workbook.form.fields["members"].value = "4"
    assert _net(workbook) == net
    workbook.read_again()
    assert "cannot be used" in workbook.prices._told.value
    workbook.write()
    assert "Written:" in workbook.writer.told.value
    record = json.loads((workbook.folder / "records" / "C-1.json").read_text("utf-8"))
    assert Decimal(record["totals"]["net"]) == net
    assert "fault of the program" not in "".join(one.value for one in _lines(workbook))


def test_a_folder_that_changes_without_end(workbook: Workbook, copy_of_small: Path) -> None:
    nets = {}
    for members in ("4", "5"):
        workbook.form.fields["members"].value = members
        nets[members] = _net(workbook)
    ended, moved = threading.Event(), copy_of_small.with_name("moved")

    def disturb() -> None:
        while not ended.is_set():
            _set(copy_of_small / "drives.csv", "DISK-8T", unit_price="999")
            for _ in range(2):
                copy_of_small.rename(moved)
                moved.rename(copy_of_small)

    thread = threading.Thread(target=disturb)
    thread.start()
    try:
        for members in ("4", "5") * 10:
            workbook.form.fields["members"].value = members
            assert _net(workbook) == nets[members]
    finally:
        ended.set()
        thread.join()
    assert "fault of the program" not in "".join(one.value for one in _lines(workbook))


def test_a_batch_that_writes_into_the_folder_is_told(workbook: Workbook) -> None:
    workbook.folder.mkdir(exist_ok=True)
    with alone_in(workbook.folder):
        workbook.write()
    assert "is being written to by another run" in workbook.writer.told.value
    assert not (workbook.folder / "records").exists()
    workbook.write()
    assert "Written:" in workbook.writer.told.value


def test_noticed_with_the_next_answer(workbook: Workbook, copy_of_small: Path) -> None:
    _set(copy_of_small / "drives.csv", "DISK-8T", unit_price="999")
    assert not _there(workbook)
    workbook.form.fields["members"].value = "5"
    assert _there(workbook)


def test_a_file_that_is_only_touched_is_not_a_change(
    workbook: Workbook, copy_of_small: Path
) -> None:
    path = copy_of_small / "drives.csv"
    path.write_bytes(path.read_bytes())
    workbook.form.fields["members"].value = "5"
    assert not _there(workbook)


def test_a_change_that_is_taken_back(workbook: Workbook, copy_of_small: Path) -> None:
    path = copy_of_small / "drives.csv"
    before = path.read_bytes()
    _set(path, "DISK-8T", unit_price="999")
    workbook.form.fields["members"].value = "5"
    assert _there(workbook)
    path.write_bytes(before)
    workbook.form.fields["members"].value = "6"
    assert not _there(workbook)


def test_read_again(workbook: Workbook, copy_of_small: Path) -> None:
    """Quoted from the new list then, with everything that was typed still there."""
    net, typed = _net(workbook), workbook.form.cells()
    workbook.comparison.keep.click()
    workbook.blocks.seller.value = True
    _set(copy_of_small / "drives.csv", "DISK-8T", unit_price="300")  # was 200
    _set(copy_of_small / "chassis.csv", "BOX-4", sku="BOX-4-NEW")
    slots = copy_of_small / "slots.csv"
    accessories = copy_of_small / "accessories.csv"
    for path in (slots, accessories):
        path.write_text(re.sub(r"BOX-4(?=[,;])", "BOX-4-NEW", path.read_text("utf-8")), "utf-8")
    workbook.form.fields["note"].value = typed["note"] = "rings back"
    assert _there(workbook)
    workbook.read_again()
    assert not _there(workbook)
    assert workbook.form.cells() == typed
    assert _net(workbook) == net + 4 * 100
    assert "BOX-4-NEW" in [o["value"] for o in workbook.form.fields["chassis"].options]
    assert "Margin" in workbook.results.margin.value
    assert workbook.comparison._kept == []
    assert "1 kept build dropped" in workbook.blocks.told.value
    workbook.form.fields["members"].value = "5"
    assert _net(workbook) > net + 4 * 100
    assert workbook.form.block(["members"]).children[0] in _widgets(workbook.page)


def _widgets(box: Any) -> list[Any]:
    found = [box]
    for child in getattr(box, "children", ()):
        found += _widgets(child)
    return found


def test_a_list_that_cannot_be_read_again(workbook: Workbook, copy_of_small: Path) -> None:
    """The page says what is wrong, and goes on with the list it has."""
    net = _net(workbook)
    _set(copy_of_small / "drives.csv", "DISK-8T", unit_price="dear")
    workbook.read_again()
    told = workbook.prices._told.value
    assert "drives.csv" in told and "unit_price" in told and "dear" in told
    assert "Traceback" not in told
    workbook.form.fields["note"].value = "x"
    assert _net(workbook) == net
    assert _there(workbook)


def test_a_folder_that_is_gone(workbook: Workbook, copy_of_small: Path) -> None:
    net = _net(workbook)
    copy_of_small.rename(copy_of_small.with_name("moved"))
    workbook.write()
    assert "has changed since" in workbook.writer.told.value
    record = json.loads((workbook.folder / "records" / "C-1.json").read_text("utf-8"))
    assert Decimal(record["totals"]["net"]) == net
