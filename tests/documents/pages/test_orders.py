"""Offer, annex and bench sheet of servers, of none, of loose parts, services and free lines."""

import re
from decimal import Decimal
from functools import cache

import pytest

from quotelib.documents import charts
from quotelib.documents.bench import bench_sheets
from quotelib.documents.offer import offer_sections
from quotelib.documents.sections import section
from quotelib.enquiry.columns import COLUMNS
from quotelib.promise.record import QuoteRecord
from quotelib.text import amount
from tests.documents.builds import offer, pages
from tests.end_to_end.page_text import Page
from tests.orders import BOX, LOOSE, PLAIN, SERVICES, SEVERAL, Cells, order

KINDS = {"plain": PLAIN, "several": SEVERAL, "box": BOX, "loose": LOOSE, "services": SERVICES}


def text(html: str) -> str:
    return " ".join(" ".join(Page(html).pieces).split())


@cache
def both_pages(kind: str) -> tuple[str, str]:
    return pages(order(KINDS[kind]))


def headings(html: str, level: int) -> list[str]:
    return re.findall(rf"<h{level}[^>]*>(.*?)</h{level}>", html)


EVERY: list[Cells] = [
    {
        "currency": "EUR", "builds": "2", "usable_tb": "7.5", "workload": "virtual_machines",
        "host_iops": "11", "host_mb_s": "0.5", "survive": "1", "max_loss_pct": "47",
        "media": "hdd", "free_slots": "1", "max_price": "61234", "discount_pct": "3.5",
        "tax_code": "AA", "note": "nobody outside reads this", "chassis": "CHS-4U-24L",
        "owned": "chassis", "accept": "no_redundancy", "spares": "1",
        "options": "NET-2X10G-CD*2;PSU-1200", "services": "SVC-ONSITE-3Y*2",
        "redundant_supply": "yes", "max_watts": "1099", "server": "Alpha", "array": "Vault",
        "cores": "14", "memory_gb": "60", "max_response_ms": "5123", "max_lead_days": "77",
        "condition": "any", "ship_by": "2027-01-15", "customer_ref": "Order 4711/b",
    },
    {
        "server": "Alpha", "array": "Films", "drive": "DRV-HDD-8T-SATA", "members": "6",
        "level": "50", "spans": "2", "controller": "CTL-RB2-12G-CD", "action": "replace",
        "have_drives": "2", "from_drive": "DRV-HDD-4T-SATA", "from_controller": "CTL-RU1-12G-CD",
    },
    {"parts": "CBL-12G-CD*3"},
    {"line": "Kiln taken back", "line_price": "-21.5", "line_quantity": "4", "line_cost": "13.37"},
]  # fmt: skip
WORDS = {
    "enquiry_id": "ORD-77",
    "customer": "Pottery of Invention",
    "currency": "Currency EUR all amounts are in EUR",
    "builds": "How many 2 alike",
    "usable_tb": "Usable capacity at least 7.5 TB",
    "workload": "Workload A dozen virtual machines sharing one array about ",
    "host_iops": "Operations at least 11 a second about ",
    "host_mb_s": "Throughput at least 0.5 MB/s about ",
    "survive": "Must survive any 1 drive failure RAID ",
    "max_loss_pct": "Chance of data loss at most 47 % over 5 years",
    "media": "Kind of drive hard disks hard disks (DRV-HDD-",
    "free_slots": "Slots kept free at least 1",
    "max_price": "Budget at most EUR 61,234 net for each EUR ",
    "discount_pct": "Discount, % 3.5 % discount of 3.5 %",
    "chassis": "Chassis CHS-4U-24L ",
    "controller": "Controller CTL-RB2-12G-CD Array controller",
    "drive": "Drive DRV-HDD-8T-SATA Hard disk 8 TB",
    "members": "Member drives 6 6",
    "level": "RAID level RAID 50 RAID 50 over 6 drives",
    "spans": "Spans 2 2",
    "spares": "Hot spares 1 1",
    "owned": "; yours already",
    "accept": "Said yes to no redundancy: the failure of one drive loses data not so here",
    "options": "Option 2 × NET-2X10G-CD 2 × Network card",
    "services": "Service 2 × SVC-ONSITE-3Y 2 × On-site service for three years",
    "redundant_supply": "Redundant supply it carries its load with one supply less 2 × 1200 W",
    "max_watts": "Draw at most 1099 W ",
    "server": "Server Alpha",
    "array": "Server Alpha, array Vault",
    "action": "What is done with the array given larger drives 4 drives replaced one by one",
    "have_drives": "Drives that are there 2 2 stay, 4 supplied",
    "from_controller": "Made by CTL-RU1-12G-CD CTL-RB2-12G-CD takes its place",
    "from_drive": "Drives until now DRV-HDD-4T-SATA DRV-HDD-8T-SATA in addition or in their place",
    "cores": "Processor cores at least 14 16 cores",
    "memory_gb": "Memory at least 60 GB 64 GB",
    "max_response_ms": "Response time at most 5123 ms on average about ",
    "max_lead_days": "Parts here within 77 days ",
    "condition": "Condition of parts refurbished will do ",
    "parts": "Loose part 3 × CBL-12G-CD 3 × Cable set",
    "line": "Taken in payment Kiln taken back",
    "line_quantity": "Kiln taken back 4 × EUR",
    "line_price": "EUR −21.50",
    "ship_by": "Wanted by 15 January 2027 leaves us on",
    "customer_ref": "Customer's reference Order 4711/b",
}
OFFERED = {
    "enquiry_id": "ORD-77",
    "customer": "Pottery of Invention",
    "currency": "All amounts in euros (EUR)",
    "builds": "2 servers alike",
    "usable_tb": "at least 7.5 TB that can be used",
    "workload": "A dozen virtual machines sharing one array",
    "host_iops": "at least 11 operations a second",
    "host_mb_s": "at least 0.5 MB/s",
    "survive": "no loss when any one drive fails",
    "max_loss_pct": "a chance of losing data of at most 47 % within 5 years",
    "media": "hard disks",
    "free_slots": "one card slot left free",
    "max_price": "at most EUR 61,234 for each server, without tax",
    "discount_pct": "a discount of 3.5 %",
    "tax_code": "Tax, 5 %",
    "chassis": ", which you have already",
    "controller": "Array controller 2 GiB cache",
    "drive": "Hard disk 8 TB SATA",
    "members": "6 drives in the array",
    "level": "RAID 50",
    "spans": "2 spans",
    "spares": "one hot spare",
    "owned": "(yours already)",
    "options": "2 × Network card, two ports of 10 Gbit/s, copper and Supply",
    "services": "2 × On-site service for three years",
    "redundant_supply": "power supplies of which one may fail",
    "max_watts": "a draw of at most 1,099 W",
    "server": "Server Alpha",
    "array": "array Vault: ",
    "action": "the drives of your array are replaced one after the other",
    "have_drives": "2 of its drives are there already",
    "from_controller": "another controller has run it until now",
    "from_drive": "other drives have been in it until now",
    "cores": "at least 14 processor cores",
    "memory_gb": "at least 60 GB of memory",
    "max_response_ms": "answers within 5,123 ms on average",
    "max_lead_days": "all parts here within 77 days",
    "condition": "refurbished parts are welcome",
    "parts": "3 × Cable set SAS 12 Gbit/s",
    "line": "Kiln taken back",
    "line_quantity": "(taken in payment) Quantity 4 Unit price −21.50 Amount −86.00",
    "line_price": "−21.50",
    "ship_by": "shipped by 15 January 2027",
    "customer_ref": "Your reference Order 4711/b",
}
UNSAID = {"accept"}
"""What somebody said yes to is told where it is so."""


