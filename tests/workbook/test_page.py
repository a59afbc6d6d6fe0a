"""What the page with code hidden does: refuses in words, forgets nothing, shows no margin."""

import datetime as dt
import json
import os
import re
import signal
import time
from pathlib import Path
from typing import Any

import pytest

from quotelib.workbook.autosave import FILE_NAME

from .by_keyboard import as_the_batch, quote_by_keyboard
from .conftest import DATE, Desk
from .serving import (
    PATIENCE_MS,
    Watch,
    choose,
    code_hidden,
    open_code_hidden,
    press_write,
    settled,
    write_quote,
)

pytestmark = pytest.mark.browser
NEED = {"Customer": "Ampleforth Weather Log (invented)", "Enquiry number": "P-1"}


def _fill(page: Any, **more: str) -> None:
    for label, text in {**NEED, **more}.items():
        page.get_by_label(label, exact=True).fill(text)
    settled(page)


def _line(page: Any) -> str:
    return str(page.locator(".ql-line").first.inner_text())


def test_impossible_choice(blank: Any) -> None:
    _fill(blank, **{"Usable capacity, TB": "7"})
    choose(blank, "chassis", "BOX-4")
    settled(blank)
    field = blank.locator("[data-name=controller] [role=combobox]")
    field.click()
    option = blank.locator("[data-name=controller] [role=option]", has_text="MEZZ").first
    # It stays to be read, struck out, with the reason beside it.
    assert option.get_attribute("aria-disabled") == "true"
    assert "MEZZ" in option.locator(".ql-sku").inner_text()
    assert option.locator("s").is_visible()
    assert "needs a mezzanine socket and BOX-4 has none" in option.inner_text()
    before = _line(blank)
    option.click(force=True)  # force: playwright itself will not click what is disabled
    error = blank.locator("[data-name=controller] .ql-error")
    assert "MEZZ is not possible" in error.inner_text()
    settled(blank)
    assert option.get_attribute("aria-selected") == "false"
    blank.keyboard.press("Escape")
    assert field.input_value() == "Left to us"
    assert _line(blank) == before
    # By keyboard it is refused alike.
    field.focus()
    blank.keyboard.type("BARE")
    blank.keyboard.press("Enter")
    assert "BARE is not possible" in error.inner_text()
    settled(blank)
    assert _line(blank) == before


def test_error_beside_field(blank: Any) -> None:
    _fill(blank, **{"Usable capacity, TB": "20"})
    good = _line(blank)
    field = blank.get_by_label("Usable capacity, TB")
    field.fill("twenty")
    error = blank.locator("[data-name=usable_tb] .ql-error")
    blank.wait_for_function("document.querySelector('[data-name=usable_tb] .ql-error').innerText")
    assert "'twenty'" in error.inner_text()
    assert "number" in error.inner_text()
    assert field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "twenty"  # what was typed stays
    assert "see beside Usable capacity, TB" in _line(blank)
    # A build too large is refused beside the field as well, and nothing else is lost.
    field.fill("900000")
    blank.wait_for_function("document.querySelector('.ql-refused')", timeout=PATIENCE_MS)
    assert "900000 TB" in error.inner_text()
    field.fill("20")
    settled(blank)
    assert _line(blank) == good
    assert error.inner_text() == ""
    assert blank.get_by_label("Customer", exact=True).input_value() == NEED["Customer"]


def _kernels_under(folder: Path) -> list[int]:
    """Find the kernels that work in a folder."""
    found = []
    for entry in Path("/proc").iterdir():
        if not entry.name.isdecimal():
            continue
        try:
            command = (entry / "cmdline").read_bytes()
            works_in = (entry / "cwd").readlink()
        except OSError:
            continue
        if b"ipykernel_launcher" in command and works_in == folder.resolve():
            found.append(int(entry.name))
    return found


