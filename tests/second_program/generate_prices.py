"""Makes the tables of one random price list."""

from __future__ import annotations

import random
from dataclasses import dataclass
from decimal import Decimal

from .generate_options import option_rows
from .reading import Row

# Rough worth of one unit of money in each currency, so that prices look like prices.
SCALE = {"GBP": Decimal(1), "EUR": Decimal("1.15"), "JPY": Decimal(190), "KWD": Decimal("0.4")}
DIGITS = {"GBP": 2, "EUR": 2, "JPY": 0, "KWD": 3}
SMALL_WIDTH, LARGE_WIDTH = "2.5", "3.5"


@dataclass(frozen=True)
class Size:
    """How many of each to make; `bays` is the most a chassis has."""

    chassis: int
    controllers: int
    drives: int
    bays: int
    enquiries: int


SMALL = Size(chassis=3, controllers=4, drives=5, bays=12, enquiries=40)
MODERATE = Size(chassis=8, controllers=10, drives=12, bays=24, enquiries=40)


class PriceWriter:
    """Makes the tables of one random price list, parts first, then what refers to them."""

    def __init__(self, rng: random.Random, size: Size) -> None:
        self.rng = rng
        self.size = size
        self.currency = rng.choice(sorted(SCALE))
        self.free = rng.random() < 0.15  # a list where much costs nothing, so that builds tie
        self.controllers = [self._controller(n) for n in range(size.controllers)]
        self.chassis = [self._chassis(n) for n in range(size.chassis)]
        self.slots = [slot for row in self.chassis for slot in self._slots(row["sku"])]
        # A third of the lists are of the first contract: no options, no room for them stated.
        self.options = option_rows(rng, self.chassis, self._common) if rng.random() < 0.67 else []
        self.drives = [self._drive(n) for n in range(size.drives)]
        if rng.random() < 0.5:
            self._add_twins()
        self._settle_boards()

    def _money(self, least: int, most: int) -> str:
        if self.free and self.rng.random() < 0.6:
            return "0"
        digits = DIGITS[self.currency]
        value = Decimal(self.rng.randint(least * 100, most * 100)) / 100 * SCALE[self.currency]
        return format(round(value, digits), "f")

    def _common(self, least: int, most: int, grams: tuple[int, int]) -> Row:
        price = self._money(least, most)
        share = Decimal(self.rng.randint(50, 105)) / 100
        cost = format(round(Decimal(price) * share, DIGITS[self.currency]), "f")
        tenths = self.rng.choice(["", "", ".5"])
        return {
            "mass_g": f"{self.rng.randint(*grams)}{tenths}",
            "unit_cost": cost,
            "unit_price": price,
            "lead_days": str(self.rng.choice([0, 1, 3, 5, 10, 21, 45])),
            "stock": str(self.rng.choice([0, 1, 2, 8, 24, 100, 1000])),
        }

    def _drive(self, n: int) -> Row:
        rng = self.rng
        media = rng.choice(["hdd", "ssd"])
        width = LARGE_WIDTH if media == "hdd" and rng.random() < 0.6 else SMALL_WIDTH
        interface = rng.choice(["sata", "sas"] if media == "hdd" else ["sata", "sas", "nvme"])
        capacity = rng.choice(
            [240, 480, 960, 1200, 1920, 4000, 7680, 7999, 8000, 8001, 10000, 12000, 15360, 20000]
        )
        if rng.random() < 0.3:
            capacity = rng.randint(50, 24000)
        row = {
            "sku": f"DRV-{rng.choice('ABCXYZ')}{n:02d}",
            "description": f"Drive {n}, invented",
            "media": media,
            "interface": interface,
            "width_in": width,
            "capacity_gb": str(capacity),
            "block_bytes": str(rng.choice([512, 4096])),
            "read_mb_s": str(rng.randint(150, 550)),
            "write_mb_s": str(rng.randint(100, 500)),
            "bit_error_rate": rng.choice(["1e-15", "1e-16", "1e-17"]),
            "mttf_hours": str(rng.choice([1_200_000, 2_000_000, 2_500_000])),
            "warranty_years": "5",
            "active_w": f"{rng.randint(20, 120) / 10}",
            "idle_w": f"{rng.randint(5, 19) / 10}",
            **self._common(60, 900, (60, 750)),
        }
        if media == "hdd":
            row |= {"rpm": rng.choice(["7200", "10000", "15000"]), "seek_ms": "8.5"}
        else:
            row |= {"read_iops": "90000", "write_iops": "30000", "writes_per_day": "1"}
        return row

    def _controller(self, n: int) -> Row:
        rng = self.rng
        kind = rng.choice(["chipset", "pass_through", "raid", "raid"])
        mounting = "board" if kind == "chipset" else rng.choice(["board", "mezzanine", "card"] * 2)
        if n == 0:
            kind, mounting = "raid", "card"  # so that most lists can build something
        offered = {
            "chipset": ["0", "1", "5", "10"],
            "pass_through": [],
            "raid": ["0", "1", "5", "6", "10", "50", "60"],
        }[kind]
        kept = [level for level in offered if rng.random() < 0.85] or offered[:2]
        sas = kind != "chipset" and rng.random() < 0.7
        nvme = kind != "chipset" and rng.random() < 0.4
        cached = kind == "raid" and rng.random() < 0.6
        brackets = rng.choice(["low", "full", "low;full"])
        return {
            "sku": f"CTL-{rng.choice('ABCXYZ')}{n:02d}",
            "description": f"Controller {n}, invented",
            "kind": kind,
            "levels": ";".join(kept),
            "cache_mib": str(rng.choice([1024, 2048, 8192])) if cached else "0",
            "cache_protection": rng.choice(["none", "battery", "flash"]) if cached else "none",
            "sata_gbit_s": "6",
            "sas_gbit_s": rng.choice(["12", "22.5"]) if sas else "",
            "nvme_gen": rng.choice(["3", "4"]) if nvme else "",
            "host_gen": rng.choice(["3", "4"]),
            "host_lanes": rng.choice(["4", "8"]),
            "mounting": mounting,
            "brackets": brackets if mounting == "card" else "",
            "max_drives": str(rng.choice([4, 6, 8, 16, 24, 32])),
            "reserve_mib": str(rng.choice([0, 0, 1, 32, 100, 511, 512, 1024])),
            "max_mb_s": rng.choice(["", "6000"]),
            "max_iops": rng.choice(["", "900000"]),
            "watts": f"{rng.randint(30, 250) / 10}",
            **self._common(80, 1200, (90, 400)),
        }

    def _chassis(self, n: int) -> Row:
        rng = self.rng
        bays = rng.randint(2, self.size.bays)
        width = rng.choice([SMALL_WIDTH, LARGE_WIDTH, LARGE_WIDTH])
        interfaces = [link for link in ("sata", "sas", "nvme") if rng.random() < 0.75]
        return {
            "sku": f"CHS-{rng.choice('ABCXYZ')}{n:02d}",
            "description": f"Chassis {n}, invented",
            "rack_units": str(rng.choice([1, 2, 4])),
            "bays": str(bays),
            "bay_width_in": width,
            "bay_interfaces": ";".join(interfaces or ["sata"]),
            "mezzanine_sockets": str(rng.choice([0, 0, 1, 2])),
            "board_controller": "",
            "supply_w": str(rng.choice([250, 400, 550, 800, 1200])),
            "base_w": f"{rng.randint(400, 1800) / 10}",
            **self._common(500, 3000, (6000, 24000)),
        }

    def _slots(self, sku: str) -> list[Row]:
        rng = self.rng
        return [
            {
                "chassis_sku": sku,
                "slot": str(slot),
                "gen": rng.choice(["3", "4", "5"]),
                "lanes": rng.choice(["4", "8", "16"]),
                "height": rng.choice(["low", "full"]),
            }
            for slot in range(1, rng.choice([0, 1, 1, 2, 3]) + 1)
        ]

    def _add_twins(self) -> None:
        """Copy a drive and a controller under another sku, so that choices tie."""
        drive, controller = self.rng.choice(self.drives), self.controllers[0]
        self.drives.append(drive | {"sku": self.rng.choice(["DRV-AAA", "DRV-ZZZ"])})
        self.controllers.append(controller | {"sku": self.rng.choice(["CTL-AAA", "CTL-ZZZ"])})

    def _settle_boards(self) -> None:
        """Give every board controller a chassis, or mount it otherwise if none is left."""
        bare = self.rng.sample(self.chassis, len(self.chassis))
        for row in self.controllers:
            if row["mounting"] != "board":
                continue
            if bare:
                bare.pop()["board_controller"] = row["sku"]
            else:
                row |= {"mounting": "mezzanine", "kind": "pass_through", "levels": ""}
                row |= {"cache_mib": "0", "cache_protection": "none"}
        if bare and self.rng.random() < 0.5:
            shared = bare.pop()
            shared["board_controller"] = self.rng.choice(self.chassis)["board_controller"]

    def accessories(self) -> list[Row]:
        """Make accessories of every kind."""
        rng = self.rng
        boards = {row["board_controller"] for row in self.chassis}
        if rng.random() < 0.3:
            boards = set()  # then accessories may be needed by board controllers, too
        cards = [row["sku"] for row in self.controllers if row["sku"] not in boards]
        caches = [
            row["sku"]
            for row in self.controllers
            if row["cache_mib"] != "0" and row["cache_protection"] == "none"
        ]
        small = [row["sku"] for row in self.drives if row["width_in"] == SMALL_WIDTH]
        drives = [row["sku"] for row in self.drives]
        chassis = [row["sku"] for row in self.chassis]
        options = [row["sku"] for row in self.options if rng.random() < 0.3]
        kinds = {
            "cable": (cards + drives + options, rng.choice(["build", "drive"])),
            "cache_protection": ([sku for sku in caches if sku in cards], "build"),
            "bracket": (cards, "build"),
            "carrier": (drives, "drive"),
            "rail": (chassis, "build"),
            "adapter": (small, "drive"),
        }
        rows = []
        for kind, (skus, per) in kinds.items():
            for n in range(rng.choice([0, 1, 1, 2])):
                if not skus:
                    continue
                needed_by = rng.sample(skus, rng.randint(1, len(skus)))
                rows.append(
                    {
                        "sku": f"ACC-{kind[:3].upper()}{n}",
                        "description": f"{kind} {n}, invented",
                        "kind": kind,
                        "needed_by": ";".join(needed_by),
                        "per": per,
                        "watts": rng.choice(["0", "0", "0.4", "2.25"]),
                        **self._common(2, 90, (5, 900)),
                    }
                )
        return rows

    def services(self) -> list[Row]:
        """Make up to one service of each kind."""
        rng = self.rng
        rows = []
        for per in ("build", "drive", "controller", "array"):
            if rng.random() < 0.75:
                common = self._common(1, 60, (0, 1))
                rows.append(
                    {
                        "sku": f"SVC-{per.upper()}",
                        "description": f"Work per {per}, invented",
                        "per": per,
                        "minutes": str(rng.choice([2, 5, 15, 60])),
                        "unit_cost": common["unit_cost"],
                        "unit_price": common["unit_price"],
                    }
                )
        return rows

    def terms(self) -> str:
        """Make the text of terms.toml."""
        rng = self.rng
        rates = []
        for code in sorted(SCALE):
            if code != self.currency:
                rate = SCALE[code] / SCALE[self.currency] * rng.randint(80, 125) / 100
                places = rng.choice([2, 3, 4, 6])
                rates.append(f"{code} = {max(round(rate, places), 10**-places):.{places}f}")
        tiers = "".join(
            f"\n[[volume_discount]]\nmin_builds = {least}\npct = {pct}\n"
            for least, pct in [(2, "1.5"), (5, rng.choice(["3", "7.125"])), (10, "5.55")]
            if rng.random() < 0.6
        )
        base, per_kg = self._money(0, 90), self._money(0, 4)
        return f"""\
currency = "{self.currency}"
quote_valid_days = 30
margin_floor_pct = {rng.choice(["0", "8", "12.5", "20"])}

[rates]
{chr(10).join(rates)}

[tax]
STD = 20
LOW = 5.5
ODD = 8.875
NIL = 0

[freight]
base = {base}
per_kg = {per_kg}
{tiers}
[seller]
name = "Invented Seller"
address = "1 Nowhere Lane"
contact = "sales@example.invalid"

[risk]
years = 5
advise_loss_pct = 100
"""
