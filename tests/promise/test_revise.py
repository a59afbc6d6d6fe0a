"""Does a revision keep every part and place that nothing asked moves, and say what it changes?"""

from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.errors import InputError
from quotelib.promise.again import Revised, revise
from quotelib.promise.record import QuoteRecord
from tests.promise.quoted_before import (
    OVER,
    THEN,
    TODAY,
    Row,
    dearer,
    listed,
    quoted,
    with_words,
    without,
)

SEEDS: Row = {"usable_tb": "60", "survive": "2", "workload": "backup_target", "media": "hdd",
              "tax_code": "S"}  # fmt: skip
"""The seed bank of a day's enquiries (2), raised to 80 TB two weeks later (28)."""
THREE = (
    {"server": "office", "usable_tb": "8", "workload": "office_files", "survive": "1",
     "tax_code": "S"},
    {"server": "maps", "usable_tb": "6", "workload": "catalogue_search", "media": "ssd",
     "survive": "1"},
    {"server": "backup", "usable_tb": "60", "workload": "backup_target", "survive": "2",
     "media": "hdd"},
)  # fmt: skip


def parts(record: QuoteRecord, server: int = 0) -> set[tuple[str, str, int]]:
    return {(p.role, p.sku, p.quantity) for p in record.servers[server].parts}


def made(came: Revised) -> QuoteRecord:
    assert came.record is not None, came.answer.reason
    assert came.difference is not None
    assert came.difference.explained == came.difference.net_difference
    assert came.record.changes == came.difference.changes
    return came.record


def test_nothing_asked_and_nothing_moved_is_no_difference(starter: PriceList) -> None:
    record = quoted(starter, *THREE)
    came = revise(record, None, starter, THEN)
    again = made(came)
    assert came.difference is not None
    assert came.difference.changes == ()
    assert (again.quote_number, again.revision) == (record.quote_number, 2)
    assert [s.placement for s in again.servers] == [s.placement for s in record.servers]
    assert again.totals == record.totals
    assert again.outcome == "quoted"
    # Of a revision, too, the next one is counted.
    assert made(revise(again, None, starter, THEN)).revision == 3


