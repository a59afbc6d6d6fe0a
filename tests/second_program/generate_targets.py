"""Finds a server that can be built, so that random orders are not hopeless."""

from __future__ import annotations

import random
from collections.abc import Callable

from .boxes import Array, Box, accessories_of
from .levels import LEVELS, level_offered, member_count_fits
from .reading import Chassis, Prices
from .stops import advice, pair_stops, stops

Change = Callable[[random.Random, Prices, Box], Box]


def _array(rng: random.Random, prices: Prices, chassis: Chassis, bays: int) -> Array | None:
    """Make one array of at most so many drives that its controller and the bays take."""
    bare = Box(chassis, ())
    for _ in range(20):
        controller, drive = rng.choice(prices.controllers), rng.choice(prices.drives)
        most = min(bays, controller.max_drives, 8)
        layouts = [
            (level, spans, members)
            for level in LEVELS
            if level_offered(level, controller)
            for members in range(1, most + 1)
            for spans in ((2,) if level in ("50", "60") else (1,))
            if member_count_fits(level, members, spans)
        ]
        if not layouts:
            continue
        offered = sorted({layout[0] for layout in layouts})
        safe = [level for level in offered if level not in ("0", "none")]
        level = rng.choice(safe if safe and rng.random() < 0.8 else offered)
        _, spans, members = rng.choice([one for one in layouts if one[0] == level])
        array = Array(controller, drive, level, spans, members)
        if not pair_stops(prices, bare, array):
            return array
    return None


def any_box(rng: random.Random, prices: Prices, arrays: int) -> Box | None:
    """Put a server of so many arrays together, whether or not something stops it as a whole."""
    chassis = rng.choice(prices.chassis)
    made: list[Array] = []
    left = chassis.bays
    for n in range(arrays):
        array = _array(rng, prices, chassis, left - (arrays - n - 1))
        if array is None:
            return None
        left -= array.drives
        made.append(array)
    most = min(3, len(prices.options))
    wanted = rng.sample(prices.options, rng.choice([0, 1, most] if arrays else [1, most]))
    fitting = [one for one in wanted if not one.fits or chassis.sku in one.fits]
    options = tuple((one, rng.choice([1, 1, 2])) for one in fitting)
    return Box(chassis, tuple(made), options, rng.random() < 0.1)


def target(
    rng: random.Random, prices: Prices, arrays: int, change: Change | None = None
) -> Box | None:
    """Find a server of so many arrays without a stop; mostly one that needs no yes."""
    held = None
    for attempt in range(60):
        box = any_box(rng, prices, arrays)
        if box is None or (not arrays and not box.options):
            continue
        if change is not None:
            # Of drives passed through there is little to say.
            if any(array.level == "none" for array in box.arrays) and rng.random() < 0.7:
                continue
            box = change(rng, prices, box)
        accessories = accessories_of(prices, box)
        if not stops(prices, box, accessories, ()):
            if not advice(box, accessories) or rng.random() < (0.2 if change is None else 0.5):
                return box
            held = box
        elif attempt > 50 and rng.random() < 0.02:
            return box
    return held