def test_margin_only_for_the_seller(desk: Desk, blank: Any) -> None:
    folder = desk.folder
    # Half off: under the floor, which a customer must not read anywhere.
    _fill(blank, **{"Usable capacity, TB": "20", "Discount, %": "50"})
    shown = blank.inner_text("body").replace("Shows cost and margin", "")
    shown = shown.replace(str(folder), "")
    assert "Would be a draft" in shown
    assert "margin" not in shown.lower()
    assert "floor" not in shown.lower()
    blank.get_by_label("Seller's view").check()
    settled(blank)
    seller = blank.locator(".ql-seller").inner_text()
    assert re.search(r"Margin\s+-?\d+\.\d\d %", seller)
    press_write(blank)
    record = json.loads((folder / "records" / "P-1.json").read_text("utf-8"))
    secrets = {record["internal"]["margin_pct"], record["internal"]["cost"]}
    lines = [line for server in record["servers"] for line in server["lines"]]
    prices = {line["unit_price"] for line in lines}
    secrets |= set(record["internal"]["unit_costs"].values()) - prices - {"0.00"}
    for kind in ("quotes", "bench"):
        text = (folder / kind / "P-1.html").read_text("utf-8")
        visible = re.sub(r"<style.*?</style>|<svg.*?</svg>|<[^>]*>", " ", text, flags=re.S)
        assert "margin" not in visible.lower()
        found = {s for s in secrets if re.search(rf"(?<![\d.,]){re.escape(s)}(?![\d.,])", visible)}
        assert found == set()


def test_accessible(blank: Any) -> None:
    from axe_playwright_python.sync_playwright import Axe

    _fill(blank, **{"Usable capacity, TB": "20"})
    blank.get_by_label("Drive failures to survive").fill("two")  # an error must be readable too
    blank.get_by_label("Seller's view").check()
    settled(blank)
    result = Axe().run(blank)
    bad = [
        (v["id"], v["impact"], [n["html"][:160] for n in v["nodes"][:3]])
        for v in result.response["violations"]
        if v["impact"] in {"serious", "critical"}
    ]
    assert bad == []


def test_every_control_is_labelled(blank: Any) -> None:
    unnamed = blank.evaluate(
        """() => [...document.querySelectorAll('.ql-field')].filter((field) => {
          const control = field.querySelector(
            'input:not(.ql-ticks input), select, textarea, [role=listbox], [role=group]');
          const label = field.querySelector('.ql-label');
          const described = (control.getAttribute('aria-describedby') || '').split(' ')
            .every((id) => document.getElementById(id));
          const named = control.getAttribute('aria-labelledby') === label.id
            || [...(control.labels || [])].includes(label);
          return !(label.textContent.trim() && described && named);
        }).map((field) => field.dataset.name)"""
    )
    assert unnamed == []


@pytest.mark.parametrize("width", [1280, 640])  # 640: 1280 pixels at 200 % zoom
def test_fits_the_width(blank: Any, width: int) -> None:
    blank.set_viewport_size({"width": width, "height": 800})
    _fill(blank, **{"Usable capacity, TB": "20"})
    over = blank.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert over <= 0


def test_nothing_jumps(blank: Any) -> None:
    """The field somebody types into stays where it is while answers come in."""
    _fill(blank, **{"Usable capacity, TB": "20", "Drive failures to survive": "2"})
    field = blank.get_by_label("Usable capacity, TB")
    before = field.bounding_box()
    for text in ("21", "210", "21"):
        field.fill(text)
        settled(blank)
        # Scrolled, the browser rounds a place to a 64th of a pixel.
        assert field.bounding_box() == pytest.approx(before, abs=0.1)


def test_by_keyboard(desk: Desk, blank: Any, tmp_path: Path) -> None:
    quote_by_keyboard(blank)
    as_the_batch(desk.folder, desk.prices, tmp_path, dt.date.fromisoformat(DATE))
    # The code stays hidden, and the margin is nowhere on the page a customer may see.
    text = blank.inner_text("body")
    assert "import" not in text
    assert "margin" not in text.lower().replace("shows cost and margin", "")


def test_a_list_a_date_and_a_folder_of_ones_own(desk: Desk, blank: Any) -> None:
    log = desk.here.with_suffix(".log").read_text("utf-8")
    assert f"Files go to {desk.folder}." in log
    text = blank.inner_text("body")
    assert str(desk.prices) in text
    assert "5 March 2026" in text
    assert str(desk.folder) in text
    write_quote(blank, "Own list (invented)", "O-1", "7")
    record = json.loads((desk.folder / "records" / "O-1.json").read_text("utf-8"))
    assert record["date"] == DATE == "2026-03-05"
    assert record["rows"][0]["cells"]["usable_tb"] == "7"
    assert record["quote_number"] == "Q-20260305-O-1"
    assert {part["sku"] for part in record["servers"][0]["parts"]} & {"BOX-4", "BOX-12"}
    assert list(desk.here.iterdir()) == []