def test_a_price_moves_no_part_though_another_is_cheaper_now(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    drive = record.servers[0].arrays[0].drive
    today = dearer(starter, drive, "500")
    assert quoted(today, SEEDS).servers[0].arrays[0].drive != drive
    came = revise(record, None, today, THEN)
    again = made(came)
    assert again.servers[0].placement == record.servers[0].placement
    assert came.difference is not None
    moved, tax = came.difference.changes
    number = record.servers[0].arrays[0].layout.drives
    assert (moved.kind, moved.amount) == ("unit price", 500 * number)
    assert (tax.kind, tax.amount) == ("tax", 100 * number)  # code S is 20 %


def test_a_budget_that_is_passed_holds_it_and_moves_no_part(starter: PriceList) -> None:
    plain = quoted(starter, SEEDS)
    budget = {**SEEDS, "max_price": str(plain.totals.net + 1)}
    record = quoted(starter, budget)
    came = revise(record, None, dearer(starter, record.servers[0].chassis, "10"), THEN)
    again = made(came)
    assert parts(again) == parts(record)
    assert again.outcome == "held"
    assert [reason.code for reason in came.answer.reasons] == ["max_price"]


def test_raised_to_eighty_two_weeks_later(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    came = revise(record, with_words(record, {"usable_tb": "80"}), starter, TODAY)
    again = made(came)
    old, new = record.servers[0].arrays[0], again.servers[0].arrays[0]
    # More of the same drives, in the same chassis on the same controller: no more than it takes.
    assert (new.drive, new.controller, new.layout.level) == (
        old.drive,
        old.controller,
        old.layout.level,
    )
    assert new.capacity.usable_bytes >= 80 * 10**12
    fewer = new.capacity.usable_bytes - new.capacity.member_bytes
    assert fewer < 80 * 10**12
    kept = {(role, sku) for role, sku, _ in parts(record)}
    assert kept == {(role, sku) for role, sku, _ in parts(again)}
    asked, *_ = again.changes
    assert asked.words == "Usable capacity: at least 80 TB instead of at least 60 TB"
    (layout,) = [change for change in again.changes if change.kind == "layout"]
    more = f"RAID 6 over {new.layout.members} drives instead of RAID 6 over {old.layout.members}"
    assert layout.words == f"Layout: {more} drives (for what you asked: usable capacity)"
    # By hand: drives, what goes with each of them, and freight.
    number = new.layout.members - old.layout.members
    unit = {line.sku: line.unit_price for line in record.servers[0].lines}
    per_drive = unit[old.drive] + unit["CAR-35"] + unit["SVC-FIT-DRIVE"]
    freight = again.totals.freight - record.totals.freight
    assert again.totals.net - record.totals.net == number * per_drive + freight


def test_what_does_not_fit_lets_go_of_no_more_than_it_takes(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    wide = made(revise(record, with_words(record, {"usable_tb": "150"}), starter, TODAY))
    old, new = record.servers[0], wide.servers[0]
    assert old.placement.free.bays  # it could not hold 150 TB of these drives
    assert new.arrays[0].capacity.usable_bytes >= 150 * 10**12
    let_go = {
        name
        for name, was, now in (
            ("drive", old.arrays[0].drive, new.arrays[0].drive),
            ("controller", old.arrays[0].controller, new.arrays[0].controller),
            ("chassis", old.chassis, new.chassis),
        )
        if was != now
    }
    # Eight bays of 16 TB give 96 TB, eight of 20 TB give 120: only another chassis helps.
    assert let_go == {"chassis"}


def test_a_successor_takes_the_place_where_it_fits(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    today = listed(starter, "DRV-HDD-16T-SATA", last_buy=OVER, replaced_by="DRV-HDD-20T-SATA")
    again = made(revise(record, None, today, TODAY))
    old, new = record.servers[0].arrays[0], again.servers[0].arrays[0]
    assert (old.drive, new.drive) == ("DRV-HDD-16T-SATA", "DRV-HDD-20T-SATA")
    assert new.layout == old.layout
    (drive,) = [change for change in again.changes if change.what == "drive"]
    assert drive.why == (
        "DRV-HDD-16T-SATA could be ordered until 10 November 2026 only; "
        "DRV-HDD-20T-SATA takes its place"
    )


def test_a_ring_of_successors_ends(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    today = listed(starter, "DRV-HDD-16T-SATA", last_buy=OVER, replaced_by="DRV-HDD-20T-SATA")
    today = listed(today, "DRV-HDD-20T-SATA", last_buy=OVER, replaced_by="DRV-HDD-16T-SATA")
    again = made(revise(record, None, today, TODAY))
    assert again.servers[0].arrays[0].drive not in {"DRV-HDD-16T-SATA", "DRV-HDD-20T-SATA"}


def test_a_chain_of_successors_is_followed(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    today = listed(starter, "DRV-HDD-16T-SATA", last_buy=OVER, replaced_by="DRV-HDD-10T-SATA")
    today = listed(today, "DRV-HDD-10T-SATA", last_buy=OVER, replaced_by="DRV-HDD-20T-SATA")
    again = made(revise(record, None, today, TODAY))
    assert again.servers[0].arrays[0].drive == "DRV-HDD-20T-SATA"


def test_a_successor_that_does_not_fit_is_chosen_anew(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    today = listed(starter, "DRV-HDD-16T-SATA", last_buy=OVER, replaced_by="DRV-HDD-600-SAS-10K")
    again = made(revise(record, None, today, TODAY))
    old, new = record.servers[0], again.servers[0]
    assert new.arrays[0].drive not in {"DRV-HDD-16T-SATA", "DRV-HDD-600-SAS-10K"}
    # Six drives, the controller and the chassis stay.
    assert new.arrays[0].layout == old.arrays[0].layout
    assert (new.chassis, new.arrays[0].controller) == (old.chassis, old.arrays[0].controller)


def test_what_is_out_of_stock_stays_and_has_its_lead_time(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    again = made(revise(record, None, listed(starter, "DRV-HDD-16T-SATA", stock=0), THEN))
    assert again.servers[0].placement == record.servers[0].placement
    change, day = sorted(again.changes, key=lambda one: one.what)
    days = starter.drives["DRV-HDD-16T-SATA"].lead_days
    assert change.words == f"Parts reach us within: {days} days instead of in stock"
    assert day.what == "Ship date"
    assert again.ship_date and record.ship_date and again.ship_date > record.ship_date


def test_a_part_that_is_gone_from_the_list_is_chosen_anew(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    again = made(revise(record, None, without(starter, "DRV-HDD-16T-SATA"), TODAY))
    assert again.servers[0].arrays[0].layout == record.servers[0].arrays[0].layout
    (drive,) = [change for change in again.changes if change.what == "drive"]
    assert drive.why == "DRV-HDD-16T-SATA is not on the price list any more"


def test_what_the_customer_named_and_is_gone_without_a_successor_is_held(
    starter: PriceList,
) -> None:
    record = quoted(starter, {**SEEDS, "drive": "DRV-HDD-16T-SATA"})
    came = revise(record, None, listed(starter, "DRV-HDD-16T-SATA", last_buy=OVER), TODAY)
    again = made(came)
    assert again.outcome == "held"
    assert "DRV-HDD-16T-SATA could be ordered until" in came.answer.reason


def test_what_the_customer_has_stays_whatever_is_sold(starter: PriceList) -> None:
    grow: Row = {
        "chassis": "CHS-2U-12L", "controller": "CTL-RB2-12G-CD", "drive": "DRV-HDD-8T-SAS",
        "members": "8", "level": "6", "owned": "chassis;controller", "action": "grow",
        "have_drives": "4",
    }  # fmt: skip
    record = quoted(starter, grow)
    today = listed(starter, "CHS-2U-12L", last_buy=OVER)
    today = listed(today, "DRV-HDD-8T-SAS", last_buy=OVER, replaced_by="DRV-HDD-8T-SAS-4K")
    came = revise(record, None, listed(starter, "CHS-2U-12L", last_buy=OVER), TODAY)
    assert parts(made(came)) == parts(record)
    # Drives of other blocks do not go into the array that is there, and its own are sold no more:
    # nobody is sold either.
    for prices in (today, listed(starter, "DRV-HDD-8T-SAS", last_buy=OVER)):
        came = revise(record, None, prices, TODAY)
        assert came.record is None
        assert "DRV-HDD-8T-SAS could be ordered until" in came.answer.reason


def test_a_price_rise_a_sold_out_part_and_a_changed_wish(starter: PriceList) -> None:
    record = quoted(starter, *THREE)
    office, maps, backup = record.servers
    dear, over = office.arrays[0].drive, maps.arrays[0].drive
    assert over not in {dear, backup.arrays[0].drive}
    was = starter.drives[over]
    heir = next(
        sku for sku, drive in starter.drives.items()
        if (drive.interface, drive.width_in) == (was.interface, was.width_in)
        and drive.media == "ssd" and drive.capacity_gb > was.capacity_gb
    )  # fmt: skip
    today = listed(dearer(starter, dear, "7.50"), over, last_buy=OVER, replaced_by=heir)
    came = revise(record, with_words(record, {}, {}, {"usable_tb": "80"}), today, TODAY)
    again = made(came)
    found = came.difference
    assert found is not None
    # One: the price of a drive; the office server is the same to the bay.
    assert again.servers[0].placement == office.placement
    prices = [c for c in found.of_group("price") if c.kind == "unit price"]
    sold = [s for s in (office, maps, backup) if s.arrays[0].drive == dear]
    number = sum(s.arrays[0].layout.drives for s in sold)
    assert [(dear in c.what, c.amount) for c in prices] == [(True, Decimal("7.50") * number)]
    # Two: the drive of the maps is sold out; its successors go into the same bays.
    (part,) = [c for c in found.of_build if c.kind == "part"]
    assert (part.of, over in part.was, heir in part.now) == ("server maps", True, True)
    assert f"{over} could be ordered until 10 November 2026 only" in part.why
    assert again.servers[1].arrays[0].layout == maps.arrays[0].layout
    assert again.servers[1].placement.bays == maps.placement.bays
    (line,) = [c for c in found.of_group("price") if c.kind == "line"]
    more = starter.drives[heir].unit_price - was.unit_price
    assert line.amount == more * maps.arrays[0].layout.drives
    # Three: the wish, told of its server alone.
    assert [c.words for c in found.of_group("asked")] == [
        "Server backup: Usable capacity: at least 80 TB instead of at least 60 TB"
    ]
    (layout,) = [c for c in found.of_build if c.kind == "layout"]
    assert (layout.of, layout.why) == ("server backup", "for what you asked: usable capacity")
    assert again.servers[2].arrays[0].drive == backup.arrays[0].drive


def test_more_cores_change_processors_and_nothing_else(starter: PriceList) -> None:
    row: Row = {"usable_tb": "8", "survive": "1", "cores": "16", "memory_gb": "64"}
    record = quoted(starter, row)
    again = made(revise(record, with_words(record, {"cores": "64"}), starter, TODAY))
    storage = ("drive", "controller")
    assert [p for p in again.servers[0].parts if p.role in storage] == [
        p for p in record.servers[0].parts if p.role in storage
    ]
    assert again.servers[0].arrays[0].layout == record.servers[0].arrays[0].layout
    cores = sum(
        p.quantity * starter.options[p.sku].cores
        for p in again.servers[0].parts
        if p.sku in starter.options
    )
    assert cores >= 64


def test_a_card_besides_and_a_server_more(starter: PriceList) -> None:
    record = quoted(starter, {"server": "a", "usable_tb": "8", "survive": "1"})
    rows = with_words(record, {"options": "NET-2X25G-CD"})
    rows.append({"enquiry_id": "E-1", "server": "b", "usable_tb": "4", "survive": "1"})
    came = revise(record, rows, starter, TODAY)
    again = made(came)
    assert again.servers[0].arrays[0].layout == record.servers[0].arrays[0].layout
    assert came.difference is not None
    (added,) = [c for c in came.difference.changes if c.kind == "server"]
    assert (added.of, added.was) == ("", "")
    assert "server b" in added.words.lower()
    # And back again: the server is told as one that is left out.
    back = revise(again, with_words(record), starter, TODAY)
    assert parts(made(back)) == parts(record)


def test_builds_and_discount_change_no_part(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    rows = with_words(record, {"builds": "5", "discount_pct": "3", "tax_code": ""})
    came = revise(record, rows, starter, TODAY)
    again = made(came)
    assert parts(again) == parts(record)
    assert again.totals.builds == 5
    words = [c.words for c in again.changes]
    assert "How many alike: 5 servers instead of 1 server" in words
    assert "Discount, %: 3 %, added" in [
        w.replace("Discount, %: 3,", "Discount, %: 3 %,") for w in words
    ]


def test_free_lines_and_loose_parts_are_set_against_each_other(starter: PriceList) -> None:
    record = quoted(
        starter,
        {"parts": "DRV-HDD-4T-SATA*2;CBL-12G-CD", "line": "Carriage", "line_price": "12.50"},
    )
    rows = with_words(
        record, {"parts": "DRV-HDD-4T-SATA*3", "line": "Old server taken", "line_price": "-120"}
    )
    came = revise(record, rows, starter, TODAY)
    again = made(came)
    assert came.difference is not None
    amounts = {(c.kind, c.what): c.amount for c in came.difference.of_group("price")}
    assert amounts[("line", "Agreed")] == Decimal("-12.50")
    assert amounts[("line", "Taken in payment")] == Decimal("-120")
    drive = starter.drives["DRV-HDD-4T-SATA"]
    assert amounts[("quantity", f"{drive.description} ({drive.sku})")] == drive.unit_price
    assert again.outcome in {"quoted", "held"}


def test_a_part_sold_loose_that_is_gone_is_asked_about(starter: PriceList) -> None:
    record = quoted(starter, {"parts": "DRV-HDD-4T-SATA*2"})
    today = listed(starter, "DRV-HDD-4T-SATA", last_buy=OVER)
    came = revise(record, None, today, TODAY)
    assert came.record is None
    assert came.answer.reason.startswith("parts: DRV-HDD-4T-SATA could be ordered until")
    today = listed(today, "DRV-HDD-4T-SATA", replaced_by="DRV-HDD-8T-SATA")
    again = made(revise(record, None, today, TODAY))
    assert [line.sku for line in again.items[0].lines] == ["DRV-HDD-8T-SATA"]


def test_rows_that_cannot_be_read_are_told_as_everywhere(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    with pytest.raises(InputError, match="usable_tb"):
        revise(record, with_words(record, {"usable_tb": "much"}), starter, TODAY)


def test_another_currency_has_no_difference_of_sums(starter: PriceList) -> None:
    record = quoted(starter, SEEDS)
    came = revise(record, with_words(record, {"currency": "EUR"}), starter, THEN)
    assert came.difference is not None
    assert came.difference.net_difference is None
    assert [c.kind for c in came.difference.of_group("price")] == ["currency"]
    assert came.record is not None
    assert parts(came.record) == parts(record)


def test_an_option_that_was_named_has_its_successor_once(starter: PriceList) -> None:
    card = starter.options["NET-2X25G-CD"]
    heir = next(
        sku for sku, one in starter.options.items()
        if one.kind == "network" and one.card and sku != card.sku
    )  # fmt: skip
    record = quoted(starter, {"usable_tb": "8", "survive": "1", "cores": "16", "options": card.sku})
    again = made(
        revise(record, None, listed(starter, card.sku, last_buy=OVER, replaced_by=heir), TODAY)
    )
    assert parts(again) - parts(record) == {("network card", heir, 1)}
    assert parts(record) - parts(again) == {("network card", card.sku, 1)}
    assert [c for c in again.changes if c.group == "asked"] == []


def test_a_sku_that_nobody_knows_is_a_slip_and_not_a_part_that_is_gone(
    starter: PriceList,
) -> None:
    record = quoted(starter, SEEDS)
    with pytest.raises(InputError, match="DRV-HDD-61T"):
        revise(record, with_words(record, {"drive": "DRV-HDD-61T"}), starter, TODAY)


def test_a_new_server_has_nothing_that_is_sold_no_more(starter: PriceList) -> None:
    record = quoted(starter, {"server": "a", "usable_tb": "8", "survive": "1"})
    wanted: Row = {"enquiry_id": "E-1", "server": "b", "usable_tb": "60", "survive": "2",
                   "media": "hdd"}  # fmt: skip
    today = listed(starter, "DRV-HDD-16T-SATA", last_buy=OVER)
    again = made(revise(record, [*with_words(record), wanted], today, TODAY))
    assert again.servers[1].arrays[0].drive != "DRV-HDD-16T-SATA"
