"""Offers of the example enquiries in a browser without a network: two sheets, a telephone."""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest

from quotelib.documents.batch.run import run_batch
from quotelib.promise.texts import texts

from .contrast import contrast, rgb
from .running import Batch, write_csv
from .test_pages_in_browser import DESCRIBE, LOOK

pytestmark = pytest.mark.browser

NARROW = 390
PAPERS = ("A4", "Letter")


@dataclass
class Seen:
    """What the browser told of one offer."""

    record: dict[str, Any]
    told: list[str] = field(default_factory=list)
    facts: dict[str, Any] = field(default_factory=dict)
    look: dict[str, Any] = field(default_factory=dict)
    sheets: dict[str, list[str]] = field(default_factory=dict)
    """By paper: the text of each sheet."""


@pytest.fixture(scope="module")
def long(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Quote some hundreds of lines."""
    folder = tmp_path_factory.mktemp("long")
    rows = [
        {"enquiry_id": "LONG", "customer": "Invented", "tax_code": "S", "line": f"Case {n} of it"}
        for n in range(1, 260)
    ]
    for row in rows[1:]:
        del row["customer"], row["tax_code"]
    run_batch(write_csv(folder / "long.csv", [{"line_price": "9.50", **r} for r in rows]), folder)
    return folder / "quotes" / "LONG.html"


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    """Open a page whose network is off."""
    context = browser.new_context()
    context.set_offline(True)
    yield context.new_page()
    context.close()


@pytest.fixture(scope="module")
def seen(page: Any, demo: Batch, day: Batch) -> list[Seen]:
    """Look at every offer once, in all the ways the tests ask about."""
    found = []
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: asked.append(message.text))
    for batch in (demo, day):
        records = batch.records()
        for path in batch.offers():
            asked.clear()
            one = Seen(records[path.stem])
            page.emulate_media(media="screen")
            page.set_viewport_size({"width": NARROW, "height": 844})
            page.goto(path.as_uri(), wait_until="load")
            one.facts, one.look = page.evaluate(DESCRIBE), page.evaluate(LOOK)
            one.sheets = {paper: sheets(page, paper) for paper in PAPERS}
            one.told = [told for told in asked if told != path.as_uri()]
            found.append(one)
    return found


def sheets(page: Any, paper: str) -> list[str]:
    """Print a page and read each sheet back."""
    page.emulate_media(media="print")
    printed = pypdf.PdfReader(io.BytesIO(page.pdf(format=paper)))
    return [" ".join(sheet.extract_text().split()) for sheet in printed.pages]


def test_every_example_is_looked_at(seen: list[Seen]) -> None:
    assert len(seen) > 45
    assert {one.record["language"] for one in seen} == {"en", "de", "fr"}
    assert {one.record["draft"] for one in seen} == {True, False}


@pytest.mark.parametrize("paper", PAPERS)
def test_prints_on_two_sheets_and_the_last_is_signed(seen: list[Seen], paper: str) -> None:
    for one in seen:
        name, printed = one.record["enquiry_id"], one.sheets[paper]
        assert len(printed) <= 2, name
        for number, sheet in enumerate(printed, 1):
            assert f"{number} / {len(printed)}" in sheet, name
            assert one.record["quote_number"] in sheet, name
        t = texts(one.record["language"])
        if not one.record["draft"]:
            block = [t("sign.place"), t("sign.name"), t("sign.signature"), t("sign.heading")]
            assert [words for words in block if words not in printed[-1]] == [], name


def test_a_telephone_needs_no_sideways_scroll(seen: list[Seen]) -> None:
    for one in seen:
        look = one.look
        name = one.record["enquiry_id"]
        assert (look["overflow"] <= 0, look["beyond"], look["cut"]) == (True, [], []), name


def test_nothing_is_fetched_and_the_console_stays_empty(seen: list[Seen]) -> None:
    assert {one.record["enquiry_id"]: one.told for one in seen if one.told} == {}


def test_title_language_and_headings(seen: list[Seen]) -> None:
    for one in seen:
        name, facts = one.record["enquiry_id"], one.facts
        assert one.record["quote_number"] in facts["title"]
        assert facts["lang"] == one.record["language"]
        levels = facts["headings"]
        assert levels[0] == 1 and levels.count(1) == 1, name
        assert max(after - before for before, after in pairwise(levels)) <= 1, name
        assert facts["nameless"] == 0, f"{name}: a table without headings"


def test_text_stands_out_in_colour_and_in_grey(seen: list[Seen]) -> None:
    """WCAG 2 level AA asks for 4.5 to 1, of luminance alone, so that grey has it too."""
    pairs = {pair for one in seen for pair in one.facts["pairs"]}
    assert pairs
    assert [pair for pair in sorted(pairs) if contrast(*map(rgb, pair.split(" on "))) < 4.5] == []


@pytest.mark.parametrize("name", ["DAY-01", "DAY-13", "DAY-17", "DAY-29", "BSW-1022", "BSW-1015"])
def test_accessible(page: Any, demo: Batch, day: Batch, name: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    batch = day if name.startswith("DAY") else demo
    page.emulate_media(media="screen")
    for width in (1280, NARROW):
        page.set_viewport_size({"width": width, "height": 900})
        page.goto((batch.folder / "quotes" / f"{name}.html").as_uri())
        found = Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"][:160] for n in v["nodes"][:3]]) for v in found] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_a_long_order_runs_on_with_heads_and_numbers(page: Any, long: Path, paper: str) -> None:
    page.goto(long.as_uri())
    printed = sheets(page, paper)
    assert len(printed) > 4
    for number, sheet in enumerate(printed, 1):
        assert f"{number} / {len(printed)}" in sheet
        if "Case " in sheet:
            assert "No. Description Quantity Unit price Amount" in sheet, number
    assert "Place and date" in printed[-1] and "Signature" in printed[-1]
