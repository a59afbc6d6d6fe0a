"""How quick is the workbook: from an input to what follows in the page, in headless Chromium.

Run it from the project's folder: ``python -m tests.benchmarks.bench_workbook [ROUNDS [PRICES]]``.
It serves the page as ``quotelib open`` does, with the starter price list or one in a folder.

``call`` starts with nothing pinned and makes mixed changes, as on the telephone: capacity, level,
kind of drive, chassis, budget. Of each it takes, by the page's own clock and from the event of the
input on: when the answer line is the new one, when the last chart is drawn, when the options of
every list are judged. ``ready`` is from the address to the first field that can be typed into.
The others pin a build, change it, and take the moment when the new chart is in the page. Typing
includes the short wait for the next letter.
"""

import csv
import json
import shutil
import socket
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.end_to_end.conftest import CHROMIUM_FLAGS
from tests.workbook.serving import choose, code_hidden, open_code_hidden, settled

PINS = {
    "chassis": "CHS-2U-12L",
    "controller": "CTL-RF8-12G-CD",
    "drive": "DRV-HDD-8T-SAS",
    "level": "RAID 6",
}
SECOND = {"controller": "CTL-RF8-12G-CD", "drive": "DRV-HDD-8T-SAS", "level": "RAID 1"}
_CHANGE = """([name, value]) => new Promise((done, failed) => {
  const input = document.querySelector(`[data-name=${name}] input`);
  const chart = document.querySelector('figure[data-key=capacity]');
  const started = performance.now();
  const watch = new MutationObserver(() => {
    const drawn = Number(chart.dataset.drawn);
    if (drawn <= started) return;
    watch.disconnect();
    done(drawn - started);
  });
  watch.observe(chart, { attributes: true, attributeFilter: ['data-drawn'] });
  setTimeout(() => failed(new Error('no new chart within 20 s')), 20000);
  input.value = value;
  input.dispatchEvent(new Event('input', { bubbles: true }));
  if (name === 'spares') input.dispatchEvent(new Event('change', { bubbles: true }));
})"""

_MIXED = """([name, value]) => new Promise((done, failed) => {
  const input = document.querySelector(`[data-name=${name}] :is(input, select)`);
  const started = performance.now();
  const there = (selector) => Boolean(document.querySelector(selector));
  const at = {};
  const note = (what, is) => { if (is && !(what in at)) at[what] = performance.now() - started; };
  const watch = setInterval(() => {
    const behind = there('.ql-behind');
    note('line', !behind && !there('.ql-line.ql-anew'));
    note('marked', !behind && !there('.ql-choices.ql-anew'));
    note('all', !behind && !there('.ql-dot') && !there('.ql-anew'));
    if (performance.now() - started > 60000) failed(new Error('not settled within 60 s'));
    // Charts are drawn a moment after they have come.
    if (!('all' in at) || performance.now() - started < at.all + 300) return;
    clearInterval(watch);
    const figures = [...document.querySelectorAll("figure")];
    const drawn = figures.map((node) => Number(node.dataset.drawn));
    const last = Math.max(...drawn.filter((when) => when > started), started + at.line);
    done([at.line, last - started, at.marked]);
  }, 4);
  input.value = value;
  input.dispatchEvent(new Event('input', { bubbles: true }));
  input.dispatchEvent(new Event('change', { bubbles: true }));
})"""
CALL = [
    ("usable_tb", ["40", "24", "60", "33", "18", "52"]),
    ("level", ["RAID 6", "", "RAID 10", ""]),
    ("media", ["hdd", "", "ssd", ""]),
    ("chassis", ["CHS-2U-12L", "", "CHS-4U-24L", ""]),
    ("max_price", ["9000", "", "6000", ""]),
]


