"""Writes random price lists and enquiries that follow the data contract, by seed.

Kept out on purpose, because the contract does not settle it: accessories for a board
controller whose chassis is owned, an owned board controller, SAS ports without a SATA rate,
cache on anything but an array controller, capacities that are not whole gigabytes, prices
finer than the list's minor unit, and whatever needs an estimate (`advise_loss_pct` is 100
and no enquiry asks for host_iops, host_mb_s, max_loss_pct or max_response_ms).

Of orders also: a row without a server name and without an array beside a server that has no
name either, a later row that spells out a default its first row left blank, pins or demands of
an array on a row that asks for none, part of a free line, processors and memory that are
cards, names of servers that ask for nothing, and options in another order on a later row.
"""

from __future__ import annotations

import csv
import random
from decimal import Decimal
from pathlib import Path

from .generate_enquiries import enquiry_rows
from .generate_order_prices import ORDERS, OrderPriceWriter
from .generate_order_rows import OrderWriter
from .generate_prices import MODERATE, SMALL, PriceWriter, Size
from .generate_services import ask_for_services, more_services
from .reading import Prices, Row, read_prices

__all__ = ["MODERATE", "SMALL", "Size", "generate", "generate_orders"]

WORKLOADS = [
    {
        "name": name,
        "description": f"{name}, invented",
        "read_pct": read,
        "random_pct": mix,
        "block_kib": "8",
        "outstanding": "16",
        "writes_gb_per_day": "100",
    }
    for name, read, mix in [("files", "70", "40"), ("backup", "20", "5")]
]
COLUMNS = {
    "drives": "sku,description,media,interface,width_in,capacity_gb,block_bytes,rpm,seek_ms,"
    "read_mb_s,write_mb_s,read_iops,write_iops,bit_error_rate,mttf_hours,writes_per_day,"
    "warranty_years,active_w,idle_w,mass_g,unit_cost,unit_price,lead_days,stock,lanes,condition",
    "controllers": "sku,description,kind,levels,cache_mib,cache_protection,sata_gbit_s,"
    "sas_gbit_s,nvme_gen,host_gen,host_lanes,mounting,brackets,max_drives,reserve_mib,max_mb_s,"
    "max_iops,watts,mass_g,unit_cost,unit_price,lead_days,stock,connector_lanes,ports,condition,"
    "family,imports,grows",
    "chassis": "sku,description,rack_units,bays,bay_width_in,bay_interfaces,mezzanine_sockets,"
    "board_controller,supply_w,base_w,processor_sockets,memory_slots,supply_bays,supplies,mass_g,"
    "unit_cost,unit_price,lead_days,stock,backplane,condition",
    "slots": "chassis_sku,slot,gen,lanes,height,connector_lanes,needs_processors",
    "accessories": "sku,description,kind,needed_by,per,watts,mass_g,unit_cost,unit_price,"
    "lead_days,stock,with,interfaces",
    "options": "sku,description,kind,fits,cores,memory_gb,supply_w,card,brackets,gen,"
    "connector_lanes,watts,mass_g,unit_cost,unit_price,lead_days,stock,condition",
    "services": "sku,description,per,minutes,unit_cost,unit_price,when,actions",
    "workloads": "name,description,read_pct,random_pct,block_kib,outstanding,writes_gb_per_day",
    "enquiries": "enquiry_id,customer,currency,builds,usable_tb,workload,host_iops,host_mb_s,"
    "survive,max_loss_pct,media,free_slots,max_price,discount_pct,tax_code,note,chassis,"
    "controller,drive,members,level,spans,spares,owned,accept,options,redundant_supply,max_watts,"
    "services,server,array,cores,memory_gb,max_lead_days,condition,parts,line,line_quantity,"
    "line_price,line_cost,action,have_drives,from_controller,from_drive",
}
# What may be left out where no row has it.
OPTIONAL: dict[str, set[str]] = {
    "drives": {"lanes", "condition"},
    "controllers": {"connector_lanes", "ports", "condition", "family", "imports", "grows"},
    "chassis": {"backplane", "condition"},
    "slots": {"connector_lanes", "needs_processors"},
    "accessories": {"with", "interfaces"},
    "options": {"condition"},
    "services": {"when", "actions"},
    "workloads": set(),
    "enquiries": {
        *("services", "server", "array", "cores", "memory_gb", "max_lead_days", "condition"),
        *("parts", "line", "line_quantity", "line_price", "line_cost"),
        *("action", "have_drives", "from_controller", "from_drive"),
    },
}


