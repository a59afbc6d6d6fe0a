"""The rows of a quote on the page: what they share, what each says, and how they are answered."""

import asyncio
import csv
import io
from pathlib import Path

import pytest

from quotelib.documents.quoting import quote
from quotelib.enquiry.reading import read_enquiries
from quotelib.workbook.order import Order
from quotelib.workbook.page import Workbook
from tests import small_list
from tests.workbook.on_the_page import as_on_the_page

from .test_never_another import _settle as settle

DATE = "2026-11-25"
TWO_ARRAYS = [
    {"enquiry_id": "O-1", "customer": "Sluice & Daughters (invented)", "currency": "EUR",
     "max_watts": "900", "array": "boot", "drive": "DISK-4T", "members": "2", "level": "1",
     "chassis": "BOX-12", "controller": "CARD"},
    {"enquiry_id": "O-1", "array": "data", "drive": "DISK-8T", "members": "4", "level": "6",
     "controller": "CARD"},
    {"enquiry_id": "O-1", "parts": "DISK-8T*2", "note": "on the shelf"},
    {"enquiry_id": "O-1", "line": "Old server back", "line_price": "-120"},
]  # fmt: skip


@pytest.fixture
def workbook(tmp_path: Path) -> Workbook:
    tables = small_list.copy() | {"options.csv": [dict(row) for row in small_list.OPTIONS]}
    for row in tables["chassis.csv"]:
        row.update(processor_sockets="2", memory_slots="8")
    prices = small_list.write(tmp_path / "prices", tables)
    return Workbook(str(prices), DATE, tmp_path / "desk")


