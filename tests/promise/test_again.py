"""Is *the same again* the very same parts at today's prices, or a refusal that says why?"""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.quoting import read_record
from quotelib.errors import InputError
from quotelib.promise.again import again, revise
from quotelib.promise.difference import lines
from quotelib.promise.record import QuoteRecord
from tests.promise.quoted_before import (
    OVER,
    THEN,
    TODAY,
    Row,
    dearer,
    listed,
    quoted,
    without,
)

EVERYTHING: tuple[Row, ...] = (
    {"server": "a", "usable_tb": "6", "survive": "1", "builds": "2", "cores": "8",
     "discount_pct": "1", "max_price": "9999", "services": "SVC-ONSITE-3Y"},
    {"server": "b", "usable_tb": "2", "survive": "1", "chassis": "CHS-2U-12L", "owned": "chassis"},
    {"parts": "DRV-HDD-8T-SAS*8;CPM-BATTERY", "line": "Carriage", "line_price": "12.5"},
    {"services": "SVC-MIGRATE", "note": "Ours alone."},
)  # fmt: skip


@pytest.fixture(scope="module")
def everything(starter: PriceList) -> QuoteRecord:
    return quoted(starter, *EVERYTHING)


def test_everything_once_more(starter: PriceList, everything: QuoteRecord) -> None:
    came = again(everything, starter, TODAY)
    record = came.record
    assert record is not None, came.answer.reason
    assert [s.placement for s in record.servers] == [s.placement for s in everything.servers]
    assert [s.lines for s in record.servers] == [s.lines for s in everything.servers]
    assert [i.lines for i in record.items] == [i.lines for i in everything.items]
    assert record.totals == everything.totals
    assert (record.revision, record.quote_number) == (1, "Q-20261115-E-1")
    assert record.since is not None
    assert record.since.quote_number == everything.quote_number
    # Only the day is another one; a budget of last month is none of today's.
    assert {change.kind for change in record.changes} == {"delivery", "validity", "wish"}
    assert [c.what for c in record.changes if c.kind == "delivery"] == ["Ship date"]
    assert [c.words for c in record.changes if c.kind == "wish"] == [
        "Server a: Budget: at most GBP 9,999 net for each, left out"
    ]


def test_line_by_line_at_the_prices_of_today(starter: PriceList, everything: QuoteRecord) -> None:
    today = dearer(dearer(starter, "DRV-HDD-8T-SAS", "11.11"), "SVC-MIGRATE", "-5")
    came = again(everything, today, TODAY)
    assert came.difference is not None
    amounts = {c.what: c.amount for c in came.difference.of_group("price")}
    drive, moving = starter.drives["DRV-HDD-8T-SAS"], starter.services["SVC-MIGRATE"]
    assert amounts[f"{drive.description} ({drive.sku})"] == 8 * Decimal("11.11")
    assert amounts[f"{moving.description} ({moving.sku})"] == -5
    assert came.difference.explained == came.difference.net_difference


def test_another_would_be_cheaper_and_is_not_offered(starter: PriceList) -> None:
    record = quoted(starter, {"usable_tb": "60", "survive": "2", "media": "hdd"})
    drive = record.servers[0].arrays[0].drive
    came = again(record, dearer(starter, drive, "500"), TODAY)
    assert came.record is not None
    assert came.record.servers[0].placement == record.servers[0].placement


def test_no_successor_is_refused_and_what_would_do_is_said(starter: PriceList) -> None:
    record = quoted(starter, {"usable_tb": "60", "survive": "2", "media": "hdd"})
    drive = record.servers[0].arrays[0].drive
    for prices, why in (
        (without(starter, drive), f"{drive} is not on the price list any more"),
        (listed(starter, drive, last_buy=OVER, replaced_by=None), f"{drive} could be ordered"),
    ):
        came = again(record, prices, TODAY)
        assert (came.answer.outcome, came.record) == ("refused", None)
        assert why in came.answer.reason
        assert "a revision would offer RAID 6 over 6 drives" in came.answer.reason


def test_a_successor_that_does_not_fit_is_refused(starter: PriceList) -> None:
    record = quoted(starter, {"usable_tb": "60", "survive": "2", "media": "hdd"})
    drive = record.servers[0].arrays[0].drive
    prices = listed(starter, drive, last_buy=OVER, replaced_by="DRV-SSD-3200-NVME-WR")
    came = again(record, prices, TODAY)
    assert came.record is None
    codes = [reason.code for reason in came.answer.reasons]
    assert codes[0] == "drive"
    assert "bay_interface" in codes
    assert "DRV-SSD-3200-NVME-WR takes its place" in came.answer.reason


