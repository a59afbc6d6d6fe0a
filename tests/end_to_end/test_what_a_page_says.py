"""What a quote page says, and what it must never say."""

import re
from collections.abc import Iterator
from decimal import ROUND_DOWN, Decimal
from typing import Any

import pytest

from quotelib.units import TB, TIB

from .page_text import Page, in_english, numbers_of
from .running import Batch

Record = dict[str, Any]


Pages = list[tuple[Record, Page]]


@pytest.fixture(scope="module")
def offers(demo: Batch) -> Pages:
    """Give each record with its offer."""
    records = demo.records()
    assert len(records) == len(demo.offers()) > 0
    return [(records[path.stem], Page.read(path)) for path in demo.offers()]


@pytest.fixture(scope="module")
def annexes(demo: Batch) -> Pages:
    """Give each record with its annex."""
    records = demo.records()
    assert len(records) == len(demo.annexes())
    named = [(path.stem.removesuffix("-annex"), path) for path in demo.annexes()]
    return [(records[name], Page.read(path)) for name, path in named]


@pytest.fixture(scope="module")
def pages(offers: Pages, annexes: Pages) -> Pages:
    """Give both pages of each record."""
    return offers + annexes


def down(size: int, unit: int) -> str:
    """Write a size as the customer's system shows it at least: never rounded up."""
    return f"{(Decimal(size) / unit).quantize(Decimal('0.01'), ROUND_DOWN):,f}"


def offered_figures(record: Record) -> Iterator[str]:
    """List every figure of the offer, as it must be written in English."""
    totals = record["totals"]
    for name in ("lines_total", "freight", "net", "tax", "gross"):
        yield f"{Decimal(totals[name]):,f}"
    if Decimal(totals["discount"]):
        yield f"{Decimal(totals['discount']):,f}"
    for server in record["servers"]:
        for array in server["arrays"]:
            usable = array["capacity"]["usable_bytes"]
            yield from (down(usable, TB), down(usable, TIB))
        for line in server["lines"]:
            yield from (str(line["quantity"]), f"{Decimal(line['unit_price']):,f}")
            yield f"{Decimal(line['amount']):,f}"


def annexed_figures(record: Record) -> Iterator[str]:
    """List every figure that the customer's engineer needs, as it must be written."""
    for server in record["servers"]:
        for array in server["arrays"]:
            usable = array["capacity"]["usable_bytes"]
            yield from (down(usable, TB), down(usable, TIB), f"{usable:,}")
        for other in server["alternatives"]:
            yield from (f"{Decimal(other['net']):,f}", down(other["usable_bytes"], TB))


def offered_words(record: Record) -> Iterator[str]:
    """List the words that must be in the offer."""
    yield from (record["quote_number"], record["customer"], record["currency"])
    seller, terms, buyer = record["seller"], record["offer_terms"], record["buyer"] or {}
    yield from (seller[n] for n in ("name", "address", "contact", "tax_id", "company_number"))
    yield from (seller["bank"], terms["payment"], terms["delivery"], terms["warranty"])
    yield from terms["exclusions"] + terms["conditions"]
    yield from (buyer[n] for n in ("address", "contact", "tax_id") if buyer.get(n))
    for server in record["servers"]:
        yield from (line["sku"] for line in server["lines"])
        yield from (part["description"] for part in server["parts"])


def annexed_words(record: Record) -> Iterator[str]:
    """List the words that must be in the annex."""
    yield from (record["quote_number"], record["customer"], record["seller"]["name"])
    yield from record["cautions"] + record["terms"]
    for server in record["servers"]:
        for part in server["parts"]:
            yield from (part["sku"], part["description"])
        for finding in server["findings"]:
            yield from (finding["what"], finding["change"])


def test_every_figure_a_customer_needs_is_there(offers: Pages, annexes: Pages) -> None:
    languages = set()
    for record, page in offers:
        there = numbers_of(in_english(page.raw, record["language"]))
        assert [f for f in offered_figures(record) if f not in there] == [], record["enquiry_id"]
        languages.add(record["language"])
    assert languages == {"en", "de", "fr"}
    for record, page in annexes:
        missing = [f for f in annexed_figures(record) if f not in page.numbers]
        assert missing == [], record["enquiry_id"]


