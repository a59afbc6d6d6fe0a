"""Spoils one row of a random quote, in one of the ways the contract calls ``invalid``."""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import partial

from .reading import Prices, Row

ANY_ROW: tuple[Callable[[Row], Row], ...] = (
    lambda row: {"parts": "PART-NOT-SOLD"},
    lambda row: {"parts": f"{row.get('drive') or 'PART-NOT-SOLD'}*0"},
    lambda row: {"services": "SVC-NOT-SOLD*2"},
    lambda row: {"line": "Too fine", "line_price": "1.2345"},
    lambda row: {"line": "Half a line", "line_price": "1", "line_quantity": "0.5"},
    lambda row: {"condition": "old"},
    lambda row: {"usable_tb": "lots"},
    lambda row: {"owned": "drive", "drive": ""},
    lambda row: {"level": "7"},
    lambda row: {"action": "rebuild"},
    lambda row: {"have_drives": "99"},
    lambda row: {"from_drive": "DRV-NOT-SOLD"},
    lambda row: {"from_controller": row.get("drive") or "CTL-NOT-SOLD"},
    lambda row: {"customer": "Somebody else, invented"},
    lambda row: {"currency": "SEK"},
)
OF_SERVERS: tuple[Callable[[Row], Row], ...] = (
    lambda row: {"builds": "77"},
    lambda row: {"builds": "2.5"},
    lambda row: {"free_slots": "1:tall"},
    lambda row: {"options": "OPT-NOT-SOLD"},
    lambda row: {"memory_gb": "much"},
    lambda row: {"max_lead_days": "-1"},
)
OF_ARRAYS_THERE: tuple[Callable[[Row], Row], ...] = (
    lambda row: {"owned": row.get("owned", "").replace("chassis", "")},
    lambda row: {"level": "", "usable_tb": "1"},
    lambda row: {"action": ""},
    lambda row: {"action": "keep"},
    lambda row: {"action": "grow"},
    lambda row: {"members": "", "usable_tb": "1"},
    lambda row: {"drive": "", "usable_tb": "1"},
    lambda row: {"from_drive": "", "have_drives": ""},
    lambda row: {"have_drives": "1"},
)


def spoil(rng: random.Random, prices: Prices, quote: list[Row], earlier: list[str]) -> None:
    """Spoil a quote in place; `earlier` are ids of quotes that do not stand just before it."""
    boards = [one.sku for one in prices.controllers if one.mounting == "board"]
    ways: list[Callable[[], object]] = [
        partial(row.update, way(row))
        for row in quote
        for way in ANY_ROW
        # Of a first row another customer is no mistake.
        if row is not quote[0] or "customer" not in way(row)
    ]
    for row in quote[1:]:
        others = [one for one in quote if one is not row]
        if not (row.get("usable_tb") or row.get("level")):
            ways += [partial(row.update, array="alone")] * 3
            continue
        ways += [partial(row.update, way(row)) for way in OF_SERVERS]
        if row.get("server") and any(one.get("server") for one in others):
            ways += [partial(row.update, server="")] * 2
        for one in others:
            if one.get("server") == row.get("server") and (
                one.get("usable_tb") or one.get("level")
            ):
                ways += [partial(row.update, array=one.get("array", ""))] * 3
    for row in quote:
        if row.get("action"):
            ways += [partial(row.update, way(row)) for way in OF_ARRAYS_THERE * 3]
    if boards:
        ways += [partial(quote[-1].update, parts=rng.choice(boards))] * 3
    rng.choice(ways)()
    if earlier and rng.random() < 0.15:
        again = rng.choice(earlier)
        for row in quote:
            row["enquiry_id"] = again
