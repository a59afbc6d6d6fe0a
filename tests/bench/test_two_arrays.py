"""Two arrays, two controllers and a card that is none: nothing is forgotten, nothing done twice."""

from __future__ import annotations

import itertools
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

import pytest

from quotelib.bench.sheet import bench_sheet
from quotelib.bench.shown import BenchSheet
from quotelib.build.advice import cache_unprotected
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Action, Array, Layout
from quotelib.build.placement import Placement, place
from quotelib.catalogue.parts import Accessory, Card, Part, Takes
from quotelib.catalogue.price_list import PriceList
from quotelib.levels import LEVELS, Level
from quotelib.pricing.totals import Deal
from tests import small_list

from .reading import bays_in, checks_of, pushed, said, step, uncautioned

STOCKED = {"unit_cost": "1", "unit_price": "2", "lead_days": "0", "stock": "9"}


class Network(Part):
    """A card that runs no array."""

    @property
    def takes(self) -> Takes:
        """Say what place it takes."""
        return "slot"

    @property
    def as_card(self) -> Card:
        """Say what it asks of a slot."""
        return Card(("low", "full"), 4, 8)


NET = Network.model_validate({"sku": "NET-2P", "description": "Ports", "mass_g": "90", **STOCKED})
BRACKET = Accessory.model_validate(
    {
        "sku": "BRACKET",
        "description": "Bracket pair",
        "kind": "bracket",
        "needed_by": "NET-2P;CTL-RB2-12G-CD",
        "per": "build",
        "watts": "0",
        "mass_g": "20",
        **STOCKED,
    }
)


def boot_and_data(
    prices: PriceList, have: Literal["none", "data"] = "none", action: Action = "new"
) -> Build:
    """Build a mirror to start from on the board, data on a card, and a network card."""
    added = MappingProxyType({**prices.accessories, BRACKET.sku: BRACKET})
    board, card = prices.controllers["CTL-BOARD-8"], prices.controllers["CTL-RB2-12G-CD"]
    data = Layout("5", 4, spares=1)
    return assemble(
        replace(prices, accessories=added),
        prices.chassis["CHS-2U-8L"],
        False,
        (Placed(board), Placed(card), Placed(NET)),
        (
            Array(prices.drives["DRV-SSD-480-SATA-RD"], board, Layout("1", 2), name="boot"),
            Array(
                prices.drives["DRV-HDD-8T-SAS"],
                card,
                data,
                data.drives if have == "data" else 0,
                action,
                name="data",
            ),
        ),
    )


@pytest.fixture(scope="module")
def made(starter: PriceList) -> tuple[Build, Placement, BenchSheet]:
    build = boot_and_data(starter)
    places = place(build)
    return build, places, bench_sheet(starter, build, places, Deal(3), may_erase=True)


Made = tuple[Build, Placement, BenchSheet]


def test_every_part_is_picked_once_and_fitted(made: Made) -> None:
    build, _, bench = made
    wanted: dict[str, int] = {}
    for piece in build.pieces():
        if piece.part.takes != "board":
            wanted[piece.part.sku] = wanted.get(piece.part.sku, 0) + piece.count
    assert [line.sku for line in bench.pick] == list(wanted)
    assert {line.sku: line.quantity for line in bench.pick} == wanted
    assert {line.sku: line.quantity_all for line in bench.pick} == {
        sku: 3 * count for sku, count in wanted.items()
    }
    told = " ".join(map(said, bench.steps))
    for line in bench.pick:
        assert line.sku in told or line.role == "bracket", line.sku
    (bracket,) = [line for line in bench.pick if line.role == "bracket" and line.sku == BRACKET.sku]
    assert bracket.location == "on CTL-RB2-12G-CD and NET-2P"
    seated = [s.title for s in bench.steps if s.title.startswith("Seat ")]
    assert len(seated) == 2
    assert {title.split()[1] for title in seated} == {"CTL-RB2-12G-CD", "NET-2P"}
    slots = [title.split("slot ")[1] for title in seated]
    assert sorted(slots) == ["1", "2"]
    for slot in slots:
        assert [s.title for s in bench.steps].count(f"Remove the blank of slot {slot}") == 1


def test_no_bay_is_filled_twice_and_every_hazard_is_told(made: Made) -> None:
    _, places, bench = made
    held = pushed(bench)
    assert len(held) == 3
    assert all(not a & b for a, b in itertools.combinations(held, 2))
    assert set().union(*held) == set(places.filled)
    picked = [bay for line in bench.pick for bay in line.bays]
    assert sorted(picked) == sorted(places.filled)
    assert uncautioned(bench) == []
    assert {bay.words for bay in bench.bays} == {
        "member, array boot",
        "member, array data",
        "hot spare, array data",
        "empty",
    }


