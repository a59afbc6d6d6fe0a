"""Small random price lists and servers of several arrays, and every build there is for them."""

import random
from collections.abc import Iterator
from decimal import Decimal
from itertools import product

from quotelib.build.build import Build
from quotelib.build.layout import Array, Layout
from quotelib.catalogue.parts import Chassis, Option
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import ServerAsked
from quotelib.levels import LEVELS, place
from tests import small_list
from tests.small_list import OPTIONS, TERMS

Cells = dict[str, str]


def random_list(rng: random.Random, *, linear: bool = False) -> PriceList:
    """Give a list of two chassis with few bays, whose prices and masses are drawn anew.

    A `linear` one has no discount and no freight by mass, so that nothing is rounded.
    """
    chassis = ["BOX-12", rng.choice(["BOX-4", "BOX-8"])]
    controllers = ["BOARD", *rng.sample(["CARD", "THROUGH", "MEZZ", "BARE"], 2)]
    drives = rng.sample(["DISK-4T", "DISK-8T", "FLASH-1T"], 2)
    tables = small_list.only(
        chassis=" ".join(chassis), controllers=" ".join(controllers), drives=" ".join(drives)
    )
    tables["options.csv"] = [dict(row) for row in OPTIONS]
    for row in tables["options.csv"]:
        if row["fits"] and row["fits"] not in chassis:
            row["fits"] = ""
    for rows in tables.values():
        for row in rows:
            if "unit_price" in row:
                _draw(rng, row)
    for box in tables["chassis.csv"]:
        box["bays"] = str(rng.randint(4, 5))
        box |= {"processor_sockets": str(rng.randint(1, 2)), "memory_slots": str(rng.randint(1, 3))}
        box |= {"supply_w": str(rng.choice([450, 700, 1500])), "mezzanine_sockets": "1"}
    terms = TERMS.replace("per_kg = 1.15", "per_kg = 0") if linear else _terms(rng)
    return small_list.price_list(tables, terms)


def _draw(rng: random.Random, row: Cells) -> None:
    if rng.random() < 0.9:  # some stay as they are, and some tie
        row["unit_price"] = f"{rng.choice([0, 5, 20, 60, 61, 200, 400]) + rng.choice([0, 0.5]):.2f}"
    if "mass_g" in row:
        row["mass_g"] = str(rng.choice([0, 50, 700, 4000]))


def _terms(rng: random.Random) -> str:
    pct = rng.choice(["0", "2.5", "33.3"])
    terms = TERMS.replace("pct = 2.5", f"pct = {pct}").replace("min_builds = 5", "min_builds = 2")
    return terms.replace("per_kg = 1.15", f"per_kg = {rng.choice(['0', '1.15', '20'])}")


def random_server(
    rng: random.Random, prices: PriceList, arrays: int, *, linear: bool = False
) -> ServerAsked:
    """Ask for a server of several arrays, with cores, memory and limits now and then.

    A `linear` one asks for nothing that takes an estimate, and accepts whatever we advise against.
    """
    rows: list[Cells] = []
    for number in range(arrays):
        row = {
            "enquiry_id": "E",
            "array": f"a{number}",
            "usable_tb": rng.choice(["0.5", "0.9", "3", "4"]),
        }
        row |= _some(rng, 0.15, survive=["1", "2"], media=["hdd", "ssd"], spares=["1"])
        row |= _some(rng, 0.06, level=["1", "5", "none", "0"], controller=list(prices.controllers))
        row |= _some(rng, 0.3, workload=["files"])
        if "workload" in row:
            row |= _some(rng, 0.5, host_iops=["100", "250"], max_response_ms=["5", "60"])
        row |= _some(rng, 0.2, accept=["no_redundancy", "cache_unprotected"])
        rows.append(row)
    rows[0] |= {"customer": "C"}
    rows[0] |= _some(rng, 0.3, cores=["8", "16"], memory_gb=["16", "40"])
    rows[0] |= _some(rng, 0.1, free_slots=["1"])
    rows[0] |= _some(rng, 0.2, max_price=["1500", "3000"], max_watts=["330", "500"])
    rows[0] |= _some(rng, 0.2, max_lead_days=["3", "5"], builds=["2", "3"], currency=["JPY", "KWD"])
    rows[0] |= _some(rng, 0.2, options=["BOOT-CARD", "CPU-8", "BELL*2"], discount_pct=["12.5"])
    if linear:
        rows = [{name: row[name] for name in row if name in _LINEAR} for row in rows]
        rows[0]["accept"] = "no_redundancy;cache_unprotected;loss_over_limit;memory_uneven"
    (server,) = read_request(rows, prices).servers
    return server


_LINEAR = {
    "enquiry_id", "customer", "array", "usable_tb", "survive", "media", "spares", "level",
    "controller", "cores", "memory_gb",
}  # fmt: skip


def _some(rng: random.Random, chance: float, **cells: list[str]) -> Cells:
    return {name: rng.choice(values) for name, values in cells.items() if rng.random() < chance}


def every_package(
    prices: PriceList, base: Enquiry, box: Chassis
) -> Iterator[tuple[tuple[Option, int], ...]]:
    """Try every number of every processor and memory module, also more than are needed."""
    named = [prices.options[sku] for sku in base.value("options") or ()]
    choices: list[list[tuple[Option, int] | None]] = []
    for role, column in (("processor", "cores"), ("memory module", "memory_gb")):
        given = any(option.role == role for option in named)
        if given or not base.value(column):
            choices.append([None])
            continue
        room = box.processor_sockets if column == "cores" else box.memory_slots
        those = [option for option in prices.options.values() if option.role == role]
        choices.append([(o, n) for o in those for n in range(1, (room or 0) + 1)])
    for processors, memory in product(*choices):
        number = processors[1] if processors else sum(o.role == "processor" for o in named)
        if memory is None or memory[1] % max(number, 1) == 0:
            yield tuple(filter(None, (processors, memory)))


def every_array(prices: PriceList, row: Enquiry, box: Chassis) -> Iterator[Array]:
    """List every array in a chassis that is what its row asks for without an estimate."""
    asked = [d for d in row.asked(prices) if d.of == "array" and d.needs == "build"]
    layouts = [
        Layout(name, members, spans, row.spares or 0)
        for name, level in LEVELS.items()
        for members in range(1, box.bays + 1)
        for spans in level.spans_for(members)
        if row.level in (None, name)
    ]
    for controller in prices.controllers.values():
        if row.controller not in (None, controller.sku):
            continue
        for drive, layout in product(prices.drives.values(), layouts):
            array = Array(drive, controller, layout, name=row.array)
            alone = Candidate(Build(box, False, (), (array,)), array.usable_bytes)
            if all(demand.met(alone) for demand in asked):
                yield array


def _rank(
    advised: bool, net: Decimal | None, build: Build, added: dict[str, tuple[str, int]]
) -> tuple[object, ...]:
    return (
        advised,
        net,
        build.drives,
        build.chassis.sku,
        tuple(
            (a.controller.sku, a.drive.sku, place(a.layout.level), a.layout.spans)
            for a in build.arrays
        ),
        tuple(added.get(role, ("", 0)) for role in ("processor", "memory module")),
    )


def as_ranked(found: Candidate, asked: ServerAsked) -> tuple[object, ...]:
    """Give of a build that was chosen the order of choice."""
    build = found.build
    named = set(asked.base.value("options") or ())
    added = {
        piece.part.role: (piece.part.sku, piece.count)
        for piece in build.parts
        if isinstance(piece.part, Option) and piece.part.sku not in named
    }
    return _rank(bool(found.open_advice(asked.base.accept)), found.net, build, added)
