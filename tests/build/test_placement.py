"""Where everything goes: single cases, and 10,000 random builds against a second checker."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from decimal import Decimal
from typing import Any

import pytest

from quotelib.build.build import Build, Layout, Parts, accessories_for, combine
from quotelib.build.placement import Placement, numbers, place, speed_capped
from quotelib.build.seat import BRACKET_MM
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive, Slot
from quotelib.catalogue.price_list import PriceList, load_price_list

from .random_builds import Facts, can_be_built, random_build, violations

STARTER = load_price_list()
BUILDS = 10_000


def starter_build(
    chassis: str, controller: str, drive: str, layout: Layout, owned: Any = ()
) -> Build:
    parts = combine(
        STARTER,
        STARTER.chassis[chassis],
        STARTER.controllers[controller],
        STARTER.drives[drive],
        owned,
    )
    return Build(parts, layout)


def build_of(facts: Facts) -> Build:
    """Hand random facts over as a build."""
    chassis = dict(facts["chassis"])
    slots = tuple(Slot.model_validate(s) for s in chassis.pop("slots"))
    made = Chassis.model_validate(chassis).model_copy(update={"slots": slots})
    controller = Controller.model_validate(facts["controller"])
    drive = Drive.model_validate(facts["drive"])
    owned = frozenset(facts["owned"])
    price_list = PriceList(
        drives={drive.sku: drive},
        controllers={controller.sku: controller},
        chassis={made.sku: made},
        accessories={a["sku"]: Accessory.model_validate(a) for a in facts["accessories"]},
        services={},
        workloads={},
        terms=STARTER.terms,
        fingerprint="",
    )
    added = accessories_for(price_list, made, controller, drive, owned)
    return Build(Parts(made, controller, drive, owned, added), Layout(**facts["layout"]))


def as_json(placement: Placement) -> Facts:
    data: Facts = json.loads(placement.model_dump_json())
    return data


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
        build = build_of(facts)
        placed += 1
        placement = place(build)
        assert violations(facts, as_json(placement)) == [], facts
        seat = placement.controller
        fitting = [s for s in build.chassis.slots if s.height in build.controller.brackets]
        seen[seat.mounting] += 1
        seen[f"caps {seat.caps_drives}"] += 1
        seen["choice of slots"] += len(fitting) > 1
        seen["choice of slots, all cap"] += len(fitting) > 1 and seat.caps_drives is True
        seen["spares"] += build.layout.spares > 0
        seen["spans"] += build.layout.spans > 1
        seen["owned"] += bool(placement.owned)
        seen["adapter"] += build.parts.needs_adapter
    # The sample is worth something only if it reaches every branch often.
    assert refused > 8000
    assert {"board", "mezzanine", "card", "caps True", "caps False", "caps None"} < set(seen)
    assert min(seen.values()) > 200, seen


@pytest.mark.parametrize(
    ("path", "value", "complaint"),
    [
        (("bays", 0, "use"), "empty", "bays are used"),
        (("bays", 2, "span"), 2, "spans are"),
        (("controller", "slot"), 3, "is more modest"),
        (("controller", "bracket"), "full", "another height"),
        (("controller", "gen"), 4, "agrees on"),
        (("controller", "gb_s"), 15.75, "carries"),
        (("controller", "caps_drives"), True, "caps is"),
        (("accessories", 0, "quantity"), 2, "ACC-0"),
        (("free", "watts"), "1", "watts"),
        (("free", "mezzanine_sockets"), 0, "sockets"),
    ],
)
def test_the_checker_sees_a_wrong_placement(
    path: tuple[str | int, ...], value: object, complaint: str
) -> None:
    facts = plain_facts()
    good = as_json(place(build_of(facts)))
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
    build = starter_build(
        "CHS-2U-24S",
        "CTL-RB2-12G-MZ",
        "DRV-HDD-1200-SAS-10K",
        Layout("60", 12, 3, 2),
    )
    placement = place(build)
    assert placement.bays_of("member", 1) == (1, 2, 3, 4)
    assert placement.bays_of("member", 3) == (9, 10, 11, 12)
    assert placement.bays_of("spare") == (23, 24)
    assert placement.bays_of("empty") == tuple(range(13, 23))
    seat = placement.controller
    assert (seat.socket, seat.slot, seat.gen, seat.lanes) == (1, None, 3, 8)
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
def test_lowest_slot_that_does_not_cap(members: int, slot: int, caps: bool) -> None:
    build = starter_build("CHS-2U-12L", "CTL-RF8-12G-CD", "DRV-HDD-8T-SAS", Layout("6", members))
    seat = place(build).controller
    assert (seat.slot, seat.bracket, seat.caps_drives) == (slot, "low", caps)
    assert "most modest" in seat.why


def test_a_taller_slot_when_the_low_one_caps() -> None:
    build = starter_build("CHS-1U-8N", "CTL-PT-TRI-CD", "DRV-SSD-3840-NVME-RD", Layout("none", 8))
    # Its bracket is low only: slot 2, whatever it carries.
    seat = place(build).controller
    assert (seat.slot, seat.gen, seat.lanes, seat.caps_drives) == (2, 4, 16, True)
    assert "only low-profile slot" in seat.why
    chassis = build.chassis
    slots = (
        chassis.slots[0].model_copy(update={"slot": 1, "gen": 4, "lanes": 4, "height": "low"}),
        chassis.slots[0].model_copy(update={"slot": 2, "gen": 4, "lanes": 16, "height": "full"}),
    )
    wide = build.controller.model_copy(update={"brackets": ("low", "full")})
    parts = Parts(chassis.model_copy(update={"slots": slots}), wide, build.drive)
    # One drive of 6.5 GB/s fits through four lanes of generation 4 (7.88), two do not.
    assert place(Build(parts, Layout("none", 1))).controller.slot == 1
    two = place(Build(parts, Layout("none", 2))).controller
    assert (two.slot, two.bracket, two.caps_drives) == (2, "full", False)
    assert "only slot 2 does not hold" in two.why
    many = place(Build(parts, Layout("none", 8))).controller
    assert (many.slot, many.caps_drives) == (2, True)
    assert "is the fastest" in many.why


def test_card_and_slot_agree_on_the_lesser() -> None:
    """PCI Express Base Specification, from memory: a link trains to the lesser of both ends.

    Rates: 8 GT/s x 128/130 / 8 = 0.985 GB/s a lane, re-derived.
    """
    build = starter_build("CHS-2U-8L", "CTL-RF8-TRI-CD", "DRV-HDD-8T-SAS", Layout("6", 4))
    seat = place(build).controller  # card generation 4 x16; slot 2 generation 3 x4
    assert (seat.slot, seat.gen, seat.lanes) == (2, 3, 4)
    assert seat.gb_s == pytest.approx(4 * 0.985, abs=0.002)
    build = starter_build("CHS-2U-24S", "CTL-PT-12G-CD", "DRV-HDD-1200-SAS-10K", Layout("none", 4))
    seat = place(build).controller  # card generation 3 x8; slot 1 generation 4 x8
    assert (seat.slot, seat.gen, seat.lanes) == (1, 3, 8)


def test_bracket_heights() -> None:
    """PCI Express CEM Specification: 79.2 mm seen in secondary sources only; 120.02 mm from memory.

    Secondary sources give the full-height bracket as 120 mm (seen).
    """
    assert BRACKET_MM["low"] == 79.2
    assert BRACKET_MM["full"] == pytest.approx(120.02)
    build = starter_build("CHS-2U-12L", "CTL-RU1-12G-CD", "DRV-HDD-8T-SAS", Layout("6", 4))
    seat = place(build).controller
    assert (seat.bracket, seat.bracket_mm) == ("full", 120.02)
    assert "full-height bracket" in seat.where


@pytest.mark.parametrize("blank", ["host_gen", "host_lanes"])
def test_a_blank_host_link_makes_no_statement_about_capping(blank: str) -> None:
    build = starter_build("CHS-2U-24S", "CTL-RB2-12G-CD", "DRV-SSD-3840-SAS-RD", Layout("6", 24))
    controller = build.controller.model_copy(update={blank: None, "max_mb_s": None})
    unknown = Build(Parts(build.chassis, controller, build.drive), build.layout)
    placement = place(unknown)
    seat = placement.controller
    assert (seat.gb_s, seat.caps_drives) == (None, None)
    assert "not known" in seat.why
    assert placement.speed.capped is None
    assert speed_capped(placement) is None


def test_what_caps_is_named() -> None:
    build = starter_build("CHS-2U-24S", "CTL-RB2-12G-MZ", "DRV-SSD-3840-SAS-RD", Layout("6", 24))
    found = speed_capped(place(build))
    assert found is not None
    assert (found.code, found.severity) == ("speed_capped", "note")
    # 24 x 1085 MB/s against the controller's 6200; its x8 link of generation 3 has 7877.
    assert "26.04 GB/s" in found.message
    assert "CTL-RB2-12G-MZ itself for 6.20 GB/s" in found.message
    slow = build.controller.model_copy(update={"max_mb_s": 30000.0, "host_lanes": 4})
    found = speed_capped(place(Build(Parts(build.chassis, slow, build.drive), build.layout)))
    assert found is not None
    assert "the link of CTL-RB2-12G-MZ (mezzanine socket 1) for 3.94 GB/s" in found.message
    slow = build.controller.model_copy(update={"sas_gbit_s": "3", "max_mb_s": 30000.0})
    found = speed_capped(place(Build(Parts(build.chassis, slow, build.drive), build.layout)))
    assert found is not None
    assert "the drives' own links for 7.20 GB/s" in found.message


def test_nothing_capped_is_no_finding() -> None:
    build = starter_build("CHS-2U-12L", "CTL-RB2-12G-MZ", "DRV-HDD-8T-SAS", Layout("6", 4))
    assert place(build).speed.capped is False
    assert speed_capped(place(build)) is None


def test_accessories_say_where_they_go() -> None:
    build = starter_build(
        "CHS-2U-8L", "CTL-RB2-12G-CD", "DRV-SSD-960-SATA-RD", Layout("5", 4, 1, 1)
    )
    where = {a.kind: a.where for a in place(build).accessories}
    assert where["cable"].startswith("from CTL-RB2-12G-CD, slot ")
    assert where["cache_protection"].startswith("on the controller, CTL-RB2-12G-CD")
    assert "fit the full-height one" in where["bracket"]
    assert where["adapter"].endswith("bays 1 to 4, 8")
    assert "both sides of CHS-2U-8L" in where["rail"]


def test_owned_parts_are_placed_too_and_bring_no_accessories() -> None:
    layout = Layout("1", 2)
    build = starter_build(
        "CHS-2U-8L", "CTL-BOARD-8", "DRV-HDD-4T-SATA", layout, ("chassis", "drive")
    )
    placement = place(build)
    assert placement.owned == ("chassis", "drive")
    assert placement.accessories == ()
    assert placement.controller.where == "on the board of CHS-2U-8L"
    assert place(starter_build("CHS-2U-8L", "CTL-BOARD-8", "DRV-HDD-4T-SATA", layout)).accessories


def test_what_does_not_fit_is_not_placed() -> None:
    build = starter_build("CHS-2U-8L", "CTL-RB2-12G-MZ", "DRV-HDD-8T-SAS", Layout("6", 9))
    with pytest.raises(ValueError, match=r"needs a mezzanine socket.*do not go into the 8 bays"):
        place(build)


def test_numbers() -> None:
    assert numbers([1, 2, 3, 7, 9, 10]) == "1 to 3, 7, 9 to 10"
    assert numbers([]) == ""
