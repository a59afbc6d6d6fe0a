"""Bench sheets as they are printed and read: three pages, nothing clipped, no prices."""

from __future__ import annotations

import re
from typing import Any

import pytest

from quotelib.documents.bench_sheet import pick_list
from tests.end_to_end.page_text import Page

from .builds import ALL, SIX, TWELVE, record, sheet

PAPER = {"A4": (210, 297), "Letter": (215.9, 279.4)}
SIDE_MM = 12  # margins left and right, as the style sheet sets them
# Everything that reaches beyond the page or out of the box it is in.
CLIPPED = """() => {
  const wide = document.documentElement.clientWidth, found = [];
  for (const e of document.querySelectorAll('main *')) {
    const r = e.getBoundingClientRect();
    if (e.closest('.unseen') || !r.width) continue;
    const name = e.tagName + ' ' + (e.textContent || '').trim().slice(0, 40);
    if (r.right > wide + 0.5 || r.left < -0.5) found.push('beyond the page: ' + name);
    if (!e.closest('svg') && e.clientWidth && e.scrollWidth > e.clientWidth + 1)
      found.push('cut off: ' + name);
  }
  for (const s of document.querySelectorAll('svg[viewBox]')) {
    const [x, y, w, h] = s.getAttribute('viewBox').split(' ').map(Number);
    for (const t of s.querySelectorAll('text, line, path')) {
      const b = t.getBBox();
      if (b.x < x || b.y < y || b.x + b.width > x + w || b.y + b.height > y + h)
        found.push('out of the drawing: ' + t.textContent);
    }
  }
  const cells = [...document.querySelectorAll('td, th')];
  for (const c of cells) for (const i of c.querySelectorAll('*')) {
    const a = i.getBoundingClientRect(), b = c.getBoundingClientRect();
    if (a.width && !i.closest('.unseen') && (a.right > b.right + 1 || a.left < b.left - 1))
      found.push('over the edge of its cell: ' + c.textContent.trim().slice(0, 40));
  }
  return found;
}"""


def pages_of(pdf: bytes) -> int:
    """Count the pages of a PDF that Chromium wrote."""
    (count,) = re.findall(rb"/Type /Pages\s*/Count (\d+)|/Count (\d+)\s*/Kids", pdf)[:1] or [()]
    counted = len(re.findall(rb"/Type /Page\b(?!s)", pdf))
    assert any(int(c) == counted for c in count if c), "page tree and pages disagree"
    return counted


@pytest.mark.browser
@pytest.mark.parametrize("size", PAPER)
@pytest.mark.parametrize("name", SIX)
def test_prints_on_three_pages(name: str, size: str, browser: Any) -> None:
    page = browser.new_page()
    page.set_content(sheet(name))
    pages = pages_of(page.pdf(format=size))
    page.close()
    assert 2 <= pages <= 3
    assert record(name).layout.members <= 12
    assert name in TWELVE


@pytest.mark.browser
@pytest.mark.parametrize("size", PAPER)
@pytest.mark.parametrize("name", ALL)
def test_nothing_is_clipped_on_paper(name: str, size: str, browser: Any) -> None:
    width = int((PAPER[size][0] - 2 * SIDE_MM) / 25.4 * 96)
    page = browser.new_page(viewport={"width": width, "height": 1000})
    page.emulate_media(media="print")
    page.set_content(sheet(name))
    found = page.evaluate(CLIPPED)
    page.close()
    assert found == []


@pytest.mark.browser
def test_the_check_of_clipping_can_fail(browser: Any) -> None:
    page = browser.new_page(viewport={"width": 700, "height": 1000})
    broken = sheet(next(iter(SIX))).replace('class="fill"', 'style="padding-left:900px"')
    page.set_content(broken)
    found = page.evaluate(CLIPPED)
    page.close()
    assert any(line.startswith("beyond the page") for line in found)


@pytest.mark.parametrize("name", ALL)
def test_says_everything_and_no_price(name: str) -> None:
    made, page = record(name), Page(sheet(name))
    text = " ".join(" ".join(page.pieces).split())
    bench = made.bench
    for words in (
        bench.rule,
        *bench.data_first,
        *(c.words for c in bench.cautions),
        *(s.words for s in bench.steps),
        *(c.words for s in bench.steps for c in s.cautions),
        *(f.value for f in bench.settings),
        *(c.must for c in bench.checks),
        *bench.sign_off,
        made.quote_number,
        made.customer,
    ):
        assert " ".join(words.split()) in text
    assert not made.note or made.note not in text
    for amount in {*made.internal.unit_costs.values(), *(x.amount for x in made.lines)}:
        # A size may happen to have the same digits: 24.00 TB.
        assert not amount or not re.search(rf"(?<![\d.,]){amount:,f}(?! Ti?B)", text)
    assert not re.search(r"\b(margin|price|unit cost|GBP|EUR)\b", text, re.IGNORECASE)


@pytest.mark.parametrize("name", ALL)
def test_cautions_come_before_the_first_step_and_before_their_step(name: str) -> None:
    html = sheet(name)
    assert html.index('<ul class="cautions">') < html.index('<table class="steps">')
    if record(name).bench.data_first:
        assert html.index('class="first"') < html.index('<ul class="cautions">')
    for step in record(name).bench.steps:
        row = re.search(rf'<th scope="row">{step.number}</th>(.*?)</tr>', html, re.DOTALL)
        assert row is not None
        if step.cautions:
            assert row[1].index("Caution:") < row[1].index(
                f"{step.title.replace(chr(39), '&#39;')}."
            )


def test_the_plan_is_named_and_described() -> None:
    html = sheet("mezzanine, RAID 60, two spans, two spares")
    assert '<title id="plan-title">Bench plan of CHS-4U-24L</title>' in html
    (told,) = re.findall(r'<desc id="plan-desc">(.*?)</desc>', html)
    for words in ("Mezzanine socket 1: CTL-RB2-12G-MZ", "Bays 1 to 6: member, span 1"):
        assert words in told
    for words in ("Bays 13 to 22: empty", "Bays 23 to 24: hot spare", "Slot 4: stays free"):
        assert words in told


def test_a_blank_for_every_serial_number_and_measure() -> None:
    made = record("card, RAID 5, twelve drives")
    html = sheet("card, RAID 5, twelve drives")
    assert len(re.findall(r"<li>Bay \d+ <span class=\"fill\">", html)) == 12
    acceptance = html[html.index("<h2>Acceptance") : html.index("<h2>Sign-off")]
    assert acceptance.count('class="fill"') == len(made.bench.checks)


def test_a_sku_without_barcode_is_said_and_harmless() -> None:
    made = record("board, no array")
    line = made.bench.pick[0].model_copy(update={"sku": "Ü<script>"})
    bench = made.bench.model_copy(update={"pick": (line,)})
    html = pick_list(made.model_copy(update={"bench": bench})).html
    assert "Code 128 does not hold" in html
    assert "<script>" not in html


def test_a_long_sku_gets_a_row_of_its_own() -> None:
    made = record("board, no array")
    line = made.bench.pick[0].model_copy(update={"sku": "LONG-" * 12})
    bench = made.bench.model_copy(update={"pick": (line,)})
    html = pick_list(made.model_copy(update={"bench": bench})).html
    assert '<td colspan="6"><svg' in html
