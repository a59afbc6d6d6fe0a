"""Reads a price-list folder and an enquiries file's rows, without checking them."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

Row = dict[str, str]


@dataclass(frozen=True)
class Part:
    """What every part has: watts (active for drives, base for chassis), grams, money, days."""

    file: str
    sku: str
    watts: Decimal
    mass_g: Decimal
    unit_cost: Decimal
    unit_price: Decimal
    lead_days: int
    stock: int
    refurbished: bool


@dataclass(frozen=True)
class Drive(Part):
    media: str
    interface: str
    width_in: Decimal
    capacity_gb: int
    block_bytes: int
    lanes: int


@dataclass(frozen=True)
class Controller(Part):
    kind: str
    levels: tuple[str, ...]
    cache_mib: Decimal
    cache_protection: str
    links: frozenset[str]
    mounting: str
    brackets: tuple[str, ...]
    max_drives: int
    reserve_mib: int
    host_gen: int | None
    host_lanes: int | None
    connector_lanes: int | None  # None: not known
    ports: int | None  # None: not known
    family: str
    imports: tuple[str, ...]
    grows: tuple[str, ...]


@dataclass(frozen=True)
class Slot:
    slot: int
    gen: int
    lanes: int
    height: str
    connector_lanes: int | None  # None: not known
    needs_processors: int


@dataclass(frozen=True)
class Chassis(Part):
    bays: int
    bay_width_in: Decimal
    bay_interfaces: tuple[str, ...]
    mezzanine_sockets: int
    board_controller: str
    supply_w: Decimal
    backplane: str  # blank: not known
    slots: tuple[Slot, ...]
    processor_sockets: int | None  # None: the list does not say
    memory_slots: int | None
    supply_bays: int
    supplies: int


@dataclass(frozen=True)
class Option(Part):
    kind: str
    fits: tuple[str, ...]
    supply_w: Decimal
    card: bool
    brackets: tuple[str, ...]
    cores: int
    memory_gb: int
    gen: int | None
    connector_lanes: int | None


@dataclass(frozen=True)
class Accessory(Part):
    kind: str
    needed_by: tuple[str, ...]
    per: str  # build, drive or a whole number of drives
    only_with: tuple[str, ...]
    interfaces: tuple[str, ...]


@dataclass(frozen=True)
class Service:
    sku: str
    per: str
    unit_cost: Decimal
    unit_price: Decimal
    chosen: bool
    actions: tuple[str, ...]


@dataclass(frozen=True)
class Prices:
    """One price list. Money is in `currency`; `rates` is units per unit of it; pct is percent."""

    chassis: tuple[Chassis, ...]
    controllers: tuple[Controller, ...]
    drives: tuple[Drive, ...]
    accessories: tuple[Accessory, ...]
    options: tuple[Option, ...]
    services: tuple[Service, ...]
    workloads: frozenset[str]
    currency: str
    rates: Mapping[str, Decimal]
    tax: Mapping[str, Decimal]
    margin_floor_pct: Decimal
    freight_base: Decimal
    freight_per_kg: Decimal
    volume_discount: tuple[tuple[int, Decimal], ...]

    def part(self, sku: str) -> Part | None:
        """Find a part in whichever file it stands."""
        everything = (self.drives, self.controllers, self.chassis, self.accessories, self.options)
        return next((part for file in everything for part in file if part.sku == sku), None)


def read_rows(path: Path) -> list[Row]:
    """Read a CSV file; cells are stripped, short rows are filled with blanks."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [
            {name: (cell or "").strip() for name, cell in row.items()}
            for row in csv.DictReader(file, restval="")
        ]


def words(cell: str) -> tuple[str, ...]:
    """Split a list inside a cell."""
    return tuple(word.strip() for word in cell.split(";") if word.strip())


def number(cell: str) -> Decimal:
    """Read a price-list number; blank is 0."""
    return Decimal(cell) if cell else Decimal(0)


def whole(cell: str) -> int:
    """Read a price-list whole number; blank is 0."""
    value = number(cell)
    if value != int(value):
        raise ValueError(f"expected a whole number, found {cell!r}")
    return int(value)


def known(cell: str) -> int | None:
    """Read a whole number that may not be known."""
    return whole(cell) if cell else None


def _part(file: str, row: Row, watts_column: str) -> dict[str, object]:
    return {
        "file": file,
        "sku": row["sku"],
        "watts": number(row.get(watts_column, "")),
        "mass_g": number(row.get("mass_g", "")),
        "unit_cost": number(row.get("unit_cost", "")),
        "unit_price": number(row.get("unit_price", "")),
        "lead_days": whole(row.get("lead_days", "")),
        "stock": whole(row.get("stock", "")),
        "refurbished": row.get("condition") == "refurbished",
    }


def _drive(row: Row) -> Drive:
    return Drive(
        **_part("drives", row, "active_w"),  # type: ignore[arg-type]
        media=row["media"],
        interface=row["interface"],
        width_in=number(row["width_in"]),
        capacity_gb=whole(row["capacity_gb"]),
        block_bytes=whole(row["block_bytes"]),
        lanes=(known(row.get("lanes", "")) or 4) if row["interface"] == "nvme" else 1,
    )


