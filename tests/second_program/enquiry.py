"""Reads one enquiry row by itself: what it asks for, or why it is ``invalid``."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from . import cells
from .levels import LEVELS
from .places import FreeSlots
from .reading import Controller, Part, Prices, Row, Service
from .stops import ADVISE_CODES

__all__ = ["ADVISE_CODES", "LEVELS", "Ask", "FreeLine", "read_ask"]

ACTIONS = ("new", "keep", "grow", "replace")
OWNABLE = ("chassis", "controller", "drive")
Counts = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class FreeLine:
    """A line in words, in the currency of the quote."""

    quantity: int
    price: Decimal
    cost: Decimal


@dataclass(frozen=True)
class Ask:
    """One readable row. None means "not given": no demand, or a pin left open."""

    # Columns of the quote.
    customer: str
    currency: str
    discount_pct: Decimal
    tax_code: str
    ship_by: object
    customer_ref: str
    # Columns of the server.
    server: str
    builds: int
    chassis: str | None
    free_slots: tuple[FreeSlots, ...]
    max_price: Decimal | None
    options: Counts
    cores: int | None
    memory_gb: int | None
    redundant_supply: bool
    max_watts: Decimal | None
    max_lead_days: int | None
    # The row's own.
    array: str
    usable_tb: Decimal | None
    survive: int | None
    media: str | None
    controller: str | None
    drive: str | None
    members: int | None
    level: str | None
    spans: int | None
    spares: int
    action: str
    have_drives: int | None
    from_controller: str | None
    from_drive: str | None
    owned: frozenset[str]
    accept: frozenset[str]
    any_condition: bool
    services: tuple[tuple[Service, int], ...]
    parts: tuple[tuple[Part, int], ...]
    line: FreeLine | None

    @property
    def asks_array(self) -> bool:
        """Whether the row asks for an array."""
        pins = (self.drive, self.members, self.level)
        return self.usable_tb is not None or None not in pins

    @property
    def whole(self) -> int | None:
        """Members and spares; None where members are left open."""
        return None if self.members is None else self.members + self.spares

    @property
    def asks_server(self) -> bool:
        """Whether the row asks for a server, with an array or without."""
        return self.asks_array or (self.chassis is not None and bool(self.options))


def _skus(parts: tuple[Part, ...]) -> frozenset[str]:
    return frozenset(part.sku for part in parts)


def _parts(row: Row, prices: Prices) -> tuple[tuple[Part, int], ...]:
    loose: list[Part] = [*prices.drives, *prices.chassis, *prices.accessories, *prices.options]
    loose += [one for one in prices.controllers if one.mounting != "board"]
    by_sku = {part.sku: part for part in loose}
    counts = cells.counted(row, "parts", by_sku, 10**6, 10**6)
    return tuple((by_sku[sku], count) for sku, count in counts)


def _services(row: Row, prices: Prices) -> tuple[tuple[Service, int], ...]:
    """Read `SKU*n`; only what is charged where it is chosen can be named."""
    offered = {service.sku: service for service in prices.services if service.chosen}
    counts = cells.counted(row, "services", offered, 99, 10**6)
    return tuple((offered[sku], count) for sku, count in counts)


def _line(row: Row) -> FreeLine | None:
    quantity = cells.count(row, "line_quantity", 1)
    price = cells.amount(row, "line_price", negative=True)
    cost = cells.amount(row, "line_cost")
    if not row.get("line", ""):
        if (quantity, price, cost) != (None, None, None):
            raise ValueError("line: is required with its quantity, price or cost")
        return None
    if price is None:
        raise ValueError("line_price: is required with line")
    return FreeLine(quantity or 1, price, cost or Decimal(0))


def read_ask(row: Row, prices: Prices) -> Ask:
    """Read one row by itself; ValueError says why it is ``invalid``."""
    cells.given(row, "workload", prices.workloads)
    discount_pct = cells.amount(row, "discount_pct") or Decimal(0)
    if discount_pct > 100:
        raise ValueError("discount_pct: is above 100")
    controllers: tuple[Controller, ...] = prices.controllers
    ask = Ask(
        customer=row.get("customer", ""),
        currency=cells.given(row, "currency", {*prices.rates, prices.currency}) or prices.currency,
        discount_pct=discount_pct,
        tax_code=cells.given(row, "tax_code", prices.tax) or "",
        ship_by=cells.date(row, "ship_by"),
        customer_ref=row.get("customer_ref", ""),
        server=row.get("server", ""),
        builds=cells.count(row, "builds", 1) or 1,
        chassis=cells.given(row, "chassis", _skus(prices.chassis)),
        free_slots=cells.free_slots(row),
        max_price=cells.amount(row, "max_price"),
        options=cells.counted(row, "options", _skus(prices.options), 64, 64),
        cores=cells.count(row, "cores", 1),
        memory_gb=cells.count(row, "memory_gb", 1),
        redundant_supply=cells.given(row, "redundant_supply", ("yes",)) == "yes",
        max_watts=cells.amount(row, "max_watts"),
        max_lead_days=cells.count(row, "max_lead_days", 0),
        array=row.get("array", ""),
        usable_tb=cells.amount(row, "usable_tb"),
        survive=cells.count(row, "survive", 0),
        media=cells.given(row, "media", ("hdd", "ssd")),
        controller=cells.given(row, "controller", _skus(controllers)),
        drive=cells.given(row, "drive", _skus(prices.drives)),
        members=cells.count(row, "members", 1),
        level=cells.given(row, "level", LEVELS),
        spans=cells.count(row, "spans", 1),
        spares=cells.count(row, "spares", 0) or 0,
        action=cells.given(row, "action", ACTIONS) or "new",
        have_drives=cells.count(row, "have_drives", 0),
        from_controller=cells.given(row, "from_controller", _skus(controllers)),
        from_drive=cells.given(row, "from_drive", _skus(prices.drives)),
        owned=cells.several(row, "owned", OWNABLE),
        accept=cells.several(row, "accept", ADVISE_CODES),
        any_condition=cells.given(row, "condition", ("new", "any")) == "any",
        services=_services(row, prices),
        parts=_parts(row, prices),
        line=_line(row),
    )
    for part in sorted(ask.owned - {"chassis"}):
        if not row.get(part, ""):
            raise ValueError(f"owned: {part} is not pinned")
    if not (ask.asks_server or ask.parts or ask.services or ask.line):
        raise ValueError("usable_tb: is required without drive, members and level, or a loose part")
    if ask.array and not ask.asks_array:
        raise ValueError("array: the row asks for none")
    _check_action(ask)
    old = next((c for c in controllers if c.sku == ask.from_controller), None)
    if old is not None and ask.level not in (None, "none", *old.levels):
        raise ValueError("from_controller: it makes no such array")
    return ask


def _check_action(ask: Ask) -> None:
    """Raise ValueError where a row leaves out, or contradicts, what its action has to know."""
    have, whole, made = ask.have_drives or 0, ask.whole, ask.action
    there = (ask.have_drives, ask.from_controller, ask.from_drive)
    if not ask.asks_array and (made != "new" or there != (None, None, None)):
        raise ValueError("action: the row asks for no array")
    if made == "new" and (ask.from_controller or ask.from_drive):
        raise ValueError("from_controller, from_drive: the array is made anew")
    if made != "new" and ask.level is None:
        raise ValueError(f"level: is required with {made}")
    if made in ("keep", "replace") and ask.members is None:
        raise ValueError(f"members: is required with {made}")
    if whole is not None and have > whole:
        raise ValueError("have_drives: more than members and spares")
    if made == "keep":
        if "drive" not in ask.owned or ask.from_drive:
            raise ValueError("owned: with keep the drives are the customer's, and stay")
        if ask.have_drives is not None and have != whole:
            raise ValueError("have_drives: with keep all drives are there")
    if made == "grow" and ask.have_drives is None:
        raise ValueError("have_drives: is required with grow")
    if (have or made == "replace") and ask.drive is None and ask.from_drive is None:
        raise ValueError("drive: is required where some are there")
