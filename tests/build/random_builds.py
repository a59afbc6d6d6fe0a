"""Random builds as plain dictionaries, and a checker of placements that knows only those.

Nothing here calls the fit or placement code; the models are used only to hand a build over.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

Facts = dict[str, Any]
LEVELS = {  # members a span, parity a span, spanned
    "0": (2, False),
    "1": (2, False),
    "5": (3, False),
    "6": (4, False),
    "10": (4, False),
    "50": (3, True),
    "60": (4, True),
    "none": (1, False),
}
# MB/s of a lane: 8b/10b below generation 3, 128b/130b up to 5, 242 of 256 bytes in 6.
LANE_MB_S = {
    1: 250.0,
    2: 500.0,
    3: 8e3 / 8 * 128 / 130,
    4: 16e3 / 8 * 128 / 130,
    5: 32e3 / 8 * 128 / 130,
    6: 64e3 / 8 * 242 / 256,
}
SERIAL_MB_S = {"1.5": 150, "3": 300, "6": 600, "12": 1200, "22.5": 2400, "24": 2400}
COMMON = {"description": "invented", "unit_cost": "1", "unit_price": "2"}
COMMON |= {"lead_days": "0", "stock": "1"}


def random_build(rng: random.Random) -> Facts:
    """Make one build, which may or may not fit."""
    chassis = _chassis(rng)
    controller = _controller(rng)
    if controller["mounting"] == "board" and rng.random() < 0.9:
        chassis["board_controller"] = controller["sku"]
    drive = _drive(rng)
    return {
        "chassis": chassis,
        "controller": controller,
        "drive": drive,
        "accessories": list(_accessories(rng)),
        "owned": [r for r in ("chassis", "controller", "drive") if rng.random() < 0.1],
        "layout": _layout(rng, chassis["bays"]),
    }


def _chassis(rng: random.Random) -> Facts:
    slots = [
        {
            "chassis_sku": "CHS",
            "slot": number,
            "gen": rng.randint(1, 7),
            "lanes": rng.choice([1, 2, 4, 8, 16]),
            "height": rng.choice(["low", "full"]),
        }
        for number in sorted(rng.sample(range(1, 9), rng.choice([0, 1, 1, 2, 3, 4])))
    ]
    return COMMON | {
        "sku": "CHS",
        "rack_units": 2,
        "bays": rng.choice([2, 4, 6, 8, 12, 16, 24]),
        "bay_width_in": rng.choice(["2.5", "3.5", "3.5"]),
        "bay_interfaces": tuple(rng.sample(["sata", "sas", "nvme"], rng.randint(2, 3))),
        "mezzanine_sockets": rng.choice([0, 1, 1, 2]),
        "board_controller": None,
        "supply_w": rng.choice(["250", "400.5", "800", "1600"]),
        "base_w": rng.choice(["80", "120.25", "230"]),
        "mass_g": "12000",
        "slots": slots,
    }


def _controller(rng: random.Random) -> Facts:
    kind = rng.choice(["chipset", "pass_through", "raid", "raid", "raid"])
    mounting = rng.choice(["board", "mezzanine", "card", "card"])
    return COMMON | {
        "sku": "CTL",
        "kind": kind,
        "levels": () if kind == "pass_through" else ("0", "1", "5", "6", "10", "50", "60"),
        "sata_gbit_s": rng.choice(["1.5", "3", "6", "6", "6"]),
        "sas_gbit_s": rng.choice([None, "3", "6", "12", "22.5", "24"]),
        "nvme_gen": rng.choice([None, 3, 4, 5, 7]),
        "host_gen": rng.choice([None, 1, 2, 3, 3, 4, 4, 5, 6, 7]),
        "host_lanes": rng.choice([None, 1, 2, 4, 8, 8, 16]),
        "mounting": mounting,
        "brackets": rng.choice([("low",), ("full",), ("low", "full")])
        if mounting == "card"
        else (),
        "max_drives": rng.choice([4, 8, 16, 32]),
        "max_mb_s": rng.choice([None, 2000.0, 6000.0]),
        "watts": rng.choice(["0", "11.5", "24"]),
        "mass_g": "150",
    }


def _drive(rng: random.Random) -> Facts:
    interface = rng.choice(["sata", "sas", "nvme"])
    fast = {"sata": 560, "sas": 1150, "nvme": 7000}[interface]
    return COMMON | {
        "sku": "DRV",
        "media": "ssd",
        "interface": interface,
        "width_in": rng.choice(["2.5", "2.5", "3.5"]),
        "capacity_gb": 960,
        "block_bytes": "512",
        "read_mb_s": float(rng.randint(100, fast)),
        "write_mb_s": float(rng.randint(100, fast)),
        "warranty_years": "5",
        "active_w": rng.choice(["3.5", "8.2", "17"]),
        "idle_w": "1",
        "mass_g": "100",
    }


def _accessories(rng: random.Random) -> Iterator[Facts]:
    for number, kind in enumerate(
        ["cable", "cache_protection", "bracket", "carrier", "rail", "adapter", "cable"]
    ):
        if rng.random() < 0.7:
            usual = {"carrier": ["CHS"], "rail": ["CHS"], "adapter": ["DRV"]}.get(kind, ["CTL"])
            odd = rng.sample(["CHS", "CTL", "DRV"], rng.randint(1, 3))
            yield COMMON | {
                "sku": f"ACC-{number}",
                "kind": kind,
                "needed_by": tuple(usual if rng.random() < 0.8 else odd),
                "per": "drive"
                if kind in {"carrier", "adapter"}
                else rng.choice(["build", "drive"]),
                "watts": rng.choice(["0", "0", "0.5", "2"]),
                "mass_g": "50",
            }


def _layout(rng: random.Random, bays: int) -> Facts:
    level = rng.choice(list(LEVELS))
    least, spanned = LEVELS[level]
    spans = rng.randint(2, 4) if spanned else 1
    members = spans * rng.randint(least, max(least, bays // spans))
    if level == "1":
        members = 2
    if rng.random() < 0.05:
        members += 1
    spares = rng.choice([0, 0, 1, 2])
    return {"level": level, "members": members, "spans": spans, "spares": spares}


def accessories_of(facts: Facts) -> list[Facts]:
    """Tell by the contract which accessories come with a build."""
    chassis, drive, owned = facts["chassis"], facts["drive"], set(facts["owned"])
    if facts["controller"]["mounting"] == "board" and "chassis" in owned:
        owned.add("controller")
    skus = {"chassis": "CHS", "controller": "CTL", "drive": "DRV"}
    ours = {sku for role, sku in skus.items() if role not in owned}
    narrow = drive["width_in"] == "2.5" and chassis["bay_width_in"] == "3.5"
    return [
        a
        for a in facts["accessories"]
        if (narrow if a["kind"] == "adapter" else ours & set(a["needed_by"]))
    ]


def draw_tenths_mw(facts: Facts) -> int:
    """Add up the draw in units of 0.1 mW, in whole numbers."""
    layout = facts["layout"]
    drives = layout["members"] + layout["spares"]

    def units(watts: str) -> int:
        whole, _, part = watts.partition(".")
        return int(whole) * 10000 + int(part.ljust(4, "0"))

    added = sum(
        units(a["watts"]) * (drives if a["per"] == "drive" else 1) for a in accessories_of(facts)
    )
    own: int = units(facts["chassis"]["base_w"]) + units(facts["controller"]["watts"])
    members: int = drives * units(facts["drive"]["active_w"])
    return own + members + added


def supply_tenths_mw(facts: Facts) -> int:
    """Give what the supply gives in units of 0.1 mW."""
    supply: str = facts["chassis"]["supply_w"]
    whole, _, part = supply.partition(".")
    return int(whole) * 10000 + int(part.ljust(4, "0"))


def can_be_built(facts: Facts) -> bool:
    """Judge by the contract alone whether a build is possible."""
    chassis, controller, drive = facts["chassis"], facts["controller"], facts["drive"]
    layout = facts["layout"]
    level, members, spans = layout["level"], layout["members"], layout["spans"]
    drives = members + layout["spares"]
    least, _ = LEVELS[level]
    narrow = drive["width_in"] == "2.5" and chassis["bay_width_in"] == "3.5"
    adapted = narrow and any(
        "DRV" in a["needed_by"] for a in accessories_of(facts) if a["kind"] == "adapter"
    )
    seats = {
        "board": chassis["board_controller"] == "CTL",
        "mezzanine": chassis["mezzanine_sockets"] > 0,
        "card": any(s["height"] in controller["brackets"] for s in chassis["slots"]),
    }
    link = {"sata": "sata_gbit_s", "sas": "sas_gbit_s", "nvme": "nvme_gen"}[drive["interface"]]
    offered = controller["kind"] != "raid" if level == "none" else level in controller["levels"]
    return (
        drives <= min(chassis["bays"], controller["max_drives"])
        and (drive["width_in"] == chassis["bay_width_in"] or adapted)
        and drive["interface"] in chassis["bay_interfaces"]
        and controller[link] is not None
        and seats[controller["mounting"]]
        and offered
        and members % spans == 0
        and members // spans >= least
        and not (level == "1" and members != 2)
        and not (level == "10" and members % 2)
        and draw_tenths_mw(facts) <= supply_tenths_mw(facts)
    )


def pcie(gen: int | None, lanes: int | None) -> float | None:
    """Give MB/s of a link, None where it is not known."""
    return None if gen is None or lanes is None or gen not in LANE_MB_S else LANE_MB_S[gen] * lanes


def drives_mb_s(facts: Facts) -> float:
    """Give what the members give together, each held by its own link."""
    drive, controller = facts["drive"], facts["controller"]
    rated = max(drive["read_mb_s"], drive["write_mb_s"])
    if drive["interface"] == "nvme":
        link = pcie(controller["nvme_gen"], 4)
    else:
        link = SERIAL_MB_S[controller[f"{drive['interface']}_gbit_s"]]
    members: int = facts["layout"]["members"]
    return float(members * min(rated, link or rated))


def violations(facts: Facts, placed: Facts) -> list[str]:
    """Check a placement, given as JSON data, against the facts of its build."""
    return [
        *_bay_violations(facts, placed),
        *_seat_violations(facts, placed),
        *_accessory_violations(facts, placed),
        *_free_violations(facts, placed),
    ]


def _bay_violations(facts: Facts, placed: Facts) -> Iterator[str]:
    layout, bays = facts["layout"], facts["chassis"]["bays"]
    uses = [b["use"] for b in placed["bays"]]
    is_array = layout["level"] != "none"
    if [b["bay"] for b in placed["bays"]] != list(range(1, bays + 1)):
        yield "bays are not numbered 1 to the last"
    member = "member" if is_array else "passed_through"
    empty = bays - layout["members"] - layout["spares"]
    if uses != [member] * layout["members"] + ["empty"] * empty + ["spare"] * layout["spares"]:
        yield f"bays are used {uses}"
    spans = [b["span"] for b in placed["bays"]][: layout["members"]]
    each = layout["members"] // layout["spans"]
    wanted = [n + 1 for n in range(layout["spans"]) for _ in range(each)]
    if spans != (wanted if is_array else [None] * layout["members"]):
        yield f"spans are {spans}"
    if any(b["span"] is not None for b in placed["bays"][layout["members"] :]):
        yield "a bay without a member has a span"
    for bay in placed["bays"]:
        filled = bay["use"] != "empty"
        if bay["array"] != (0 if filled else None):
            yield f"bay {bay['bay']} is of array {bay['array']}"
        if bay["owned"] != (filled and "drive" in facts["owned"]):
            yield f"bay {bay['bay']} is owned by somebody else"


def _seat_violations(facts: Facts, placed: Facts) -> Iterator[str]:
    controller, chassis, (seat,) = facts["controller"], facts["chassis"], placed["seats"]
    gen, lanes = controller["host_gen"], controller["host_lanes"]
    mounted = {"board": "board", "mezzanine": "socket", "card": "slot"}[controller["mounting"]]
    if (seat["sku"], seat["takes"]) != ("CTL", mounted):
        yield "mounted otherwise"
    if mounted != "slot" and seat["number"] != (1 if mounted == "socket" else None):
        yield f"takes number {seat['number']}"
    owned = "controller" in facts["owned"] or (mounted == "board" and "chassis" in facts["owned"])
    if seat["owned"] != owned or placed["chassis_owned"] != ("chassis" in facts["owned"]):
        yield "owned by somebody else"
    if controller["mounting"] == "card":
        slot = next((s for s in chassis["slots"] if s["slot"] == seat["number"]), None)
        if slot is None:
            yield "in no slot"
            return
        if slot["height"] not in controller["brackets"] or seat["bracket"] != slot["height"]:
            yield "in a slot of another height"
        gen = None if gen is None else min(gen, slot["gen"])
        lanes = None if lanes is None else min(lanes, slot["lanes"])
        yield from _slot_choice_violations(facts, slot)
    elif seat["bracket"] is not None:
        yield "has a bracket without being a card"
    rate, drives = pcie(gen, lanes), drives_mb_s(facts)
    if (seat["gen"], seat["lanes"]) != (gen, lanes):
        yield f"agrees on {seat['gen']} x {seat['lanes']}, not {gen} x {lanes}"
    if (rate is None) != (seat["gb_s"] is None):
        yield "knows a rate that is not known, or the reverse"
    if rate is not None and abs(seat["gb_s"] * 1000 - rate) > 1e-6 * rate:
        yield f"carries {seat['gb_s']}"
    if seat["held_back"] != (None if rate is None else rate < drives * (1 - 1e-12)):
        yield f"held back is {seat['held_back']}: {rate} against {drives}"
    if abs(placed["speed"]["drives_mb_s"] - drives) > 1e-6 * drives:
        yield f"drives give {placed['speed']['drives_mb_s']}, not {drives}"


def _slot_choice_violations(facts: Facts, taken: Facts) -> Iterator[str]:
    """Find a slot that would have been the better choice."""
    gen, lanes = facts["controller"]["host_gen"] or 0, facts["controller"]["host_lanes"] or 0

    def badness(slot: Facts) -> tuple[int, ...]:
        lost = max(lanes - slot["lanes"], 0), max(gen - slot["gen"], 0)
        return (*lost, slot["height"] == "full", slot["lanes"], slot["slot"])

    for other in facts["chassis"]["slots"]:
        if other["height"] in facts["controller"]["brackets"] and badness(other) < badness(taken):
            yield f"slot {other['slot']} is better than {taken['slot']}"


def _accessory_violations(facts: Facts, placed: Facts) -> Iterator[str]:
    layout, bays = facts["layout"], facts["chassis"]["bays"]
    drives = layout["members"] + layout["spares"]
    filled = [*range(1, layout["members"] + 1), *range(bays - layout["spares"] + 1, bays + 1)]
    due = {a["sku"]: a for a in accessories_of(facts)}
    if [a["sku"] for a in placed["accessories"]] != list(due):
        yield "other accessories than due"
        return
    for got in placed["accessories"]:
        item = due[got["sku"]]
        each = item["per"] == "drive"
        if got["quantity"] != (drives if each else 1) or got["bays"] != (filled if each else []):
            yield f"{got['sku']}: {got['quantity']} for bays {got['bays']}"
        roles = {"CHS": "chassis", "CTL": "controller", "DRV": "drive"}
        called = [roles[sku] for sku in got["for_parts"]]
        if set(got["for_parts"]) != set(item["needed_by"]) or got["for_roles"] != called:
            yield f"{got['sku']} is for {got['for_parts']}"
        if not got["where"]:
            yield f"{got['sku']} goes nowhere"


def _free_violations(facts: Facts, placed: Facts) -> Iterator[str]:
    chassis, free, (seat,) = facts["chassis"], placed["free"], placed["seats"]
    taken = seat["number"] if seat["takes"] == "slot" else None
    left = [s["slot"] for s in chassis["slots"] if s["slot"] != taken]
    if [s["slot"] for s in free["slots"]] != left:
        yield "slots"
    is_card = facts["controller"]["mounting"] == "card"
    if len(left) != len(chassis["slots"]) - is_card:
        yield "slots do not add up"
    if free["mezzanine_sockets"] != chassis["mezzanine_sockets"] - (seat["takes"] == "socket"):
        yield "sockets"
    if free["bays"] != [b["bay"] for b in placed["bays"] if b["use"] == "empty"]:
        yield "bays"
    spare = supply_tenths_mw(facts) - draw_tenths_mw(facts)
    if spare < 0 or round(float(free["watts"]) * 10000) != spare:
        yield f"watts {free['watts']}, not {spare / 10000}"
    one_more = dict(facts, layout=dict(facts["layout"]))
    one_more["layout"]["spares"] += free["drives_more"]
    for extra, fits in ((0, True), (1, False)):
        one_more["layout"]["spares"] += extra
        drives = one_more["layout"]["members"] + one_more["layout"]["spares"]
        room = min(chassis["bays"], facts["controller"]["max_drives"])
        if (drives <= room and draw_tenths_mw(one_more) <= supply_tenths_mw(facts)) != fits:
            yield f"{free['drives_more']} more drives"