def _controller(row: Row) -> Controller:
    columns = {"sata": "sata_gbit_s", "sas": "sas_gbit_s", "nvme": "nvme_gen"}
    return Controller(
        **_part("controllers", row, "watts"),  # type: ignore[arg-type]
        kind=row["kind"],
        levels=words(row.get("levels", "")),
        cache_mib=number(row.get("cache_mib", "")),
        cache_protection=row.get("cache_protection", "") or "none",
        links=frozenset(link for link, column in columns.items() if row.get(column, "")),
        mounting=row["mounting"],
        brackets=words(row.get("brackets", "")),
        max_drives=whole(row["max_drives"]),
        reserve_mib=whole(row.get("reserve_mib", "")),
        host_gen=known(row.get("host_gen", "")),
        host_lanes=known(row.get("host_lanes", "")),
        connector_lanes=known(row.get("connector_lanes", "")),
        ports=known(row.get("ports", "")),
        family=row.get("family", ""),
        imports=words(row.get("imports", "")),
        grows=words(row.get("grows", "")),
    )


def _slot(row: Row) -> Slot:
    return Slot(
        slot=whole(row["slot"]),
        gen=whole(row["gen"]),
        lanes=whole(row["lanes"]),
        height=row["height"],
        connector_lanes=known(row.get("connector_lanes", "")),
        needs_processors=whole(row.get("needs_processors", "") or "1"),
    )


def _chassis(row: Row, slots: list[Row]) -> Chassis:
    return Chassis(
        **_part("chassis", row, "base_w"),  # type: ignore[arg-type]
        bays=whole(row["bays"]),
        bay_width_in=number(row["bay_width_in"]),
        bay_interfaces=words(row["bay_interfaces"]),
        mezzanine_sockets=whole(row.get("mezzanine_sockets", "")),
        board_controller=row.get("board_controller", ""),
        supply_w=number(row["supply_w"]),
        backplane=row.get("backplane", ""),
        slots=tuple(_slot(slot) for slot in slots if slot["chassis_sku"] == row["sku"]),
        processor_sockets=known(row.get("processor_sockets", "")),
        memory_slots=known(row.get("memory_slots", "")),
        supply_bays=whole(row.get("supply_bays", "") or "1"),
        supplies=whole(row.get("supplies", "") or "1"),
    )


def _option(row: Row) -> Option:
    return Option(
        **_part("options", row, "watts"),  # type: ignore[arg-type]
        kind=row["kind"],
        fits=words(row.get("fits", "")),
        supply_w=number(row.get("supply_w", "")),
        card=row.get("card", "") == "yes",
        brackets=words(row.get("brackets", "")),
        cores=whole(row.get("cores", "")),
        memory_gb=whole(row.get("memory_gb", "")),
        gen=known(row.get("gen", "")),
        connector_lanes=known(row.get("connector_lanes", "")),
    )


def _accessory(row: Row) -> Accessory:
    return Accessory(
        **_part("accessories", row, "watts"),  # type: ignore[arg-type]
        kind=row["kind"],
        needed_by=words(row["needed_by"]),
        per=row["per"],
        only_with=words(row.get("with", "")),
        interfaces=words(row.get("interfaces", "")),
    )


def read_prices(folder: Path) -> Prices:
    """Read a price-list folder that is known to follow the contract."""
    with (folder / "terms.toml").open("rb") as file:
        # A float would have lost the digits a percent or a rate was written with.
        terms = tomllib.load(file, parse_float=Decimal)
    slots = read_rows(folder / "slots.csv")
    tiers = terms.get("volume_discount", [])
    return Prices(
        chassis=tuple(_chassis(row, slots) for row in read_rows(folder / "chassis.csv")),
        controllers=tuple(_controller(row) for row in read_rows(folder / "controllers.csv")),
        drives=tuple(_drive(row) for row in read_rows(folder / "drives.csv")),
        accessories=tuple(_accessory(row) for row in read_rows(folder / "accessories.csv")),
        options=tuple(_option(row) for row in read_rows(folder / "options.csv"))
        if (folder / "options.csv").exists()
        else (),
        services=tuple(
            Service(
                row["sku"],
                row["per"],
                number(row["unit_cost"]),
                number(row["unit_price"]),
                row.get("when") == "chosen",
                words(row.get("actions", "")),
            )
            for row in read_rows(folder / "services.csv")
        ),
        workloads=frozenset(row["name"] for row in read_rows(folder / "workloads.csv")),
        currency=terms["currency"],
        rates={code: Decimal(rate) for code, rate in terms.get("rates", {}).items()},
        tax={code: Decimal(pct) for code, pct in terms.get("tax", {}).items()},
        margin_floor_pct=Decimal(terms["margin_floor_pct"]),
        freight_base=Decimal(terms["freight"]["base"]),
        freight_per_kg=Decimal(terms["freight"]["per_kg"]),
        volume_discount=tuple((t["min_builds"], Decimal(t["pct"])) for t in tiers),
    )
