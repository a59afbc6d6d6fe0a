"""Adds to a random price list what the second contract brings."""

from __future__ import annotations

import random

from .generate_options import option_rows
from .generate_prices import SMALL_WIDTH, PriceWriter, Size
from .reading import Row

FAMILIES = ("Hazel", "Rowan")
ORDERS = Size(chassis=3, controllers=5, drives=5, bays=10, enquiries=20)


class OrderPriceWriter(PriceWriter):
    """Makes a small list with room for several arrays, cards, processors and memory."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__(rng, ORDERS)
        if not self.options:
            self.options = option_rows(rng, self.chassis, self._common)
        self._widen_chassis()
        self._lengthen_slots()
        self._connect()
        self._load_options()
        self._age()
        self._accessories = [self._bring_in(row) for row in super().accessories()]
        self._adapt()

    def accessories(self) -> list[Row]:
        """Give the accessories, some for each n drives or only with something else."""
        return self._accessories

    def _widen_chassis(self) -> None:
        rng = self.rng
        for row in self.chassis:
            row["bays"] = str(rng.randint(4, 12))
            row["supply_w"] = rng.choice(["400", "800", "1200", "1600"])
            row["mezzanine_sockets"] = rng.choice(["0", "1", "2"])
            if rng.random() < 0.8:
                row["bay_interfaces"] = rng.choice(["sata;sas", "sata;sas;nvme"])
            row["backplane"] = rng.choice(["", "direct", "direct", "expander"])
            if rng.random() < 0.8:
                row["processor_sockets"] = rng.choice(["1", "2", "2"])
                row["memory_slots"] = rng.choice(["2", "4", "6"])
            if rng.random() < 0.5:
                row |= {"supply_bays": "2", "supplies": rng.choice(["1", "2"])}
        for option in self.options:
            if option["kind"] == "supply" and rng.random() < 0.8:
                option["supply_w"] = rng.choice(self.chassis)["supply_w"]

    def _lengthen_slots(self) -> None:
        rng = self.rng
        for chassis in self.chassis:
            mine = [row for row in self.slots if row["chassis_sku"] == chassis["sku"]]
            for number in range(len(mine) + 1, rng.choice([1, 2, 3, 3, 4, 4]) + 1):
                slot = {"chassis_sku": chassis["sku"], "slot": str(number)}
                slot |= {"gen": rng.choice(["3", "4", "5"]), "lanes": rng.choice(["4", "8", "16"])}
                self.slots.append(slot | {"height": rng.choice(["low", "full"])})
        for row in self.slots:
            longer = [n for n in ("4", "8", "16") if int(n) >= int(row["lanes"])]
            row["connector_lanes"] = rng.choice(["", *longer])
            row["needs_processors"] = rng.choice(["", "", "1", "2"])

    def _connect(self) -> None:
        rng = self.rng
        for row in self.controllers:
            row["ports"] = rng.choice(["", "4", "8", "8", "16"])
            if row["kind"] != "chipset" and rng.random() < 0.5:
                row["sas_gbit_s"] = "12"
            if row["kind"] == "raid" and rng.random() < 0.5:
                row["cache_protection"] = "flash" if row["cache_mib"] != "0" else "none"
            row["max_drives"] = rng.choice(["4", "8", "16", "32"])
            if row["kind"] != "pass_through":
                row["family"] = rng.choice(["", *FAMILIES, *FAMILIES])
                kept = [level for level in row["levels"].split(";") if rng.random() < 0.75]
                row["grows"] = ";".join(kept)
            if row["mounting"] == "card":
                row["connector_lanes"] = rng.choice(["", row["host_lanes"], "8", "16"])
        families = sorted({row.get("family", "") for row in self.controllers} - {""})
        for row in self.controllers:
            if row["kind"] != "pass_through":
                row["imports"] = ";".join(one for one in families if rng.random() < 0.6)
        for row in self.drives:
            row["lanes"] = rng.choice(["", "2", "4"]) if row["interface"] == "nvme" else ""

    def _load_options(self) -> None:
        rng = self.rng
        for row in self.options:
            if row["kind"] in ("processor", "memory"):
                row |= {"card": "", "brackets": "", "gen": "", "connector_lanes": ""}
            if row["kind"] == "processor":
                row |= {"cores": rng.choice(["8", "16", "24"])}
                row["watts"] = rng.choice(["35", "65.5", "120"])
            if row["kind"] == "memory":
                row["memory_gb"] = rng.choice(["16", "32", "64"])

    def _age(self) -> None:
        """Call some parts refurbished; what comes with a chassis is as old as it is new."""
        rng = self.rng
        boards = {row["board_controller"] for row in self.chassis}
        for rows in (self.chassis[1:], self.controllers[1:], self.drives[1:], self.options):
            for row in rows:
                if rng.random() < 0.15 and row["sku"] not in boards:
                    row["condition"] = "refurbished"

    def _adapt(self) -> None:
        """Let most lists have an adapter for every small drive."""
        small = [row["sku"] for row in self.drives if row["width_in"] == SMALL_WIDTH]
        if small and self.rng.random() < 0.8:
            adapter = {"sku": "ACC-EVERY", "description": "adapter, invented", "kind": "adapter"}
            adapter |= {"needed_by": ";".join(small), "per": "drive", "watts": "0"}
            self._accessories.append(adapter | self._common(2, 20, (5, 90)))

    def _bring_in(self, row: Row) -> Row:
        rng = self.rng
        if row["per"] == "drive" and rng.random() < 0.5:
            row["per"] = rng.choice(["2", "3", "4"])
        if row["kind"] in ("adapter", "cache_protection"):
            return row
        if rng.random() < 0.25:
            there = [part["sku"] for part in (*self.controllers, *self.drives, *self.chassis)]
            row["with"] = ";".join(rng.sample(there, min(3, len(there))))
        if rng.random() < 0.25:
            row["interfaces"] = ";".join(rng.sample(["sata", "sas", "nvme"], rng.choice([1, 2])))
        return row