@pytest.fixture(scope="module")
def all_cells() -> QuoteRecord:
    """Answer an order that uses every column."""
    return order(EVERY)


def test_nothing_that_a_customer_wrote_vanishes(all_cells: QuoteRecord) -> None:
    private = {"note", "line_cost"}
    assert {name for row in EVERY for name in row} | {"enquiry_id", "customer"} == set(COLUMNS)
    assert set(WORDS) == set(COLUMNS) - private - {"tax_code"}
    annex = text(pages(all_cells)[0])
    assert [name for name, words in WORDS.items() if words not in annex] == []
    assert set(OFFERED) == set(COLUMNS) - private - UNSAID
    offered = text(offer(all_cells))
    assert [name for name, words in OFFERED.items() if words not in offered] == []


@pytest.mark.parametrize("kind", [*KINDS, "every"])
def test_no_cost_margin_or_note_on_paper(kind: str, all_cells: QuoteRecord) -> None:
    record = all_cells if kind == "every" else order(KINDS[kind])
    internal = record.internal
    lines = [line for part in (*record.servers, *record.items) for line in part.lines]
    figures = {amount(figure) for line in lines for figure in (line.unit_price, line.amount)}
    secret = {amount(cost) for cost in internal.unit_costs.values() if cost} - figures
    secret |= {amount(internal.cost), f"{internal.margin_pct}"}
    if kind in {"several", "every"}:
        assert "13.37" in secret and internal.note
    for html in (offer(record), *(pages(record) if kind == "every" else both_pages(kind))):
        said = text(html)
        assert not secret & set(re.findall(r"\d[\d,]*\.\d\d\b", said))
        assert not any(line in said for line in internal.note.splitlines())
        assert "margin" not in said.lower()


