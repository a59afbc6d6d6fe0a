"""What does each demand cost: by hand, and against trying everything without it."""

import datetime as dt
from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.savings import find_cheaper
from quotelib.choose.server import choose_server
from quotelib.documents.sections import section
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.compared import Saving
from quotelib.promise.record import QuoteRecord
from tests.choose.trying import Cells, every, meeting, named, net, random_list, random_rows, read

DATE = dt.date(2026, 11, 25)
FIRST = {"enquiry_id": "E-1", "customer": "Somebody"}
NOT_DEMANDS = {"enquiry_id", "customer", "array", "builds"}


def quoted(prices: PriceList, *rows: Cells) -> QuoteRecord:
    record = answer(prices, read_request([{**FIRST, **row} for row in rows], prices), DATE).record
    assert record is not None
    return record


def saved(prices: PriceList, *rows: Cells) -> tuple[Saving, ...]:
    (server,) = quoted(prices, *rows).servers
    return server.savings


def test_by_hand(small: PriceList) -> None:
    # The quote, RAID 5 over four disks: 500 + 400 + 80 + 40 + 4 x (100 + 12 + 5) + 55 + 24 + 41
    # = 1608, freight 16.50 + 1.15 x 13.7 = 32.26. Of any size, a mirror on the board: 859.84.
    # Without "survive" nothing is saved: no redundancy is advised against.
    (one,) = saved(small, {"usable_tb": "11", "survive": "1", "chassis": "BOX-4"})
    assert (one.column, one.wish, one.saves) == (
        "usable_tb",
        "at least 11 TB usable",
        Decimal("780.42"),
    )
    assert one.gives == "4.00 TB (3.63 TiB)"
    assert one.words == "RAID 1 over 2 drives, DISK-4T in BOX-4 on BOARD"
    assert one.open_advice == ()


def test_it_counts_all_builds_and_their_discount(small: PriceList) -> None:
    # Six, 2.5 % less: 6 x 748 of lines less 112.20, and 6 x 1.15 x 2.1 kg less carried: 14.49.
    cells = {"usable_tb": "11", "chassis": "BOX-4", "builds": "6"}
    freight = 6 * (Decimal("16.50") + Decimal("1.15") * Decimal("13.7"))
    lower = 6 * (Decimal("16.50") + Decimal("1.15") * Decimal("11.6"))
    assert (freight, lower) == (Decimal("193.530"), Decimal("179.040"))
    lines = Decimal(6 * (1608 - 830))
    (one,) = saved(small, cells)
    assert one.saves == lines * Decimal("0.975") + freight - lower


def test_what_we_advise_against_is_said(small: PriceList) -> None:
    cells = {"usable_tb": "11", "level": "0", "chassis": "BOX-4"}
    (one,) = saved(small, cells)
    assert one.open_advice == ("no_redundancy",)
    (accepted,) = saved(small, {**cells, "accept": "no_redundancy"})
    assert accepted.open_advice == ()
    assert accepted.saves == one.saves > 0


def test_what_the_workload_itself_demands_is_no_wish(small: PriceList) -> None:
    wishes = saved(small, {"usable_tb": "11", "workload": "files", "host_iops": "1"})
    assert [one.column for one in wishes] == ["usable_tb"]


def test_the_offer_is_that_much_lower_without_it(small: PriceList) -> None:
    # Two servers on one quote: what is saved is saved of the whole.
    rows = (
        {"server": "A", "usable_tb": "11", "chassis": "BOX-4", "builds": "3"},
        {"server": "B", "usable_tb": "1.5", "media": "ssd", "builds": "2"},
        {"server": "B", "parts": "CABLE"},
    )
    record = quoted(small, *rows)
    first, second = record.servers
    assert first.savings and second.savings
    for place, column, less in ((0, "usable_tb", "0"), (1, "media", "")):
        cheaper = [dict(row) for row in rows]
        cheaper[place][column] = less
        (one,) = (s for s in record.servers[place].savings if s.column == column)
        assert record.totals.net - one.saves == quoted(small, *cheaper).totals.net