def test_each_array_is_made_set_and_checked_by_itself(made: Made) -> None:
    build, places, bench = made
    assert [array.name for array in bench.arrays] == ["Array boot", "Array data"]
    for index, (shown, array) in enumerate(zip(bench.arrays, build.arrays, strict=True)):
        settings = {f.label: f.value for f in shown.settings}
        checks = {c.what: c.must for c in shown.checks}
        seat = places.seat_of(array.controller.sku)
        assert settings["Controller"] == f"{seat.sku}, {seat.where}"
        assert settings["Level"] == array.layout.rule.label
        held = set(places.bays_of(index, "member"))
        assert bays_in(settings["Members"]) == held
        assert checks["Drives seen"].startswith(f"{array.drives} × {array.drive.sku},")
        assert checks["Arrays"] == f"one on {seat.sku}, and no other"
        create = step(bench, f"Create array {array.name}")
        assert array.controller.sku in create.words
        assert bays_in(create.words) == held
        assert bays_in(create.cautions[0].words) == held
        sees = step(bench, f"Compare what {seat.sku} sees").words
        assert f"{array.drives} drives {array.drive.sku}" in sees
    assert bays_in(step(bench, "Assign the spare of array data").words) == {8}
    boot = {f.label: f.value for f in bench.arrays[0].settings}
    assert boot["Write cache"] == "the controller has none: write-through"
    both = [c.what for c in bench.checks if c.what.startswith("Host link")]
    assert both == ["Host link of CTL-RB2-12G-CD", "Host link of NET-2P"]
    assert [c.what for c in checks_of(bench)].count("Burn-in") == 1
    # 50 assembly, 4 x 7 drives, 20 for the controller on a card, 35 x 2 arrays, 25, 15.
    assert bench.minutes == 208
    assert bench.minutes_all == 3 * 208
    plan = {row.label: row.value for row in bench.plan}
    assert plan["Board"].startswith("CTL-BOARD-8, part of it")
    assert plan["Backplane"] == (
        "leads from CTL-BOARD-8 for bays 1 to 2; "
        "CBL-12G-CD-8 from CTL-RB2-12G-CD for bays 3 to 6, 8"
    )
    cable = step(bench, "Run CBL-12G-CD-8").words
    assert "CTL-RB2-12G-CD to backplane for bays 3 to 6, 8." in cable
    assert any(value.startswith("NET-2P, full-height bracket") for value in plan.values())
    assert plan["Bays 1 to 8"].startswith("2 × DRV-SSD-480-SATA-RD, each in CAR-35 and ADP-25")
    assert plan["Bays 1 to 8"].endswith("; 5 × DRV-HDD-8T-SAS, each in CAR-35")


def test_one_array_that_must_not_be_erased_holds_back_all(starter: PriceList) -> None:
    build = boot_and_data(starter, "data")
    bench = bench_sheet(starter, build, place(build), Deal(), may_erase=False)
    told = [s.title for s in bench.steps]
    assert "Stop and ask" in told
    assert not any(t.startswith(("Create", "Initialise", "Assign", "Go through")) for t in told)
    made = boot_and_data(starter)
    free = bench_sheet(starter, made, place(made), Deal(), may_erase=True)
    for verb in ("Create", "Initialise", "Assign", "Go through"):
        assert any(s.title.startswith(verb) for s in free.steps)
    assert checks_of(bench) == []
    assert [f.label for array in bench.arrays for f in array.settings] == ["Array", "Array"]
    (theirs,) = [line for line in bench.pick if line.owned]
    assert theirs.sku == "DRV-HDD-8T-SAS"
    assert set(theirs.bays) == {3, 4, 5, 6, 8}


def test_drives_had_and_drives_bought_are_picked_apart(starter: PriceList) -> None:
    build = boot_and_data(starter)
    boot, data = build.arrays
    some = replace(build, arrays=(boot, replace(data, their_drives=3)))
    bench = bench_sheet(starter, some, place(some), Deal(), may_erase=True)
    lines = {line.owned: line for line in bench.pick if line.sku == data.drive.sku}
    assert (lines[True].quantity, lines[True].bays) == (3, (3, 4, 5))
    assert (lines[False].quantity, lines[False].bays) == (2, (6, 8))
    assert lines[False].location == "bay 6; bay 8 as spare"
    assert "erases all 3 of the customer's drives" in " ".join(bench.data_first)


