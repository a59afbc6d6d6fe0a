"""The enquiries of a day: what must come out of each, as their customers would read it."""

import datetime as dt
import re

import nbformat
import pytest

from quotelib import resources
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_enquiries
from quotelib.enquiry.request import Request
from quotelib.notebook.day import BY_COMMAND
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord

DATE = dt.date(2026, 11, 28)


@pytest.fixture(scope="module")
def day(starter: PriceList) -> dict[str, Request]:
    asked = read_enquiries(resources.a_day(), starter)
    assert all(one.request for one in asked)
    return {one.enquiry_id: one.request for one in asked if one.request}


def made(starter: PriceList, day: dict[str, Request], number: str) -> QuoteRecord:
    record = answer(starter, day[number], DATE, alternatives=False).record
    assert record is not None
    return record


def test_thirty_are_there_or_have_a_command(day: dict[str, Request]) -> None:
    assert day.keys() | BY_COMMAND.keys() == {f"DAY-{n:02d}" for n in range(1, 31)}


def test_none_is_refused(day: dict[str, Request]) -> None:
    """By what the notebook has saved, which nbval holds against what it gives now."""
    notebook = nbformat.read(resources.notebooks() / "a_day.ipynb", as_version=4)
    (table,) = [out for cell in notebook.cells for out in cell.get("outputs", [])]
    rows = re.findall(r"<tr>(.*?)</tr>", table.data["text/html"], re.DOTALL)
    came = {n: re.search(r"\b(quoted|held|refused|invalid): ", row) for row in rows
            for n in re.findall(r"DAY-\d\d", row)}  # fmt: skip
    assert {n for n, outcome in came.items() if outcome} == set(day)
    assert {outcome[1] for outcome in came.values() if outcome} <= {"quoted", "held"}


def test_a_dead_controller_gives_way_to_one_that_reads_the_array(
    starter: PriceList, day: dict[str, Request]
) -> None:
    (server,) = made(starter, day, "DAY-11").servers
    (array,) = server.arrays
    assert (array.action, array.controller_before) == ("keep", "CTL-RU1-12G-CD")
    family = starter.controllers[array.controller_before].family
    assert family in starter.controllers[array.controller].imports
    titles = " ".join(step.title for step in server.bench.steps).lower()
    assert "initialis" not in titles
    assert "create" not in titles


def test_four_drives_are_added_while_it_runs(starter: PriceList, day: dict[str, Request]) -> None:
    (server,) = made(starter, day, "DAY-12").servers
    bought = {line.sku: line.quantity for line in server.lines if line.share != "Services"}
    assert bought == {"DRV-HDD-8T-SAS": 4, "CAR-35": 4}
    new = [bay.bay for bay in server.placement.bays if bay.use == "member" and not bay.owned]
    assert new == [5, 6, 7, 8]


def test_an_upgrade_without_an_array_writes_nothing(
    starter: PriceList, day: dict[str, Request]
) -> None:
    for number in ("DAY-14", "DAY-15"):
        (server,) = made(starter, day, number).servers
        services = [line.sku for line in server.lines if line.share == "Services"]
        assert services == ["SVC-UPGRADE", "SVC-PACK"]
        assert "keeps its place and its data" in " ".join(server.upgrade)


def test_payments_have_two_arrays_and_no_parity_on_a_chipset(
    starter: PriceList, day: dict[str, Request]
) -> None:
    (server,) = made(starter, day, "DAY-05").servers
    for array in server.arrays:
        chipset = starter.controllers[array.controller].kind == "chipset"
        assert array.layout.level in {"1", "10"} or not chipset
        (time,) = [e for e in array.estimates if e.key == "response_ms"]
        assert time.value is not None
        assert time.value <= 1


def test_processors_memory_and_a_network_card_share_the_slots(
    starter: PriceList, day: dict[str, Request]
) -> None:
    (server,) = made(starter, day, "DAY-06").servers
    options = {p.sku: p.quantity for p in server.parts if p.sku in starter.options}
    assert sum(starter.options[sku].cores * n for sku, n in options.items()) >= 64
    assert sum(starter.options[sku].memory_gb * n for sku, n in options.items()) >= 512
    slots = [seat.number for seat in server.placement.seats if seat.takes == "slot"]
    assert len(slots) == len(set(slots)) >= 1


def test_a_slot_of_full_height_and_length_stays_free(
    starter: PriceList, day: dict[str, Request]
) -> None:
    (server,) = made(starter, day, "DAY-10").servers
    taken = {seat.number for seat in server.placement.seats if seat.takes == "slot"}
    left = [s for s in starter.chassis[server.chassis].slots if s.slot not in taken]
    assert any(s.height == "full" and (s.connector_lanes or s.lanes) >= 16 for s in left)


def test_loose_parts_take_freight_by_mass_and_no_bench_time(
    starter: PriceList, day: dict[str, Request]
) -> None:
    record = made(starter, day, "DAY-13")
    assert record.servers == ()
    assert record.bench_minutes == 0
    (parts,) = record.items
    base, per_kg = starter.terms.freight.base, starter.terms.freight.per_kg
    assert abs(parts.freight - (base + per_kg * parts.mass_kg)) < starter.terms.freight.per_kg


def test_twelve_servers_in_three_lots_earn_the_discount_for_twelve(
    starter: PriceList, day: dict[str, Request]
) -> None:
    record = made(starter, day, "DAY-18")
    assert [server.builds for server in record.servers] == [4, 4, 4]
    assert record.totals.discount_pct == starter.terms.volume_discount_pct(12)


def test_a_trade_in_takes_off_what_was_agreed(starter: PriceList, day: dict[str, Request]) -> None:
    record = made(starter, day, "DAY-21")
    lines = [line for item in record.items for line in item.lines if line.amount < 0]
    assert [line.description for line in lines] == ["Old server taken in payment"]
    assert record.totals.discount == 0


def test_each_four_of_twelve_have_a_date_and_ten_are_in_time(
    starter: PriceList, day: dict[str, Request]
) -> None:
    twelve = made(starter, day, "DAY-18").shipping
    assert twelve is not None and twelve.date is not None
    days = [item.leaves for item in twelve.items]
    assert [sum(d.number for d in item.deliveries) for item in twelve.items] == [4, 4, 4]
    assert days == sorted(day for day in days if day) and days[-1] == twelve.date
    assert len(set(days)) > 1
    ten = made(starter, day, "DAY-23")
    assert ten.ship_date is not None and ten.ship_date <= dt.date(2026, 12, 11)
    assert ten.outcome == "quoted" and ten.shipping is not None and ten.shipping.kept


def test_ten_are_held_where_friday_week_cannot_be_kept(
    starter: PriceList, day: dict[str, Request]
) -> None:
    # Asked two weeks later, for the same Friday.
    late = answer(starter, day["DAY-23"], dt.date(2026, 12, 7), alternatives=False)
    assert late.outcome == "held"
    assert [reason.code for reason in late.reasons] == ["ship_by"]


def test_what_paying_by_the_month_comes_to_is_said(
    starter: PriceList, day: dict[str, Request]
) -> None:
    record = made(starter, day, "DAY-20")
    assert record.instalments is not None
    assert [plan.months for plan in record.instalments.rows] == [12, 24, 36]
    for plan in record.instalments.rows:
        assert plan.total == record.totals.gross + plan.interest
        assert (plan.months - 1) * plan.monthly + plan.last == plan.total
