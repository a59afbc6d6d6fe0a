"""Where everything goes: single cases, and 10,000 random builds against a second checker."""

from __future__ import annotations

import copy
import dataclasses
import json
import random
from collections import Counter
from decimal import Decimal
from typing import Any

import pytest

from quotelib.build.build import Build
from quotelib.build.findings import Finding
from quotelib.build.layout import Layout
from quotelib.build.placement import Placement, place, speed_capped, speeds
from quotelib.build.seats import BRACKET_MM, Seat
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive, Slot
from quotelib.catalogue.price_list import PriceList, load_price_list
from tests.small_list import build, only_array

from .random_builds import Facts, can_be_built, random_build, violations

STARTER = load_price_list()
BUILDS = 3_000


def starter_build(
    chassis: str, controller: str, drive: str, layout: Layout, owned: str = ""
) -> Build:
    return build(STARTER, f"{chassis} {controller} {drive}", layout, owned=owned)


def variant(made: Build, layout: Layout | None = None, **changed: Any) -> Build:
    """Give a build with other models in place of its chassis, controller or drive, bare of
    accessories.
    """
    array = only_array(made)
    parts = {"chassis": made.chassis, "controller": array.controller, "drive": array.drive}
    parts |= changed
    own = dataclasses.replace(
        STARTER, accessories={}, **{f: {p.sku: p} for f, p in _files(parts).items()}
    )
    skus = " ".join(part.sku for part in parts.values())
    return build(own, skus, layout or array.layout)


def _files(parts: dict[str, Any]) -> dict[str, Any]:
    plural = {"chassis": "chassis", "controller": "controllers", "drive": "drives"}
    return {plural[role]: part for role, part in parts.items()}


def seat_of(placement: Placement) -> Seat:
    """Give the seat of the only controller."""
    (seat,) = placement.seats
    return seat


def capped(made: Build) -> Finding | None:
    return next(speed_capped(made, place(made)), None)


def build_of(facts: Facts) -> Build:
    """Hand random facts over as a build."""
    chassis = dict(facts["chassis"])
    slots = tuple(Slot.model_validate(s) for s in chassis.pop("slots"))
    made = Chassis.model_validate(chassis).model_copy(update={"slots": slots})
    controller = Controller.model_validate(facts["controller"])
    drive = Drive.model_validate(facts["drive"])
    price_list = PriceList(
        drives={drive.sku: drive},
        controllers={controller.sku: controller},
        chassis={made.sku: made},
        options={},
        accessories={a["sku"]: Accessory.model_validate(a) for a in facts["accessories"]},
        services={},
        workloads={},
        customers={},
        terms=STARTER.terms,
        fingerprint="",
    )
    layout = Layout(**facts["layout"])
    return build(price_list, "CHS CTL DRV", layout, owned=" ".join(facts["owned"]))


def as_json(made: Build) -> Facts:
    """Give a placement and the speed of the array as JSON data."""
    data: Facts = json.loads(place(made).model_dump_json())
    (found,) = speeds(made)
    return data | {"speed": json.loads(found.model_dump_json())}


def test_random_builds_are_placed_by_every_rule() -> None:
    rng = random.Random(20_240_611)
    placed = refused = 0
    seen: Counter[str] = Counter()
    while placed < BUILDS:
        facts = random_build(rng)
        if not can_be_built(facts):
            refused += 1
            if refused % 8 == 0:
                with pytest.raises(ValueError, match="cannot be built"):
                    place(build_of(facts))
            continue
        made = build_of(facts)
        placed += 1
        placement = as_json(made)
        assert violations(facts, placement) == [], facts
        (seat,) = placement["seats"]
        brackets, slots = facts["controller"]["brackets"], facts["chassis"]["slots"]
        fitting = [s for s in slots if s["height"] in brackets]
        seen[seat["takes"]] += 1
        seen[f"held back {seat['held_back']}"] += 1
        seen["choice of slots"] += len(fitting) > 1
        seen["choice of slots, all cap"] += len(fitting) > 1 and seat["held_back"] is True
        seen["spares"] += facts["layout"]["spares"] > 0
        seen["spans"] += facts["layout"]["spans"] > 1
        seen["owned"] += any(bay["owned"] for bay in placement["bays"])
        seen["adapter"] += any(a["kind"] == "adapter" for a in placement["accessories"])
    # The sample is worth something only if it reaches every branch often.
    assert refused > 2400
    assert {"board", "socket", "slot", "held back True", "held back False", "held back None"} < set(
        seen
    )
    assert min(seen.values()) > 60, seen