def _type(workbook: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def _press(workbook: Workbook, text: str) -> None:
    buttons = workbook.rows.add.children[1].children
    next(b for b in buttons if b.description == text).click()


def _listed(workbook: Workbook) -> list[tuple[str, str]]:
    return [(row["title"], row["mark"]) for row in workbook.rows.list.rows]


def _copied(workbook: Workbook) -> list[dict[str, str]]:
    rows = csv.DictReader(io.StringIO(workbook.blocks.copy.value))
    return [{name: cell for name, cell in row.items() if cell} for row in rows]


def _there(workbook: Workbook, name: str) -> bool:
    return workbook.form.fields[name].layout.display != "none"


def test_rows_of_a_file_come_out_as_they_went_in() -> None:
    order = Order()
    order.load(TWO_ARRAYS)
    texts = order.texts(order.asked())
    assert [{n: c for n, c in cells.items() if c} for cells in texts] == TWO_ARRAYS


def test_what_is_shared_is_changed_for_all() -> None:
    order = Order()
    order.load(TWO_ARRAYS)
    order.at = order.rows[1]
    assert (order.shown()["max_watts"], order.shown()["currency"]) == ("900", "EUR")
    order.take({"max_watts": "500", "currency": "GBP", "survive": "1"})
    order.at = order.rows[0]
    shown = order.shown()
    assert (shown["max_watts"], shown["currency"], shown["survive"]) == ("500", "GBP", "")
    first, second, *_ = order.texts(order.asked())
    assert (first["max_watts"], second["max_watts"], second["survive"]) == ("500", "", "1")


def test_rows_that_contradict_each_other_stay_as_they_are(workbook: Workbook) -> None:
    """Nothing of a file is lost in silence; the one who settles it settles it for all."""
    rows = [dict(row) for row in TWO_ARRAYS]
    rows[1]["max_watts"] = "800"
    workbook.load(rows, "a.csv")
    assert _listed(workbook)[1] == ("Array data", "to be mended")
    assert "Draw, W of row 2" in workbook.results.line.value
    assert workbook.form.fields["max_watts"].value == "900"
    assert workbook.form.fields["max_watts"].error == ""
    workbook.rows._done("Edit", 1)
    assert workbook.form.fields["max_watts"].value == "800"
    assert "not what the first row of the server says" in workbook.form.fields["max_watts"].error
    _type(workbook, max_watts="700")
    assert [mark for _, mark in _listed(workbook)] == [""] * 4
    record = workbook.results.record
    assert record is not None
    assert [row.cells["max_watts"] for row in record.rows[:2]] == ["700", "700"]


def test_same_as_a_batch(workbook: Workbook, tmp_path: Path) -> None:
    """What is on the page goes into a file of enquiries, and is read there as one quote."""
    workbook.load(TWO_ARRAYS, "a.csv")
    path = tmp_path / "enquiries.csv"
    path.write_text(workbook.blocks.copy.value + "\n", "utf-8", newline="")
    (asked,) = read_enquiries(path, workbook.prices.list)
    assert [row.problems for row in asked.rows] == [()] * 4
    record = workbook.results.record
    assert record is not None
    assert [dict(row.cells) for row in record.rows] == [r.cells() for r in asked.request.rows]
    assert [array.name for array in record.servers[0].arrays] == ["boot", "data"]
    assert [item.kind for item in record.items] == ["parts", "lines"]
    workbook.write()
    assert "Written: Q-20261125-O-1" in workbook.writer.told.value


def test_built_up_row_by_row(workbook: Workbook) -> None:
    _type(workbook, customer="Sluice & Daughters (invented)", enquiry_id="O-2", usable_tb="7")
    assert workbook.rows.list.layout.display == "none"
    assert not _there(workbook, "server") and not _there(workbook, "parts")
    alone = workbook.results.record
    assert alone is not None
    _press(workbook, "Another array in this server")
    assert _listed(workbook) == [("Array 1", ""), ("Array 2", "")]
    # Nothing is asked of it yet: the answer stays as it was.
    assert workbook.results.record is not None
    assert workbook.results.record.totals == alone.totals
    _type(workbook, workload="files")
    assert _listed(workbook)[1] == ("Array 2", "more is needed")
    assert workbook.results.record is None
    assert "Still needed" in workbook.results.line.value
    _type(workbook, usable_tb="3", survive="1")
    record = workbook.results.record
    assert record is not None and len(record.servers[0].arrays) == 2
    _press(workbook, "Another server")
    _type(workbook, usable_tb="3", chassis="BOX-4")
    record = workbook.results.record
    assert record is not None
    assert [server.name for server in record.servers] == ["1", "2"]
    _press(workbook, "Loose parts")
    assert _there(workbook, "parts") and not _there(workbook, "usable_tb")
    assert not _there(workbook, "line") and not _there(workbook, "chassis")
    _type(workbook, parts="DISK-8T*2;BELL")
    _press(workbook, "A line of your own")
    assert _there(workbook, "line") and not _there(workbook, "parts")
    _type(workbook, line="Old server back", line_price="-120")
    assert [title for title, _ in _listed(workbook)] == [
        "Server 1, array 1",
        "Server 1, array 2",
        "Server 2",
        "Loose parts",
        "A line of your own",
    ]
    record = workbook.results.record
    assert record is not None
    assert [row.array for row in record.rows] == [0, 1, 0, None, None]
    own = [{n: c for n, c in row.items() if n != "enquiry_id"} for row in _copied(workbook)[2:]]
    assert own == [
        {"server": "2", "usable_tb": "3", "chassis": "BOX-4"},
        {"parts": "DISK-8T*2;BELL"},
        {"line": "Old server back", "line_price": "-120"},
    ]


def test_only_loose_parts(workbook: Workbook) -> None:
    """The row that a fresh page begins with makes way."""
    _type(workbook, customer="Nib & Co (invented)", enquiry_id="O-3")
    _press(workbook, "Loose parts")
    assert workbook.rows.list.layout.display == "none"
    _type(workbook, parts="DISK-8T*2")
    assert _copied(workbook) == [
        {"customer": "Nib & Co (invented)", "enquiry_id": "O-3", "parts": "DISK-8T*2"}
    ]
    record = workbook.results.record
    assert record is not None and record.servers == ()
    assert "Can be quoted" in workbook.results.line.value
    assert "0 TB" not in workbook.results.line.value


def test_taken_out(workbook: Workbook) -> None:
    """What the first row said for all stays theirs."""
    workbook.load(TWO_ARRAYS, "a.csv")
    workbook.rows._done("Take out", 0)
    assert [title for title, _ in _listed(workbook)] == [
        "Array data",
        "Loose parts",
        "A line of your own",
    ]
    shown = workbook.form.cells()
    assert (shown["array"], shown["max_watts"], shown["currency"]) == ("data", "900", "EUR")
    assert "Taken out: Array boot" in workbook.blocks.told.value
    record = workbook.results.record
    assert record is not None
    assert [array.layout.level for array in record.servers[0].arrays] == ["6"]
    workbook.rows._done("Take out", 2)
    assert workbook.rows.back.description == "Put back: A line of your own"
    workbook.rows.back.click()
    assert workbook.rows.back.layout.display == "none"
    assert workbook.form.fields["line_price"].value == "-120"
    assert len(_listed(workbook)) == 3


def test_servers_of_one_name(workbook: Workbook) -> None:
    """A name that is another's while it is typed does not make one server of two."""
    _type(workbook, usable_tb="7", builds="2")
    _press(workbook, "Another server")
    _type(workbook, usable_tb="3", builds="3", server="1")
    assert "is the name of another server" in workbook.form.fields["server"].error
    assert workbook.results.record is None
    _type(workbook, server="1b")
    record = workbook.results.record
    assert record is not None
    assert [(s.name, s.builds) for s in record.servers] == [("1", 2), ("1b", 3)]


def test_a_problem_is_told_beside_the_field_of_its_row(workbook: Workbook) -> None:
    workbook.load(TWO_ARRAYS, "a.csv")
    workbook.rows._done("Edit", 2)
    _type(workbook, parts="DISK-9T")
    assert "did you mean" in workbook.form.fields["parts"].error
    assert _listed(workbook)[2] == ("Loose parts", "to be mended")
    workbook.rows._done("Edit", 0)
    assert workbook.form.fields["parts"].error == ""
    assert "Loose parts of row 3" in workbook.results.line.value
    workbook.write()
    assert "Not written" in workbook.writer.told.value


def test_a_server_that_cannot_be_built(workbook: Workbook) -> None:
    _type(workbook, usable_tb="7")
    _press(workbook, "Another server")
    _type(workbook, usable_tb="900000")
    assert [mark for _, mark in _listed(workbook)] == ["", "cannot be built as it stands"]
    assert "900000 TB" in workbook.form.fields["usable_tb"].error
    workbook.rows._done("Edit", 0)
    assert workbook.form.fields["usable_tb"].error == ""


def test_choices_are_judged_where_one_array_decides(workbook: Workbook) -> None:
    """With several arrays in a server nothing is struck out, rather than something wrongly."""

    def struck() -> set[str]:
        fields = workbook.form.fields.values()
        return {o["value"] for f in fields for o in f.options if o["state"] == "impossible"}

    _type(workbook, usable_tb="7", chassis="BOX-4")
    assert "MEZZ" in struck()
    assert workbook.comparison._place == 0
    _press(workbook, "Another array in this server")
    _type(workbook, usable_tb="3")
    assert struck() == set()
    assert workbook.comparison._place is None
    _press(workbook, "Another server")
    _type(workbook, usable_tb="3", chassis="BOX-12")
    assert "MEZZ" not in struck() and struck()
    assert workbook.comparison._place == 2
    workbook.rows._done("Edit", 0)
    assert struck() == set()


def test_what_if_of_one_server_among_others(workbook: Workbook) -> None:
    _type(workbook, usable_tb="7", customer="A", enquiry_id="B")
    _press(workbook, "Another server")
    _type(workbook, usable_tb="14", chassis="BOX-12", max_price="9000")
    workbook.comparison.drives.value = "7"
    assert "What if:" in workbook.comparison._says.value
    workbook.comparison._take.click()
    record = workbook.results.record
    assert record is not None
    assert record.servers[1].arrays[0].layout.members == 7
    assert workbook.order.rows[0].cells.get("members") is None


def test_starting_points_pin_every_row(workbook: Workbook) -> None:
    first = {"enquiry_id": "S", "customer": "A", "array": "a", "usable_tb": "7", "cores": "8"}
    workbook.load([first, {"enquiry_id": "S", "array": "b", "usable_tb": "3"}], "a.csv")
    before = workbook.results.record
    assert before is not None
    workbook.starts.start_from(0)
    cells = [row.cells for row in workbook.order.rows]
    assert all(each["drive"] and each["members"] for each in cells)
    assert workbook.form.fields["options"].value == "CPU-8*1"
    after = workbook.results.record
    assert after is not None and after.totals == before.totals


def test_restored_as_they_were(workbook: Workbook) -> None:
    workbook.load(TWO_ARRAYS, "a.csv")
    workbook.clear()
    assert len(workbook.order.rows) == 1 and workbook.form.given() == {}
    workbook.restore(0)
    texts = workbook.order.texts(workbook.order.rows)
    assert [{n: c for n, c in cells.items() if c} for cells in texts] == TWO_ARRAYS


def test_load_record_of_several_rows(workbook: Workbook, tmp_path: Path) -> None:
    workbook.load(TWO_ARRAYS, "a.csv")
    record = workbook.results.record
    assert record is not None
    workbook.clear()
    workbook.loader._given({"new": [{"name": "r.json", "content": record.to_json().encode()}]})
    assert workbook.results.record == record
    assert [title for title, _ in _listed(workbook)][:2] == ["Array boot", "Array data"]


def test_load_file_of_several_enquiries(workbook: Workbook) -> None:
    names = list(dict.fromkeys(name for row in (*TWO_ARRAYS, {"usable_tb": ""}) for name in row))
    text = io.StringIO()
    writer = csv.DictWriter(text, names)
    writer.writeheader()
    writer.writerows([*TWO_ARRAYS, {"enquiry_id": "O-9", "customer": "Z", "usable_tb": "3"}])
    workbook.loader._given({"new": [{"name": "e.csv", "content": text.getvalue().encode()}]})
    offered = [item["label"] for item in workbook.loader.row.options]
    assert offered[1:] == ["O-1: Sluice & Daughters (invented) (4 rows)", "O-9: Z"]
    workbook.loader.row.value = "0"
    assert len(workbook.order.rows) == 4


def test_quote_of_one_row_needs_no_list(workbook: Workbook) -> None:
    row = {"enquiry_id": "P", "customer": "A", "usable_tb": "7", "options": "CPU-8"}
    workbook.load([row], "a.csv")
    assert workbook.rows.list.layout.display == "none"
    assert workbook.blocks.folds["more"].unfolded  # what is filled is in sight
    record = quote(row, str(workbook.prices.folder), DATE)
    assert workbook.results.record == as_on_the_page(record)
    workbook.clear()
    assert not workbook.blocks.folds["more"].unfolded


def test_what_is_wrong_is_in_sight(workbook: Workbook) -> None:
    assert not workbook.blocks.folds["more"].unfolded
    _type(workbook, usable_tb="7", options="NOTHING")
    assert workbook.blocks.folds["more"].unfolded
    assert "'NOTHING'" in workbook.form.fields["options"].error
    # A row of no server has nothing to unfold.
    _press(workbook, "A line of your own")
    workbook.blocks.folds["more"].unfolded = False
    _type(workbook, line_price="much")
    assert workbook.blocks.folds["more"].layout.display == "none"
    assert workbook.blocks._folded["more"].layout.display is None


def test_pins_go_into_the_rows_they_were_made_for(copy_of_small: Path, tmp_path: Path) -> None:
    """A row in between is filled while the buttons are still those of the answer before."""

    async def act() -> None:
        workbook = Workbook(str(copy_of_small), DATE, tmp_path)
        _type(workbook, usable_tb="7", chassis="BOX-12")
        await settle(workbook)
        _press(workbook, "Another server")
        _type(workbook, usable_tb="3")
        await settle(workbook)
        workbook.rows._done("Edit", 0)
        _press(workbook, "Another array in this server")
        await settle(workbook)
        first, between, last = workbook.order.rows
        _type(workbook, usable_tb="2")
        await asyncio.sleep(0.001)
        workbook.starts.start_from(0)
        assert first.cells["drive"] and last.cells["drive"]
        assert "drive" not in between.cells
        await settle(workbook)

    asyncio.run(act())


@pytest.mark.parametrize("name", ["options", "services", "parts"])
def test_lists_to_add_from(workbook: Workbook, name: str) -> None:
    field = workbook.form.fields[name]
    assert field.kind == "several"
    offered = {item["value"] for item in field.options}
    expected = {
        "options": set(workbook.prices.list.options),
        "services": {s.sku for s in workbook.prices.list.services.values() if s.when == "chosen"},
        "parts": {"DISK-8T", "CARD", "BOX-4", "CABLE", "CPU-8"},
    }[name]
    assert expected <= offered
    assert "BOARD" not in offered


def test_what_a_line_costs_is_for_the_seller(workbook: Workbook) -> None:
    _press(workbook, "A line of your own")
    _type(workbook, line="Carriage", line_price="30", line_cost="21.37")
    _press(workbook, "Loose parts")
    assert not _there(workbook, "line_cost")
    assert "21.37" not in str(workbook.rows.list.rows)
    workbook.rows._done("Edit", 0)
    assert not _there(workbook, "line_cost")
    workbook.blocks.seller.value = True
    assert _there(workbook, "line_cost")
