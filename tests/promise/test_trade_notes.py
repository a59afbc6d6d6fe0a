"""What the rules of the trade say of the starter list's enquiries: each where it belongs, few."""

import datetime as dt

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import Asked, read_enquiries
from quotelib.promise.answer import answer
from quotelib.promise.record import Server
from quotelib.resources import starter_prices
from tests.asking import order, order_rows
from tests.build.trade_cases import TRADE

DATE = dt.date(2026, 3, 2)
OURS = {case.code for case in TRADE} | {"cable_missing", "processors_unknown"}
TOLD = {
    "BSW-1001": ["start_size"],
    # Six SATA drives on the board's ports, in a chassis with an expander.
    "BSW-1004": ["chipset_expander", "start_size"],
    # Nine disks on a modest supply.
    "BSW-1005": ["start_size", "spin_up"],
    "BSW-1006": ["start_4096"],
    # Their own controller, and no cable with it.
    "BSW-1010": ["cable_missing", "start_size"],
    # Small enough for any start.
    "BSW-1020": [],
    # A full-height card in a server for which nobody has named a second processor.
    "BSW-1024": ["processors_unknown", "start_size"],
    # A boot mirror of flash on the board beside disks on a card: their spare is of no use to it.
    "DAY-08": ["backplane_split", "spare_reach"],
    "DAY-24": ["chipset_expander", "start_size"],
}
"""Of all of both files these are told something else than how large the first volume is."""


def answered(prices: PriceList, asked: Asked) -> tuple[Server, ...]:
    if asked.request is None:
        return ()
    record = answer(prices, asked.request, DATE, alternatives=False).record
    return record.servers if record else ()


def test_they_are_told_where_they_belong_and_no_page_is_flooded(starter: PriceList) -> None:
    folder = starter_prices().parent
    told = {
        asked.enquiry_id: [f.code for f in server.findings if f.code in OURS]
        for file in ("enquiries.csv", "a_day.csv")
        for asked in read_enquiries(folder / file, starter)
        if asked.enquiry_id in TOLD
        for server in answered(starter, asked)
    }
    assert told == TOLD
    assert max(map(len, told.values())) == 2


def test_two_controllers_on_an_expander_hold_a_quote(starter: PriceList) -> None:
    rows = [
        {"chassis": "CHS-2U-24S", "controller": sku, "drive": "DRV-SSD-480-SATA-RD", "members": "2",
         "level": "1", "array": name}
        for sku, name in (("CTL-RB2-12G-MZ", "boot"), ("CTL-RE-12G-CD", "data"))
    ]  # fmt: skip
    record = answer(starter, order_rows(starter, *rows), DATE, alternatives=False).record
    assert record is not None
    assert record.outcome == "held"
    accept = [row | {"accept": "expander_shared"} for row in rows]
    record = answer(starter, order_rows(starter, *accept), DATE, alternatives=False).record
    assert record is not None
    assert record.outcome == "quoted"
    (found,) = [f for f in record.servers[0].findings if f.code == "expander_shared"]
    assert found.accepted


def test_what_a_drive_has_inside_is_said(starter: PriceList) -> None:
    for sku, label in (
        ("DRV-HDD-8T-SATA", "8000 GB, 512-byte blocks (physical ones of 4096)"),
        ("DRV-HDD-2T-SATA", "2000 GB, 512-byte blocks"),
        ("DRV-HDD-8T-SAS-4K", "8000 GB, 4096-byte blocks"),
    ):
        asked = order(starter, drive=sku, members="4", level="6")
        record = answer(starter, asked, DATE, alternatives=False).record
        assert record is not None
        facts = {f.label: f.value for p in record.servers[0].parts if p.sku == sku for f in p.facts}
        assert facts["Label"] == label
