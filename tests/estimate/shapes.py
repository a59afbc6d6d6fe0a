"""Today's levels in numbers, as the RAID papers define them; the estimates know no names."""

from __future__ import annotations

from quotelib.estimate.shape import ArrayShape, GroupShape, array_shape, group_shape

# Parity drives a span, and copies.
LEVELS: dict[str, tuple[int, int]] = {
    "none": (0, 1),
    "0": (0, 1),
    "1": (0, 2),
    "5": (1, 1),
    "6": (2, 1),
    "10": (0, 2),
    "50": (1, 1),
    "60": (2, 1),
}


def shape_of(level: str, members: int, spans: int = 1) -> ArrayShape:
    return array_shape(members, spans, *LEVELS[level])


def groups_of(level: str, members: int, spans: int = 1) -> GroupShape:
    return group_shape(shape_of(level, members, spans), level != "none")
