"""Options of every kind: what they take, what supplies carry, and when rules stay silent."""

from decimal import Decimal

import pytest

from quotelib.build import advice, fit, unknown
from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from tests.small_list import OPTIONS, TABLES, build, change, copy, price_list

STATED = {"processor_sockets": 2, "memory_slots": 8, "supply_bays": 2}


@pytest.fixture
def prices() -> PriceList:
    return price_list(change(copy({**TABLES, "options.csv": OPTIONS}), "BOX-12", **STATED))


def box(prices: PriceList, options: str, redundant: bool = False) -> Build:
    names = "BOX-12 MEZZ DISK-8T"
    return build(prices, names, Layout("5", 3), options=options, redundant=redundant)


@pytest.mark.parametrize(
    ("sku", "takes", "role"),
    [
        ("CPU-8", "processor socket", "processor"),
        ("MEM-16", "memory slot", "memory module"),
        ("PSU-600", "supply bay", "supply unit"),
        ("BOOT", "", "boot module"),
        ("BOOT-CARD", "slot", "boot card"),
        ("SYSTEM", "paperwork", "software licence"),
        ("BELL", "", "other part"),
    ],
)
def test_what_each_kind_takes(prices: PriceList, sku: str, takes: str, role: str) -> None:
    option = prices.options[sku]
    assert (option.takes, option.role) == (takes, role)
    made = box(prices, sku)
    assert fit.stops(made) == []
    assert made.slots_free == (1 if sku == "BOOT-CARD" else 2)
    bare = box(prices, "")
    assert made.watts - bare.watts == option.watts
    assert made.mass_g() - bare.mass_g() == option.mass_g


def test_full_to_the_last_place(prices: PriceList) -> None:
    full = " ".join(["CPU-8"] * 2 + ["MEM-16"] * 8 + ["PSU-600"])
    assert fit.stops(box(prices, full)) == []
    codes = [[f.code for f in fit.stops(box(prices, f"{full} {more}"))] for more in full.split()]
    assert codes == [["sockets_full"]] * 2 + [["memory_full"]] * 8 + [["supplies_full"]]


@pytest.mark.parametrize(
    ("options", "redundant", "carried"),
    [("", False, 600), ("PSU-600", False, 1200), ("PSU-600", True, 600), ("", True, 0)],
)
def test_what_the_supplies_carry(
    prices: PriceList, options: str, redundant: bool, carried: int
) -> None:
    assert box(prices, options, redundant).supply_w == carried


def test_other_layouts_keep_the_supply_to_spare(prices: PriceList) -> None:
    made = box(prices, "PSU-600", redundant=True).with_layouts(Layout("5", 4))
    assert made.supply_w == 600


@pytest.mark.parametrize("over", [0, 1])
def test_the_load_with_one_supply_less(prices: PriceList, over: int) -> None:
    # 200 + 3 x 11 + 12 + 6 = 251 W
    tables = change(copy({**TABLES, "options.csv": OPTIONS}), "BOX-12", **STATED)
    change(tables, "BOX-12", supply_w=251 - over)
    change(tables, "PSU-600", supply_w=251 - over)
    found = fit.stops(box(price_list(tables), "PSU-600", redundant=True))
    assert [f.code for f in found] == ["power"] * over


def test_a_box_without_a_supply_of_its_own_takes_any_equal_ones(prices: PriceList) -> None:
    tables = change(copy({**TABLES, "options.csv": OPTIONS}), "BOX-12", **STATED, supplies=0)
    without = price_list(tables)
    assert fit.stops(box(without, "PSU-800 PSU-800", redundant=True)) == []
    assert box(without, "PSU-800 PSU-800").supplies_w == (800, 800)
    assert [f.code for f in fit.stops(box(without, "PSU-800 PSU-600"))] == ["power"]


@pytest.mark.parametrize(
    ("options", "uneven"),
    [
        ("MEM-16 MEM-16 MEM-16", False),  # nobody said how many processors
        ("CPU-8 MEM-16 MEM-16 MEM-16", False),
        ("CPU-8 CPU-8", False),
        ("CPU-8 CPU-8 MEM-16", True),
        ("CPU-8 CPU-8 MEM-16 MEM-16", False),
    ],
)
def test_memory_is_even(prices: PriceList, options: str, uneven: bool) -> None:
    found = list(advice.memory_uneven(box(prices, options)))
    assert [f.code for f in found] == ["memory_uneven"] * uneven


def test_room_that_is_stated_is_no_note(prices: PriceList) -> None:
    assert list(unknown.places_unknown(box(prices, "CPU-8 MEM-16"))) == []


@pytest.mark.parametrize(
    ("limit", "high"), [(None, False), ("40", True), ("40.8", True), ("40.9", False)]
)
def test_a_high_draw_goes_by_what_counts(prices: PriceList, limit: str | None, high: bool) -> None:
    # 200 + 3 x 11 + 12 = 245 W of 600 W: 40.83 %
    pct = None if limit is None else Decimal(limit)
    found = list(advice.supply_high(box(prices, ""), pct))
    assert [f.code for f in found] == ["supply_high"] * high
    if found:
        said = f"draws 245 W with all drives active, more than {limit} % of the 600 W its supply"
        assert f"{said} carries" in found[0].what
        assert found[0].change == "a larger supply runs cooler and leaves room for more"
    # With a second supply in reserve as much counts; 6 W more are drawn, 41.83 %.
    spare = box(prices, "PSU-600", redundant=True)
    (with_one_less,) = advice.supply_high(spare, Decimal("41.8"))
    assert with_one_less.what.endswith("of the 600 W its supplies carry with one less")
    two = box(prices, "PSU-600")
    assert list(advice.supply_high(two, Decimal("41.8"))) == []
    (both,) = advice.supply_high(two, Decimal("20"))
    assert both.what.endswith("of the 1200 W its supplies carry")
