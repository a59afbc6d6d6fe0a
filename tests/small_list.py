"""A price list of a handful of invented parts, small enough to work out by hand.

Every part, price and name here is made up. A table is a list of rows, a row a dict of text
cells; tests change copies of them, then write them to a folder or read them in memory.
"""

import csv
import io
import tomllib
from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Array, Layout
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive, Option, Slot
from quotelib.catalogue.price_list import PriceList, column_names
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Service, Workload

Rows = list[dict[str, str]]
Tables = dict[str, Rows]

MODELS = {
    m.file_name: m for m in (Drive, Controller, Chassis, Slot, Accessory, Option, Service, Workload)
}


def table(columns: str, *lines: str) -> Rows:
    """Read rows written with spaces between cells; ``-`` is a blank cell."""
    names = columns.split()
    rows = [dict(zip(names, line.split(), strict=True)) for line in lines]
    return [{n: "" if cell == "-" else cell for n, cell in row.items()} for row in rows]


STOCKED = " mass_g unit_cost unit_price lead_days stock"

TABLES: Tables = {
    "drives.csv": table(
        "sku description media interface width_in capacity_gb block_bytes rpm seek_ms read_mb_s"
        " write_mb_s read_iops write_iops bit_error_rate mttf_hours writes_per_day warranty_years"
        " active_w idle_w" + STOCKED,
        "DISK-4T Disk hdd sata 3.5 4000 512 7200 8.5 200 190 - - 1e-15 1e6 - 5 10 6"
        " 700 80 100 3 10",
        "DISK-8T Disk hdd sas 3.5 8000 4096 7200 8.5 250 240 - - 1e-15 2e6 - 5 11 7"
        " 720 160 200 4 10",
        "FLASH-1T Flash ssd sata 2.5 960 512 - - 550 500 90000 30000 1e-17 2e6 1 5 3 1"
        " 65 120 150 2 10",
        "FLASH-NV Flash ssd nvme 2.5 1920 512 - - 5000 2000 700000 90000 1e-17 2e6 1 5 12 4"
        " 150 260 320 9 2",
    ),
    "controllers.csv": table(
        "sku description kind levels cache_mib cache_protection sata_gbit_s sas_gbit_s nvme_gen"
        " host_gen host_lanes mounting brackets max_drives reserve_mib max_mb_s max_iops watts"
        + STOCKED,
        "BOARD Chipset chipset 0;1;10 0 none 6 - - 3 4 board - 4 8 - - 0 0 0 0 0 0",
        "CARD Array raid 0;1;5;6;10;50;60 2048 battery 6 12 - 3 8 card low;full 24 512 6000"
        " 700000 15 180 300 400 4 5",
        "THROUGH Adapter pass_through - 0 none 6 12 4 3 8 card low 24 0 - - 10 140 110 150 3 5",
        "MEZZ Array raid 0;1;5;10;50 0 none 6 12 - 3 8 mezzanine - 8 512 - - 12 150 170 220 3 5",
        "BARE Array raid 0;1;5;6 1024 none 6 12 - 3 8 card full 8 512 - - 14 170 200 280 5 1",
    ),
    "chassis.csv": table(
        "sku description rack_units bays bay_width_in bay_interfaces mezzanine_sockets"
        " board_controller supply_w base_w" + STOCKED,
        "BOX-4 Server 1 4 3.5 sata 0 BOARD 300 100 10000 400 500 5 3",
        "BOX-12 Server 2 12 3.5 sata;sas 1 - 600 200 16000 900 1200 6 3",
        "BOX-8 Server 1 8 2.5 sata;sas 1 - 400 150 11000 600 800 6 3",
        "BOX-NV Server 1 8 2.5 nvme 0 - 900 300 12000 1500 2000 9 1",
    ),
    "slots.csv": table(
        "chassis_sku slot gen lanes height",
        "BOX-4 1 3 8 low",
        "BOX-12 1 4 8 full",
        "BOX-12 2 4 16 low",
        "BOX-NV 1 4 16 low",
    ),
    "accessories.csv": table(
        "sku description kind needed_by per watts" + STOCKED,
        "CABLE Cable cable CARD;THROUGH;MEZZ;BARE build 0 200 30 40 3 20",
        "MODULE Protection cache_protection CARD build 2 120 60 80 7 5",
        "CARRIER Carrier carrier BOX-4;BOX-12;BOX-8 drive 0 100 9 12 3 50",
        "ADAPTER Adapter adapter FLASH-1T drive 0 80 7 10 3 20",
    ),
    "services.csv": table(
        "sku description per minutes unit_cost unit_price",
        "ASSEMBLE Assembly build 50 40 55",
        "FIT-DRIVE Fitting drive 4 3 5",
        "FIT-CARD Fitting controller 20 15 24",
        "ARRAY Array array 35 30 41",
    ),
    "workloads.csv": table(
        "name description read_pct random_pct block_kib outstanding writes_gb_per_day",
        "files Files 70 60 16 8 20",
    ),
}

OPTIONS = table(
    "sku description kind fits cores memory_gb supply_w card brackets gen connector_lanes watts"
    + STOCKED,
    "CPU-8 Processor processor - 8 - - - - - - 95 60 200 260 4 6",
    "CPU-16 Processor processor BOX-12 16 - - - - - - 150 70 500 640 4 2",
    "MEM-16 Memory memory - - 16 - - - - - 4 40 50 66 2 40",
    "PSU-600 Supply supply - - - 600 - - - - 6 900 90 120 3 4",
    "PSU-800 Supply supply - - - 800 - - - - 8 950 110 150 3 4",
    "BOOT Boot boot - - - - - - - - 3 30 70 95 3 4",
    "BOOT-CARD Boot boot - - - - yes low 3 4 5 80 80 110 3 4",
    "SYSTEM Licence software - - - - - - - - 0 0 300 390 1 0",
    "BELL Bell other - - - - - - - - 1 25 4 6 1 9",
)
"""Options of every kind but network cards, for price lists of tests that ask for them."""