def test_protection_of_one_controller_does_not_protect_another(small: PriceList) -> None:
    build = small_list.build(
        small, "BOX-12 CARD DISK-8T BARE DISK-4T", Layout("5", 4), Layout("1", 2)
    )
    bench = bench_sheet(small, build, place(build), Deal(), may_erase=True)
    caches = [
        next(f.value for f in array.settings if f.label == "Write cache") for array in bench.arrays
    ]
    assert caches[0].startswith("write-back (2048 MiB) only while")
    assert caches[1].startswith("write-through: the cache of 1024 MiB is not protected")
    assert ["BARE" in found.what for found in cache_unprotected(build)] == [True]
    assert "on CARD" in {line.sku: line.location for line in bench.pick}["MODULE"]


def test_arrays_without_a_name_are_counted(small: PriceList) -> None:
    build = small_list.build(
        small, "BOX-4 BOARD DISK-4T BOARD DISK-4T", Layout("1", 2), Layout("none", 1)
    )
    bench = bench_sheet(small, build, place(build), Deal(), may_erase=True)
    assert [array.name for array in bench.arrays] == ["Array 1", "Array 2"]
    assert "Pass through array 2" in {s.title for s in bench.steps}
    for array in bench.arrays:
        checks = {c.what: c.must for c in array.checks}
        assert checks["Arrays"] == "one on BOARD, and no other"
    assert "3 drives DISK-4T" in step(bench, "Compare what the controller sees").words
    (drives,) = [line for line in bench.pick if line.role == "drive"]
    assert (drives.quantity, drives.bays) == (3, (1, 2, 3))
    assert uncautioned(bench) == []


FEWEST = {level.name: level.min_per_span * (2 if level.spanned else 1) for level in LEVELS.values()}
PAIRS = [
    (first, second)
    for first, second in itertools.product(FEWEST, FEWEST)
    if FEWEST[first] + FEWEST[second] + 2 <= 12 and second not in {"6", "60"}  # as MEZZ offers
]


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_any_two_levels_are_built_together(small: PriceList, first: str, second: str) -> None:
    layouts = [
        Layout(name, FEWEST[name], 2 if LEVELS[name].spanned else 1, int(LEVELS[name].is_array))
        for name in (first, second)
    ]
    one = "CARD" if LEVELS[first].is_array else "THROUGH"
    other = "MEZZ" if LEVELS[second].is_array else "THROUGH"
    build = small_list.build(small, f"BOX-12 {one} DISK-4T {other} DISK-8T", *layouts)
    places = place(build)
    bench = bench_sheet(small, build, places, Deal(), may_erase=True)
    assert uncautioned(bench) == []
    assert sorted(bay for held in pushed(bench) for bay in held) == sorted(places.filled)
    made = [s for s in bench.steps if s.title.startswith("Create")]
    assert len(made) == sum(layout.rule.is_array for layout in layouts)
    set_up = [s for s in bench.steps if s.title.startswith(("Create", "Assign", "Pass"))]
    assert sorted(bay for s in set_up for bay in bays_in(s.words)) == sorted(places.filled)
    for shown, layout in zip(bench.arrays, layouts, strict=True):
        settings = {f.label: f.value for f in shown.settings}
        assert ("Level" in settings) == layout.rule.is_array
        assert layout.rule.label in {settings.get("Level"), "no array"}


def test_a_new_row_of_the_level_table_is_enough(
    small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    pairs = replace(LEVELS["10"], name="pairs")
    triple = Level("triple", 5, None, 1, 3, 1, True, "Each span has three drives' worth of parity.")
    monkeypatch.setitem(LEVELS, "pairs", pairs)
    monkeypatch.setitem(LEVELS, "triple", triple)
    card = small.controllers["CARD"].model_copy(update={"levels": ("pairs", "triple")})
    prices = replace(small, controllers=MappingProxyType({**small.controllers, "CARD": card}))

    def settings(layout: Layout) -> dict[str, str]:
        build = small_list.build(prices, "BOX-12 CARD DISK-8T", layout)
        bench = bench_sheet(prices, build, place(build), Deal(), may_erase=True)
        return {fact.label: fact.value for fact in bench.arrays[0].settings}

    assert settings(Layout("pairs", 4))["Spans"].endswith("bays 1 + 2, 3 + 4")
    spanned = settings(Layout("triple", 12, 2))
    assert spanned["Spans"] == "2 of 6: span 1: bays 1 to 6; span 2: bays 7 to 12"
    assert "768 KiB of data" in spanned["Strip"]  # 256 KiB on 3 data members of a span of 6