def costs(rows: list[Cells]) -> str:
    return offer_sections(order(rows))("costs").html


def test_sub_totals_add_up_to_the_sum_of_lines() -> None:
    record, html = order(SEVERAL), costs(SEVERAL)
    groups = re.findall(r'<th scope="rowgroup" colspan="5"><bdi>(.*?)</bdi></th>', html)
    assert groups == [
        "Server A, 2 alike",
        "Server B, 3 alike",
        "Loose parts",
        "Once for this offer",
        "Agreed besides",
    ]
    bodies = re.findall(r"<tbody>(.*?)</tbody>", html, re.DOTALL)
    sums = []
    for body in bodies:
        amounts = re.findall(r'data-label="Amount">(.*?)<', body)
        lines = [Decimal(cell.replace(",", "").replace("−", "-")) for cell in amounts]
        total = re.findall(r'class="sum">.*?<td class="n">(.*?)<', body)
        assert total == ([amount(sum(lines))] if len(lines) > 1 else [])
        sums.append(sum(lines))
    assert sum(sums) == record.totals.lines_total
    assert f'Sum of lines</th><td class="n">{amount(record.totals.lines_total)}<' in html
    taken = "<bdi>Old server taken back</bdi> <em>(taken in payment)</em>"
    assert f"<td>{taken}</td>" in html
    assert ">−120.00<" in html and ">−240.00<" in html


def test_lines_are_numbered_through() -> None:
    numbers = re.findall(r'<tr><td class="pos">(\d+)<', costs(SEVERAL))
    assert numbers == [str(n) for n in range(1, len(numbers) + 1)] and len(numbers) > 20


def test_one_plain_server_has_no_sub_total_and_no_name() -> None:
    html = costs(PLAIN)
    assert "Sub-total" not in html and "group" not in html
    assert "for each server" not in html
    assert "for each server" in costs(BOX)
    assert "for each server" not in costs(SEVERAL)


@pytest.mark.parametrize(
    ("kind", "present"),
    [
        ("plain", {"What you will see", "How it is protected", "What it will do"}),
        ("box", {"What stays free for later"}),
        ("loose", set()),
        ("services", set()),
    ],
)
def test_headings_stand_over_something(kind: str, present: set[str]) -> None:
    annex, _ = both_pages(kind)
    found = set(headings(annex, 2))
    assert present <= found
    assert {"What you asked for", "What offer and estimates rest on"} <= found
    assert ("What we propose" in found) == (kind != "services")
    offered = set(headings(offer(order(KINDS[kind])), 2))
    said = {"What you asked for, and what we offer", "What it costs", "What happens next", "Order"}
    assert said <= offered
    if kind != "services":
        assert "Terms" in offered
    absent = {
        "plain": set(),
        "box": {"What you will see", "How it is protected", "What it will do"},
        "loose": {"What stays free for later", "What to know before you order"},
        "services": {"What stays free for later", "What to know before you order"},
    }[kind]
    assert not absent & found
    empty = r"<h([1-4])[^>]*>[^<]*</h\1>\s*(</section>|<ul[^>]*>\s*</ul>|<table[^>]*>\s*</table>)"
    assert not re.search(empty, annex)
    assert not re.search(r"<(section|ul|ol|dl|tbody)[^>]*>\s*</\1>", annex)
    if kind != "plain":
        assert "raid" not in annex.lower()
        assert "under your workload" not in annex
    appendix = any(words.startswith("Appendix") for words in found)
    assert appendix == bool(order(KINDS[kind]).servers)


def test_charts_of_what_is_not_there_are_none() -> None:
    for rows in (BOX, LOOSE, SERVICES):
        arrays = order(rows).by_array
        for draw in (charts.capacity_chart, charts.level_chart, charts.response_chart):
            assert charts.each(draw, arrays()) is None
    one = order([{"line": "Survey", "line_price": "10"}])
    assert charts.price_chart(one) is None


def test_what_takes_off_is_drawn_to_the_left() -> None:
    drawing = charts.price_chart(order(SEVERAL))
    assert drawing is not None
    low, high = drawing.spec["encoding"]["x"]["scale"]["domain"]
    values = [row["value"] for row in drawing.spec["data"]["values"]]
    assert low == min(values) < 0 < max(values) < high
    assert "−240.00" in drawing.words and "%" not in drawing.words.split("Taken in payment")[1]


