"""Annexes of the example batch in a browser without a network, on screen and on paper."""

import re
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from .contrast import contrast, rgb
from .running import Batch

pytestmark = pytest.mark.browser

WIDE, NARROW = 1280, 400
# Paper in CSS pixels (96 an inch), less the side margins of @page in style.css (15 mm each).
MARGINS = 2 * 15 / 25.4 * 96
PAPER = {"A4": (210 / 25.4 * 96, 842), "Letter": (8.5 * 96, 792)}
"""Width in CSS pixels, and height in points."""

# What was asked and offered, the comparisons, the appendix on the estimates.
MOST_SHEETS = 12

LOOK = """() => {
  const edge = document.documentElement.clientWidth + 1;
  const name = e => e.tagName + ': ' + e.textContent.trim().slice(0, 40);
  // A chart may be moved sideways within its own frame.
  const free = e => getComputedStyle(e.closest('figure') ?? e).overflowX === 'auto';
  const beyond = [...document.querySelectorAll('main *')]
    .filter(e => e.getBoundingClientRect().right > edge && !free(e)).map(name);
  const cut = [...document.querySelectorAll('svg text')].filter(t => {
    const b = t.getBoundingClientRect(), s = t.ownerSVGElement.getBoundingClientRect();
    return b.left < s.left - 1 || b.right > s.right + 1 || b.bottom > s.bottom + 1;
  }).map(name);
  const scroller = document.scrollingElement;
  return {overflow: scroller.scrollWidth - innerWidth, beyond, cut};
}"""

DESCRIBE = """() => {
  const solid = c => (c.match(/[\\d.]+/g)[3] ?? 1) > 0;
  const behind = e => {
    for (; e; e = e.parentElement) {
      const colour = getComputedStyle(e).backgroundColor;
      if (solid(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const pairs = new Set();
  for (const e of document.querySelectorAll('main *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    if (!own) continue;
    const style = getComputedStyle(e);
    pairs.add((e.ownerSVGElement ? style.fill : style.color) + ' on ' + behind(e));
  }
  return {
    title: document.title,
    lang: document.documentElement.lang,
    headings: [...document.querySelectorAll('h1, h2, h3, h4, h5, h6')].map(h => +h.tagName[1]),
    charts: [...document.querySelectorAll('figure')].map(f => ({
      drawn: f.querySelectorAll('svg path, svg text').length, words: f.ariaLabel ?? ''})),
    nameless: document.querySelectorAll('table:not(:has(th[scope]))').length,
    pairs: [...pairs],
  };
}"""


@dataclass
class Seen:
    """What the browser told of one page."""

    path: Path
    requests: list[str] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)
    console: list[str] = field(default_factory=list)
    facts: dict[str, Any] = field(default_factory=dict)
    looks: dict[str, dict[str, Any]] = field(default_factory=dict)
    """By medium: how far the page overflows, and what lies beyond its edge."""
    papers: dict[str, bytes] = field(default_factory=dict)


@pytest.fixture(scope="module")
def seen(browser: Any, demo: Batch) -> list[Seen]:
    """Open some pages of every kind once, in all the ways the tests ask about, network off."""
    context = browser.new_context()
    context.set_offline(True)
    page = context.new_page()
    opened: list[Seen] = []
    page.on("request", lambda request: opened[-1].requests.append(request.url))
    page.on("requestfailed", lambda request: opened[-1].failures.append(request.url))
    page.on("console", lambda message: opened[-1].console.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: opened[-1].console.append(f"error: {error}"))
    for path in of_every_kind(demo):
        opened.append(Seen(path))
        look_at(page, opened[-1])
    context.close()
    return opened


def of_every_kind(demo: Batch) -> list[Path]:
    """List the first page of each outcome, level and currency, and the three largest pages."""
    annexes = {path.stem.removesuffix("-annex"): path for path in demo.annexes()}
    pages = {f"quotes/{name}.html": path for name, path in annexes.items()}
    rows = [row for row in demo.rows() if row["quote_file"]]
    assert len(rows) == len(pages)
    first: dict[tuple[str, str], str] = {}
    for row in rows:
        for column in ("outcome", "level", "currency"):
            first.setdefault((column, row[column]), row["quote_file"])
    large = sorted(pages, key=lambda name: pages[name].stat().st_size)[-3:]
    return [pages[name] for name in sorted({*first.values(), *large})]


