"""Adds services to choose from to a random price list, and asks for some of them."""

from __future__ import annotations

import random
from decimal import Decimal

from .generate_prices import DIGITS, SCALE
from .reading import Prices, Row

PER = ("build", "drive", "controller", "array", "quote")
ACTIONS = ("", "", "new", "new;keep", "keep", "grow;replace")


def more_services(rng: random.Random, currency: str) -> list[Row]:
    """Make services of every kind: chosen or not, some for arrays that nobody makes yet."""
    rows = []
    for n, per in enumerate(rng.choices(PER, k=rng.randint(3, 8))):
        price = Decimal(rng.randint(0, 30000)) / 100 * SCALE[currency]
        cost = price * rng.randint(40, 110) / 100
        rows.append(
            {
                "sku": f"SVC-MORE{n}",
                "description": f"More work per {per}, invented",
                "per": per,
                "minutes": rng.choice(["0", "0", "12.5", "90"]),
                "unit_cost": f"{cost:.{DIGITS[currency]}f}",
                "unit_price": f"{price:.{DIGITS[currency]}f}",
                "when": rng.choice(["", "always", "chosen", "chosen", "chosen"]),
                "actions": rng.choice(ACTIONS),
            }
        )
    return rows


def ask_for_services(rng: random.Random, prices: Prices, rows: list[Row]) -> None:
    """Fill in the column `services` of most rows; now and then with what cannot be asked for."""
    for row in rows:
        on_offer = [service for service in prices.services if service.chosen]
        likely = [s for s in on_offer if not s.actions or "new" in s.actions]
        asked = [
            one.sku + rng.choice(["", "", "*2", "*11", " * 3"])
            for one in rng.choices(likely or on_offer or [None], k=rng.choice([0, 1, 1, 2, 3]))
            if one
        ]
        if on_offer and rng.random() < 0.06:
            asked.append(rng.choice(on_offer).sku)
        if rng.random() < 0.06:
            always = [service.sku for service in prices.services if not service.chosen]
            asked.append(rng.choice([*always, "SVC-NOT-SOLD", "SVC-MORE0*0", "SVC-MORE0*x"]))
        if not (row.get("usable_tb") or row.get("level")):
            continue  # services alone are an order of their own
        row["services"] = rng.choice([";", "; "]).join(asked)
