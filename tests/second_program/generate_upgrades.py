"""Says of random servers that they are there already, and what is done with their arrays."""

from __future__ import annotations

import random
from dataclasses import replace

from .boxes import Array, Box
from .levels import FEWEST, drive_bytes, grows_evenly, member_count_fits, survives_any
from .reading import Controller, Drive, Prices, Row


def upgraded(rng: random.Random, prices: Prices, box: Box) -> Box:
    """Say that a server is the customer's, and give each array an action it mostly can have."""
    left = box.chassis.bays - box.drives
    arrays = []
    for array in box.arrays:
        larger = _enlarged(rng, array, left) if rng.random() < 0.9 else array
        left -= larger.members - array.members
        arrays.append(_with_action(rng, prices, larger))
    return replace(box, arrays=tuple(arrays), chassis_owned=True)


def _enlarged(rng: random.Random, array: Array, most: int) -> Array:
    """Give an array that can grow up to so many more members."""
    if array.level not in array.controller.grows:
        return array
    more = [
        members
        for members in range(array.members + 1, array.members + most + 1)
        if member_count_fits(array.level, members, array.spans)
    ]
    return replace(array, members=rng.choice(more)) if more else array


def _with_action(rng: random.Random, prices: Prices, array: Array) -> Array:
    actions = ["new", "keep", "keep"]
    before = [
        old
        for old in range(FEWEST[array.level], array.members)
        if grows_evenly(array.level, old, array.members, array.spans)
    ]
    if before and (array.level in array.controller.grows or rng.random() < 0.1):
        actions += ["grow"] * 12
    if survives_any(array.level) or rng.random() < 0.1:
        actions += ["replace"] * 2
    action = rng.choice(actions)
    if action == "new":
        return replace(array, have=rng.choice([0, 0, array.members, rng.randint(1, array.members)]))
    have = {
        "keep": array.members,
        "grow": rng.choice(before or [array.members]),
        "replace": rng.choice([0, 0, rng.randint(0, array.members)]),
    }[action]
    if action == "grow" and rng.random() < 0.1:
        have = rng.randint(0, array.members)
    owned = array.controller.mounting == "board" or rng.random() < 0.5
    return replace(
        array,
        action=action,
        have=have,
        controller_owned=owned,
        old_controller=_old_controller(rng, prices, array, owned),
        old_drive=None if action == "keep" else _old_drive(rng, prices, array.drive),
    )


def _old_controller(
    rng: random.Random, prices: Prices, array: Array, owned: bool
) -> Controller | None:
    """Pick what made an array: mostly one that the new one reads."""
    made = [one for one in prices.controllers if array.level in ("none", *one.levels)]
    read = [one for one in made if one.family and one.family in array.controller.imports]
    if made and rng.random() < 0.05:
        return rng.choice(made)
    if owned and rng.random() < 0.8:
        return rng.choice([None, *(one for one in made if one is array.controller)])
    return rng.choice(read) if read and rng.random() < 0.85 else None


def _old_drive(rng: random.Random, prices: Prices, drive: Drive) -> Drive | None:
    """Pick the drives that were there: none said, or mostly some that go with the new ones."""
    alike = [
        one
        for one in prices.drives
        if (one.media, one.interface, one.block_bytes)
        == (drive.media, drive.interface, drive.block_bytes)
        and drive_bytes(one) <= drive_bytes(drive)
    ]
    if rng.random() < 0.04:
        return rng.choice(prices.drives)
    return rng.choice(alike) if rng.random() < 0.6 else None


def cells_of(rng: random.Random, array: Array, *, whole: bool) -> Row:
    """Write what a row says of an array that is there; `whole` leaves nothing to choose."""
    row: Row = {"action": array.action, "level": array.level}
    owned = []
    if array.controller_owned and array.controller.mounting != "board":
        owned.append("controller")
    if owned or whole or rng.random() < 0.5:
        row["controller"] = array.controller.sku
    if array.old_controller is not None:
        row["from_controller"] = array.old_controller.sku
    if array.old_drive is not None:
        row["from_drive"] = array.old_drive.sku
    if array.action == "keep":
        owned.append("drive")
    elif array.have or array.action == "grow" or rng.random() < 0.5:
        row["have_drives"] = str(array.have)
    if whole or array.action == "keep" or array.old_drive is None or rng.random() < 0.5:
        row["drive"] = array.drive.sku
    if whole or array.action != "grow" or rng.random() < 0.6:
        row["members"] = str(array.members)
    if array.spans > 1 and (whole or rng.random() < 0.5):
        row["spans"] = str(array.spans)
    row["owned"] = ";".join(owned)
    return row


def own_chassis(rng: random.Random, rows: list[Row]) -> None:
    """Say on all rows of a server, or on some of them, that the chassis is the customer's."""
    told = rows if rng.random() < 0.8 else rng.sample(rows, rng.randint(1, len(rows)))
    for row in told:
        row["owned"] = ";".join(filter(None, ["chassis", row.get("owned", "")]))
