"""What comes along, and how many: by hand, and drive by drive on random builds."""

import random
from dataclasses import replace
from typing import Any

import pytest

from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Layout
from quotelib.build.placement import place
from quotelib.catalogue.parts import Accessory, Controller
from tests.small_list import OPTIONS, TABLES, build, change, copy, price_list, server

# Two SATA disks as a mirror on the board, and four SAS disks (one of them a spare) on the card.
NAMES = "BOX-12 BOARD DISK-4T CARD DISK-8T"
LAYOUTS = Layout("1", 2), Layout("5", 3, spares=1)


def made(cells: dict[str, str], owned: str = "", options: str = "") -> Build:
    tables = change(copy({**TABLES, "options.csv": OPTIONS}), "BOX-12", board_controller="BOARD")
    tables["accessories.csv"] = [
        {**row, "with": "", "interfaces": ""} for row in tables["accessories.csv"]
    ]
    change(tables, "CABLE", **cells)
    return build(price_list(tables), NAMES, *LAYOUTS, owned=owned, options=options)


def cables(found: Build) -> int:
    return sum(p.count for p in found.pieces() if p.part.sku == "CABLE")


@pytest.mark.parametrize(
    ("cells", "owned", "options", "count"),
    [
        ({"needed_by": "CARD", "per": "build"}, "", "", 1),
        ({"needed_by": "CARD", "per": "drive"}, "", "", 4),  # those on the card
        ({"needed_by": "CARD", "per": "3"}, "", "", 2),
        ({"needed_by": "BOX-12", "per": "4"}, "", "", 2),  # six drives: four and two
        ({"needed_by": "BOX-12", "per": "6"}, "", "", 1),
        ({"needed_by": "BOX-12;CARD", "per": "4"}, "", "", 2),
        ({"needed_by": "DISK-4T;DISK-8T", "per": "4"}, "", "", 2),  # rounded up once, not by array
        ({"needed_by": "BELL", "per": "drive"}, "", "BELL", 6),
        ({"needed_by": "BELL", "per": "drive"}, "", "", 0),
        ({"needed_by": "CARD", "per": "build"}, "controller", "", 0),
        ({"needed_by": "BOX-12;CARD", "per": "drive"}, "chassis", "", 4),
        ({"needed_by": "DISK-4T;CARD", "per": "drive"}, "drive controller", "", 0),
        ({"needed_by": "BOX-12", "per": "drive"}, "drive", "", 6),  # theirs need one, too
        ({"needed_by": "BOX-12", "per": "build", "with": "BELL"}, "", "", 0),
        ({"needed_by": "BOX-12", "per": "build", "with": "BELL"}, "", "BELL", 1),
        ({"needed_by": "BOX-12", "per": "build", "with": "DISK-8T;BELL"}, "drive", "", 1),
        ({"needed_by": "BOX-12", "per": "build", "with": "FLASH-1T"}, "", "", 0),
        ({"needed_by": "BOX-12", "per": "drive", "interfaces": "sas"}, "", "", 4),
        ({"needed_by": "BOX-12", "per": "3", "interfaces": "sas;nvme"}, "", "", 2),
        ({"needed_by": "BOX-12", "per": "build", "interfaces": "sata"}, "", "", 1),
        ({"needed_by": "BOX-12", "per": "build", "interfaces": "nvme"}, "", "", 0),
        ({"needed_by": "CARD", "per": "build", "interfaces": "sata"}, "", "", 0),
    ],
)  # fmt: skip
def test_how_many(cells: dict[str, str], owned: str, options: str, count: int) -> None:
    assert cables(made(cells, owned, options)) == count


def test_some_drives_of_an_array_bought() -> None:
    whole = made({"needed_by": "DISK-8T", "per": "drive"})
    boot, data = whole.arrays
    (cable,) = [a for a in whole.accessories if a.sku == "CABLE"]
    partly = replace(whole, arrays=(boot, replace(data, their_drives=2)))
    assert partly.quantity(cable) == 2
    # Bays 3 and 4 have the customer's own; the spare stands last.
    (where,) = [a for a in place(partly).accessories if a.sku == "CABLE"]
    assert where.bays == (5, 12)


def test_a_server_without_arrays_has_nothing_by_drives() -> None:
    prices = price_list(change(copy(), "CABLE", needed_by="BOX-12"))
    bare = server(prices, "BOX-12", [])
    assert [a.sku for a in bare.accessories] == ["CABLE"]
    assert {p.part.sku for p in bare.pieces()} == {"BOX-12", "CABLE"}