def _restore(page: Any) -> None:
    page.get_by_role("button", name="Restore it").click()
    settled(page)


def _crash(desk: Desk, page: Any, watched: Watch, late: dict[str, str]) -> None:
    """End the kernel, type what only the browser has then, and open the page anew."""
    (kernel,) = _kernels_under(desk.folder)
    watched.expect_silence = False  # a dead kernel is a failed request
    os.kill(kernel, signal.SIGKILL)
    for label, text in late.items():
        page.get_by_label(label).fill(text)
    page.wait_for_timeout(500)
    page.goto("about:blank")
    open_code_hidden(page, desk.address)
    watched.expect_silence = True


def test_kernel_crash_with_several_rows(desk: Desk, blank: Any, watched: Watch) -> None:
    """What only the browser has comes back into the row it was typed for."""
    typed = {"Customer": "Two Mills (invented)", "Enquiry number": "P-3"}
    _fill(blank, **{**typed, "Usable capacity, TB": "31"})
    blank.get_by_role("button", name="A line of your own").click()
    settled(blank)
    blank.get_by_label("Agreed besides").fill("Carriage to the island")
    settled(blank)
    _crash(desk, blank, watched, {"Price of one": "25", "Discount, %": "3"})
    _restore(blank)
    for label, text in {**typed, "Usable capacity, TB": "31", "Discount, %": "3"}.items():
        assert blank.get_by_label(label, exact=True).input_value() == text
    blank.get_by_role("button", name="Edit 2").click()
    settled(blank)
    assert blank.get_by_label("Agreed besides").input_value() == "Carriage to the island"
    assert blank.get_by_label("Price of one").input_value() == "25"


def test_kernel_crash_and_reload(desk: Desk, blank: Any, watched: Watch) -> None:
    typed = {"Customer": "Lantern Loom Archive (invented)", "Enquiry number": "P-2"}
    typed |= {"Usable capacity, TB": "31", "Discount, %": "2"}
    _fill(blank, **typed)
    late = {"Note": "Rings back on Thursday", "Usable capacity, TB": "32"}
    _crash(desk, blank, watched, late)
    assert blank.get_by_label("Customer", exact=True).input_value() == ""
    offered = blank.get_by_label("What was typed before")
    blank.wait_for_function(
        "document.querySelector('[data-name=restore] select')?.innerText.includes('Lantern')",
        timeout=PATIENCE_MS,
    )
    assert typed["Customer"] in offered.inner_text()
    _restore(blank)
    for label, text in {**typed, **late}.items():
        assert blank.get_by_label(label, exact=True).input_value() == text
    assert "Can be quoted" in _line(blank) or "Would be a draft" in _line(blank)
    # Also what is wrong is not lost, when somebody loads the page anew.
    _fill(blank, **{**typed, "Usable capacity, TB": "nonsense"})
    kept = json.loads((desk.folder / FILE_NAME).read_text("utf-8"))
    (row,) = kept[-1]["rows"].values()
    assert row["usable_tb"] == "nonsense"
    blank.reload()
    blank.get_by_label("Customer", exact=True).wait_for(timeout=PATIENCE_MS)
    assert blank.get_by_label("Usable capacity, TB").input_value() == ""
    _restore(blank)
    assert blank.get_by_label("Usable capacity, TB").input_value() == "nonsense"


@pytest.mark.parametrize("name", ["check_price_list", "index"])
def test_other_notebooks(desk: Desk, tmp_path: Path, page: Any, name: str) -> None:
    """They open as pages too, write to the folder one is in, and their kernels end with them.

    Their port is in use already: they take the next free one instead of failing.
    """
    folder = tmp_path / "desk"
    folder.mkdir()
    with code_hidden(folder, desk.port, name) as address:
        assert f":{desk.port}/" in desk.address
        assert f":{desk.port}/" not in address
        page.goto(address)
        page.locator("h1").first.wait_for(timeout=PATIENCE_MS)
        assert _kernels_under(folder)
        text = page.inner_text("body")
        assert "import" not in text
        page.goto("about:blank")
    written = {path.name for path in folder.iterdir()}
    assert written == ({"demo_price_check"} if name == "check_price_list" else set())
    deadline = time.monotonic() + 20
    while _kernels_under(folder) and time.monotonic() < deadline:
        time.sleep(0.2)
    assert _kernels_under(folder) == []
