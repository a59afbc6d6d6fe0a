"""Random rows that ask for one array, with pins, things that are there, upgrades and services."""

import datetime as dt
import random
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import BenchTerms
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.reading import read_request
from quotelib.errors import InputError
from tests import small_list
from tests.small_list import OPTIONS, TERMS, Rows, Tables, price_list

Cells = dict[str, str]
HOLIDAYS = (dt.date(2026, 12, 4), dt.date(2026, 12, 10))


def random_tables(rng: random.Random) -> Tables:
    """Give tables of a few parts with accessories of every kind and services of every sort."""
    chassis = ["BOX-12", *rng.sample(["BOX-4", "BOX-8", "BOX-NV"], 2)]
    controllers = ["BOARD", *rng.sample(["CARD", "THROUGH", "MEZZ", "BARE"], 3)]
    drives = rng.sample(["DISK-4T", "DISK-8T", "FLASH-1T", "FLASH-NV"], 3)
    tables = small_list.only(
        chassis=" ".join(chassis), controllers=" ".join(controllers), drives=" ".join(drives)
    )
    tables["options.csv"] = [dict(row) for row in OPTIONS if row["fits"] in ("", *chassis)]
    tables["accessories.csv"] += _accessories(rng, chassis, controllers, drives)
    tables["services.csv"] += small_list.table(
        "sku description per minutes unit_cost unit_price when actions",
        "PAPERS Papers quote 5 4 7 always -",
        "WIPE Wiping drive 9 5 8.25 chosen new;replace",
        "CHECK Checking array 9 5 11.1 chosen grow;keep;new",
        "CABLES Tidying controller 3 2 3.35 chosen -",
    )
    for row in tables["services.csv"]:
        row |= {"when": row.get("when", ""), "actions": row.get("actions", "")}
    for rows in tables.values():
        for row in rows:
            if "unit_price" in row:
                _draw(rng, row)
    for row in tables["controllers.csv"]:
        row |= {"family": "Ash", "imports": rng.choice(["Ash", "Elm", "Ash"]), "ports": ""}
        row |= {"grows": rng.choice(["5;6;10", "5", ""])}
        row |= {"ports": rng.choice(["4", "8", ""]), "max_drives": str(rng.choice([3, 5, 8]))}
    for row in tables["chassis.csv"]:
        row |= {"backplane": rng.choice(["", "direct", "expander"])}
        row |= {"bays": str(rng.randint(3, 7)), "supply_w": str(rng.choice([330, 450, 900]))}
        row |= {"processor_sockets": "2", "memory_slots": "4", "supply_bays": "3"}
    return tables


def _accessories(
    rng: random.Random, chassis: list[str], controllers: list[str], drives: list[str]
) -> Rows:
    anything = [*chassis, *controllers, *drives, "BELL", "BOOT-CARD"]
    found: Rows = []
    for number in range(rng.randint(2, 5)):
        kind = rng.choice(["cable", "cache_protection", "carrier", "rail", "bracket", "adapter"])
        row = {"sku": f"BIT-{number}", "description": "Bit", "kind": kind}
        row |= {"needed_by": ";".join(rng.sample(anything, rng.randint(1, 3)))}
        row |= {"per": rng.choice(["build", "drive", "2", "3"]), "watts": rng.choice(["0", "7.5"])}
        row |= {"with": ";".join(rng.sample(anything, rng.choice([0, 0, 1, 2])))}
        row |= {"interfaces": rng.choice(["", "", "sata", "sas;nvme"])}
        row |= {"mass_g": "40", "unit_cost": "3", "unit_price": "4", "lead_days": "3"}
        found.append(row | {"stock": rng.choice(["0", "3", "40"])})
    return found


def _draw(rng: random.Random, row: Cells) -> None:
    if rng.random() < 0.8:
        row["unit_price"] = f"{rng.choice([5, 20, 60, 61, 200, 400]) + rng.random():.2f}"
    if "mass_g" in row:
        row["mass_g"] = str(rng.choice([0, 50, 700.5, 4000]))
    if "lead_days" in row:
        row |= {"lead_days": str(rng.randint(1, 9)), "stock": rng.choice(["0", "2", "9", "50"])}


def random_prices(rng: random.Random, *, huge: bool = False) -> PriceList:
    """Give a price list; a `huge` one has sums that 64 bits do not hold."""
    terms = TERMS.replace("pct = 2.5", f"pct = {rng.choice(['0', '2.5', '33.333'])}")
    terms = terms.replace("per_kg = 1.15", f"per_kg = {rng.choice(['0', '1.15', '19.99'])}")
    terms = terms.replace("loss_pct = 100", f"loss_pct = {rng.choice(['100', '2', '0.5'])}")
    terms += f"\n[advice]\nwide_group_members = {rng.choice([3, 4])}\nwide_group_tb = 6\n"
    terms += "chipset_parity = true\n"
    tables = random_tables(rng)
    if huge:
        terms = terms.replace("KWD = 0.3985", "KWD = 398512345.678901")
        for rows in tables.values():
            for row in rows:
                if "unit_price" in row and row["unit_price"] != "0":
                    row["unit_price"] = str(round(float(row["unit_price"]) * 10**5, 2))
    return price_list(tables, terms)