def test_free_drives_count_what_more_of_them_bring() -> None:
    # 200 + 0 + 15 + 2 x 10 + 4 x 11 + 2 (module) = 281 W; a splitter of 30 W for each four drives,
    # so for six of them two (341 W), for eight still two (363 W), for the ninth three.
    found = made({"needed_by": "BOX-12", "per": "4", "watts": "30"})
    assert found.watts == 281 + 2 * 30
    fits = replace(found, chassis=found.chassis.model_copy(update={"supply_w": 363}))
    assert place(fits).free.drives_more == 2


def drives_of(found: Build, item: Accessory) -> int:
    """Count drive by drive, as the contract reads."""
    ours = {p.part.sku for p in found.parts if not p.owned}
    ours |= set() if found.chassis_owned else {found.chassis.sku}
    boards = {p.part.sku for p in found.parts if isinstance(p.part, Controller)}
    every = {found.chassis.sku, *(p.part.sku for p in found.parts)}
    callers = (every if item.kind == "adapter" else ours) & set(item.needed_by)
    by_drives = any(
        array.drive.sku in item.needed_by and (array.bought_drives or item.kind == "adapter")
        for array in found.arrays
    )
    number = 0
    for array in found.arrays:
        for drive in range(array.drives):
            bought = drive >= array.have_drives or item.kind == "adapter"
            called = bought and array.drive.sku in item.needed_by
            if not by_drives:
                called = array.controller.sku in callers or bool(callers - boards)
            narrow = array.drive.width_in == "2.5" and found.chassis.bay_width_in == "3.5"
            kept = array.drive.interface in (item.interfaces or ("sata", "sas", "nvme"))
            number += called and kept and (narrow or item.kind != "adapter")
    return number


def test_random_builds_drive_by_drive() -> None:
    rng = random.Random(31)
    skus = ["BOX-12", "BOARD", "CARD", "MEZZ", "DISK-4T", "DISK-8T", "FLASH-1T", "BELL"]
    seen = {"none": 0, "some": 0, "all": 0, "several": 0}
    for _ in range(1500):
        tables = copy({**TABLES, "options.csv": OPTIONS})
        change(tables, "BOX-12", board_controller="BOARD")
        some = lambda most: ";".join(rng.sample(skus, rng.randint(0, most)))  # noqa: E731
        tables["accessories.csv"] = [
            {
                **row,
                "kind": rng.choice(["cable", "carrier", "adapter"]),
                "needed_by": some(4),
                "per": rng.choice(["build", "drive", "2", "3", "5"]),
                "with": some(2) if rng.random() < 0.3 else "",
                "interfaces": rng.choice(["", "", "sata", "sas;nvme"]),
            }
            for row in tables["accessories.csv"]
        ]
        prices = price_list(tables)
        pairs: list[Any] = [
            (rng.choice(["BOARD", "CARD", "MEZZ"]), rng.choice(["DISK-4T", "DISK-8T", "FLASH-1T"]),
             Layout("0", rng.randint(2, 4), spares=rng.randint(0, 1)))
            for _ in range(rng.randint(1, 3))
        ]  # fmt: skip
        whole = server(prices, "BOX-12", pairs, options=rng.choice(["", "BELL"]))
        arrays = tuple(replace(a, their_drives=rng.randint(0, a.drives)) for a in whole.arrays)
        parts = tuple(Placed(p.part, p.count, rng.random() < 0.3) for p in whole.parts)
        found = assemble(prices, whole.chassis, rng.random() < 0.3, parts, arrays)
        got = {p.part.sku: p.count for p in found.pieces() if isinstance(p.part, Accessory)}
        there = {found.chassis.sku, *(p.part.sku for p in parts), *(a.drive.sku for a in arrays)}
        ours = {p.part.sku for p in found.parts if not p.owned}
        ours |= set() if found.chassis_owned else {found.chassis.sku}
        for item in prices.accessories.values():
            drives = drives_of(found, item)
            if item.per == "build":
                # One that goes by drives needs some; any other also comes with a part alone.
                alone = item.kind != "adapter" and not item.interfaces
                due = int(drives > 0 or (alone and not ours.isdisjoint(item.needed_by)))
            else:
                due = drives // item.per + (drives % item.per > 0)
            if item.together_with and there.isdisjoint(item.together_with):
                due = 0
            assert got.get(item.sku, 0) == due, (item, found)
            seen["none" if not due else "all" if drives == found.drives else "some"] += 1
            seen["several"] += due > 1
    assert min(seen.values()) > 300, seen
