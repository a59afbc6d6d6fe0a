"""The date of a quote: in record, offer, summary and bench sheet, and where it cannot be kept."""

import datetime as dt
from typing import Any

import pytest

from quotelib.bench.sheet import bench_sheet
from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.server import choose_server
from quotelib.documents.batch.summary import record_rows
from quotelib.documents.sections import section
from quotelib.enquiry.reading import read_request
from quotelib.errors import InputError
from quotelib.promise.answer import Answer, answer
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shipping import Shipping
from tests.ready.test_working_days import DAY, walked
from tests.small_list import TERMS, change, copy, only, price_list

MONDAY = dt.date(2026, 11, 30)
BENCH = "\n[bench]\nminutes_per_day = 100\nholidays = [2026-12-07]\n"
WANTED = {"usable_tb": "4", "survive": "1"}


def prices(terms: str = TERMS + BENCH, **changed: dict[str, object]) -> PriceList:
    tables = copy()
    for sku, cells in changed.items():
        change(tables, sku.replace("_", "-"), **cells)
    return price_list(tables, terms)


def asked(of: PriceList, *rows: dict[str, str], on: dt.date = MONDAY) -> Answer:
    first = {"enquiry_id": "E", "customer": "Somebody", **rows[0]}
    request = read_request([first, *({"enquiry_id": "E", **row} for row in rows[1:])], of, date=on)
    return answer(of, request, on, alternatives=False)


def made(of: PriceList, *rows: dict[str, str], on: dt.date = MONDAY) -> QuoteRecord:
    record = asked(of, *rows, on=on).record
    assert record is not None
    return record


def shipped(record: QuoteRecord) -> Shipping:
    assert record.shipping is not None
    return record.shipping


