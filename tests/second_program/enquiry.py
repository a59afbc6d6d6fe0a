"""Checks one enquiry row: readable, or ``invalid`` and why."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from .reading import Prices, Row, Service, words

LEVELS = ("0", "1", "5", "6", "10", "50", "60", "none")
ADVISE_CODES = (
    "erases_data",
    "no_redundancy",
    "loss_over_limit",
    "cache_unprotected",
    "memory_uneven",
)
OWNABLE = ("chassis", "controller", "drive")


@dataclass(frozen=True)
class Enquiry:
    """One readable row. None means "not given": no demand, or a pin left open."""

    enquiry_id: str
    currency: str
    builds: int
    usable_tb: Decimal | None
    survive: int | None
    media: str | None
    free_slots: int | None
    max_price: Decimal | None
    discount_pct: Decimal
    tax_code: str
    chassis: str | None
    controller: str | None
    drive: str | None
    members: int | None
    level: str | None
    spans: int | None
    spares: int
    owned: frozenset[str]
    accept: frozenset[str]
    options: tuple[tuple[str, int], ...]
    redundant_supply: bool
    max_watts: Decimal | None
    services: tuple[tuple[Service, int], ...] = ()


def _given(row: Row, column: str, known: tuple[str, ...] | frozenset[str]) -> str | None:
    cell = row.get(column, "")
    if cell and cell not in known:
        raise ValueError(f"{column}: {cell!r} is not known")
    return cell or None


def _count(row: Row, column: str, least: int) -> int | None:
    cell = row.get(column, "")
    if not cell:
        return None
    if not re.fullmatch(r"[0-9]+", cell) or int(cell) < least:
        raise ValueError(f"{column}: {cell!r} is not a whole number of at least {least}")
    return int(cell)


def _amount(row: Row, column: str) -> Decimal | None:
    cell = row.get(column, "")
    if not cell:
        return None
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", cell):
        raise ValueError(f"{column}: {cell!r} is not a number of at least 0")
    return Decimal(cell)


def _several(row: Row, column: str, known: tuple[str, ...]) -> frozenset[str]:
    given = frozenset(words(row.get(column, "")))
    if not given <= set(known):
        raise ValueError(f"{column}: {row[column]!r} holds a word that is not known")
    return given


def _services(row: Row, prices: Prices) -> tuple[tuple[Service, int], ...]:
    """Read `SKU*n`; only what is charged where it is chosen can be named."""
    offered = {service.sku: service for service in prices.services if service.chosen}
    counts: dict[str, int] = {}
    for item in words(row.get("services", "")):
        found = re.fullmatch(r"([^*]+?) *(?:[*] *([0-9]+))?", item)
        if not found or found[1] not in offered or (found[2] and not 1 <= int(found[2]) <= 99):
            raise ValueError(f"services: {item!r} cannot be chosen")
        counts[found[1]] = counts.get(found[1], 0) + int(found[2] or 1)
    return tuple((offered[sku], count) for sku, count in counts.items())


def _options(row: Row, prices: Prices) -> tuple[tuple[str, int], ...]:
    """Read ``SKU*2; SKU``: how many of each."""
    known = {option.sku for option in prices.options}
    counts: dict[str, int] = {}
    for item in words(row.get("options", "")):
        sku, _, times = item.partition("*")
        sku, times = sku.strip(), times.strip() or "1"
        if sku not in known or not re.fullmatch(r"[0-9]+", times) or int(times) < 1:
            raise ValueError(f"options: {item!r} is not an option with a count")
        counts[sku] = counts.get(sku, 0) + int(times)
    return tuple(counts.items())


def read_enquiry(row: Row, prices: Prices, seen: set[str]) -> Enquiry:
    """Read one row; ValueError says why it is ``invalid``. `seen` holds earlier ids."""
    for column in ("enquiry_id", "customer"):
        if not row.get(column, ""):
            raise ValueError(f"{column}: is required")
    if row["enquiry_id"] in seen:
        raise ValueError("enquiry_id: was used by an earlier row")
    if not row.get("usable_tb", "") and not all(
        row.get(pin, "") for pin in ("drive", "members", "level")
    ):
        raise ValueError("usable_tb: is required without the pins drive, members and level")
    _given(row, "workload", prices.workloads)
    owned = _several(row, "owned", OWNABLE)
    for part in sorted(owned):
        if not row.get(part, ""):
            raise ValueError(f"owned: {part} is not pinned")
    discount_pct = _amount(row, "discount_pct") or Decimal(0)
    if discount_pct > 100:
        raise ValueError("discount_pct: is above 100")
    return Enquiry(
        enquiry_id=row["enquiry_id"],
        currency=_given(row, "currency", frozenset(prices.rates) | {prices.currency})
        or prices.currency,
        builds=_count(row, "builds", 1) or 1,
        usable_tb=_amount(row, "usable_tb"),
        survive=_count(row, "survive", 0),
        media=_given(row, "media", ("hdd", "ssd")),
        free_slots=_count(row, "free_slots", 0),
        max_price=_amount(row, "max_price"),
        discount_pct=discount_pct,
        tax_code=_given(row, "tax_code", frozenset(prices.tax)) or "",
        chassis=_given(row, "chassis", frozenset(part.sku for part in prices.chassis)),
        controller=_given(row, "controller", frozenset(p.sku for p in prices.controllers)),
        drive=_given(row, "drive", frozenset(part.sku for part in prices.drives)),
        members=_count(row, "members", 1),
        level=_given(row, "level", LEVELS),
        spans=_count(row, "spans", 1),
        spares=_count(row, "spares", 0) or 0,
        owned=owned,
        accept=_several(row, "accept", ADVISE_CODES),
        options=_options(row, prices),
        redundant_supply=_given(row, "redundant_supply", ("yes",)) == "yes",
        max_watts=_amount(row, "max_watts"),
        services=_services(row, prices),
    )