TERMS = """\
currency = "GBP"
quote_valid_days = 30
margin_floor_pct = 10

[rates]
EUR = 1.164
JPY = 196.35
KWD = 0.3985

[tax]
S = 20
ODD = 8.875

[freight]
base = 16.50
per_kg = 1.15

[[volume_discount]]
min_builds = 5
pct = 2.5

[seller]
name = "Nobody at all"
address = "Nowhere (invented demo data)"
contact = "none"

[risk]
years = 5
advise_loss_pct = 100
"""


def copy(tables: Tables = TABLES) -> Tables:
    """Copy tables, so that a test can change its own."""
    return {file: [dict(row) for row in rows] for file, rows in tables.items()}


def only(**skus: str) -> Tables:
    """Keep only the named skus of some files: ``only(chassis="BOX-4", drives="DISK-4T")``.

    Nothing that refers to what is gone stays behind.
    """
    tables = copy()
    for name, wanted in skus.items():
        tables[f"{name}.csv"] = [r for r in tables[f"{name}.csv"] if r["sku"] in wanted.split()]
    parts = {r["sku"] for f in ("drives", "controllers", "chassis") for r in tables[f"{f}.csv"]}
    tables["slots.csv"] = [r for r in tables["slots.csv"] if r["chassis_sku"] in parts]
    for row in tables["accessories.csv"]:
        row["needed_by"] = ";".join(s for s in row["needed_by"].split(";") if s in parts)
    for row in tables["chassis.csv"]:
        if row["board_controller"] not in parts:
            row["board_controller"] = ""
    return tables


def change(tables: Tables, sku: str, **cells: object) -> Tables:
    """Change cells of the row with this sku, in place."""
    (row,) = [r for rows in tables.values() for r in rows if r.get("sku") == sku]
    row.update({name: str(value) for name, value in cells.items()})
    return tables


def csv_text(file: str, rows: Rows) -> str:
    """Write rows as the text of one of the price list's files."""
    names = list(rows[0]) if rows else column_names(MODELS[file])
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, names, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def write(folder: Path, tables: Tables = TABLES, terms: str = TERMS) -> Path:
    """Write a price list folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for file, rows in tables.items():
        (folder / file).write_text(csv_text(file, rows), encoding="utf-8")
    (folder / "terms.toml").write_text(terms, encoding="utf-8")
    return folder


def price_list(tables: Tables = TABLES, terms: str | Mapping[str, Any] = TERMS) -> PriceList:
    """Read a price list in memory, without the checks that a folder gets."""
    parsed = {f: [MODELS[f].model_validate(row) for row in rows] for f, rows in tables.items()}
    data = tomllib.loads(terms, parse_float=Decimal) if isinstance(terms, str) else terms
    chassis = [
        c.model_copy(
            update={"slots": tuple(s for s in parsed["slots.csv"] if s.chassis_sku == c.sku)}
        )
        for c in parsed["chassis.csv"]
    ]

    def by_sku(items: list[Any]) -> Mapping[str, Any]:
        return MappingProxyType({item.sku: item for item in items})

    return PriceList(
        drives=by_sku(parsed["drives.csv"]),
        controllers=by_sku(parsed["controllers.csv"]),
        chassis=by_sku(chassis),
        accessories=by_sku(parsed["accessories.csv"]),
        options=by_sku(parsed.get("options.csv", [])),
        services=by_sku(parsed["services.csv"]),
        workloads=MappingProxyType({w.name: w for w in parsed["workloads.csv"]}),
        customers=MappingProxyType({}),
        terms=Terms.model_validate(data),
        fingerprint=repr((tables, data)),
    )


def build(
    prices: PriceList,
    names: str,
    *layouts: Layout,
    owned: str = "",
    options: str = "",
    redundant: bool = False,
) -> Build:
    """Make a build of one array: ``build(prices, "BOX-4 BOARD DISK-4T", Layout("1", 2))``.

    With more layouts, as many arrays; names go on with a controller and a drive for each. Options
    are skus with spaces between them, each as often as it is wanted.
    """
    chassis, *pairs = names.split()
    wanted = list(zip(pairs[::2], pairs[1::2], layouts, strict=True))
    return server(prices, chassis, wanted, owned, options, redundant)


def server(
    prices: PriceList,
    chassis: str,
    wanted: list[tuple[str, str, Layout]],
    owned: str = "",
    options: str = "",
    redundant: bool = False,
) -> Build:
    """Make a build of arrays, each a controller, a drive and a layout; a controller once."""
    arrays = tuple(
        Array(
            prices.drives[drive],
            prices.controllers[controller],
            layout,
            layout.drives if "drive" in owned.split() else 0,
        )
        for controller, drive, layout in wanted
    )
    placed = {
        array.controller.sku: Placed(array.controller, owned="controller" in owned.split())
        for array in arrays
    }
    mine = prices.chassis[chassis]
    added = (Placed(prices.options[sku], n) for sku, n in Counter(options.split()).items())
    parts = (*placed.values(), *added)
    return assemble(prices, mine, "chassis" in owned.split(), parts, arrays, redundant)


def only_array(made: Build) -> Array:
    """Give the array of a build that has one."""
    (array,) = made.arrays
    return array
