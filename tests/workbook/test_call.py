"""A call by keyboard alone, nothing pinned; nothing of another customer is ever to be seen."""

from collections.abc import Iterator
from typing import Any

import pytest

from quotelib.resources import starter_prices

from .serving import PATIENCE_MS, settled, tab_to, watched

pytestmark = pytest.mark.browser

CHANGES = [
    ("Usable capacity, TB", "40"),
    ("Drive failures to survive", "2"),
    ("How many servers alike", "25"),
    ("Budget for each server", "9,000"),
    ("RAID level", "RAID 10"),
    ("Chassis", "left"),
    ("RAID level", "left"),
    ("Usable capacity, TB", "55"),
    ("Budget for each server", "GBP 1,500"),
    ("Usable capacity, TB", "48"),
]


@pytest.fixture(scope="module")
def call(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Open the page on the starter list, watched."""
    with watched(browser, tmp_path_factory.mktemp("call") / "desk") as page:
        yield page


@pytest.fixture
def fresh(call: Any) -> Any:
    call.set_viewport_size({"width": 1280, "height": 900})
    call.get_by_role("button", name="Start afresh").click()
    settled(call)
    call.evaluate("scrollTo(0, 0)")
    return call


def _set(page: Any, label: str, text: str) -> None:
    page.get_by_role("textbox", name=label, exact=True).fill(text)


def _type(page: Any, label: str, text: str) -> None:
    tab_to(page, label)
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    if label in {"RAID level", "Chassis"}:
        page.keyboard.press("Enter")


def _in_sight(page: Any, selector: str) -> bool:
    return bool(
        page.evaluate(
            """(selector) => {
              const box = document.querySelector(selector).getBoundingClientRect();
              return box.height > 0 && box.top >= -1 && box.bottom <= innerHeight + 1;
            }""",
            selector,
        )
    )


def test_a_call_of_ten_changes(fresh: Any) -> None:
    for n, (label, text) in enumerate(CHANGES):
        before = fresh.locator(".ql-line").first.inner_text()
        _type(fresh, label, text)
        # Typed, it is an earlier answer until the new one is there, and then it is the new one.
        settled(fresh)
        after = fresh.locator(".ql-line").first.inner_text()
        assert n in {1, 3, 5} or after != before, (label, text)
        assert fresh.locator(".ql-anew").count() == 0
        assert _in_sight(fresh, ".ql-line .ql-outcome"), label
    assert "No build" in after
    # What comes nearest is taken by keyboard too.
    tab_to(fresh, fresh.locator(".ql-now .ql-starts button").first.inner_text())
    fresh.keyboard.press("Enter")
    settled(fresh)
    assert "Can be quoted" in fresh.locator(".ql-line").first.inner_text()
    assert "below it for each server" in fresh.locator(".ql-short").inner_text() or (
        "just met" in fresh.locator(".ql-short").inner_text()
    )


def test_form_and_answer_fit_one_screen(fresh: Any) -> None:
    _set(fresh, "Usable capacity, TB", "40")
    _set(fresh, "Budget for each server", "9000")
    settled(fresh)
    fresh.get_by_role("heading", name="What was asked").scroll_into_view_if_needed()
    for name in ("usable_tb", "survive", "builds", "max_price", "chassis", "level", "drive"):
        assert _in_sight(fresh, f"[data-name={name}]"), name
    for selector in (".ql-line", ".ql-short", ".ql-write"):
        assert _in_sight(fresh, selector), selector
    said = fresh.locator(".ql-short").inner_text()
    for word in ("Holds", "Speed", "Loss", "In all", "Budget", "Parts", "To know"):
        assert word in said
    # Wherever one reads, it stays in sight.
    fresh.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    fresh.wait_for_timeout(200)
    assert _in_sight(fresh, ".ql-line .ql-outcome")
    for width, height in ((640, 450), (1920, 1080)):
        fresh.set_viewport_size({"width": width, "height": height})
        fresh.wait_for_timeout(200)
        for part in ("What was asked", "What it costs", "What happens next"):
            fresh.get_by_role("link", name=part, exact=True).evaluate("node => node.click()")
            fresh.wait_for_timeout(200)
            assert _in_sight(fresh, ".ql-line .ql-outcome"), (width, part)
        assert fresh.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_parts_are_reached_by_link_and_by_key(fresh: Any) -> None:
    fresh.get_by_role("link", name="What it costs", exact=True).click()
    focus = "document.activeElement.textContent.trim()"
    assert fresh.evaluate(focus) == "What it costs"
    fresh.keyboard.press("Alt+PageDown")
    assert fresh.evaluate(focus) == "What if"
    for _ in range(2):
        fresh.keyboard.press("Alt+PageUp")
    assert fresh.evaluate(focus) == "What it does"
    fresh.get_by_label("Customer", exact=True).focus()
    fresh.keyboard.press("Alt+PageDown")
    assert fresh.evaluate(focus) == "What may be chosen"


_SEEN = """() => ['.ql-answer', '.ql-soon', '.ql-rest'].flatMap((selector) =>
  [...document.querySelectorAll(selector)]).filter((node) => node.checkVisibility({
    visibilityProperty: true, opacityProperty: true })).map((node) => node.innerText).join(' ')"""


@pytest.mark.parametrize("wait_ms", [0, 60, 400, 4000])
def test_start_afresh_leaves_nothing_of_the_last_customer(fresh: Any, wait_ms: int) -> None:
    """From the very press on, whatever the program is at."""
    fresh.get_by_label("Customer", exact=True).fill("Quillon Fencing Club (invented)")
    _set(fresh, "Usable capacity, TB", "40")
    settled(fresh)
    assert "40.00 TB" in fresh.evaluate(_SEEN)
    _set(fresh, "Usable capacity, TB", "41")
    fresh.wait_for_timeout(wait_ms)
    seen = fresh.evaluate(
        f"""() => {{
          const seen = {_SEEN};
          const all = [...document.querySelectorAll('button')];
          all.find((node) => node.textContent.trim() === 'Start afresh').click();
          const told = [seen()];
          return new Promise((done) => {{
            const again = setInterval(() => told.push(seen()), 25);
            setTimeout(() => {{ clearInterval(again); done(told); }}, 2500);
          }});
        }}"""
    )
    assert len(seen) > 20
    assert not [text for text in seen if "Can be quoted" in text or " TB" in text]
    settled(fresh)
    assert "the answer comes here" in fresh.evaluate(_SEEN)
    assert fresh.get_by_label("Customer", exact=True).input_value() == ""


def test_what_is_typed_makes_it_an_earlier_answer_at_once(fresh: Any) -> None:
    """Marked in the browser before the program has heard of it, for the eye and the ear."""
    _set(fresh, "Usable capacity, TB", "40")
    settled(fresh)
    marked = fresh.evaluate(
        """() => {
          const input = document.querySelector('[data-name=usable_tb] input');
          input.value = '44';
          input.dispatchEvent(new Event('input', { bubbles: true }));
          input.dispatchEvent(new Event('change', { bubbles: true }));
          const nodes = [...document.querySelectorAll('.ql-answer, .ql-soon, .ql-rest')];
          return [nodes.length, nodes.filter((node) => node.ariaBusy === 'true'
            && node.classList.contains('ql-anew')).length];
        }"""
    )
    assert marked[0] == marked[1] > 8
    fresh.wait_for_function("!document.querySelector('.ql-line.ql-anew')", timeout=PATIENCE_MS)
    settled(fresh)
    assert fresh.locator("[aria-busy=true]").count() == 0


def test_nothing_is_left_under_no_build(fresh: Any) -> None:
    _set(fresh, "Usable capacity, TB", "40")
    settled(fresh)
    _set(fresh, "Usable capacity, TB", "900000")
    settled(fresh)
    seen = fresh.evaluate(_SEEN)
    assert "No build" in seen and "What comes nearest" in seen
    assert "Can be quoted" not in seen and "40.00 TB" not in seen
    assert fresh.locator("figure").count() == 0
    assert not fresh.get_by_role("button", name="Keep for comparison").is_visible()


def test_the_list_of_an_option_says_what_it_costs(fresh: Any) -> None:
    assert starter_prices().is_dir()
    _set(fresh, "Usable capacity, TB", "40")
    settled(fresh)
    drive = fresh.locator("[data-name=drive] [role=combobox]")
    drive.click()
    options = fresh.locator("[data-name=drive] [role=option]")
    fresh.wait_for_function(
        "document.querySelectorAll('[data-name=drive] .ql-price').length > 3", timeout=PATIENCE_MS
    )
    assert "without tax" in fresh.locator("[data-name=drive] .ql-scope").inner_text()
    many = options.count()
    drive.type("flash nvme")
    assert 0 < options.count() < many
    assert all("NVMe" in text for text in options.locator(".ql-name").all_inner_texts())
    # The whole reason stands below the list, for the option one is at.
    fresh.keyboard.press("ArrowDown")
    assert len(fresh.locator("[data-name=drive] .ql-why").inner_text()) > 20
    fresh.keyboard.press("Escape")
    assert drive.input_value() == "Left to us"
