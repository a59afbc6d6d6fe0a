"""Are useless parts those that no build has, when a program of its own tries every one?"""

import itertools
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import load_price_list
from quotelib.levels import LEVELS, Level
from quotelib.review import useless_parts
from tests import small_list
from tests.second_program.boxes import Box
from tests.second_program.enquiry import LEVELS as LEVEL_NAMES
from tests.second_program.generate import SMALL, Size, generate
from tests.second_program.reading import Prices, read_prices
from tests.second_program.rules import Build, accessories_of, stops
from tests.second_program.stops import option_stops, seat_stops

FEW = Size(chassis=1, controllers=3, drives=3, bays=6, enquiries=1)


def used_somewhere(prices: Prices) -> set[str]:
    """Try everything: each three parts with each level, drives up to the bays, and spans."""
    used: set[str] = set()
    for chassis, controller, drive in itertools.product(
        prices.chassis, prices.controllers, prices.drives
    ):
        with_it = accessories_of(prices, chassis, controller, drive, frozenset())
        skus = {part.sku for part in (chassis, controller, drive, *with_it)}
        if skus <= used:
            continue
        for level, members in itertools.product(LEVEL_NAMES, range(1, chassis.bays + 1)):
            for spans in range(1, members + 1):
                build = Build(chassis, controller, drive, level, spans, members, 0)
                if not stops(prices, build, frozenset()):
                    used |= skus
    for chassis, option in itertools.product(prices.chassis, prices.options):
        alone = Box(chassis, (), ((option, 1),))
        if not option_stops(alone) | seat_stops(alone):
            used.add(option.sku)
    return used


def useless_of(prices: Prices) -> set[str]:
    listed = (
        prices.chassis, prices.controllers, prices.drives, prices.accessories, prices.options,
    )  # fmt: skip
    return {part.sku for parts in listed for part in parts} - used_somewhere(prices)


@pytest.mark.parametrize("size", [FEW, SMALL], ids=["few", "small"])
def test_useless_parts_are_those_that_no_build_has(size: Size, tmp_path: Path) -> None:
    kinds: set[str] = set()
    for seed in range(25 if size is FEW else 8):
        folder, _ = generate(seed, tmp_path / str(seed), size)
        found = useless_parts(load_price_list(folder))
        assert {item.sku for item in found} == useless_of(read_prices(folder)), seed
        assert all(item.why for item in found)
        kinds |= {item.file for item in found}
    if size is FEW:  # the lists had something to find, of every kind of part
        files = ("chassis", "controllers", "drives", "accessories", "options")
        assert kinds == {f"{name}.csv" for name in files}


def test_a_part_is_useless_for_the_reason_of_the_builds_that_come_nearest() -> None:
    tables = small_list.only(chassis="BOX-12", controllers="CARD", drives="DISK-8T FLASH-NV")
    found = {item.sku: item.why for item in useless_parts(small_list.price_list(tables))}
    assert "the bays of BOX-12 take sata or sas, FLASH-NV is nvme" in found["FLASH-NV"]
    assert found["ADAPTER"] == "no part needs it"
    assert set(found) == {"FLASH-NV", "ADAPTER"}


def test_an_accessory_of_useless_parts_is_useless() -> None:
    tables = small_list.only(chassis="BOX-NV", controllers="CARD", drives="FLASH-NV")
    found = {item.sku: item.why for item in useless_parts(small_list.price_list(tables))}
    assert found["MODULE"] == "none of CARD goes into a build that needs it"


def test_nothing_to_build_with_is_said() -> None:
    tables = {**small_list.only(chassis="BOX-12", drives="DISK-8T"), "controllers.csv": []}
    tables["accessories.csv"] = []
    found = {item.sku: item.why for item in useless_parts(small_list.price_list(tables))}
    assert found == dict.fromkeys(("DISK-8T", "BOX-12"), "there is nothing to build it with")


@pytest.mark.parametrize(("name", "least", "useless"), [("73", 5, False), ("74", 13, True)])
def test_a_controller_of_a_level_added_by_one_row_is_useful_where_bays_suffice(
    name: str, least: int, useless: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = "Three drives' worth of parity are spread over all."
    monkeypatch.setitem(LEVELS, name, Level(name, least, None, 1, 3, 1, False, words))
    tables = small_list.only(chassis="BOX-12", controllers="CARD BARE", drives="DISK-8T")
    small_list.change(tables, "BARE", levels=name, brackets="low", max_drives=24)
    found = {item.sku for item in useless_parts(small_list.price_list(tables))}
    assert ("BARE" in found) is useless
    assert "CARD" not in found