def test_the_date_is_parts_and_bench_and_what_runs_by_itself() -> None:
    slow = prices(DISK_4T={"stock": 0, "lead_days": 9})
    record = made(slow, WANTED | {"drive": "DISK-4T", "builds": "3"})
    found, (server,) = shipped(record), record.servers
    assert server.lead_days == found.lead_days == 9
    holidays = slow.terms.bench.holidays
    day = walked(MONDAY + 9 * DAY, holidays, 0)
    assert found.parts_on == day
    day = walked(day, holidays, -(-int(server.bench.minutes_all) // 100))
    assert found.bench_until == day
    whole = int(-(-server.bench.unattended_high_hours // 24))
    assert record.ship_date == found.date == walked(day + whole * DAY, holidays, 0)
    (item,) = found.items
    assert (item.waits_for, item.number) == (("DISK-4T",), 3)
    assert sum(one.number for one in item.deliveries) == 3
    assert item.leaves == record.ship_date
    assert record_rows(record)[0]["ship_date"] == record.ship_date.isoformat()
    words = " ".join(record.terms)
    leaves = f"{record.ship_date.day} {record.ship_date:%B %Y}"
    assert f"Ordered on 30 November 2026, it leaves us on {leaves}, in one delivery" in words
    assert "Parts that are not in stock take 9 days to reach us." in words
    assert server.bench.leaves.startswith(f"{leaves}; in several deliveries 2 on ")
    assert (
        f"<dt>Must leave</dt><dd>{server.bench.leaves}"
        in section("bench_head", level=1, record=record).html
    )


def test_servers_share_what_is_in_stock() -> None:
    few = prices(DISK_4T={"stock": 6, "lead_days": 20})
    each = WANTED | {"drive": "DISK-4T", "members": "4", "level": "5", "chassis": "BOX-12"}
    alone = made(few, each)
    assert (shipped(alone).lead_days, alone.servers[0].lead_days) == (0, 0)
    record = made(few, each | {"server": "a"}, each | {"server": "b"})
    # Each has what it takes in stock, the two of them have not.
    assert [server.lead_days for server in record.servers] == [0, 0]
    assert [item.lead_days for item in shipped(record).items] == [0, 20]
    first, second = (item.leaves for item in shipped(record).items)
    assert first and second and record.ship_date
    assert first < MONDAY + 20 * DAY < second <= record.ship_date
    assert "server a on" in " ".join(record.terms)
    with_loose = made(few, each, {"parts": "DISK-4T*3"})
    assert [(i.kind, i.lead_days) for i in shipped(with_loose).items] == [
        ("server", 0), ("parts", 20),
    ]  # fmt: skip


def test_loose_parts_leave_when_they_are_all_here() -> None:
    record = made(prices(TERMS), {"parts": "DISK-4T*2;CABLE"}, on=dt.date(2026, 11, 28))
    assert record.ship_date == MONDAY  # the 28th is a Saturday; no bench is needed
    assert record.servers == () and record.bench_minutes == 0


def test_without_minutes_in_a_day_no_date_and_the_offer_says_why() -> None:
    record = made(prices(TERMS), WANTED)
    assert record.outcome == "quoted" and record.ship_date is None
    why = "our price list does not say how much our bench does in a day"
    assert f"We promise no shipping date yet: {why}." in record.terms
    assert record_rows(record)[0]["ship_date"] == ""
    held = asked(prices(TERMS), WANTED | {"ship_by": "2027-03-01"})
    assert held.outcome == "held"
    assert [reason.code for reason in held.reasons] == ["ship_by"]
    assert why in held.reason


def test_nothing_that_is_sent_has_no_shipping() -> None:
    line = {"line": "Survey", "line_price": "200"}
    record = made(prices(), line)
    assert (record.ship_date, record.shipping) == (None, None)
    held = asked(prices(), line | {"ship_by": "2027-03-01"})
    assert [reason.code for reason in held.reasons if reason.code == "ship_by"] == ["ship_by"]


def test_data_that_may_have_to_stay_has_no_date() -> None:
    cells = WANTED | {"owned": "drive", "drive": "DISK-4T"}
    record = made(prices(), cells)
    assert record.ship_date is None and "must stay" in shipped(record).why_none
    assert made(prices(), cells | {"accept": "erases_data"}).ship_date is not None


def two_drives(**late: object) -> PriceList:
    """Give a cheap drive that comes late and a dear one that is here."""
    tables = only(drives="DISK-4T DISK-8T")
    change(tables, "DISK-4T", unit_price="100", unit_cost="70", stock=0, **late)
    change(tables, "DISK-8T", unit_price="400", unit_cost="280", stock=99, lead_days=9)
    return price_list(tables, TERMS + BENCH)


@pytest.mark.parametrize("rows", [1, 2])
def test_what_can_be_shipped_in_time_is_chosen(rows: int) -> None:
    of, wish = two_drives(lead_days=30), [WANTED, WANTED | {"array": "b"}][:rows]
    cheap = made(of, *wish)
    assert {array.drive for _, array in cheap.by_array()} == {"DISK-4T"}
    assert cheap.ship_date is not None
    day_before = (cheap.ship_date - DAY).isoformat()
    timely = asked(of, wish[0] | {"ship_by": day_before}, *wish[1:])
    assert timely.outcome == "quoted" and timely.record is not None
    assert {array.drive for _, array in timely.record.by_array()} == {"DISK-8T"}
    assert shipped(timely.record).kept
    same = asked(of, wish[0] | {"ship_by": cheap.ship_date.isoformat()}, *wish[1:]).record
    assert same is not None and same.totals == cheap.totals and shipped(same).kept
    # What the day costs stands beside the other wishes.
    request = read_request(
        [{"enquiry_id": "E", "customer": "S", **wish[0], "ship_by": day_before},
         *({"enquiry_id": "E", **row} for row in wish[1:])], of, date=MONDAY,
    )  # fmt: skip
    wide = answer(of, request, MONDAY).record
    assert wide is not None
    saved = {one.column: one.saves for one in wide.servers[0].savings}
    assert saved["ship_by"] == timely.record.totals.net - cheap.totals.net


@pytest.mark.parametrize("rows", [1, 2])
def test_what_cannot_be_kept_is_held_and_never_refused(rows: int) -> None:
    of, wish = two_drives(lead_days=30), [WANTED, WANTED | {"array": "b"}][:rows]
    cheap = made(of, *wish)
    found = asked(of, wish[0] | {"ship_by": MONDAY.isoformat()}, *wish[1:])
    assert found.outcome == "held" and found.record is not None
    assert [reason.code for reason in found.reasons] == ["ship_by"]
    assert found.reasons[0].what.startswith("wanted by 30 November 2026, but leaves us on ")
    # Chosen as if no day had been named; what would be there sooner is said.
    assert found.record.totals == cheap.totals and found.record.draft
    assert ("DISK-8T" in found.reasons[0].change) == (rows == 1)
    assert shipped(found.record).kept is False
    (wished,) = [wish for wish in found.record.asked if wish.label == "Wanted by"]
    assert wished.offered.endswith("at the earliest")


def test_two_servers_that_are_late_only_together_are_held() -> None:
    one = made(prices(), WANTED)
    assert one.ship_date is not None
    day = {"ship_by": one.ship_date.isoformat()}
    assert asked(prices(), WANTED | day).outcome == "quoted"
    both = asked(prices(), WANTED | day | {"server": "a", "builds": "2"}, WANTED | {"server": "b"})
    assert [reason.code for reason in both.reasons] == ["ship_by"]


@pytest.mark.parametrize(
    ("ship_by", "right"), [("2026-11-29", False), ("2026-11-30", True), ("2030-01-01", True)]
)
def test_a_day_that_is_gone_is_told(ship_by: str, right: bool) -> None:
    rows: list[dict[str, Any]] = [
        {"enquiry_id": "E", "customer": "S", **WANTED, "ship_by": ship_by},
        {"enquiry_id": "E", "line": "x", "ship_by": ship_by},
    ]
    if right:
        assert read_request(rows, prices(), date=MONDAY).rows
        return
    with pytest.raises(InputError) as caught:
        read_request(rows, prices(), "asked.csv", date=MONDAY)
    (problem,) = caught.value.problems
    assert str(problem) == (
        "asked.csv, row 1, ship_by: '2026-11-29' is before the day of the quote, 2026-11-30; give "
        "that day or a later one, or leave it blank"
    )
    assert read_request(rows, prices()).rows  # nobody has said which day it is


def test_the_bench_sheet_of_a_choice_is_what_is_planned() -> None:
    of = prices()
    request = read_request([{"enquiry_id": "E", "customer": "S", **WANTED}], of)
    best = choose_server(of, request.servers[0]).best
    assert best is not None
    sheet = bench_sheet(of, best.build, place(best.build), request.servers[0].base.deal,
                        may_erase=True)  # fmt: skip
    found = shipped(made(of, WANTED))
    assert (found.minutes, found.unattended_hours) == (
        sheet.minutes_all, sheet.unattended_high_hours,
    )  # fmt: skip


def test_holidays_of_a_year_that_nobody_has_listed_are_said() -> None:
    late = prices(DISK_4T={"stock": 0, "lead_days": 40}, DISK_8T={"stock": 0, "lead_days": 40})
    assert "No holidays of 2027 are in our calendar yet" in " ".join(made(late, WANTED).terms)
    assert "calendar" not in " ".join(made(prices(), WANTED).terms)