def write_table(path: Path, rows: list[Row]) -> None:
    """Write one table of the contract, blanks where a row gives nothing.

    The header is whole, but for what may be left out and no row has.
    """
    there = {column for row in rows for column in row}
    whole, optional = COLUMNS[path.stem].split(","), OPTIONAL[path.stem]
    columns = [column for column in whole if column in there or column not in optional]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def generate(
    seed: int, folder: Path, size: Size = SMALL, *, services: bool = False
) -> tuple[Path, Path]:
    """Write a price list and enquiries.

    Parameters
    ----------
    seed : int
        The same seed and size give the same bytes.
    folder : Path
        Made if missing; gets ``prices/`` and ``enquiries.csv``.
    size : Size
        How many of each.
    services : bool
        Whether there are services to choose from, or charged once a quote, and rows ask for some.

    Returns
    -------
    tuple of Path
        The price-list folder and the enquiries file.
    """
    rng, extra = random.Random(seed), random.Random(f"services {seed}")
    maker = PriceWriter(rng, size)
    more = more_services(extra, maker.currency) if services else []
    prices, read = _write_prices(folder, maker, more)
    rows = enquiry_rows(rng, read, size.enquiries)
    if services:
        ask_for_services(extra, read, rows)
    return prices, _write_enquiries(folder, rows)


def generate_orders(seed: int, folder: Path, *, upgrades: bool = False) -> tuple[Path, Path]:
    """Write a small price list and orders of the second contract.

    About twenty rows: quotes of up to three servers of up to three arrays, with options, cores
    and memory, loose parts, services and free lines; now and then one that is wrong.

    Parameters
    ----------
    seed : int
        The same seed gives the same bytes.
    folder : Path
        Made if missing; gets ``prices/`` and ``enquiries.csv``.
    upgrades : bool
        Whether the servers are mostly there already: kept, grown, or given other drives.

    Returns
    -------
    tuple of Path
        The price-list folder and the enquiries file.
    """
    rng = random.Random(f"{'upgrades' if upgrades else 'orders'} {seed}")
    maker = OrderPriceWriter(rng)
    more = more_services(rng, maker.currency) if upgrades or rng.random() < 0.7 else []
    prices, read = _write_prices(folder, maker, more)
    writer = OrderWriter(rng, read, 0.85) if upgrades else OrderWriter(rng, read)
    return prices, _write_enquiries(folder, writer.rows(ORDERS.enquiries))


def _write_prices(folder: Path, maker: PriceWriter, more: list[Row]) -> tuple[Path, Prices]:
    prices = folder / "prices"
    prices.mkdir(parents=True, exist_ok=True)
    _give_a_price(maker)
    write_table(prices / "drives.csv", maker.drives)
    write_table(prices / "controllers.csv", maker.controllers)
    write_table(prices / "chassis.csv", maker.chassis)
    write_table(prices / "slots.csv", maker.slots)
    write_table(prices / "accessories.csv", maker.accessories())
    if maker.options:
        write_table(prices / "options.csv", maker.options)
    write_table(prices / "services.csv", maker.services() + more)
    write_table(prices / "workloads.csv", WORKLOADS)
    (prices / "terms.toml").write_text(maker.terms(), encoding="utf-8")
    return prices, read_prices(prices)


def _give_a_price(maker: PriceWriter) -> None:
    """Let what is chosen for its price cost one unit at least; a board comes with its chassis."""
    mounted = [row for row in maker.controllers if row["mounting"] != "board"]
    modules = [row for row in maker.options if row["kind"] in ("processor", "memory")]
    for row in (*maker.drives, *maker.chassis, *mounted, *modules):
        for column in ("unit_cost", "unit_price"):
            if not Decimal(row[column]):
                row[column] = "1"


def _write_enquiries(folder: Path, rows: list[Row]) -> Path:
    enquiries = folder / "enquiries.csv"
    write_table(enquiries, rows)
    return enquiries
