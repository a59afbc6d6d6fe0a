"""Bench sheets printed and read: three pages, nothing clipped, codes read back, no prices."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from quotelib.bench.shown import BenchSheet
from quotelib.documents.quoting import quote
from quotelib.documents.sections import section
from tests.documents.builds import array, record, sheet, sheet_of
from tests.documents.scanning import read
from tests.end_to_end.page_text import Page
from tests.ten_builds import ALL, SIX, TWELVE

PAPER = {"A4": (210, 297), "Letter": (215.9, 279.4)}
SCALE = 3
PLACES = """() => [...document.querySelectorAll('svg.barcode')].map(e => {
  const r = e.getBoundingClientRect();
  return [r.left + scrollX, r.top + scrollY, r.right + scrollX, r.bottom + scrollY];
})"""
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


def squeezed(text: str) -> str:
    """Leave out white space: a PDF keeps where letters stand, not where words end."""
    return re.sub(r"\s+", "", text)


def pages_of(pdf: bytes) -> list[str]:
    """Read the pages of a PDF, squeezed."""
    return [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


@dataclass(frozen=True)
class Seen:
    """A sheet in a browser: by size of paper what is clipped and the pages read, and its codes."""

    clipped: dict[str, list[str]]
    printed: dict[str, list[str]]
    codes: list[str]


Look = Callable[[str], Seen]


@pytest.fixture(scope="module")
def look(browser: Any) -> Look:
    """Open each sheet once; those of `SIX` are printed, and their barcodes read."""
    paper, screen = browser.new_page(), browser.new_page(device_scale_factor=SCALE)
    paper.emulate_media(media="print")

    @cache
    def looked(name: str) -> Seen:
        seen = Seen({}, {}, [])
        paper.set_content(sheet(name))
        for size, (across, _) in PAPER.items():
            width = int((across - 2 * SIDE_MM) / 25.4 * 96)
            paper.set_viewport_size({"width": width, "height": 1000})
            seen.clipped[size] = paper.evaluate(CLIPPED)
            if name in SIX:
                seen.printed[size] = pages_of(paper.pdf(format=size))
        if name in SIX:
            screen.set_content(sheet(name))
            seen.codes.extend(codes_of(screen))
        return seen

    return looked


def codes_of(page: Any) -> list[str]:
    """Read the barcodes of a page as it is shown."""
    boxes = page.evaluate(PLACES)
    left, top = (min(box[i] for box in boxes) for i in (0, 1))
    right, bottom = (max(box[i] for box in boxes) for i in (2, 3))
    clip = {"x": left, "y": top, "width": right - left, "height": bottom - top}
    shown = page.screenshot(full_page=True, clip=clip)
    # One picture of them all, and each cut out of it by itself.
    whole = Image.open(io.BytesIO(shown)).convert("L")
    moves = (left, top, left, top)
    cuts = [[round(SCALE * (at - by)) for at, by in zip(box, moves, strict=True)] for box in boxes]
    return [text for cut in cuts for text, _ in read(whole.crop(tuple(cut)))]


@pytest.mark.browser
@pytest.mark.parametrize("size", PAPER)
@pytest.mark.parametrize("name", SIX)
def test_prints_on_three_pages(name: str, size: str, look: Look) -> None:
    assert 2 <= len(look(name).printed[size]) <= 3
    assert array(record(name)).layout.members <= 12
    assert name in TWELVE


def without_full_caution(bench: BenchSheet, pages: list[str]) -> list[str]:
    """List the steps on whose page a caution of theirs does not stand in full, and but once."""
    full = {c.hazard: squeezed(f"{c.name}. {c.words}") for c in bench.cautions}
    found = []
    for step in bench.steps:
        does = squeezed(f"{step.title}. {step.words}")
        (page,) = [page for page in pages if does in page]
        bare = [c.hazard for c in step.cautions if page.count(full[c.hazard]) != 1]
        found += [f"{step.number} {step.title}: {hazard}" for hazard in bare]
    return found


@pytest.mark.browser
@pytest.mark.parametrize("size", PAPER)
@pytest.mark.parametrize("name", SIX)
def test_cautions_stand_in_full_once_on_every_page_with_their_steps(
    name: str, size: str, look: Look
) -> None:
    pages, bench = look(name).printed[size], record(name).servers[0].bench
    assert without_full_caution(bench, pages) == []


@pytest.mark.browser
def test_steps_on_two_pages_have_their_cautions_on_both(browser: Any) -> None:
    made = record("board, RAID 1, the customer's chassis")
    page = browser.new_page()
    page.set_content(sheet_of(made))
    # So small a paper that the steps need several.
    pages = pages_of(page.pdf(width="210mm", height="200mm"))
    bench = made.servers[0].bench
    lifted, last = (squeezed(s.title) for s in (bench.steps[3], bench.steps[-1]))
    assert [lifted in p for p in pages] != [last in p for p in pages]
    assert without_full_caution(bench, pages) == []
    # The same with cautions that are printed once: the check finds it.
    page.add_style_tag(content=".steps thead { display: table-row-group; }")
    pages = pages_of(page.pdf(width="210mm", height="200mm"))
    page.close()
    assert without_full_caution(bench, pages) != []


@pytest.mark.browser
@pytest.mark.parametrize("size", PAPER)
def test_the_longest_sheet_of_twelve_drives_prints_on_three_pages(size: str, browser: Any) -> None:
    cells = SIX["adapters, RAID 50, the customer's twelve drives, three builds"]
    made = quote(
        {"enquiry_id": "T", "customer": "Invented", **cells, "services": "SVC-ERASE-CERT"},
        date="2026-11-25",
    )
    assert made.servers[0].bench.returned is not None
    page = browser.new_page()
    page.set_content(sheet_of(made))
    pages = pages_of(page.pdf(format=size))
    page.close()
    assert len(pages) == 3
    assert any("Drivesthatcomeback" in text for text in pages)


@pytest.mark.browser
@pytest.mark.parametrize("size", PAPER)
@pytest.mark.parametrize("name", ALL)
def test_nothing_is_clipped_on_paper(name: str, size: str, look: Look) -> None:
    assert look(name).clipped[size] == []


@pytest.mark.browser
@pytest.mark.parametrize("name", SIX)
def test_barcodes_are_read_back_as_shown(name: str, look: Look) -> None:
    assert look(name).codes == [line.sku for line in record(name).servers[0].bench.pick]


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
    bench = made.servers[0].bench
    for words in (
        bench.rule,
        *bench.data_first,
        *(c.words for c in bench.cautions),
        *(s.words for s in bench.steps),
        *(c.words for s in bench.steps for c in s.cautions),
        *(f.value for one in bench.arrays for f in one.settings),
        *(c.must for one in bench.arrays for c in one.checks),
        *(c.must for c in bench.checks),
        *(f"{f.label} {f.value}" for f in bench.plan),
        *(f"Bay {b.bay} {b.words}" for b in bench.bays),
        bench.time_words,
        *bench.sign_off,
        made.quote_number,
        made.customer,
    ):
        assert " ".join(words.split()) in text
    assert not made.internal.note or made.internal.note not in text
    for amount in {*made.internal.unit_costs.values(), *(x.amount for x in made.servers[0].lines)}:
        # A size may happen to have the same digits: 24.00 TB.
        assert not amount or not re.search(rf"(?<![\d.,]){amount:,f}(?! Ti?B)", text)
    assert not re.search(r"\b(margin|price|unit cost|GBP|EUR)\b", text, re.IGNORECASE)


@pytest.mark.parametrize("name", ALL)
def test_cautions_come_before_the_first_step_and_before_their_step(name: str) -> None:
    html = sheet(name)
    assert html.index('<ul class="cautions">') < html.index('<th scope="row">1</th>')
    if record(name).servers[0].bench.data_first:
        assert (
            html.index('class="first"')
            < html.index('class="rule"')
            < html.index('class="cautions"')
        )
    for step in record(name).servers[0].bench.steps:
        row = re.search(rf'<th scope="row">{step.number}</th>(.*?)</tr>', html, re.DOTALL)
        assert row is not None
        if step.cautions:
            title = f"{step.title.replace(chr(39), '&#39;')}."
            assert row[1].index("Caution:") < row[1].index(title)


def test_the_plan_says_what_is_where_and_what_stays_free() -> None:
    html = sheet("mezzanine, RAID 60, two spans, two spares")
    plan = html[html.index("<h2>Bench plan") : html.index("<h2>Pick list")]
    text = " ".join(" ".join(Page(plan).pieces).split())
    for words in ("CHS-4U-24L", "Mezzanine socket 1 CTL-RB2-12G-MZ", "Slot 4 stays free"):
        assert words in text
    listed = re.findall(r'<li class="(\w+)"><b>Bay (\d+)</b> ([^<]*?) ?<', plan)
    assert [int(bay) for _, bay, _ in listed] == list(range(1, 25))
    said = {int(bay): (use, words) for use, bay, words in listed}
    assert said[1] == ("member", "member, span 1")
    assert said[7] == ("member", "member, span 2")
    assert said[13] == said[22] == ("empty", "empty")
    assert said[23] == said[24] == ("spare", "hot spare")


def test_a_blank_for_every_serial_number_and_measure() -> None:
    made = record("card, RAID 5, twelve drives")
    html, bench = sheet("card, RAID 5, twelve drives"), made.servers[0].bench
    assert len(re.findall(r"<b>Bay \d+</b> member <span class=\"fill\">", html)) == 12
    acceptance = html[html.index("<h2>Acceptance") : html.index("<h2>Sign-off")]
    assert acceptance.count('class="fill"') == sum(
        len(one.checks) for one in (*bench.arrays, bench)
    )


def picking(sku: str) -> str:
    """Render a pick list of one part with another sku."""
    made = record("board, no array")
    (server,) = made.servers
    line = server.bench.pick[0].model_copy(update={"sku": sku})
    bench = server.bench.model_copy(update={"pick": (line,)})
    return section("bench_pick", bench=bench).html


def test_a_sku_without_barcode_is_said_and_harmless() -> None:
    html = picking("Ü<script>")
    assert "Code 128 does not hold" in html
    assert "<script>" not in html


def test_a_long_sku_gets_a_row_of_its_own() -> None:
    assert '<td colspan="6"><svg' in picking("LONG-" * 12)