@pytest.mark.parametrize(
    ("arrays", "seeds", "bays", "controllers"),
    [(1, range(12), 8, "BOARD CARD MEZZ"), (2, range(10), 4, "BOARD CARD")],
    ids=["one", "two"],
)
def test_against_trying_everything(arrays: int, seeds: range, bays: int, controllers: str) -> None:
    costs, free, refused = 0, 0, 0
    for seed in seeds:
        prices, rows = random_list(seed, bays, controllers), random_rows(seed, arrays)
        request, asked = read(prices, rows)
        tried = every(prices, asked)
        best = choose_server(prices, asked).best
        left = meeting(prices, asked, tried)
        assert (best is None) == (not left), rows
        if best is None:
            refused += 1
            continue
        assert named(best.build) == left[0].name
        expected = {}
        for place, row in enumerate(rows):
            for column in row.keys() - NOT_DEMANDS:
                # An array of any size still has to be asked for.
                fewer = [dict(one) for one in rows]
                fewer[place][column] = "0" if column == "usable_tb" else ""
                other = meeting(prices, read(prices, fewer)[1], tried)[0]
                if net(other) < net(left[0]):
                    costs += 1
                    of = rows[place].get("array", "")
                    of = "" if column in {"free_slots", "max_watts", "max_lead_days"} else of
                    expected[column, of] = (net(left[0]) - net(other), other.name)
                else:
                    free += 1
        found = {
            (one.demand.column, one.array.array if one.array else ""): one.candidate
            for one in find_cheaper(prices, asked, best)
        }
        assert best.net is not None
        assert {
            key: (best.net - (one.net or 0), named(one.build)) for key, one in found.items()
        } == expected, rows
        record = answer(prices, request, DATE).record
        assert record is not None
        (server,) = record.servers
        assert [s.saves for s in server.savings] == sorted(
            (amount for amount, _ in expected.values()), reverse=True
        )
    assert costs > 3 and free > 3 and refused < len(seeds) / 2


# The page


def test_the_page_says_it(small: PriceList) -> None:
    record = quoted(small, {"usable_tb": "11", "survive": "1", "chassis": "BOX-4"})
    html = section("savings", record=record).html
    assert "<h2>What each wish costs</h2>" in html
    for words in ("at least 11 TB usable", "4.00 TB (3.63 TiB)", ">780.42<", "do not add up"):
        assert words in html
    assert "advise against" not in html
    cells = {"usable_tb": "11", "level": "0", "chassis": "BOX-4"}
    assert "we advise against it: no redundancy" in section(
        "savings", record=quoted(small, cells)
    ).html  # fmt: skip


def test_where_nothing_is_saved_the_page_says_so(small: PriceList) -> None:
    record = quoted(small, {"usable_tb": "1", "survive": "1"})
    assert record.servers[0].savings == ()
    html = section("savings", record=record).html
    assert html.count("nothing cheaper") == 2 and "151 builds" in html


def test_a_record_that_does_not_know_what_was_ruled_out_says_nothing(small: PriceList) -> None:
    record = quoted(small, {"usable_tb": "1", "survive": "1"})
    server = record.servers[0].model_copy(update={"considered": None})
    before = record.model_copy(update={"servers": (server,)})
    assert not section("savings", record=before).html.strip()


def test_the_fast_answer_does_not_look(small: PriceList) -> None:
    request = read_request([{**FIRST, "usable_tb": "11", "chassis": "BOX-4"}], small)
    record = answer(small, request, DATE, alternatives=False).record
    assert record is not None and record.servers[0].savings == ()


def test_a_refusal_stays_one(small: PriceList) -> None:
    request = read_request([{**FIRST, "usable_tb": "1000"}], small)
    for alternatives in (True, False):
        refused = answer(small, request, DATE, alternatives=alternatives)
        assert (refused.outcome, refused.record) == ("refused", None)
        assert [reason.code for reason in refused.reasons] == ["usable_tb"]
