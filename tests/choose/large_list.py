"""A price list as long as a real one, made up by rule: so many drives, controllers and chassis.

Parts come in families, as they do in the trade: a family of drives in several sizes, a controller
as mezzanine and as card, a chassis with more or fewer bays. Prices, masses and speeds spread by a
seed, so that no two parts of a kind are the same. To have it as a folder:
``python -m tests.choose.large_list FOLDER``.
"""

import random
import sys
from functools import lru_cache
from pathlib import Path

from quotelib.catalogue.price_list import PriceList
from tests.small_list import TABLES, TERMS, Rows, Tables, price_list, write

_SIZES = (960, 1920, 2000, 3840, 4000, 6000, 7680, 8000, 10000, 12000, 14000, 15360, 16000, 18000,
          20000, 22000)  # fmt: skip
_BAYS = (4, 8, 8, 10, 12, 12, 16, 24, 24, 36, 48, 60)
_TERMS = TERMS.replace("advise_loss_pct = 100", "advise_loss_pct = 2")
_LEVELS = ("0;1;10", "0;1;5;10", "0;1;5;6;10;50;60", "0;1;5;6;10", "0;1;5;10;50")


@lru_cache(maxsize=4)
def large_list(
    drives: int = 200, controllers: int = 60, chassis: int = 40, seed: int = 13
) -> PriceList:
    """Give a list with so many parts of each kind."""
    return price_list(large_tables(drives, controllers, chassis, seed), _TERMS)


def large_tables(
    drives: int = 200, controllers: int = 60, chassis: int = 40, seed: int = 13
) -> Tables:
    """Give the tables of such a list."""
    rng = random.Random(seed)
    tables: Tables = {
        "drives.csv": [_drive(rng, number) for number in range(drives)],
        "controllers.csv": [_controller(rng, number) for number in range(controllers)],
    }
    boards = [r["sku"] for r in tables["controllers.csv"] if r["mounting"] == "board"]
    tables["chassis.csv"] = [_chassis(rng, number, boards) for number in range(chassis)]
    tables["slots.csv"] = [
        {"chassis_sku": box["sku"], "slot": str(slot + 1), "gen": rng.choice("345"),
         "lanes": rng.choice(["8", "16"]), "height": rng.choice(["low", "full"])}
        for box in tables["chassis.csv"]
        for slot in range(rng.randint(0, 4))
    ]  # fmt: skip
    tables["accessories.csv"] = _accessories(rng, tables)
    tables["services.csv"] = [dict(row) for row in TABLES["services.csv"]]
    tables["workloads.csv"] = [dict(row) for row in TABLES["workloads.csv"]]
    return tables


def _stocked(rng: random.Random, price: float, mass: int) -> dict[str, str]:
    cost = price * rng.uniform(0.7, 0.85)
    stocked = {"unit_price": f"{price:.2f}", "unit_cost": f"{cost:.2f}"}
    return stocked | {"mass_g": str(mass), "lead_days": str(rng.randint(1, 15)),
                      "stock": str(rng.choice([0, 10, 60]))}  # fmt: skip