def second_hand(rng: random.Random, prices: PriceList) -> PriceList:
    """Call some parts refurbished, so that they are never chosen unasked."""
    files: dict[str, Any] = {}
    for name in ("chassis", "controllers", "drives"):
        parts = dict(getattr(prices, name))
        old = rng.choice(list(parts))
        parts[old] = parts[old].model_copy(update={"condition": "refurbished"})
        files[name] = MappingProxyType(parts)
    return replace(prices, fingerprint=f"{prices.fingerprint} used {rng.random()}", **files)


def with_bench(rng: random.Random, prices: PriceList) -> PriceList:
    """Say how much the bench does in a day."""
    bench = BenchTerms.model_construct(
        minutes_per_day=rng.choice([None, 40, 90, 200, 480]),
        holidays=HOLIDAYS,
        soak_hours=rng.choice([None, 1, 30]),
    )
    terms = prices.terms.model_copy(update={"bench": bench})
    services = {
        sku: one.model_copy(update={"minutes": rng.choice([one.minutes, one.minutes / 8])})
        for sku, one in prices.services.items()
    }
    return replace(
        prices,
        terms=terms,
        services=MappingProxyType(services),
        fingerprint=f"{prices.fingerprint} bench {rng.random()}",
    )


def random_row(rng: random.Random, prices: PriceList) -> Enquiry | None:
    """Ask for one array; None where what was drawn contradicts itself."""
    cells: Cells = {"enquiry_id": "E", "customer": "C"}
    cells |= _some(rng, 0.85, usable_tb=["0", "0.5", "0.9", "3", "4", "11", "40"])
    cells |= _some(rng, 0.15, survive=["1", "2"], media=["hdd", "ssd"], spares=["1", "2"])
    cells |= _some(rng, 0.1, level=["1", "5", "none", "0", "50"], members=["2", "4", "6"])
    cells |= _some(rng, 0.15, controller=list(prices.controllers), chassis=list(prices.chassis))
    cells |= _some(rng, 0.15, drive=list(prices.drives))
    cells |= _some(rng, 0.4, workload=["files"])
    cells |= _some(rng, 0.2, host_iops=["100", "250", "9000"], max_response_ms=["5", "60"])
    cells |= _some(rng, 0.15, host_mb_s=["3", "40"], max_loss_pct=["0.01", "1", "5"])
    cells |= _some(rng, 0.15, accept=["no_redundancy", "cache_unprotected;loss_over_limit"])
    cells |= _some(rng, 0.15, free_slots=["1", "1:low:8"], options=["BOOT-CARD", "BELL*2"])
    cells |= _some(rng, 0.2, max_price=["900", "1500", "3000"], max_watts=["330", "500.5"])
    cells |= _some(rng, 0.2, max_lead_days=["3", "5", "0"], builds=["2", "3", "7"])
    cells |= _some(rng, 0.3, currency=["JPY", "KWD", "EUR"], discount_pct=["12.5", "0.037"])
    cells |= _some(rng, 0.15, services=["WIPE", "CHECK*2", "CABLES;WIPE"])
    cells |= _some(rng, 0.1, redundant_supply=["yes"])
    if "redundant_supply" in cells:
        cells["options"] = "PSU-600"
    owned = [role for role in ("chassis", "controller", "drive") if role in cells]
    cells |= _some(rng, 0.3, owned=[";".join(rng.sample(owned, rng.randint(0, len(owned))))])
    if "drive" in cells:
        cells |= _some(rng, 0.3, have_drives=["1", "3"])
    if rng.random() < 0.25:
        cells |= _upgrade(rng, prices, cells)
    try:
        (server,) = read_request([cells], prices).servers
    except (InputError, ValueError):
        return None
    return server.arrays[0] if len(server.arrays) == 1 else None


def _upgrade(rng: random.Random, prices: PriceList, cells: Cells) -> Cells:
    action = rng.choice(["keep", "grow", "replace"])
    found = {"action": action, "level": rng.choice(["5", "10", "1"]), "owned": "chassis"}
    found |= {"chassis": rng.choice(list(prices.chassis)), "drive": rng.choice(list(prices.drives))}
    found |= {"members": rng.choice(["4", "5"]), "usable_tb": ""}
    if action == "keep":
        return found | {"owned": "chassis;drive", "have_drives": ""}
    if action == "grow":
        found["members"] = rng.choice(["", "5", "6"])
        found["usable_tb"] = "1"
    found["have_drives"] = rng.choice(["3", "4"])
    if rng.random() < 0.4:
        found["from_controller"] = rng.choice(list(prices.controllers))
    if rng.random() < 0.4:
        found["from_drive"] = rng.choice(list(prices.drives))
    return found


def _some(rng: random.Random, chance: float, **cells: list[str]) -> Cells:
    return {name: rng.choice(values) for name, values in cells.items() if rng.random() < chance}
