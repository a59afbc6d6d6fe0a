"""Pages loop: two servers of two arrays each are all there, and headings tell them apart."""

import re
from pathlib import Path

import pytest

from quotelib.documents import charts
from quotelib.documents.bench import bench_sheets
from quotelib.documents.sections import section
from quotelib.promise.record import QuoteRecord
from tests.documents.builds import page, pages, record
from tests.end_to_end.page_text import Page

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def four() -> QuoteRecord:
    """Give two servers of two arrays each, made of two records by hand."""
    first = record("card, RAID 5, twelve drives")
    second = record("mezzanine, RAID 60, two spans, two spares")
    servers = []
    for name, own in (("web", first), ("", second)):
        ((_, array),) = own.by_array()
        arrays = (
            array.model_copy(update={"name": "data"}),
            array.model_copy(update={"name": ""}),
        )
        (server,) = own.servers
        (sheet,) = server.bench.arrays
        sheets = tuple(sheet.model_copy(update={"name": f"array {n}"}) for n in ("data", "2"))
        bench = server.bench.model_copy(update={"arrays": sheets})
        servers.append(server.model_copy(update={"name": name, "arrays": arrays, "bench": bench}))
    return first.model_copy(update={"servers": tuple(servers)})


NAMES = [
    "server web, array data",
    "server web, array 2",
    "server 2, array data",
    "server 2, array 2",
]


def test_arrays_and_servers_are_named_where_there_are_several(four: QuoteRecord) -> None:
    assert [of for of, _ in four.by_array()] == NAMES
    assert [of for of, _ in four.by_server()] == ["server web", "server 2"]
    assert [of for of, _ in record("passed through").by_array()] == [""]


@pytest.mark.parametrize("name", ["capacity", "protection", "outlook"])
def test_sections_of_arrays_say_which(name: str, four: QuoteRecord) -> None:
    html = section(name, record=four).html
    assert re.findall(r"<h3>(.*?)</h3>", html) == [of.capitalize() for of in NAMES]


@pytest.mark.parametrize("name", ["alternatives", "controllers", "room", "findings"])
def test_sections_of_servers_say_which(name: str, four: QuoteRecord) -> None:
    html = section(name, record=four).html
    assert re.findall(r"<h3>(.*?)</h3>", html) == ["Server web", "Server 2"]


def test_the_bench_has_every_section_for_every_server(four: QuoteRecord) -> None:
    html = bench_sheets(four).html
    assert re.findall(r'<h2 class="named">(.*?)</h2>', html) == ["Server web", "Server 2"]
    sections = ["Pick list", "Steps", "Settings", "Acceptance"]
    told = [words for words in re.findall(r"<h3>(.*?)</h3>", html) if words in sections]
    assert told == sections * 2
    assert html.count("<h3>Bench plan: where everything goes in ") == 2
    # In settings and acceptance of both servers.
    assert html.count("<h4>Array data</h4>") == html.count("<h4>Array 2</h4>") == 4


def test_whole_pages_of_several(four: QuoteRecord) -> None:
    quote, bench = pages(four)
    for html in (quote, bench):
        text = " ".join(" ".join(Page(html).pieces).split())
        for words in ("erver web", "erver 2", "rray data", "rray 2"):
            assert words in text
    for _, array in four.by_array():
        for estimate in array.estimates:
            assert estimate.shown in quote
    for of in NAMES:
        assert quote.count(of) >= 4, of


def test_one_chart_is_itself_and_several_are_named(four: QuoteRecord) -> None:
    one = charts.each(charts.capacity_chart, record("passed through").by_array())
    assert isinstance(one, charts.Drawing)
    several = charts.each(charts.capacity_chart, four.by_array())
    assert several is not None and not isinstance(several, charts.Drawing)
    labels = re.findall(r'aria-label="([^"]*)"', several.html)
    assert len([label for label in labels if label.startswith("Where the")]) == 4
    for of in NAMES:
        assert of in several.html


@pytest.mark.parametrize("level", [1, 2, 3])
def test_headings_move_down_together(level: int, four: QuoteRecord) -> None:
    bench = four.servers[0].bench
    html = section("bench_settings", bench=bench, level=level).html
    assert re.findall(r"<h(\d)>", html) == [str(level), str(level + 1), str(level + 1)]
    bare = section("bench_settings", bench=bench, level=level, heading=False).html
    assert f"<h{level}>" not in bare


def test_nobody_who_renders_knows_a_level_by_name_or_reads_prose() -> None:
    code = list((ROOT / "quotelib" / "documents").rglob("*.py"))
    texts = {path.name: path.read_text("utf-8") for path in code}
    texts |= {
        path.name: path.read_text("utf-8") for path in (ROOT / "templates/sections").glob("*")
    }
    assert len(texts) > 40
    for name, text in texts.items():
        assert '.split("; ")' not in text, name
        assert not re.search(r"""level == ["']|\[0\]\|upper""", text), name


def test_a_page_of_one_says_no_server(four: QuoteRecord) -> None:
    html = page(record("passed through"))
    assert "Server 1" not in html and "rray 1" not in html