def test_the_bench_gets_a_part_for_each_server_and_one_for_loose_parts() -> None:
    record = order(SEVERAL)
    html = bench_sheets(record).html
    assert headings(html, 2) == ["Server A", "Server B", "Loose parts"]
    sheets = re.split(r'(?=<div class="sheet">)', html)[1:]
    for server, sheet in zip(record.servers, sheets, strict=False):
        said = text(sheet)
        for line in server.bench.pick:
            assert line.sku in said
        for seat in server.placement.seats:
            assert seat.where in said
        for caution in server.bench.cautions:
            assert caution.words in said
        assert "Bench time" in said and "Sign-off" in said
    assert ".sheet + .sheet { break-before: page; }" in both_pages("several")[1]
    # What is done once is on one sheet, and no price is on any.
    assert both_pages("several")[1].count("(once for the quote)") <= 1


def test_a_server_without_drives_has_no_array_on_its_sheet() -> None:
    (server,) = order(BOX).servers
    said = text(bench_sheets(order(BOX)).html)
    assert "Settings" not in headings(bench_sheets(order(BOX)).html, 2)
    assert "Bays read back" not in said and "Erasing data" not in said
    assert "Mains and stored energy" in said and "Static" in said
    assert {c.hazard for c in server.bench.cautions} >= {"supply", "static", "lifting"}


def test_loose_parts_are_picked_and_packed_and_take_no_bench_time() -> None:
    record = order(LOOSE)
    _, sheet = both_pages("loose")
    said = text(sheet)
    assert "Pick list" in said and "<title>Pick list" in sheet
    assert "Bench" not in headings(sheet, 2) and "Bench time" not in said
    assert record.bench_minutes == 0
    assert sheet.count('class="barcode"') == 3
    (item,) = record.items
    assert item.bench is not None
    assert {(line.sku, line.quantity) for line in item.bench.pick} == {
        ("DRV-HDD-8T-SAS", 2),
        ("CBL-12G-CD", 1),
        ("CPM-BATTERY", 1),
    }
    assert [c.hazard for c in item.bench.cautions] == ["static", "lithium"]
    assert [step.title for step in item.bench.steps] == [
        "Fetch and compare the parts",
        "Pack each part",
        "Weigh and send",
    ]
    assert all(step.cautions for step in item.bench.steps)


def test_a_heavy_parcel_asks_for_a_second_person() -> None:
    (item,) = order([{"parts": "DRV-HDD-8T-SAS*40"}]).items
    assert item.bench is not None
    assert item.mass_kg > 23
    assert [c.hazard for c in item.bench.cautions] == ["static", "lifting"]
    assert "never one person" in item.bench.cautions[1].words
    assert "two people or a lift" in item.bench.steps[-1].cautions[0].words


def test_nothing_to_build_or_pick_is_said() -> None:
    _, sheet = both_pages("services")
    assert "Nothing is built or picked for this quote." in text(sheet)
    assert headings(sheet, 2) == []


def test_the_line_of_the_workbook_reads_right() -> None:
    for kind, words in {
        "box": "CHS-2U-12L without drives, GBP",
        "loose": "loose parts, GBP",
        "services": "services, GBP",
    }.items():
        record = order(KINDS[kind])
        line = section(
            "workbook_answer", outcome="quoted", title="Yes:", words="", reasons=(), record=record
        )
        said = text(line.html)
        assert f"Yes: {words} {amount(record.totals.net)} without tax" in said
        assert "usable" not in said and "0.00" not in said.split("GBP")[0]


def test_the_summary_of_a_notebook_has_a_row_for_each_of_an_order() -> None:
    rows = [
        {"enquiry_id": "A", "outcome": "quoted", "reason": "", "currency": "GBP", "net": "9.50",
         "margin_pct": "20", "server": "x", "array": "y", "chassis": "BOX", "level": "6",
         "members": "4", "drive": "D", "spares": "0", "controller": "C", "usable_tb": "1"},
        {"enquiry_id": "A", "outcome": "quoted", "reason": "", "server": "z", "array": "",
         "chassis": "BOX"},
        {"enquiry_id": "A", "outcome": "quoted", "reason": "", "server": "", "array": ""},
        {"enquiry_id": "B", "outcome": "refused", "reason": "too much", "server": ""},
    ]  # fmt: skip
    html = section("notebook_summary", rows=rows, labels={"6": "RAID 6"}).html
    cells = [[text(cell) for cell in re.findall(r"<td.*?</td>", row)]
             for row in re.findall(r"<tr>.*?</tr>", html, re.DOTALL)[1:]]  # fmt: skip
    assert [row[2] for row in cells] == ["GBP 9.50", "", "", "too much"]
    assert [row[4] for row in cells[:3]] == [
        "server x, array y: RAID 6, 4 × D in BOX on C",
        "server z: BOX",
        "beside servers",
    ]
