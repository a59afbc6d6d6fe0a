"""Makes options of every kind for one random price list, and states what room there is for them."""

from __future__ import annotations

import random
from collections.abc import Callable

from .reading import Row

KINDS = ("processor", "memory", "network", "boot", "supply", "software", "other")


def option_rows(
    rng: random.Random, chassis: list[Row], common: Callable[[int, int, tuple[int, int]], Row]
) -> list[Row]:
    """State the room of the chassis, and make options of every kind for it."""
    for row in chassis:
        bays = rng.choice(["", "1", "2", "2", "4"])
        row["processor_sockets"] = rng.choice(["", "1", "2", "2", "4"])
        row["memory_slots"] = rng.choice(["", "2", "4", "8"])
        row["supply_bays"] = bays
        row["supplies"] = rng.choice(["", "1", *(["2", "0"] if bays in ("2", "4") else [])])
    rows = []
    for kind in KINDS:
        for n in range(rng.choice([1, 2])):
            card = kind != "supply" and rng.random() < (0.8 if kind == "network" else 0.15)
            home = rng.choice(chassis)
            supply = home["supply_w"] if rng.random() < 0.8 else "500"
            rows.append(
                {
                    "sku": f"OPT-{kind[:3].upper()}{n}",
                    "description": f"{kind} {n}, invented",
                    "kind": kind,
                    "fits": home["sku"] if rng.random() < 0.2 else "",
                    "cores": "8" if kind == "processor" else "",
                    "memory_gb": "16" if kind == "memory" else "",
                    "supply_w": supply if kind == "supply" else "",
                    "card": "yes" if card else "",
                    "brackets": rng.choice(["low", "full", "low;full"]) if card else "",
                    "gen": rng.choice(["", "3", "4"]),
                    "connector_lanes": rng.choice(["", "1", "4", "16"]),
                    "watts": f"{rng.randint(0, 900 if kind == 'processor' else 90) / 10}",
                    **common(10, 400, (0, 1200)),
                }
            )
    return rows
