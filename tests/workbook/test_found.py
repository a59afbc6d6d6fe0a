"""What the proposal was chosen from, on the page: it is said, and taken by mouse and keys."""

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from quotelib.documents.quoting import quote
from quotelib.promise.considered import Considered
from quotelib.workbook.found import _COUNTING
from quotelib.workbook.page import Workbook

from .serving import PATIENCE_MS, settled, tab_to, watched

DATE = "2026-11-25"
OPEN = {"customer": "Fathom Ropes (invented)", "enquiry_id": "F-1", "usable_tb": "4",
        "max_price": "4000", "survive": "1", "builds": "2"}  # fmt: skip


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    made = Workbook(str(copy_of_small), DATE, tmp_path / "desk")
    _fill(made, OPEN)
    return made


@pytest.fixture
def considered(copy_of_small: Path) -> Considered:
    found = quote(OPEN, str(copy_of_small), DATE).servers[0].considered
    assert found is not None and len(found.three) > 1 and len(found.points) > 3
    return found


def _fill(workbook: Workbook, cells: dict[str, str]) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def test_it_says_what_the_record_says(workbook: Workbook, considered: Considered) -> None:
    found = workbook.found
    assert considered.words in found.counted.value
    for said, button, one in zip(found._said, found.takes, considered.three, strict=False):
        assert f"{one.net:,f}" in said.value and one.words in said.value
        assert button.description.startswith("Take ")
    assert len(found.list.points) == len(considered.points)
    assert considered.points_words in found._rule.value
    (drawn,) = found.charts.charts
    assert drawn["key"] == "front"


def test_the_three_are_taken_as_pins(workbook: Workbook, considered: Considered) -> None:
    for n, one in enumerate(considered.three):
        workbook.clear_pins()
        workbook.found.takes[n].click()
        record = workbook.results.record
        assert record is not None and record.totals.net == one.net
        assert record.pins() == one.pins


def test_a_click_takes_a_point_and_so_does_the_list(
    workbook: Workbook, considered: Considered
) -> None:
    place = len(considered.points) - 2
    point = considered.points[place]
    workbook.found._clicked({"point": place, "build": point.words})
    record = workbook.results.record
    assert record is not None and (record.totals.net, record.pins()) == (point.net, point.pins)
    workbook.clear_pins()
    listed = workbook.found.list.points[place]
    assert f"{point.net:,f}" in listed["words"]
    workbook.found._clicked({"point": place, "build": listed["build"]})
    again = workbook.results.record
    assert again is not None and again.pins() == point.pins


@pytest.mark.parametrize(
    "datum",
    [{}, {"point": 1}, {"point": 1, "build": "another"}, {"point": 99, "build": ""},
     {"point": "1", "build": ""}, {"point": -1, "build": ""}],
)  # fmt: skip
def test_a_click_on_an_earlier_chart_does_nothing(
    workbook: Workbook, datum: dict[str, object]
) -> None:
    before = workbook.order.texts(workbook.order.rows)
    workbook.found._clicked(datum)
    assert workbook.order.texts(workbook.order.rows) == before


def test_where_all_is_pinned_there_is_nothing(workbook: Workbook) -> None:
    workbook.found.takes[0].click()
    assert workbook.found.counted.value == ""
    assert workbook.found.block.layout.display == "none"
    assert workbook.found.charts.charts == []


def test_of_a_refusal_it_says_how_many_fit(workbook: Workbook) -> None:
    _fill(workbook, {"max_price": "10"})
    assert workbook.results.record is None
    assert "possible builds" in workbook.found.counted.value
    assert "0 meet every demand" in workbook.found.counted.value
    assert workbook.found.block.layout.display == "none"


def test_the_answer_comes_first_and_until_then_it_is_said(
    copy_of_small: Path, tmp_path: Path
) -> None:
    """With a loop the page shows the answer while the counts are still being worked out."""
    seen: list[tuple[bool, str]] = []

    async def call() -> None:
        workbook = Workbook(str(copy_of_small), DATE, tmp_path / "desk")
        workbook.results.line.observe(
            lambda _: seen.append(
                ("without tax" in workbook.results.line.value, workbook.found.counted.value)
            ),
            "value",
        )
        _fill(workbook, OPEN)
        for _ in range(600):
            await asyncio.sleep(0.05)
            if "possible builds" in workbook.found.counted.value:
                break
        assert "possible builds" in workbook.found.counted.value
        # Another customer: at once nothing is to be seen of the first.
        workbook.clear()
        assert workbook.found.counted.value == ""
        assert workbook.found.charts.charts == []
        assert workbook.found.block.layout.display == "none"

    asyncio.run(call())
    answered = [counted for there, counted in seen if there]
    assert answered and all(_COUNTING in counted for counted in answered)


# In a browser


@pytest.fixture(scope="module")
def served(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Open the page on the starter list, watched."""
    with watched(browser, tmp_path_factory.mktemp("found") / "desk") as page:
        yield page


@pytest.fixture
def asked(served: Any) -> Any:
    """Ask for something anew, and wait for all that is shown of it."""
    served.get_by_role("button", name="Start afresh").click()
    settled(served)
    for label, text in (("Usable capacity, TB", "20"), ("Drive failures to survive", "1")):
        served.get_by_role("textbox", name=label, exact=True).fill(text)
    _found(served)
    return served


def _found(page: Any) -> None:
    settled(page)
    page.locator(".ql-points figure[data-drawn]").wait_for(timeout=PATIENCE_MS)
    page.wait_for_function("!document.querySelector('.ql-waits')", timeout=PATIENCE_MS)


def _listed(page: Any) -> list[str]:
    return list(page.locator(".ql-taking option").all_inner_texts())


def _pins(page: Any) -> dict[str, str]:
    names = ("chassis", "controller", "drive", "level", "members")
    return {n: page.locator(f"[data-name={n}] input").first.input_value() for n in names}


@pytest.mark.browser
def test_a_click_in_the_chart_takes_that_build(asked: Any) -> None:
    assert set(_pins(asked).values()) <= {"", "Left to us"}
    options = _listed(asked)
    assert len(options) > 5
    points = asked.locator(".ql-points .mark-symbol.role-mark path")
    assert points.count() == len(options)
    points.first.scroll_into_view_if_needed()
    place = points.nth(1).evaluate("node => node.__data__.datum.point")
    points.nth(1).click()
    settled(asked)
    pins = _pins(asked)
    for said in (pins["drive"], pins["chassis"], pins["controller"], pins["level"]):
        assert said in options[place]
    assert f"over {pins['members']} drives" in options[place]
    assert not asked.locator(".ql-points").is_visible()


@pytest.mark.browser
def test_the_list_takes_one_by_keyboard_alone(asked: Any) -> None:
    options = _listed(asked)
    tab_to(asked, "Builds that no other one beats")
    asked.keyboard.press("ArrowDown")
    asked.keyboard.press("ArrowDown")
    tab_to(asked, "Take this build")
    asked.keyboard.press("Enter")
    settled(asked)
    pins = _pins(asked)
    assert f"{pins['drive']} in {pins['chassis']} on {pins['controller']}" in options[2]


@pytest.mark.browser
def test_one_of_the_three_is_taken_by_keyboard(asked: Any) -> None:
    name = asked.locator(".ql-one button").nth(1).inner_text()
    tab_to(asked, name)
    asked.keyboard.press("Enter")
    settled(asked)
    assert "Left to us" not in _pins(asked).values()
    assert "Can be quoted" in asked.locator(".ql-line").first.inner_text()
