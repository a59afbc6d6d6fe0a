"""Columns and keys that a list may do without: what they give, and what it means without them."""

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.build.speed import drive_link_mb_s
from quotelib.catalogue.price_list import PriceList, read_folder
from quotelib.enquiry.reading import read_enquiries
from tests.catalogue.breaking import ACCESSORIES, CONTROLLERS, DRIVES, SLOTS, Edit, put, terms
from tests.small_list import change, copy, price_list


def read(folder: Path, *edits: Edit) -> PriceList:
    for edit in edits:
        edit(folder)
    found, problems = read_folder(folder)
    assert problems == []
    assert found is not None
    return found


def test_what_is_given(copy_of_small: Path) -> None:
    found = read(
        copy_of_small,
        put(DRIVES, 2, condition="refurbished", last_buy="2026-03-02", replaced_by="DISK-8T"),
        put(DRIVES, 3, physical_block_bytes="4096"),
        terms("[risk]", "[advice]\nshared_expander = true\n\n[risk]"),
        put(CONTROLLERS, 3, family="Alder", imports="Alder", grows="5;6", ports="8"),
        put(ACCESSORIES, 2, with_="DISK-4T", interfaces="sas;nvme", per="4"),
        put(SLOTS, 2, connector_lanes="16", needs_processors="2"),
        terms("[risk]", '[offer]\ndelivery = "DAP Quay"\nexclusions = ["No keys."]\n\n[risk]'),
        terms("[seller]", '[seller]\ntax_id = "GB 1"'),
        lambda folder: (folder / "customers.csv").write_text("customer,address\nMill,Weir\n"),
    )
    drive, card, cable = (
        found.drives["DISK-4T"],
        found.controllers["CARD"],
        found.accessories["CABLE"],
    )
    assert (drive.condition, drive.last_buy) == ("refurbished", dt.date(2026, 3, 2))
    assert drive.replaced_by == "DISK-8T"
    assert found.drives["DISK-8T"].physical_block_bytes == "4096"
    assert found.terms.advice.shared_expander
    assert (card.family, card.imports, card.grows, card.ports) == (
        "Alder",
        ("Alder",),
        ("5", "6"),
        8,
    )
    assert (cable.together_with, cable.interfaces, cable.per) == (("DISK-4T",), ("sas", "nvme"), 4)
    (slot,) = found.chassis["BOX-4"].slots
    assert (slot.connector_lanes, slot.needs_processors) == (16, 2)
    assert (found.terms.offer.delivery, found.terms.offer.exclusions) == ("DAP Quay", ("No keys.",))
    assert found.terms.seller.tax_id == "GB 1"
    assert found.customers["Mill"].address == "Weir"


def test_what_it_means_without(copy_of_small: Path) -> None:
    found = read(copy_of_small)
    drive, card, cable = (
        found.drives["FLASH-NV"],
        found.controllers["CARD"],
        found.accessories["CABLE"],
    )
    assert (drive.condition, drive.last_buy, drive.replaced_by) == ("new", None, None)
    assert (drive.lanes, drive.link_gbit_s) == (4, None)
    assert drive.physical_block_bytes is None
    assert (card.connector_lanes, card.ports, card.family, card.imports) == (None, None, None, ())
    assert (cable.together_with, cable.interfaces, cable.per) == ((), (), "build")
    assert found.accessories["CARRIER"].per == 1
    (slot,) = found.chassis["BOX-4"].slots
    assert (slot.connector_lanes, slot.needs_processors) == (None, 1)
    assert found.chassis["BOX-4"].backplane == ""
    advice = found.terms.advice
    assert (advice.wide_group_members, advice.wide_group_tb, advice.chipset_parity) == (
        *(None, None),
        False,
    )
    assert not advice.shared_expander
    assert found.terms.bench.holidays == ()
    assert not found.customers


@pytest.mark.parametrize(
    ("sku", "cells", "mb_s"),
    [
        # 12 Gbit/s of 8b/10b are 1200 MB/s; four lanes of 8 GT/s x 128/130 are 3938 MB/s.
        ("DISK-8T", {}, Decimal(1200)),
        ("DISK-8T", {"link_gbit_s": "6"}, Decimal(600)),
        ("DISK-8T", {"link_gbit_s": "22.5"}, Decimal(1200)),
        ("FLASH-NV", {}, Decimal(4 * 8000) / 8 * 128 / 130),
        ("FLASH-NV", {"lanes": "2"}, Decimal(2 * 8000) / 8 * 128 / 130),
    ],
)
def test_a_drive_has_a_link_of_its_own(sku: str, cells: dict[str, str], mb_s: Decimal) -> None:
    prices = price_list(change(change(copy(), sku, **cells), "CARD", nvme_gen=3))
    found = drive_link_mb_s(prices.drives[sku], prices.controllers["CARD"])
    assert found == pytest.approx(float(mb_s))


def test_an_enquiry_file_may_have_columns_of_its_keeper(small: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "enquiries.csv"
    path.write_text("enquiry_id,x_who,customer,usable_tb,x_when\nA,me,Mill,4,now\n", "utf-8")
    (asked,) = read_enquiries(path, small)
    assert asked.request is not None
    assert [row.problems for row in asked.rows] == [()]
    path.write_text("enquiry_id,who,customer,usable_tb\nA,me,Mill,4\n", "utf-8")
    with pytest.raises(Exception, match="'who' is not a known column"):
        read_enquiries(path, small)