def _drive(rng: random.Random, number: int) -> dict[str, str]:
    kind = number % 5  # of five, two are disks
    size = _SIZES[rng.randrange(2, len(_SIZES))] if kind < 2 else rng.choice(_SIZES[:10])
    interface = ("sata", "sas", "sata", "sas", "nvme")[kind]
    row = {"sku": f"DRV-{number:03}", "description": "Drive", "interface": interface}
    if kind < 2:
        fast = rng.random() < 0.15
        row |= {"media": "hdd", "width_in": "2.5" if fast else "3.5", "read_iops": ""}
        row |= {"rpm": "10000" if fast else "7200", "seek_ms": f"{rng.uniform(3.8, 9):.1f}"}
        row |= {"read_mb_s": str(rng.randint(160, 280)), "write_iops": ""}
        row |= {"write_mb_s": str(rng.randint(150, 270)), "bit_error_rate": "1e-15"}
        row |= {"mttf_hours": rng.choice(["1.2e6", "2e6", "2.5e6"]), "writes_per_day": ""}
        watts, price = rng.uniform(6, 11), 60 + size * rng.uniform(0.014, 0.024)
    else:
        speed = {"sata": 530, "sas": 2000, "nvme": 6000}[interface] * rng.uniform(0.8, 1.05)
        row |= {"media": "ssd", "width_in": "2.5", "rpm": "", "seek_ms": ""}
        row |= {"read_mb_s": f"{speed:.0f}", "write_mb_s": f"{speed * rng.uniform(0.5, 0.9):.0f}"}
        row |= {"read_iops": str(rng.randrange(80, 1000) * 1000 // (3 if speed < 600 else 1))}
        row |= {"write_iops": str(rng.randrange(20, 190) * 1000)}
        row |= {"bit_error_rate": "1e-17", "mttf_hours": "2e6", "writes_per_day": "1"}
        watts, price = rng.uniform(3, 18), 70 + size * rng.uniform(0.09, 0.16)
    row |= {"capacity_gb": str(size), "block_bytes": rng.choice(["512", "512", "4096"])}
    row |= {"warranty_years": "5", "active_w": f"{watts:.1f}", "idle_w": f"{watts / 2:.1f}"}
    return row | _stocked(rng, price, rng.randint(60, 750))


def _controller(rng: random.Random, number: int) -> dict[str, str]:
    mounting = ("card", "mezzanine", "board")[number % 3]
    kind = "chipset" if mounting == "board" else rng.choice(["raid", "raid", "pass_through"])
    levels = {"pass_through": "", "chipset": rng.choice(_LEVELS[:2])}
    cached = kind == "raid" and rng.random() < 0.7
    three = kind == "raid" and rng.random() < 0.4
    row = {"sku": f"CTL-{number:03}", "description": "Controller", "kind": kind}
    row |= {"levels": levels.get(kind, rng.choice(_LEVELS[1:])), "mounting": mounting}
    row |= {"cache_mib": str(rng.choice([1024, 2048, 8192])) if cached else "0"}
    row |= {"cache_protection": rng.choice(["none", "battery", "flash"]) if cached else ""}
    sas = kind != "chipset"
    row |= {"sata_gbit_s": "6", "sas_gbit_s": rng.choice(["12", "22.5"]) if sas else ""}
    nvme = three or (kind == "chipset" and rng.random() < 0.4)
    row |= {"nvme_gen": rng.choice("345") if nvme else ""}
    row |= {"host_gen": rng.choice("345"), "host_lanes": rng.choice(["8", "8", "16"])}
    row |= {"brackets": rng.choice(["low", "low;full", "full"]) if mounting == "card" else ""}
    row |= {"max_drives": str(8 if kind == "chipset" else rng.choice([8, 16, 24, 32, 64, 240]))}
    row |= {"reserve_mib": "0" if kind == "pass_through" else "512", "max_mb_s": ""}
    row |= {"max_iops": str(rng.randrange(300, 3000) * 1000), "watts": str(rng.randint(9, 25))}
    row |= {"ports": rng.choice(["8", "16", ""]) if kind != "chipset" else "8"}
    if mounting == "board":
        return row | _stocked(rng, 0, 0) | {"watts": "0"}
    return row | _stocked(rng, rng.uniform(140, 900), rng.randint(100, 250))


def _chassis(rng: random.Random, number: int, boards: list[str]) -> dict[str, str]:
    bays = _BAYS[number % len(_BAYS)]
    wide = number % 3 == 0 or bays >= 36
    row = {"sku": f"CHS-{number:03}", "description": "Server", "bays": str(bays)}
    row |= {"rack_units": "1" if bays < 12 else "2" if bays < 30 else "4"}
    interfaces = ["sata;sas", "sata;sas", "sata", "sata;sas;nvme", "nvme"][number % 5]
    row |= {"bay_width_in": "3.5" if wide else "2.5"}
    row |= {"bay_interfaces": "sata;sas" if wide and interfaces == "nvme" else interfaces}
    row |= {"mezzanine_sockets": str(rng.randint(0, 1)), "board_controller": rng.choice(boards)}
    row |= {"supply_w": str(350 + 30 * bays + rng.randrange(0, 400, 50)), "base_w": "180"}
    row |= {"backplane": rng.choice(["direct", "expander"]) if bays <= 24 else "expander"}
    return row | _stocked(rng, 420 + 55 * bays * rng.uniform(0.8, 1.2), 9000 + 500 * bays)


def _accessories(rng: random.Random, tables: Tables) -> Rows:
    controllers, boxes = tables["controllers.csv"], tables["chassis.csv"]
    added = [r["sku"] for r in controllers if r["mounting"] != "board"]
    direct = ";".join(r["sku"] for r in boxes if r["backplane"] == "direct")
    shared = ";".join(r["sku"] for r in boxes if r["backplane"] == "expander")
    small = ";".join(r["sku"] for r in tables["drives.csv"] if r["width_in"] == "2.5")
    bare = [r["sku"] for r in controllers if r["cache_mib"] != "0" and r["cache_protection"] in
            ("", "none")][::2]  # fmt: skip
    cards = [";".join(added[at::3]) for at in range(3)]
    made = [
        *(("cable", those, "8", direct) for those in cards),
        *(("cable", those, "build", shared) for those in cards),
        *(("cache_protection", sku, "build", "") for sku in bare),
        *(("carrier", ";".join(r["sku"] for r in boxes[at::4]), "drive", "") for at in range(4)),
        *(("rail", ";".join(r["sku"] for r in boxes[at::2]), "build", "") for at in range(2)),
        ("adapter", small, "drive", ""),
    ]
    return [
        {"sku": f"ACC-{at:03}", "description": "Accessory", "kind": kind, "needed_by": needed,
         "per": per, "with": together, "watts": "0"} | _stocked(rng, rng.uniform(6, 80), 120)
        for at, (kind, needed, per, together) in enumerate(made)
    ]  # fmt: skip


if __name__ == "__main__":
    write(Path(sys.argv[1]), large_tables(), _TERMS)
