"""Reads single cells of an enquiry; ValueError says column and value."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection
from decimal import Decimal

from .places import FreeSlots
from .reading import Row, words


def given(row: Row, column: str, known: Collection[str]) -> str | None:
    """Read one of some known words; None where the cell is blank."""
    cell = row.get(column, "")
    if cell and cell not in known:
        raise ValueError(f"{column}: {cell!r} is not known")
    return cell or None


def count(row: Row, column: str, least: int) -> int | None:
    """Read a whole number of at least `least`; None where the cell is blank."""
    cell = row.get(column, "")
    if not cell:
        return None
    if not re.fullmatch(r"[0-9]+", cell) or int(cell) < least:
        raise ValueError(f"{column}: {cell!r} is not a whole number of at least {least}")
    return int(cell)


def amount(row: Row, column: str, *, negative: bool = False) -> Decimal | None:
    """Read a number of at least 0, or any where `negative`; None where the cell is blank."""
    cell = row.get(column, "")
    if not cell:
        return None
    if not re.fullmatch(("-?" if negative else "") + r"[0-9]+(\.[0-9]+)?", cell):
        raise ValueError(f"{column}: {cell!r} is not a number, or is below 0")
    return Decimal(cell)


def several(row: Row, column: str, known: Collection[str]) -> frozenset[str]:
    """Read a list of known words."""
    found = frozenset(words(row.get(column, "")))
    if not found <= set(known):
        raise ValueError(f"{column}: {row[column]!r} holds a word that is not known")
    return found


def counted(
    row: Row, column: str, known: Collection[str], each: int, most: int
) -> tuple[tuple[str, int], ...]:
    """Read `SKU*2; SKU`: how many of each, at most so many an item and together."""
    counts: dict[str, int] = {}
    for item in words(row.get(column, "")):
        found = re.fullmatch(r"([^*]+?) *(?:[*] *([0-9]+))?", item)
        if not found or found[1] not in known or not 1 <= int(found[2] or 1) <= each:
            raise ValueError(f"{column}: {item!r} is not a known sku with a count")
        counts[found[1]] = counts.get(found[1], 0) + int(found[2] or 1)
        if counts[found[1]] > most:
            raise ValueError(f"{column}: more than {most} of {found[1]}")
    return tuple(counts.items())


def free_slots(row: Row) -> tuple[FreeSlots, ...]:
    """Read `2` or `1:full:16`, or several of them."""
    demands = []
    for item in words(row.get("free_slots", "")):
        found = re.fullmatch(r"([0-9]+)(?::(low|full))?(?::([0-9]+))?", item)
        if not found:
            raise ValueError(f"free_slots: {item!r} is not count:height:lanes")
        demands.append(FreeSlots(int(found[1]), found[2] or "", int(found[3] or 0)))
    return tuple(demands)


def date(row: Row, column: str) -> dt.date | None:
    """Read a date; None where the cell is blank."""
    cell = row.get(column, "")
    return dt.date.fromisoformat(cell) if cell else None