def test_every_word_a_customer_needs_is_there(offers: Pages, annexes: Pages) -> None:
    for pages, words in ((offers, offered_words), (annexes, annexed_words)):
        for record, page in pages:
            missing = [said for said in words(record) if said not in page.text]
            assert missing == [], record["enquiry_id"]


def test_a_held_quote_says_that_it_is_a_draft(offers: Pages, annexes: Pages) -> None:
    for pages, what in ((offers, "offer"), (annexes, "annex")):
        outcomes = set()
        for record, page in pages:
            held = record["outcome"] == "held"
            assert bool(page.within("draft")) == held, record["enquiry_id"]
            outcomes.add(held)
            if record["language"] == "en" or what == "annex":
                assert ("Draft, not yet an offer" in page.text) == held
                start = f"Draft {what}" if held else what.capitalize()
                assert page.within("title").startswith(start)
        assert outcomes == {True, False}


def test_invented_data_says_so(offers: Pages) -> None:
    for record, page in offers:
        assert "invented demo data" in page.text, record["enquiry_id"]


SECRET_WORDS = ("margin", "unit cost", "internal", "mark-up", "markup", "our cost", "cost price")


def internal_numbers(record: Record) -> set[str]:
    """List the seller's own figures, but for those that the customer rightly sees elsewhere."""
    internal = record["internal"]
    own = [internal["cost"], internal["margin_pct"], *internal["unit_costs"].values()]
    public = {name: value for name, value in record.items() if name != "internal"}
    known = {Decimal(n) for n in re.findall(r"\d+(?:\.\d+)?", str(public))}
    # Sizes are kept in bytes and shown in TB and TiB: 3.60 TB may look like a cost of 3.60.
    sizes = [int(number) for number in known if number >= 10**7]
    known |= {Decimal(f"{size / unit:.2f}") for size in sizes for unit in (TB, TIB)}
    return {number for number in own if number and Decimal(number) not in known}


def leaks(record: Record, page: Page) -> list[str]:
    """Find what the seller keeps to itself in what a page says."""
    text = page.text.casefold()
    words = [word for word in SECRET_WORDS if word in text]
    there = page.numbers | numbers_of(in_english(page.raw, record["language"]))
    return words + sorted(internal_numbers(record) & there)


def test_what_is_for_the_seller_only_stays_there(pages: Pages) -> None:
    looked_for = 0
    for record, page in pages:
        assert leaks(record, page) == [], record["enquiry_id"]
        looked_for += len(internal_numbers(record))
    assert looked_for > 5 * len(pages)


@pytest.mark.parametrize(
    "planted",
    [
        "<p>{cost}</p>",
        "<td>{cost:,f}</td>",
        '<figure aria-label="{cost}"></figure>',
        "<p>at a Margin of</p>",
        "<text>{unit}</text>",
    ],
)
def test_the_look_for_leaks_finds_one(demo: Batch, planted: str) -> None:
    path = next(path for path in demo.offers() if path.stem == "BSW-1006")
    record = demo.records()[path.stem]
    internal = record["internal"]
    unit = internal["unit_costs"]["DRV-HDD-16T-SAS-4K"]
    added = planted.format(cost=Decimal(internal["cost"]), unit=unit)
    source = path.read_text("utf-8").replace("</main>", f"{added}</main>")
    assert len(leaks(record, Page(source))) == 1


def test_pages_hold_nothing_that_could_act_or_fetch(pages: Pages) -> None:
    for record, page in pages:
        assert not {"script", "iframe", "object", "embed", "form", "a", "img"} & set(page.tags)
        acting = [name for _, name, _ in page.attributes if name.startswith("on")]
        assert acting == [], record["enquiry_id"]
        outside = [
            (tag, name, value)
            for tag, name, value in page.attributes
            if re.search(r"(?:https?:)?//|javascript:|file:", value)
            and not (tag == "svg" and name.startswith("xmlns"))
        ]
        assert outside == [], record["enquiry_id"]
        assert "url(" not in page.within("style") and "@import" not in page.within("style")


def test_pages_are_light(demo: Batch) -> None:
    sizes = {path.name: path.stat().st_size for path in demo.offers() + demo.annexes()}
    assert [name for name, size in sizes.items() if size > 200_000] == []