def test_a_successor_is_named_and_priced(starter: PriceList) -> None:
    record = quoted(starter, {"usable_tb": "60", "survive": "2", "media": "hdd"})
    old = record.servers[0].arrays[0]
    assert old.drive == "DRV-HDD-16T-SATA"
    prices = listed(starter, old.drive, last_buy=OVER, replaced_by="DRV-HDD-20T-SATA")
    came = again(record, prices, TODAY)
    assert came.record is not None
    assert came.difference is not None
    said = "\n".join(lines(came.difference))
    assert "DRV-HDD-20T-SATA takes its place" in said
    drives = starter.drives
    more = drives["DRV-HDD-20T-SATA"].unit_price - drives[old.drive].unit_price
    (line,) = [c for c in came.difference.of_group("price") if c.kind == "line"]
    assert line.amount == more * old.layout.drives


def test_what_does_not_go_together_any_more_is_refused(starter: PriceList) -> None:
    record = quoted(starter, {"usable_tb": "60", "survive": "2", "media": "hdd"})
    came = again(record, listed(starter, record.servers[0].chassis, bays=5), TODAY)
    assert came.record is None
    assert "bays_full" in came.answer.reason
    assert "a revision would offer" in came.answer.reason


def test_a_service_that_is_done_no_more_is_refused(
    starter: PriceList, everything: QuoteRecord
) -> None:
    came = again(everything, without(starter, "SVC-MIGRATE"), TODAY)
    assert came.record is None
    assert "SVC-MIGRATE" in came.answer.reason


def test_an_accessory_that_is_sold_no_more_holds_it(starter: PriceList) -> None:
    record = quoted(starter, {"usable_tb": "60", "survive": "2", "media": "hdd"})
    sku = record.servers[0].placement.accessories[0].sku
    came = again(record, listed(starter, sku, last_buy=OVER), TODAY)
    assert came.answer.outcome == "held"
    assert sku in came.answer.reason


@pytest.mark.parametrize(
    ("number", "unknown"),
    [
        (5, ("buyer", "revision", "offer_terms", "ship_date", "since", "changes", "compared")),
        (6, ("compared",)),
    ],
)
def test_a_record_of_an_older_format_is_quoted_again(
    starter: PriceList,
    everything: QuoteRecord,
    tmp_path: Path,
    number: int,
    unknown: tuple[str, ...],
) -> None:
    data = json.loads(everything.to_json())
    data["format"] = f"quotelib quote record {number}"
    for name in unknown:
        del data[name]
    for server in data["servers"]:
        del server["considered"]
    (tmp_path / "old.json").write_text(json.dumps(data), "utf-8")
    came = again(read_record(tmp_path / "old.json"), starter, THEN)
    assert came.record is not None
    assert came.record.totals == everything.totals
    assert came.record.format.endswith("7")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"format": "quotelib quote record 8"}, "format"),
        ({"rows": []}, "no rows"),
        ({"colour": "blue"}, "colour"),
        ({"revision": 0}, "revision"),
    ],
)
def test_a_record_by_hand_or_of_the_future_is_told(
    everything: QuoteRecord, tmp_path: Path, change: dict[str, object], said: str
) -> None:
    data = json.loads(everything.to_json()) | change
    (tmp_path / "odd.json").write_text(json.dumps(data), "utf-8")
    with pytest.raises(InputError, match=said):
        read_record(tmp_path / "odd.json")


def test_a_level_nobody_knows_is_told(everything: QuoteRecord, tmp_path: Path) -> None:
    data = json.loads(everything.to_json())
    data["servers"][0]["arrays"][0]["layout"]["level"] = "7"
    (tmp_path / "odd.json").write_text(json.dumps(data), "utf-8")
    with pytest.raises(InputError, match="no RAID level is called '7'"):
        read_record(tmp_path / "odd.json")


def test_sums_written_over_by_hand_are_not_explained_away(starter: PriceList) -> None:
    record = quoted(starter, {"parts": "DRV-HDD-4T-SATA*2"})
    totals = record.totals
    odd = record.model_copy(
        update={"totals": type(totals)(**{**_fields(totals), "net": totals.net - 7})}
    )
    found = revise(odd, None, starter, THEN).difference
    assert found is not None
    (rest,) = [change for change in found.changes if change.kind == "rest"]
    assert rest.amount == 7
    assert found.explained == found.net_difference


def _fields(thing: object) -> dict[str, object]:
    return {name: getattr(thing, name) for name in thing.__dataclass_fields__}  # type: ignore[attr-defined]