def test_there_are_pages_of_every_kind(demo: Batch) -> None:
    taken = {path.stem.removesuffix("-annex") for path in of_every_kind(demo)}
    of = [row for row in demo.rows() if row["enquiry_id"] in taken]
    assert {row["outcome"] for row in of} == {"quoted", "held"}
    assert {"0", "1", "5", "6", "10", "none"} <= {row["level"] for row in of}
    assert {row["currency"] for row in of} == {"GBP", "EUR", "JPY", "KWD", "USD"}


def look_at(page: Any, told: Seen) -> None:
    """Open one page."""
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": WIDE, "height": 900})
    page.goto(told.path.as_uri(), wait_until="load")
    told.facts = page.evaluate(DESCRIBE)
    for width in (WIDE, NARROW):
        page.set_viewport_size({"width": width, "height": 900})
        told.looks[f"{width} px"] = page.evaluate(LOOK)
    page.emulate_media(media="print")
    for paper, (width_px, _) in PAPER.items():
        page.set_viewport_size({"width": int(width_px - MARGINS), "height": 900})
        told.looks[paper] = page.evaluate(LOOK)
        told.papers[paper] = page.pdf(format=paper)


def test_nothing_is_fetched_but_the_page_itself(seen: list[Seen]) -> None:
    for page in seen:
        assert page.requests == [page.path.as_uri()]
        assert page.failures == []


def test_console_stays_empty(seen: list[Seen]) -> None:
    assert {page.path.name: page.console for page in seen if page.console} == {}


def test_charts_are_drawn_in_the_page_and_described(seen: list[Seen]) -> None:
    for page in seen:
        charts = page.facts["charts"]
        assert len(charts) >= 3, page.path.name
        for chart in charts:
            assert chart["drawn"] > 10, page.path.name
            assert len(chart["words"]) > 40, page.path.name


def test_title_language_and_headings(seen: list[Seen]) -> None:
    titles = [page.facts["title"] for page in seen]
    assert all("Q-2026" in title for title in titles) and len(set(titles)) == len(titles)
    for page in seen:
        assert page.facts["lang"] == "en"
        levels = page.facts["headings"]
        assert levels[0] == 1 and levels.count(1) == 1, page.path.name
        steps = [after - before for before, after in pairwise(levels)]
        assert max(steps) <= 1, page.path.name
        assert page.facts["nameless"] == 0, f"{page.path.name}: a table without headings"


@pytest.mark.parametrize("medium", [f"{WIDE} px", f"{NARROW} px", "A4", "Letter"])
def test_nothing_sticks_out_or_is_cut_off(seen: list[Seen], medium: str) -> None:
    for page in seen:
        look = page.looks[medium]
        assert (look["overflow"] <= 0, look["beyond"], look["cut"]) == (True, [], []), page.path


@pytest.mark.parametrize("paper", PAPER)
def test_prints_on_a_sensible_number_of_pages(seen: list[Seen], paper: str) -> None:
    for page in seen:
        count = len(re.findall(rb"/Type\s*/Page\b", page.papers[paper]))
        assert 2 <= count <= MOST_SHEETS, page.path.name
        boxes = re.findall(rb"/MediaBox\s*\[[\d.]+ [\d.]+ ([\d.]+) ([\d.]+)", page.papers[paper])
        assert boxes and {round(float(high)) for _, high in boxes} <= {
            PAPER[paper][1] + off for off in (-1, 0, 1)
        }


def test_text_stands_out_from_what_is_behind_it(seen: list[Seen]) -> None:
    """As drawn, charts included; WCAG 2 level AA asks for 4.5 to 1."""
    pairs = {pair for page in seen for pair in page.facts["pairs"]}
    assert pairs
    assert [pair for pair in sorted(pairs) if contrast(*map(rgb, pair.split(" on "))) < 4.5] == []