@pytest.mark.parametrize(
    ("path", "value", "complaint"),
    [
        (("bays", 0, "use"), "empty", "bays are used"),
        (("bays", 2, "span"), 2, "spans are"),
        (("seats", 0, "number"), 2, "is better than"),
        (("seats", 0, "bracket"), "full", "another height"),
        (("seats", 0, "gen"), 3, "agrees on"),
        (("seats", 0, "gb_s"), 7.88, "carries"),
        (("seats", 0, "held_back"), True, "held back is"),
        (("accessories", 0, "quantity"), 2, "ACC-0"),
        (("free", "watts"), "1", "watts"),
        (("free", "mezzanine_sockets"), 0, "sockets"),
    ],
)
def test_the_checker_sees_a_wrong_placement(
    path: tuple[str | int, ...], value: object, complaint: str
) -> None:
    facts = plain_facts()
    good = as_json(build_of(facts))
    assert violations(facts, good) == []
    bad = copy.deepcopy(good)
    target: Any = bad
    for key in path[:-1]:
        target = target[key]
    assert target[path[-1]] != value
    target[path[-1]] = value
    assert any(complaint in said for said in violations(facts, bad))


def plain_facts() -> Facts:
    rng = random.Random(7)
    while True:
        facts = random_build(rng)
        facts["chassis"]["slots"] = [
            {"chassis_sku": "CHS", "slot": 2, "gen": 3, "lanes": 8, "height": "low"},
            {"chassis_sku": "CHS", "slot": 3, "gen": 4, "lanes": 16, "height": "low"},
        ]
        facts["chassis"] |= {"mezzanine_sockets": 1, "supply_w": "800", "bays": 8}
        facts["controller"] |= {"mounting": "card", "brackets": ("low",)}
        facts["controller"] |= {"host_gen": 4, "host_lanes": 8}
        facts["layout"] = {"level": "5", "members": 4, "spans": 1, "spares": 1}
        facts["drive"] |= {"interface": "sata", "read_mb_s": 250.0, "write_mb_s": 240.0}
        facts["owned"] = []
        if (
            can_be_built(facts)
            and facts["accessories"][:1]
            and (facts["accessories"][0]["sku"], facts["accessories"][0]["per"])
            == ("ACC-0", "build")
        ):
            return facts


def test_spans_fill_bays_in_order_and_spares_come_last() -> None:
    made = starter_build(
        "CHS-2U-24S",
        "CTL-RB2-12G-MZ",
        "DRV-HDD-1200-SAS-10K",
        Layout("60", 12, 3, 2),
    )
    placement = place(made)
    assert placement.bays_of(0, "member", 1) == (1, 2, 3, 4)
    assert placement.bays_of(0, "member", 3) == (9, 10, 11, 12)
    assert placement.bays_of(0, "spare") == (23, 24)
    assert placement.bays_of(0) == placement.filled == (*range(1, 13), 23, 24)
    assert placement.free.bays == tuple(range(13, 23))
    seat = seat_of(placement)
    assert (seat.takes, seat.number, seat.gen, seat.lanes) == ("socket", 1, 3, 8)
    assert "all 3 slots stay free" in seat.why
    assert [s.slot for s in placement.free.slots] == [1, 2, 3]
    carriers = next(a for a in placement.accessories if a.kind == "carrier")
    assert carriers.quantity == 14
    assert carriers.where.endswith("bays 1 to 12, 23 to 24")
    # 1000 - (260 + 14 x 7.6 + 15 + 2 for the battery)
    assert placement.free.watts == Decimal("616.6")
    assert placement.free.drives_more == 10  # max_drives 24, 14 taken


