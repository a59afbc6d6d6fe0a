"""What the page with code hidden does: refuses in words, forgets nothing, shows no margin."""

import json
import os
import re
import signal
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest

from quotelib.workbook.autosave import FILE_NAME

from .conftest import Desk
from .serving import PATIENCE_MS, Watch, code_hidden, open_code_hidden, press_write, settled

pytestmark = pytest.mark.browser
NEED = {"Customer": "Ampleforth Weather Log (invented)", "Enquiry number": "P-1"}


def _fill(page: Any, **more: str) -> None:
    for label, text in {**NEED, **more}.items():
        page.get_by_label(label, exact=True).fill(text)
    settled(page)


def _choose(page: Any, field: str, option: str) -> None:
    page.locator(f"[data-name={field}] [role=option]", has_text=option).first.click()


def _line(page: Any) -> str:
    return str(page.locator(".ql-line").first.inner_text())


def test_impossible_choice(blank: Any) -> None:
    _fill(blank, **{"Usable capacity, TB": "7"})
    _choose(blank, "chassis", "BOX-4")
    settled(blank)
    option = blank.locator("[data-name=controller] [role=option]", has_text="MEZZ").first
    # It stays to be read, struck out, with the reason beside it.
    assert option.get_attribute("aria-disabled") == "true"
    assert option.locator("s").inner_text() == "MEZZ"
    assert "needs a mezzanine socket and BOX-4 has none" in option.inner_text()
    before = _line(blank)
    option.click(force=True)  # force: playwright itself will not click what is disabled
    error = blank.locator("[data-name=controller] .ql-error")
    assert "MEZZ is not possible" in error.inner_text()
    settled(blank)
    assert option.get_attribute("aria-selected") == "false"
    assert _line(blank) == before
    # By keyboard it is refused alike.
    blank.locator("[data-name=controller] [role=listbox]").focus()
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


def test_kernel_crash(desk: Desk, page: Any, watch: Watch) -> None:
    before = _kernels_under(desk.folder)
    open_code_hidden(page, desk.address)
    _fill(page, **{"Usable capacity, TB": "31", "Discount, %": "2"})
    (kernel,) = set(_kernels_under(desk.folder)).difference(before)
    watch.expect_silence = False  # a dead kernel is a failed request
    os.kill(kernel, signal.SIGKILL)
    # Typed before anybody noticed: only the browser has it.
    page.get_by_label("Note").fill("Rings back on Thursday")
    page.get_by_label("Usable capacity, TB").fill("32")
    page.wait_for_timeout(500)
    page.goto("about:blank")
    open_code_hidden(page, desk.address)
    watch.expect_silence = True
    assert page.get_by_label("Customer", exact=True).input_value() == ""
    offered = page.get_by_label("What was typed before")
    page.wait_for_function(
        "document.querySelector('[data-name=restore] select')?.innerText.includes('Ampleforth')",
        timeout=PATIENCE_MS,
    )
    assert NEED["Customer"] in offered.inner_text()
    page.get_by_role("button", name="Restore it").click()
    settled(page)
    for label, text in {
        **NEED,
        "Usable capacity, TB": "32",
        "Discount, %": "2",
        "Note": "Rings back on Thursday",
    }.items():
        assert page.get_by_label(label, exact=True).input_value() == text
    assert "Can be quoted" in _line(page) or "Would be a draft" in _line(page)


def test_reload_keeps(desk: Desk, page: Any) -> None:
    open_code_hidden(page, desk.address)
    _fill(page, **{"Usable capacity, TB": "nonsense"})
    kept = json.loads((desk.folder / FILE_NAME).read_text("utf-8"))
    assert kept[-1]["cells"]["usable_tb"] == "nonsense"  # also what is wrong is not lost
    page.reload()
    page.get_by_label("Customer", exact=True).wait_for(timeout=PATIENCE_MS)
    page.get_by_role("button", name="Restore it").click()
    settled(page)
    assert page.get_by_label("Usable capacity, TB").input_value() == "nonsense"


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


def test_port_in_use(desk: Desk, tmp_path: Path) -> None:
    """A second page takes the next free port instead of failing."""
    with code_hidden(tmp_path, desk.port) as other:
        assert f":{desk.port}/" in desk.address
        assert f":{desk.port}/" not in other


@pytest.mark.parametrize("name", ["check_price_list", "index"])
def test_other_notebooks(tmp_path: Path, port: int, page: Any, name: str) -> None:
    """They open as pages too, write to the folder one is in, and their kernels end with them."""
    folder = tmp_path / "desk"
    folder.mkdir()
    with code_hidden(folder, port, name) as address:
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


def test_unknown_notebook() -> None:
    import sys

    command = [sys.executable, "-m", "quotelib.cli", "open", "nothing", "--no-browser"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert "quote_one_customer" in done.stderr
    assert "Traceback" not in done.stderr
