"""Makes price lists that are legal and nothing like what is sold: each column at its ends.

Which figures are legal is found by asking: each column of each file is given every figure of a
ladder, and the smallest and the largest that are accepted are its ends, so that the bounds of the
program are followed wherever they go. By seed; the same one gives the same list.
"""

import random
from functools import cache
from pathlib import Path

from quotelib.catalogue.contradictions import contradictions
from quotelib.catalogue.price_list import read_folder
from quotelib.catalogue.tables import Row, parse_row
from tests import small_list
from tests.fuzz.seeds import roomy

_LADDER = (
    "0", *(f"1e{n}" for n in range(-24, 13)), *map(str, range(2, 10)), "0.1", "16", "32", "50",
    "64", "99", "128", "200", "255", "256", "512", "1000", "1024", "3650", "4096", "10000",
    "100000",
)  # fmt: skip
_WORDS = {
    "cache_protection": ("none", "battery", "flash"),
    "backplane": ("", "direct", "expander"),
    "block_bytes": ("512", "4096"),
    "bay_interfaces": ("sata", "sata;sas", "sata;sas;nvme", "nvme"),
    "condition": ("new", "refurbished"),
    "height": ("low", "full"),
    "brackets": ("low", "full", "low;full"),
    "per": ("build", "drive", "1", "1000"),
    "levels": ("0;1;5;6;10;50;60", "60", "0", "50;60"),
    "last_buy": ("2000-01-01", "2099-12-31"),
    "description": ("x", "x" * 500),
}
_LEFT = {"sku", "name", "chassis_sku", "slot", "fits", "needed_by", "with", "board_controller"}


@cache
def ends(model: type[Row], sound: tuple[tuple[str, str], ...]) -> dict[str, tuple[str, ...]]:
    """Give what each column of a sound row may be at its ends, blank too where it may."""
    found = {}
    for column, now in sound:
        if column in _LEFT:
            continue
        legal = [
            figure
            for figure in ("", *_WORDS.get(column, ()), *_LADDER)
            if _accepted(model, {**dict(sound), column: figure})
        ]
        figures = sorted((f for f in legal if f in _LADDER), key=float)
        words = [word for word in legal if word not in _LADDER]
        found[column] = tuple(dict.fromkeys([*figures[:2], *figures[-2:], *words, now]))
    return found


def _accepted(model: type[Row], cells: dict[str, str]) -> bool:
    item, _ = parse_row(model, "", None, cells)
    return item is not None and not any(contradictions(model, cells))


def extreme(seed: int, folder: Path) -> Path:
    """Write a list: a sound small one, some of whose cells stand at their ends."""
    rng = random.Random(f"extreme {seed}")
    tables = roomy()
    share = rng.choice((0.05, 0.3, 0.6, 1.0))
    for file, rows in tables.items():
        model = small_list.MODELS[file]
        for row in rows:
            for column, legal in ends(model, tuple(row.items())).items():
                if rng.random() < share:
                    row[column] = rng.choice(legal)
    if rng.random() < 0.25:
        for row in tables["chassis.csv"]:
            row |= {"bays": "256", "supply_w": "100000", "base_w": "1"}
        for row in tables["controllers.csv"]:
            row["max_drives"] = "10000"
    for _ in range(rng.choice((0, 0, 0, 1, 3))):
        _many(rng, tables)
    terms = _terms(rng, share)
    # Cells that do not go together are put back to what they were, until all do.
    sound = roomy()
    for _ in range(30):
        small_list.write(folder, tables, terms)
        _, problems = read_folder(folder)
        if not problems:
            return folder
        for problem in problems:
            if problem.row is None:
                continue
            row = tables[problem.file][problem.row - 2]
            before = next(r for r in sound[problem.file] if _same_part(r, row))
            row.update({name: before.get(name, "") for name in row if name not in _LEFT})
    raise AssertionError(f"no sound list came of seed {seed}: {problems[0]}")


def _same_part(one: dict[str, str], other: dict[str, str]) -> bool:
    key = "name" if "name" in one else "chassis_sku" if "slot" in one else "sku"
    return one[key] == other[key].partition("#")[0]


def _many(rng: random.Random, tables: small_list.Tables) -> None:
    """Give one file many rows more: drives, controllers, chassis, or slots of one chassis."""
    file = rng.choice(("drives.csv", "controllers.csv", "chassis.csv", "slots.csv"))
    rows = tables[file]
    row = rng.choice(rows[1:])
    if file == "slots.csv":
        taken = {r["slot"] for r in rows if r["chassis_sku"] == row["chassis_sku"]}
        free = [str(n) for n in range(256) if str(n) not in taken]
        rows += [
            {**row, "slot": n} for n in rng.sample(free, min(len(free), rng.choice((8, 60, 256))))
        ]
    else:
        rows += [
            {**row, "sku": f"{row['sku']}#{len(rows) + n}"} for n in range(rng.choice((5, 20, 60)))
        ]


def _terms(rng: random.Random, share: float) -> str:
    """Write terms at their ends."""

    def one(now: str, *others: str) -> str:
        return rng.choice(others) if rng.random() < share else now

    tax = one("20", "0", "100", "1e-12")
    return "\n".join(
        [
            f'currency = "{one("GBP", "JPY", "KWD")}"',
            f"quote_valid_days = {one('30', '1', '3650')}",
            f"margin_floor_pct = {one('10', '-100', '100')}",
            f"rates = {{ EUR = {one('1.164', '1e-9', '1e9')} }}",
            f"tax = {{ S = {tax}, Z = 0 }}",
            f"freight = {{ base = {one('16', '0', '1e12')}, per_kg = {one('1', '0', '1e12')} }}",
            "[[volume_discount]]",
            f"min_builds = {one('5', '1', '1000000000')}",
            f"pct = {one('2', '0', '100')}",
            "[seller]",
            'name = "Nobody"\naddress = "Nowhere (invented)"\ncontact = "none"',
            "[risk]",
            f"years = {one('5', '0.01', '100')}",
            f"advise_loss_pct = {one('2', '0', '100', '1e-12')}",
            "[electricity]",
            f"price_per_kwh = {one('0.3', '0', '1e12', '0.000001')}",
            "[advice]",
            f"wide_group_members = {one('10', '2', '1000')}",
            f"wide_group_tb = {one('8', '0.001', '1000000')}",
            f"supply_pct = {one('95', '0', '100')}",
            "",
        ]
    )


ASKED: tuple[dict[str, str], ...] = (
    {"usable_tb": "10", "survive": "1"},
    {"usable_tb": "1000000"},
    {"usable_tb": "0.000001", "workload": "files", "currency": "EUR", "builds": "1000000"},
    {"members": "1000", "level": "60", "drive": "DISK-8T", "spans": "250", "spares": "1000"},
    {"usable_tb": "1", "max_loss_pct": "1e-12", "host_iops": "1e10", "max_response_ms": "0.001",
     "workload": "files", "level": "6"},
    {"usable_tb": "1", "cores": "100", "memory_gb": "1000", "free_slots": "1:full:16;1",
     "discount_pct": "100", "tax_code": "S"},
    {"chassis": "BOX-12", "options": "CPU-16*2;MEM-16*8", "line": "x", "line_price": "-1e12",
     "line_quantity": "1000000", "parts": "DISK-4T*9999"},
)  # fmt: skip
"""What is asked, three of these of each list."""
