"""Small random lists with accessories and services of every kind, and servers of several arrays."""

import random

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import ServerAsked
from quotelib.errors import InputError
from tests.choose.rows import random_tables
from tests.small_list import TERMS, price_list

Cells = dict[str, str]


def rich_list(rng: random.Random, *, most_bays: int = 5) -> PriceList:
    """Give two chassis of few bays, three controllers and two drives, and all that may come."""
    tables = random_tables(rng)
    for file, number in (("chassis.csv", 2), ("controllers.csv", 3), ("drives.csv", 2)):
        tables[file] = tables[file][:number]
    there = {row["sku"] for rows in tables.values() for row in rows if "sku" in row}
    tables["slots.csv"] = [row for row in tables["slots.csv"] if row["chassis_sku"] in there]
    for row in tables["chassis.csv"]:
        row["bays"] = str(rng.randint(3, most_bays))
        row["supply_w"] = str(rng.choice([250, 330, 900]))
        if row["board_controller"] not in there:
            row["board_controller"] = ""
    for file, column in (("accessories.csv", "needed_by"), ("accessories.csv", "with"),
                         ("options.csv", "fits")):  # fmt: skip
        for row in tables[file]:
            row[column] = ";".join(s for s in row.get(column, "").split(";") if s in there)
    tables["accessories.csv"] = [row for row in tables["accessories.csv"] if row["needed_by"]]
    terms = TERMS.replace("pct = 2.5", f"pct = {rng.choice(['0', '2.5', '33.333'])}")
    terms = terms.replace("per_kg = 1.15", f"per_kg = {rng.choice(['0', '1.15', '19.99'])}")
    terms = terms.replace("loss_pct = 100", f"loss_pct = {rng.choice(['100', '2', '0.5'])}")
    terms += "\n[advice]\nwide_group_members = 3\nwide_group_tb = 6\nchipset_parity = true\n"
    return price_list(tables, terms)


def rich_server(rng: random.Random, prices: PriceList, arrays: int) -> ServerAsked | None:
    """Ask for several arrays; None where what was drawn contradicts itself."""
    rows = []
    for number in range(arrays):
        row: Cells = {"enquiry_id": "E", "array": f"a{number}"}
        row |= {"usable_tb": rng.choice(["0", "0.5", "0.9", "3", "8"])}
        row |= _some(rng, 0.15, survive=["1", "2"], media=["hdd", "ssd"], spares=["1"])
        row |= _some(rng, 0.06, level=["1", "5", "none", "0"], members=["2", "3"])
        row |= _some(rng, 0.06, controller=list(prices.controllers), drive=list(prices.drives))
        row |= _some(rng, 0.3, workload=["files"], max_loss_pct=["0.01", "1", "5"])
        row |= _some(rng, 0.2, host_iops=["100", "250", "9000"], max_response_ms=["5", "60"])
        row |= _some(rng, 0.2, accept=["no_redundancy", "cache_unprotected;loss_over_limit"])
        rows.append(row)
    rows[0] |= {"customer": "C"}
    rows[0] |= _some(rng, 0.1, free_slots=["1", "1:low:8"], chassis=list(prices.chassis))
    rows[0] |= _some(rng, 0.5, max_price=["1100", "1500", "2200"])
    rows[0] |= _some(rng, 0.4, max_watts=["230", "250.5", "330"])
    rows[0] |= _some(rng, 0.3, max_lead_days=["3", "5", "7"], builds=["2", "3", "7"])
    rows[0] |= _some(rng, 0.3, currency=["JPY", "KWD", "EUR"], discount_pct=["12.5", "0.037"])
    rows[0] |= _some(rng, 0.15, services=["WIPE", "CHECK*2", "CABLES;WIPE"])
    rows[0] |= _some(rng, 0.1, options=["BELL*2", "BOOT-CARD"])
    if rng.random() < 0.25:
        _upgrade(rng, prices, rows)
    try:
        (server,) = read_request(rows, prices).servers
    except (InputError, ValueError):
        return None
    return server


def _upgrade(rng: random.Random, prices: PriceList, rows: list[Cells]) -> None:
    """Put an array that is there into the customer's chassis."""
    rows[0] |= {"chassis": rng.choice(list(prices.chassis)), "owned": "chassis"}
    row = rows[-1]
    for name in ("usable_tb", "spares", "controller", "members"):
        row.pop(name, None)
    action = rng.choice(["keep", "grow", "replace", "new"])
    row |= {"action": action, "level": rng.choice(["1", "5", "0"]), "members": "3"}
    row |= {"drive": rng.choice(list(prices.drives))}
    row["members"] = "2" if row["level"] == "1" else "3"
    row["owned"] = "chassis;drive" if action == "keep" else "chassis"
    if action == "grow":
        row |= {"have_drives": "3", "members": "4", "level": "5"}
    if action == "replace":
        row |= {"have_drives": "1"}
    if rng.random() < 0.5:
        row["controller"] = rng.choice(list(prices.controllers))
        row["owned"] += ";controller" if rng.random() < 0.6 else ""
    if action != "new":
        row |= _some(rng, 0.5, from_controller=list(prices.controllers))
    else:
        row |= _some(rng, 0.5, have_drives=["1", "2"])


def _some(rng: random.Random, chance: float, **cells: list[str]) -> Cells:
    return {name: rng.choice(values) for name, values in cells.items() if rng.random() < chance}
