"""What an upgrade says of the customer's parts and data, and what owned parts cost."""

from __future__ import annotations

from decimal import Decimal

import pytest

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price
from quotelib.promise.upgrade import upgrade_words
from tests import billing
from tests.asking import ask

DRIVES = {"drive": "DRV-HDD-10T-SAS-4K", "members": "8", "level": "6"}


def chosen(price_list: PriceList, **cells: str) -> tuple[Enquiry, Build]:
    enquiry = ask(price_list, **cells)
    best = choose(price_list, enquiry).best
    assert best is not None
    return enquiry, best.build


def words(price_list: PriceList, **cells: str) -> str:
    enquiry, made = chosen(price_list, **cells)
    return "\n".join(upgrade_words(made, enquiry.builds))


def test_nothing_owned_nothing_said(starter: PriceList) -> None:
    assert words(starter, **DRIVES) == ""


def test_owned_drives(starter: PriceList) -> None:
    said = words(starter, **DRIVES, owned="drive", spares="1")
    assert "Yours already: 9 drives DRV-HDD-10T-SAS-4K." in said
    assert "erases its member drives" in said
    assert "test that the backup can be restored" in said
    assert "only the level changes, the data must be moved off" in said
    # 6 data members of 10,000,831,348,736 bytes less 512 MiB: 60.0017e12 / 2^40 = 54.57.
    assert "60.00 TB (54.57 TiB)" in said
    assert "another controller may not read the old array" in said


def test_backup_is_told_before_anything_that_erases(starter: PriceList) -> None:
    said = words(starter, **DRIVES, owned="drive")
    assert said.index("back up everything") < said.index("erases")


def test_owned_controller_with_new_drives(starter: PriceList) -> None:
    said = words(starter, usable_tb="10", controller="CTL-RF8-12G-CD", owned="controller")
    assert "the controller CTL-RF8-12G-CD" in said
    assert "made on drives that we supply and starts empty" in said
    assert "only the level changes" not in said
    assert "may not read" not in said
    assert "unwritten data in its cache" in said
    assert "has no cables, brackets or cache protection" in said
    assert "Have the cache protection of CTL-RF8-12G-CD tested" in said


def test_owned_chassis_with_its_board_controller(starter: PriceList) -> None:
    said = words(
        starter,
        chassis="CHS-2U-8L",
        controller="CTL-BOARD-8",
        drive="DRV-HDD-4T-SATA",
        members="2",
        level="1",
        owned="chassis",
    )
    assert "the chassis CHS-2U-8L and the controller CTL-BOARD-8" in said
    assert "cables" not in said
    assert "has no rails or carriers" in said


def test_owned_drives_without_an_array(starter: PriceList) -> None:
    said = words(starter, drive="DRV-HDD-8T-SAS", members="4", level="none", owned="drive")
    assert "none of them can be read by itself" in said
    assert "only the level changes" not in said


def test_carriers_that_come_with_our_chassis_are_not_called_missing(starter: PriceList) -> None:
    said = words(starter, **DRIVES, owned="drive")
    assert "The quote has no" not in said


@pytest.mark.parametrize(
    ("owned", "pins", "share"),
    [
        ("drive", {}, "Drives"),
        ("controller", {"controller": "CTL-RB2-12G-CD"}, "Controller"),
        ("chassis", {"chassis": "CHS-2U-12L"}, "Chassis"),
    ],
)
def test_owned_parts_cost_nothing(
    starter: PriceList, owned: str, pins: dict[str, str], share: str
) -> None:
    fixed = {"chassis": "CHS-2U-12L", "controller": "CTL-RB2-12G-CD"}
    both = [chosen(starter, **DRIVES, **fixed, owned=o) for o in ("", owned)]
    book = PriceBook(starter, "GBP")
    all_lines, lines = (billing.lines(b, book, e.deal) for e, b in both)
    whole, less = (price(b, book, e.deal) for e, b in both)
    assert share in {line.share for line in all_lines}
    assert share not in {line.share for line in lines}
    assert {x.sku for x in lines if x.share == "Services"} == {
        x.sku for x in all_lines if x.share == "Services"
    }
    assert less.freight < whole.freight
    assert less.net < whole.net - Decimal(1)


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ({"chassis": "CHS-1U-4L", "owned": "chassis", **DRIVES}, "bay_interface"),
        ({"controller": "CTL-RE-12G-CD", "owned": "controller", **DRIVES}, "level_not_offered"),
        ({"chassis": "CHS-2U-16S", "owned": "chassis;drive", **DRIVES}, "bay_width"),
    ],
)
def test_owned_parts_are_still_checked(
    starter: PriceList, cells: dict[str, str], code: str
) -> None:
    choice = choose(starter, ask(starter, **cells))
    assert choice.best is None
    assert code in [reason.code for reason in choice.refused]
