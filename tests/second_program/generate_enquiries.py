"""Random enquiries about one price list: most of them near something that can be built."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from .levels import LEVELS, level_offered, member_count_fits
from .reading import Prices, Row
from .rules import Build, stops
from .stops import pair_stops, seat_stops

CUSTOMERS = ("Invented Müller & Söhne", "=Invented Farm", 'Invented "Quay" Bakery', "Invented <b>")


def _target(rng: random.Random, prices: Prices) -> Build:
    """Pick a build that fits if a hundred tries find one, so that enquiries are not hopeless."""
    for attempt in range(100):
        chassis, controller = rng.choice(prices.chassis), rng.choice(prices.controllers)
        drive = rng.choice(prices.drives)
        box = Build(chassis, controller, drive, "0", 1, 2, 0).box()
        if pair_stops(prices, box, box.arrays[0]) | seat_stops(box) and attempt < 95:
            continue
        most = min(chassis.bays, controller.max_drives)
        layouts = [
            (level, spans, members)
            for level in LEVELS
            if level_offered(level, controller)
            for members in range(1, most + 1)
            for spans in (range(2, 5) if level in ("50", "60") else (1,))
            if member_count_fits(level, members, spans)
        ]
        if layouts:
            # Level first, or the levels with many layouts would crowd out the others.
            offered = sorted({layout[0] for layout in layouts})
            level = rng.choice([one for one in offered if one != "none"] or offered)
            _, spans, members = rng.choice([one for one in layouts if one[0] == level])
            return Build(chassis, controller, drive, level, spans, members, 0)
    return Build(prices.chassis[0], prices.controllers[0], prices.drives[0], "0", 1, 2, 0)


def _pins(rng: random.Random, prices: Prices, target: Build) -> Row:
    """Pin none, some or all of the target; now and then something else altogether."""
    share = rng.choice([0, 0.3, 0.6, 1])
    if target.spans > 1 and rng.random() < 0.6:
        share = 1  # left open, two spans are hardly ever the cheapest way
    wanted = {
        "chassis": target.chassis.sku,
        "controller": target.controller.sku,
        "drive": target.drive.sku,
        "members": str(target.members),
        "level": target.level,
    }
    row = {pin: value for pin, value in wanted.items() if rng.random() < share}
    if rng.random() < 0.08:
        row["chassis"] = rng.choice(prices.chassis).sku
    if rng.random() < 0.08:
        row["controller"] = rng.choice(prices.controllers).sku
    if rng.random() < 0.06:
        row["drive"] = rng.choice(prices.drives).sku
    if rng.random() < 0.08:
        row["members"] = str(rng.randint(1, 26))
    if rng.random() < 0.08:
        row["level"] = rng.choice(LEVELS)
    if rng.random() < (0.4 if target.spans > 1 else 0.04):
        row["spans"] = str(rng.choice([target.spans, target.spans, 1, 2, 3]))
    if rng.random() < 0.25:
        row["spares"] = str(rng.choice([0, 1, 1, 2]))
    return row


def _demands(rng: random.Random, prices: Prices, target: Build, currency: str) -> Row:
    row = {}
    capacity = Decimal(target.box().arrays[0].usable_bytes) / 10**12
    asked = capacity * rng.choice([30, 60, 90, 99, 99, 100, 101]) / 100
    row["usable_tb"] = f"{max(asked, Decimal(0)):.{rng.choice([0, 1, 3, 6])}f}"
    if rng.random() < 0.1:
        row["usable_tb"] = str(capacity)  # to the byte
    if rng.random() < 0.25:
        row["survive"] = str(rng.choice([0, 1, 1, 2, 3]))
    if rng.random() < 0.2:
        row["media"] = rng.choice(["hdd", "ssd"])
    if rng.random() < 0.2:
        row["free_slots"] = str(rng.choice([0, 1, 1, 2]))
    if rng.random() < 0.2:
        rate = Decimal(1) if currency == prices.currency else prices.rates[currency]
        parts = (
            target.chassis.unit_price
            + target.controller.unit_price
            + target.drive.unit_price * target.members
        )
        row["max_price"] = f"{parts * rate * rng.randint(80, 160) / 100:.0f}"
    return row


def _terms(rng: random.Random, prices: Prices) -> Row:
    row = {
        "builds": rng.choice(["", "", "1", "2", "3", "5", "9", "10", "40"]),
        "currency": rng.choice(["", "GBP", "EUR", "JPY", "KWD"]),
    }
    if rng.random() < 0.4:
        row["discount_pct"] = rng.choice(["0", "1.25", "2.5", "7.125", "33.333", "0.005", "100"])
    if rng.random() < 0.6:
        row["tax_code"] = rng.choice(sorted(prices.tax))
    if rng.random() < 0.5:
        row["workload"] = rng.choice(sorted(prices.workloads))
    if rng.random() < 0.3:
        codes = ["no_redundancy", "cache_unprotected", "loss_over_limit", "erases_data"]
        codes.append("memory_uneven")
        row["accept"] = ";".join(rng.sample(codes, rng.randint(1, 4)))
    return row


def own_some(rng: random.Random, prices: Prices, row: Row) -> str:
    """Own some pinned parts, but nothing about which the contract is silent."""
    boards = {chassis.board_controller for chassis in prices.chassis}
    needed = {sku for accessory in prices.accessories for sku in accessory.needed_by}
    mine = []
    for part in ("chassis", "controller", "drive"):
        if not row.get(part) or rng.random() < 0.5:
            continue
        if part == "controller" and row[part] in boards:
            continue
        if part == "chassis" and boards & needed:
            continue
        mine.append(part)
    return ";".join(mine)


def _options(rng: random.Random, prices: Prices, target: Build) -> Row:
    """Ask for a few options, for a supply to spare and for a modest draw; most of it fits."""
    row = {"redundant_supply": "yes"} if rng.random() < 0.12 else {}
    wanted: dict[str, int] = {}
    units = [o for o in prices.options if row and o.supply_w == target.chassis.supply_w]
    for _ in range(20 if units or (prices.options and rng.random() < 0.6) else 0):
        some = rng.sample(prices.options, rng.randint(1, min(4, len(prices.options))))
        some = list(dict.fromkeys([*some, *units[:1]]))
        wanted = {option.sku: rng.choice([1, 1, 2, 3]) for option in some}
        made = replace(
            target,
            options=tuple((option, wanted[option.sku]) for option in some),
            redundant_supply=bool(row),
        )
        if not stops(prices, made, frozenset()) or rng.random() < 0.04:
            break
    row["options"] = ";".join(f"{sku}*{n}" if n > 1 else sku for sku, n in wanted.items())
    if rng.random() < 0.12:
        draw = target.chassis.watts + target.controller.watts + target.drive.watts * target.members
        row["max_watts"] = f"{draw * rng.randint(90, 160) / 100:.1f}"
    return row


SPOILERS: tuple[Callable[[Row], Row], ...] = (
    lambda row: row | {"drive": "DRV-NOT-SOLD"},
    lambda row: row | {"chassis": "CHS-NOT-SOLD"},
    lambda row: row | {"controller": "CTL-NOT-SOLD"},
    lambda row: row | {"currency": "SEK"},
    lambda row: row | {"level": "7"},
    lambda row: row | {"workload": "unheard of"},
    lambda row: row | {"tax_code": "GONE"},
    lambda row: row | {"accept": "whatever"},
    lambda row: row | {"owned": "drive", "drive": ""},
    lambda row: row | {"builds": "0"},
    lambda row: row | {"builds": "2.5"},
    lambda row: row | {"customer": ""},
    # No array, no server without one, no service by itself.
    lambda row: row | dict.fromkeys(("usable_tb", "level", "options", "services"), ""),
    lambda row: row | {"usable_tb": "lots"},
    lambda row: row | {"options": "OPT-NOT-SOLD"},
    lambda row: row | {"redundant_supply": "perhaps"},
    lambda row: row | {"max_watts": "-1"},
)


def enquiry_rows(rng: random.Random, prices: Prices, count: int) -> list[Row]:
    """Make so many enquiries; about one in twelve is spoiled."""
    rows: list[Row] = []
    for n in range(count):
        target = _target(rng, prices)
        row = {"enquiry_id": f"E{n:03d}", "customer": rng.choice(CUSTOMERS), "note": "invented"}
        row |= _terms(rng, prices)
        row |= _pins(rng, prices, target)
        row |= _options(rng, prices, target)
        row |= _demands(rng, prices, target, row["currency"] or prices.currency)
        if all(row.get(pin) for pin in ("drive", "members", "level")) and rng.random() < 0.6:
            row["usable_tb"] = ""
        if rng.random() < 0.6:
            row["owned"] = own_some(rng, prices, row)
        if rng.random() < 0.08:
            row = rng.choice(SPOILERS)(row)
        if rows and rng.random() < 0.02:
            row["enquiry_id"] = rng.choice(rows)["enquiry_id"]
        rows.append(row)
    return rows