@pytest.mark.parametrize(
    ("members", "slot", "caps"),
    [
        # CHS-2U-12L: slot 1 generation 4 x8 low, 2 generation 4 x16 full, 3 generation 4 x8 full.
        (4, 1, False),
        (12, 1, False),
    ],
)
def test_lowest_slot_that_gives_all_its_lanes(members: int, slot: int, caps: bool) -> None:
    made = starter_build("CHS-2U-12L", "CTL-RF8-12G-CD", "DRV-HDD-8T-SAS", Layout("6", members))
    seat = seat_of(place(made))
    assert (seat.number, seat.bracket, seat.held_back) == (slot, "low", caps)
    assert "most modest" in seat.why


def test_a_taller_slot_where_the_low_one_has_fewer_lanes() -> None:
    made = starter_build("CHS-1U-8N", "CTL-PT-TRI-CD", "DRV-SSD-3840-NVME-RD", Layout("none", 8))
    # Its bracket is low only: slot 2, whatever it carries.
    seat = seat_of(place(made))
    # Eight drives of four lanes share the card's sixteen: as many as its own link has.
    assert (seat.number, seat.gen, seat.lanes, seat.held_back) == (2, 4, 16, False)
    assert "only low-profile slot" in seat.why
    assert "share carry 31.51 GB/s, less than the " in seat.why
    chassis = made.chassis
    slots = (
        chassis.slots[0].model_copy(update={"slot": 1, "gen": 4, "lanes": 4, "height": "low"}),
        chassis.slots[0].model_copy(update={"slot": 2, "gen": 4, "lanes": 16, "height": "full"}),
    )
    other = {
        "chassis": chassis.model_copy(update={"slots": slots}),
        "controller": only_array(made).controller.model_copy(
            update={"brackets": ("low", "full"), "ports": 32}
        ),
    }

    # The card has 16 lanes of its own: they count, however few drives are behind it.
    for drives, held in ((1, False), (2, False), (8, True)):
        seat = seat_of(place(variant(made, Layout("none", drives), **other)))
        assert (seat.number, seat.bracket, seat.held_back) == (2, "full", held)
        assert "slot 2 gives it most: all its own lanes and generation." in seat.why


def test_card_and_slot_agree_on_the_lesser() -> None:
    """PCI Express Base Specification, from memory: a link trains to the lesser of both ends.

    Rates: 8 GT/s x 128/130 / 8 = 0.985 GB/s a lane, re-derived.
    """
    made = starter_build("CHS-2U-8L", "CTL-RF8-TRI-CD", "DRV-HDD-8T-SAS", Layout("6", 4))
    seat = seat_of(place(made))  # card generation 4 x16; slot 1 generation 3 x8
    assert (seat.number, seat.gen, seat.lanes) == (1, 3, 8)
    assert seat.gb_s == pytest.approx(8 * 8 * 128 / 130 / 8)
    made = starter_build("CHS-2U-24S", "CTL-PT-12G-CD", "DRV-HDD-1200-SAS-10K", Layout("none", 4))
    seat = seat_of(place(made))  # card generation 3 x8; slot 1 generation 4 x8
    assert (seat.number, seat.gen, seat.lanes) == (1, 3, 8)


def test_bracket_heights() -> None:
    """PCI Express CEM Specification: 79.2 mm seen in secondary sources only; 120.02 mm from memory.

    Secondary sources give the full-height bracket as 120 mm (seen).
    """
    assert BRACKET_MM["low"] == 79.2
    assert BRACKET_MM["full"] == pytest.approx(120.02)
    made = starter_build("CHS-2U-12L", "CTL-RU1-12G-CD", "DRV-HDD-8T-SAS", Layout("6", 4))
    seat = seat_of(place(made))
    assert (seat.bracket, seat.bracket_mm) == ("full", 120.02)
    assert "full-height bracket" in seat.where


@pytest.mark.parametrize("blank", ["host_gen", "host_lanes"])
def test_a_blank_host_link_makes_no_statement_about_capping(blank: str) -> None:
    made = starter_build("CHS-2U-24S", "CTL-RB2-12G-CD", "DRV-SSD-3840-SAS-RD", Layout("6", 24))
    card = only_array(made).controller
    blanks = {blank: None, "max_mb_s": None, "ports": None}
    unknown = variant(made, controller=card.model_copy(update=blanks))
    seat = seat_of(place(unknown))
    assert "Whether the drives share lanes to it, and how many, is not known" in seat.why
    assert (seat.gb_s, seat.held_back) == (None, None)
    assert "not known" in seat.why
    assert [speed.capped for speed in speeds(unknown)] == [None]
    assert capped(unknown) is None


