"""Chosen services on the offer, on the bench sheet and in the summary."""

import datetime as dt
import re

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.offer import offer_sections
from quotelib.documents.sections import section
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from tests.asking import order
from tests.documents.builds import offer, page, sheet_of
from tests.services import PINS, prices, tables
from tests.small_list import change, price_list
from tests.ten_builds import SIX

DATE = dt.date(2026, 3, 2)
PINNED = SIX["passed through"]


def record(offered: PriceList, **cells: str) -> QuoteRecord:
    made = answer(offered, order(offered, **cells), DATE, alternatives=False).record
    assert made is not None
    return made


def text(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_a_whole_offer_says_in_words_what_was_chosen(starter: PriceList) -> None:
    made = record(starter, **PINNED, builds="5", services="SVC-ONSITE-3Y;SVC-MIGRATE*2")
    said = text(page(made))
    offered = text(offer(made))
    onsite = "On-site service for three years: a technician by the end of the next working day"
    moved = "Migration of data from the old storage, up to one working day at your site"
    assert f"Service SVC-ONSITE-3Y {onsite}; for each server " in said
    assert f"Service 2 × SVC-MIGRATE 2 × {moved}; for the quote as a whole " in said
    assert f"{onsite} SVC-ONSITE-3Y 5 240.00 1,200.00" in offered
    assert f"{moved} SVC-MIGRATE 2 460.00 920.00" in offered.split("Once for this offer")[1]
    assert "Volume discount of 2.5 % for 5 servers (not on what is charged" in offered
    assert "for each server, apart from what is charged once or agreed besides)" in offered
    assert QuoteRecord.model_validate_json(made.to_json()) == made


def test_an_offer_without_them_says_nothing_of_them(starter: PriceList) -> None:
    made = record(starter, **PINNED, builds="5")
    said = text(offer_sections(made)("costs").html)
    assert "Volume discount of 2.5 % for 5 servers −" in said
    assert "once" not in said.lower()


def test_a_line_that_costs_nothing_is_still_shown() -> None:
    made = record(price_list(change(tables(), "PAPER", unit_price=0)), **PINS)
    assert made.totals.once_total == 0
    said = text(offer_sections(made)("costs").html)
    assert "Paper PAPER 1 0.00 0.00" in said.split("Once for this offer")[1]


def test_bench_minutes_count_what_is_done_once_once() -> None:
    made = record(prices(), **PINS, builds="3", services="TUNE*2;MOVE;VISIT")
    bench = made.servers[0].bench
    # 50 + 4 x 2 + 35 + 15 x 2 for each; 90 + 4 once. A visit takes the bench no time.
    assert (bench.minutes, bench.minutes_all) == (123, 463)
    assert made.bench_minutes == 463
    assert [s.sku for s in bench.services] == [
        "ASSEMBLE",
        "FIT-DRIVE",
        "ARRAY",
        "TUNE",
        "MOVE",
        "PAPER",
    ]
    said = text(section("bench_time", bench=bench).html)
    assert "MOVE Moving (once for the quote) 1 90 90" in said
    assert "Minutes for one build (463 for all 3) 123" in said
    alone = record(prices(), **PINS)
    said = text(section("bench_time", bench=alone.servers[0].bench).html)
    assert "Minutes for one build (97 with what is done once) 93" in said


@pytest.mark.parametrize("owned", ["", "drive"])
def test_a_certificate_of_erasure_adds_no_step_and_says_how_drives_are_erased(
    owned: str, starter: PriceList
) -> None:
    """The paper is about drives left with us: no step and no minute more, but how they are erased.

    What a service does is in its description, which nothing reads: one that is done drive by drive,
    and only on request, is what brings the section.
    """
    cells = {"drive": "DRV-HDD-16T-SAS-4K", "members": "4", "level": "6", "owned": owned}
    plain = record(starter, **cells, services="SVC-MIGRATE;SVC-ONSITE-1Y")
    certified = record(starter, **cells, services="SVC-ERASE-CERT;SVC-MIGRATE;SVC-ONSITE-1Y")
    ours, theirs = plain.servers[0].bench, certified.servers[0].bench
    assert ours.returned is None and theirs.returned is not None
    assert theirs.model_copy(update={"returned": None}) == ours
    assert certified.cautions == plain.cautions
    assert "800-88" not in sheet_of(plain)
    assert "800-88" in sheet_of(certified)
    line = next(x for x in certified.servers[0].lines if x.sku == "SVC-ERASE-CERT")
    assert line.quantity == 4