def call_of(prices: str) -> list[tuple[str, list[str]]]:
    """Give the changes, with chassis of the price list: a small one and a large one."""
    if not prices:
        return CALL
    with (Path(prices) / "chassis.csv").open(encoding="utf-8", newline="") as file:
        boxes = sorted(csv.DictReader(file), key=lambda row: (int(row["bays"]), row["sku"]))
    some = {"chassis": [boxes[len(boxes) // 2]["sku"], "", boxes[-1]["sku"], ""]}
    return [(name, some.get(name, values)) for name, values in CALL]


def _call(page: Any, rounds: int, prices: str = "") -> dict[str, list[float]]:
    """Change one thing after another, nothing pinned to begin with."""
    changes = call_of(prices)
    times: dict[str, list[float]] = {"answer_line": [], "last_chart": [], "options_marked": []}
    for turn in range(rounds):
        name, values = changes[turn % len(changes)]
        value = values[turn // len(changes) % len(values)]
        if name in {"level", "chassis"}:
            taken = _picked(page, name, value or "Left to us")
        else:
            taken = page.evaluate(_MIXED, [name, value])
        for each, took in zip(times.values(), taken, strict=True):
            each.append(float(took))
        page.wait_for_timeout(100)
    return times


def _picked(page: Any, name: str, text: str) -> Any:
    """Choose from a list by typing; the clock runs from the key that chooses."""
    page.locator(f"[data-name={name}] [role=combobox]").focus()
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    enter = "input.value = value;\n  input.dispatchEvent(new Event('input', { bubbles: true }));\n"
    enter += "  input.dispatchEvent(new Event('change', { bubbles: true }));"
    key = "input.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }));"
    assert enter in _MIXED
    return page.evaluate(_MIXED.replace(enter, key), [name, text])


def _pin(page: Any) -> None:
    page.get_by_label("Customer", exact=True).fill("Latency (invented)")
    for field, option in PINS.items():
        choose(page, field, option)
    page.get_by_label("Member drives").first.fill("6")
    page.locator("figure[data-key=capacity]").wait_for()
    settled(page)


def _pin_second(page: Any) -> None:
    """Add a mirror to the server that is pinned, and go back to its first array."""
    page.get_by_role("button", name="Another array in this server").click()
    settled(page)
    for field, option in SECOND.items():
        choose(page, field, option)
    page.get_by_label("Member drives").first.fill("2")
    settled(page)
    page.get_by_role("button", name="Edit 1").click()
    settled(page)


def _add_the_rest(page: Any) -> None:
    """Add a card, loose drives and a free line, and go back to the first array."""
    page.get_by_role("button", name="More of this server").click()
    page.get_by_label("Options", exact=True).fill("NET-2X25G-CD")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Loose parts", exact=True).click()
    settled(page)
    page.get_by_label("Loose parts", exact=True).fill("2 DRV-HDD-8T-SAS")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="A line of your own", exact=True).click()
    settled(page)
    page.get_by_label("Agreed besides").fill("Old server taken back")
    page.get_by_label("Price of one", exact=True).fill("-300")
    settled(page)
    page.get_by_role("button", name="Edit 1").click()
    settled(page)


def _times(page: Any, name: str, values: list[str], rounds: int) -> list[float]:
    times = []
    for turn in range(rounds):
        value = values[turn % len(values)]
        times.append(float(page.evaluate(_CHANGE, [name, value])))
        # A person looks before the next change; background work may still run then.
        page.wait_for_timeout(400)
    return times


def _summary(times: list[float]) -> dict[str, float]:
    ordered = sorted(times)
    return {
        "changes": len(ordered),
        "median_ms": round(statistics.median(ordered), 1),
        "p95_ms": round(ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))], 1),
        "most_ms": round(ordered[-1], 1),
    }


def measure(rounds: int, prices: str = "") -> dict[str, Any]:
    """Measure; give milliseconds by kind of input."""
    from playwright.sync_api import sync_playwright

    path = shutil.which("chromium")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    with tempfile.TemporaryDirectory() as base, sync_playwright() as playwright:
        folder = Path(base) / "desk"
        folder.mkdir()
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        more = ("--prices", prices) if prices else ()
        with code_hidden(folder, port, more=more) as address:
            ready = []
            for _ in range(5):
                page = browser.new_page(viewport={"width": 1280, "height": 900})
                started = time.perf_counter()
                open_code_hidden(page, address)
                ready.append((time.perf_counter() - started) * 1000)
                if len(ready) < 5:
                    page.close()
            page.wait_for_function("Boolean(globalThis.quotelibDraw)")
            page.evaluate(_MIXED, ["usable_tb", "30"])  # the first one warms everything up
            call = {name: _summary(times) for name, times in _call(page, rounds, prices).items()}
            if prices:
                return {"ready": _summary(ready), "call": call}
            page.get_by_role("button", name="Start afresh").click()
            settled(page)
            _pin(page)
            _times(page, "members", ["7", "8"], 4)  # the first ones warm everything up
            typed = _times(page, "members", ["6", "7", "8", "9", "10", "11"], rounds)
            settled(page)
            entered = _times(page, "spares", ["1", "0"], rounds)
            page.get_by_label("Hot spares").fill("")
            page.get_by_label("Member drives").first.fill("6")
            _pin_second(page)
            _times(page, "members", ["7", "8"], 4)
            both = _times(page, "members", ["6", "7", "8", "9", "10"], rounds)
            _add_the_rest(page)
            whole = _times(page, "members", ["7", "6", "8", "9", "10"], rounds)
            page.close()
        browser.close()
    pinned = {"typed": typed, "entered": entered, "two_arrays": both, "whole_order": whole}
    measured = {name: _summary(times) for name, times in pinned.items()}
    return {"ready": _summary(ready), "call": call, **measured}


if __name__ == "__main__":
    given = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print(json.dumps(measure(given, *sys.argv[2:3]), indent=2))