def test_what_caps_is_named() -> None:
    made = starter_build("CHS-2U-24S", "CTL-RB2-12G-MZ", "DRV-SSD-3840-SAS-RD", Layout("6", 24))
    found = capped(made)
    assert found is not None
    assert (found.code, found.severity) == ("speed_capped", "note")
    # 24 x 1085 MB/s against the controller's 6200; its x8 link of generation 3 has 7877.
    assert "26.04 GB/s" in found.words
    assert "CTL-RB2-12G-MZ itself for 6.20 GB/s" in found.words
    mezzanine = only_array(made).controller
    slow = mezzanine.model_copy(update={"max_mb_s": 30000.0, "host_lanes": 4})
    found = capped(variant(made, controller=slow))
    assert found is not None
    assert "the link of CTL-RB2-12G-MZ (mezzanine socket 1) for 3.94 GB/s" in found.words
    slow = mezzanine.model_copy(update={"sas_gbit_s": "3", "max_mb_s": 30000.0})
    found = capped(variant(made, controller=slow))
    assert found is not None
    shared = "the 8 lanes of CTL-RB2-12G-MZ that all drives behind the expander share"
    assert f"{shared} for 2.40 GB/s" in found.words
    direct = made.chassis.model_copy(update={"backplane": "direct"})
    many = slow.model_copy(update={"ports": 24})
    found = capped(variant(made, controller=many, chassis=direct))
    assert found is not None
    assert "the drives' own links for 7.20 GB/s" in found.words


def test_nothing_capped_is_no_finding() -> None:
    made = starter_build("CHS-2U-12L", "CTL-RB2-12G-MZ", "DRV-HDD-8T-SAS", Layout("6", 4))
    assert [speed.capped for speed in speeds(made)] == [False]
    assert capped(made) is None


def test_accessories_say_where_they_go() -> None:
    made = starter_build("CHS-2U-8L", "CTL-RB2-12G-CD", "DRV-SSD-960-SATA-RD", Layout("5", 4, 1, 1))
    where = {a.kind: a.where for a in place(made).accessories}
    assert where["cable"].startswith("from CTL-RB2-12G-CD, slot ")
    assert where["cache_protection"].startswith("on the controller, CTL-RB2-12G-CD")
    assert "fit the full-height one" in where["bracket"]
    assert where["adapter"].endswith("bays 1 to 4, 8")
    assert "both sides of CHS-2U-8L" in where["rail"]
    assert where["adapter"].startswith("between the 2.5-inch drive and the 3.5-inch bay")
    carried = starter_build("CHS-2U-12L", "CTL-RB2-12G-MZ", "DRV-HDD-8T-SAS", Layout("6", 4))
    (carrier,) = (a for a in place(carried).accessories if a.kind == "carrier")
    assert carrier.where == "on each drive before it goes in, bays 1 to 4"


def test_owned_parts_are_placed_too_and_bring_no_accessories() -> None:
    layout = Layout("1", 2)
    made = starter_build("CHS-2U-8L", "CTL-BOARD-8", "DRV-HDD-4T-SATA", layout, "chassis drive")
    placement = place(made)
    assert (placement.chassis_owned, seat_of(placement).owned) == (True, True)
    assert [bay.bay for bay in placement.bays if bay.owned] == [1, 2]
    assert placement.accessories == ()
    assert seat_of(placement).where == "on the board of CHS-2U-8L"
    assert place(starter_build("CHS-2U-8L", "CTL-BOARD-8", "DRV-HDD-4T-SATA", layout)).accessories


def test_what_does_not_fit_is_not_placed() -> None:
    made = starter_build("CHS-2U-8L", "CTL-RB2-12G-MZ", "DRV-HDD-8T-SAS", Layout("6", 9))
    with pytest.raises(ValueError, match=r"needs a mezzanine socket.*do not go into the 8 bays"):
        place(made)
