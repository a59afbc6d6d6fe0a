"""What an upgrade says of the customer's parts and data, and what owned parts cost."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal

import pytest

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import single
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price
from quotelib.promise.answer import answer
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
    assert "has no rails, since" in said  # carriers come with the drives


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


THEIRS = {"chassis": "CHS-2U-12L", "drive": "DRV-HDD-8T-SAS", "tax_code": "S"}


def test_an_array_that_is_kept(starter: PriceList) -> None:
    said = words(
        starter,
        **THEIRS,
        members="8",
        level="6",
        owned="chassis;drive",
        action="keep",
        from_controller="CTL-RB2-12G-CD",
    )
    assert "stays as it is, with its data" in said
    assert "in place of CTL-RB2-12G-CD" in said
    assert "If it does not list the array whole, nothing is changed" in said
    assert "rails" not in said
    assert not re.search("eras|initialis|creat", said)


@pytest.mark.parametrize("controller", ["", "controller;"], ids=["ours", "theirs"])
def test_held_writes_reach_the_drives_before_the_old_controller_comes_out(
    starter: PriceList, controller: str
) -> None:
    row = {
        **THEIRS, "controller": "CTL-RB2-12G-CD", "members": "8", "level": "6", "action": "keep",
        "owned": f"chassis;{controller}drive", "from_controller": "CTL-RU1-12G-CD",
    }  # fmt: skip
    said = words(starter, **row)
    assert "start the old controller once more with its drives, and shut the server down" in said
    assert "If it no longer starts, tell us so before anything is moved" in said
    # Small parts of a controller that we do not ship are on no quote of ours.
    assert ("The quote has no cables, brackets" in said) is bool(controller)
    stays = words(starter, **{**row, "from_controller": "", "owned": "chassis;controller;drive"})
    assert "the old controller" not in stays and "no cables" not in stays


def test_replaced_drives_of_unknown_time(starter: PriceList) -> None:
    _, made = chosen(
        starter, **{**THEIRS, "drive": "DRV-HDD-16T-SATA"}, controller="CTL-RB2-12G-CD",
        members="8", level="6", owned="chassis;controller", action="replace", have_drives="0",
        from_drive="DRV-HDD-8T-SATA",
    )  # fmt: skip
    said = "\n".join(upgrade_words(made, 1))
    assert "before the next comes out: how long that takes is not known. Until" in said


def test_an_array_that_grows(starter: PriceList) -> None:
    enquiry, made = chosen(
        starter,
        **THEIRS,
        controller="CTL-RB2-12G-CD",
        members="8",
        level="6",
        owned="chassis;controller",
        action="grow",
        have_drives="4",
    )
    assert [array.bought_drives for array in made.arrays] == [4]
    said = "\n".join(upgrade_words(made, enquiry.builds))
    assert "grows from 4 to 8 members while it works: how long that takes is not known" in said
    record = answer(starter, single(enquiry), dt.date(2026, 3, 2)).record
    assert record is not None
    (server,) = record.servers
    (took,) = [one for one in server.arrays[0].estimates if one.key == "growth_hours"]
    assert f"while it works: about {took.shown} ({took.shown_range})" in "\n".join(server.upgrade)
    assert "CTL-RB2-12G-CD goes on as it is" in said
    bought = {line.sku: line.quantity for line in server.lines}
    assert bought == {
        "DRV-HDD-8T-SAS": 4,
        "CAR-35": 4,
        "SVC-FIT-DRIVE": 4,
        "SVC-GROW-ARRAY": 1,
        "SVC-UPGRADE": 1,
        "SVC-PACK": 1,
    }


def test_drives_that_are_replaced(starter: PriceList) -> None:
    enquiry, _ = chosen(
        starter,
        **THEIRS | {"drive": "DRV-HDD-8T-SATA"},
        controller="CTL-RB2-12G-CD",
        members="6",
        level="6",
        owned="chassis;controller",
        action="replace",
        from_drive="DRV-HDD-4T-SATA",
    )
    record = answer(starter, single(enquiry), dt.date(2026, 3, 2)).record
    assert record is not None
    said = "\n".join(record.servers[0].upgrade)
    assert "6 drives of your array are replaced one after the other" in said
    assert "can be used only after the last rebuild" in said
    took = {one.key: one for one in record.servers[0].arrays[0].estimates}
    hours, days = took["replacement_hours"], took["replacement_days"]
    assert hours.low is not None and days.low is not None
    assert hours.value is not None and days.value is not None
    assert days.low == pytest.approx(6 * hours.low / 24)
    assert days.value == pytest.approx(6 * max(hours.value, 24) / 24)


def test_a_server_without_an_array_keeps_what_is_in_it(starter: PriceList) -> None:
    asked = read_request(
        [{"enquiry_id": "E", "customer": "C", "chassis": "CHS-2U-12L", "owned": "chassis",
          "options": "CPU-16C-150W*2"}],
        starter,
    )  # fmt: skip
    record = answer(starter, asked, dt.date(2026, 3, 2)).record
    assert record is not None
    assert "keeps its place and its data" in "\n".join(record.servers[0].upgrade)
    services = [line.sku for line in record.servers[0].lines if line.share == "Services"]
    assert services == ["SVC-UPGRADE", "SVC-PACK"]
