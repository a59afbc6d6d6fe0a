"""A whole order by keyboard alone: two arrays, a card, loose drives, an old server taken back."""

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from quotelib.documents.batch.run import run_batch
from quotelib.resources import starter_prices

from .conftest import Desk
from .serving import PATIENCE_MS, code_hidden, free_port, open_code_hidden, settled, tab_to

pytestmark = pytest.mark.browser
FIRST = {"Customer": "Wexcombe Bell Foundry (invented)", "Enquiry number": "KEY-2"}
ROWS = [
    {"enquiry_id": "KEY-2", "customer": FIRST["Customer"], "array": "boot", "usable_tb": "0.4",
     "survive": "1", "options": "NET-2X25G-CD"},
    {"enquiry_id": "KEY-2", "array": "data", "usable_tb": "20", "survive": "2"},
    {"enquiry_id": "KEY-2", "parts": "DRV-HDD-8T-SAS*2"},
    {"enquiry_id": "KEY-2", "line": "Old server taken back", "line_price": "-300"},
]  # fmt: skip


@pytest.fixture
def starter_desk(tmp_path: Path) -> Iterator[Desk]:
    """Serve the page with the starter price list."""
    folder, port = tmp_path / "desk", free_port()
    folder.mkdir()
    with code_hidden(folder, port) as address:
        yield Desk(address, folder, starter_prices(), folder, port)


def _type(page: Any, label: str, text: str) -> None:
    tab_to(page, label)
    page.keyboard.type(text)


def _press(page: Any, text: str) -> None:
    tab_to(page, text)
    page.keyboard.press("Enter")
    settled(page)


def _focus(page: Any) -> str:
    return str(page.evaluate("document.activeElement.closest('.ql-field')?.dataset.name ?? ''"))


def _serious(page: Any) -> list[Any]:
    from axe_playwright_python.sync_playwright import Axe

    page.wait_for_function("!document.querySelector('.ql-dot')", timeout=PATIENCE_MS)
    page.wait_for_timeout(500)  # until what was marked as an earlier answer is no longer faded
    found = Axe().run(page).response["violations"]
    return [(v["id"], v["nodes"]) for v in found if v["impact"] in {"serious", "critical"}]


def _build_up(page: Any) -> None:
    for label, text in FIRST.items():
        _type(page, label, text)
    _type(page, "Usable capacity, TB", "0.4")
    _type(page, "Drive failures to survive", "1")
    assert not page.locator(".ql-lines").is_visible()
    assert not page.get_by_label("Options", exact=True).is_visible()
    tab_to(page, "More of this server")
    page.keyboard.press("Enter")
    page.get_by_label("Options", exact=True).wait_for()
    _type(page, "Options", "25g two ports")
    found = page.locator("[data-name=options] [role=option]")
    # Before what has "two" only within "network".
    assert found.locator(".ql-name").all_inner_texts() == ["NET-2X25G-CD", "NET-4X25G-CD"]
    assert _serious(page) == []
    page.keyboard.press("Enter")
    page.get_by_label("How many NET-2X25G-CD").wait_for()
    settled(page)
    _press(page, "Another array in this server")
    # The fields are those of the new row, and the next letter goes into the first of them.
    assert _focus(page) == "array"
    assert page.get_by_label("Usable capacity, TB").input_value() == ""
    page.keyboard.type("data")
    _type(page, "Usable capacity, TB", "20")
    _type(page, "Drive failures to survive", "2")
    settled(page)
    _press(page, "Loose parts")
    assert _focus(page) == "parts"
    page.keyboard.type("2 drv-hdd-8t-sas")
    page.keyboard.press("Enter")
    settled(page)
    assert page.get_by_label("How many DRV-HDD-8T-SAS").input_value() == "2"
    _press(page, "A line of your own")
    assert _focus(page) == "line"
    page.keyboard.type("Old server taken back")
    _type(page, "Price of one", "-300")
    settled(page)


def test_whole_order(starter_desk: Desk, page: Any, tmp_path: Path) -> None:
    open_code_hidden(page, starter_desk.address)
    _build_up(page)
    listed = page.locator(".ql-lines li")
    assert listed.locator("strong").all_inner_texts() == [
        "Array 1",
        "Array data",
        "Loose parts",
        "A line of your own",
    ]
    assert listed.nth(3).get_attribute("aria-current") == "true"
    assert "for the margin" not in page.inner_text("body").lower()
    # Back to the first row from the list, to give it a name.
    _press(page, "Edit")
    assert _focus(page) == "array"
    page.keyboard.type("boot")
    settled(page)
    assert page.get_by_label("Usable capacity, TB").input_value() == "0.4"
    assert _serious(page) == []
    tab_to(page, "Write quote, bench sheet and record")
    page.keyboard.press("Enter")
    page.wait_for_function(
        "document.querySelector('.ql-written')?.innerText.startsWith('Written:')",
        timeout=PATIENCE_MS,
    )
    _as_the_batch(starter_desk, tmp_path)
    for width in (1280, 640):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0


def _as_the_batch(desk: Desk, tmp_path: Path) -> None:
    """Check every figure of the record against a batch of the same rows."""
    enquiries = tmp_path / "enquiries.csv"
    with enquiries.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(dict.fromkeys(name for row in ROWS for name in row)))
        writer.writeheader()
        writer.writerows(ROWS)
    run_batch(enquiries, tmp_path / "batch")
    record = json.loads((desk.folder / "records" / "KEY-2.json").read_text("utf-8"))
    assert record == json.loads((tmp_path / "batch" / "records" / "KEY-2.json").read_text("utf-8"))
    assert [array["name"] for array in record["servers"][0]["arrays"]] == ["boot", "data"]
    for kind in ("quotes", "bench"):
        ours = (desk.folder / kind / "KEY-2.html").read_text("utf-8")
        assert ours == (tmp_path / "batch" / kind / "KEY-2.html").read_text("utf-8")


def test_fields_that_add(starter_desk: Desk, page: Any) -> None:
    """What is chosen can be counted and taken out; what was only typed is not lost in silence."""
    open_code_hidden(page, starter_desk.address)
    _press(page, "Loose parts")

    def value() -> str:
        settled(page)
        row = page.locator("[data-name=copy_row] textarea").input_value()
        return str(next(csv.DictReader(row.splitlines()))["parts"])

    for text in ("cpu-8c-95w", "4 MEM-16G-1", "CPU-8C-95W"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    assert value() == "CPU-8C-95W*2;MEM-16G-1*4"
    page.keyboard.type("PSU-550*2; FRONT-LOCK")  # as in a file
    page.keyboard.press("Enter")
    assert value() == "CPU-8C-95W*2;MEM-16G-1*4;PSU-550*2;FRONT-LOCK"
    page.keyboard.type("nowhere")
    assert "Nothing like that" in page.locator("[data-name=parts] [role=listbox]").inner_text()
    page.keyboard.press("Tab")
    error = page.locator("[data-name=parts] .ql-error")
    assert "nowhere is not added" in error.inner_text()
    assert page.get_by_label("Loose parts", exact=True).input_value() == "nowhere"
    many = page.get_by_label("How many MEM-16G-1")
    many.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("6")
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Take out PSU-550").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Loose parts", exact=True).fill("")
    assert value() == "CPU-8C-95W*2;MEM-16G-1*6;FRONT-LOCK"
