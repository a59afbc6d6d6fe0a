"""Every server of some arrays that a small list can make, tried one by one without the search."""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product

from quotelib.build import advice, fit
from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import Request, ServerAsked
from quotelib.levels import LEVELS
from quotelib.predict.inputs import behind
from quotelib.predict.screening import array_loss_pct, screen
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price
from tests.small_list import TERMS, only, price_list, server

Cells = Mapping[str, str]
LIMIT = 3.0
"""Percent of loss from which the lists of `random_list` advise against an array."""


def random_list(seed: int, bays: int, controllers: str = "BOARD CARD MEZZ") -> PriceList:
    """Give a few parts at random prices, with few bays so that all servers can be tried."""
    rng = random.Random(seed)
    tables = only(chassis="BOX-4 BOX-12", controllers=controllers, drives="DISK-4T DISK-8T")
    flash = dict(tables["drives.csv"][0], sku="FLASH-2T", media="ssd", rpm="", seek_ms="")
    flash |= {"capacity_gb": "1920", "read_iops": "80000", "write_iops": "20000"}
    flash |= {"writes_per_day": "1", "read_mb_s": "500", "write_mb_s": "450"}
    tables["drives.csv"].append(flash)
    for file in ("drives.csv", "controllers.csv", "chassis.csv"):
        for row in tables[file]:
            if row["sku"] != "BOARD":
                row["unit_price"] = str(rng.randrange(50, 900, 50))
                row["lead_days"] = str(rng.randrange(9))
                row["stock"] = rng.choice(["0", "50"])
    for row in tables["chassis.csv"]:
        row["bays"] = str(min(int(row["bays"]), bays))
    terms = TERMS.replace("advise_loss_pct = 100", f"advise_loss_pct = {LIMIT}")
    return price_list(tables, terms)


def random_rows(seed: int, arrays: int) -> list[dict[str, str]]:
    """Ask for a server of so many arrays, with demands at random."""
    rng = random.Random(seed)
    rows = []
    for number in range(arrays):
        row = {"enquiry_id": "E-1", "usable_tb": rng.choice(["1", "3.5", "7"])}
        row |= {"array": str(number)} if arrays > 1 else {}
        demands = {
            "survive": rng.choice(["1", "2"][: 3 - arrays]),
            "media": rng.choice(["hdd", "ssd"]),
            "host_iops": rng.choice(["120", "200", "9000"]),
            "max_loss_pct": rng.choice(["0.1", "1"]),
        }
        row |= dict(rng.sample(sorted(demands.items()), 3 - arrays))
        rows.append(row)
    of_server = {
        "free_slots": "1",
        "max_watts": rng.choice(["260", "330"]),
        "max_lead_days": rng.choice(["5", "7"]),
        "builds": "2",
    }
    rows[0] |= {"customer": "Somebody", **dict(rng.sample(sorted(of_server.items()), 2))}
    return rows


def read(prices: PriceList, rows: Sequence[Cells]) -> tuple[Request, ServerAsked]:
    """Read rows that ask for one server."""
    request = read_request(rows, prices)
    (asked,) = request.servers
    return request, asked


@dataclass(frozen=True)
class Tried:
    """A server that can be built, as a whole and seen array by array."""

    whole: Candidate
    arrays: tuple[Candidate, ...]
    advised: frozenset[str]

    @property
    def rank(self) -> tuple[object, ...]:
        """Give the order of the contract, of servers in which nobody has accepted any advice."""
        build = self.whole.build
        ties = tuple(
            (a.controller.sku, a.drive.sku, list(LEVELS).index(a.layout.level), a.layout.spans)
            for a in build.arrays
        )
        return bool(self.advised), self.whole.net, build.drives, build.chassis.sku, ties

    @property
    def name(self) -> str:
        """Tell it from all others."""
        return named(self.whole.build)


def named(build: Build) -> str:
    """Name a server of several arrays."""
    arrays = (
        f"{a.controller.sku} {a.drive.sku} {a.layout.level}/{a.layout.members}/{a.layout.spans}"
        for a in build.arrays
    )
    return f"{build.chassis.sku}: {', '.join(arrays)}"


def every(prices: PriceList, asked: ServerAsked) -> list[Tried]:
    """Try every server of as many arrays as are asked for, whatever else is."""
    return [_tried(prices, asked, build) for build in _builds(prices, len(asked.arrays))]


def _builds(prices: PriceList, arrays: int) -> Iterator[Build]:
    for chassis in prices.chassis.values():
        layouts = [
            Layout(level, members, spans)
            for members in range(1, chassis.bays - arrays + 2)
            for level in LEVELS
            for spans in LEVELS[level].spans_for(members)
        ]
        one = list(product(prices.controllers, prices.drives, layouts))
        for wanted in product(one, repeat=arrays):
            if sum(layout.drives for _, _, layout in wanted) > chassis.bays:
                continue
            build = server(prices, chassis.sku, list(wanted))
            if not fit.stops(build):
                yield build


def _tried(prices: PriceList, asked: ServerAsked, build: Build) -> Tried:
    base = asked.base
    priced = price(build, PriceBook(prices, base.currency or prices.terms.currency), base.deal)
    whole = Candidate(build, build.usable_bytes, priced.net)
    seen, advised = [], {found.code for found in advice.advice(build, prices.terms.advice)}
    for array, row in zip(build.arrays, asked.arrays, strict=True):
        there = [behind(build, array)]
        (got,) = screen(there, row.load(prices), prices.terms)
        one = Candidate(replace(build, arrays=(array,)), array.usable_bytes, priced.net)
        one.take(got)
        seen.append(one)
        (lost,) = array_loss_pct(there, row.load(prices), prices.terms)
        if lost is not None and lost > LIMIT:
            advised.add("loss_over_limit")
    return Tried(whole, tuple(seen), frozenset(advised))


def meeting(prices: PriceList, asked: ServerAsked, tried: list[Tried]) -> list[Tried]:
    """Keep the servers that meet what is asked, in the order of choice."""
    of_server = [d for d in asked.base.asked(prices) if d.of == "server"]
    of_arrays = [[d for d in row.asked(prices) if d.of == "array"] for row in asked.arrays]
    left = [
        one
        for one in tried
        if all(demand.met(one.whole) for demand in of_server)
        and all(
            demand.met(array)
            for array, demands in zip(one.arrays, of_arrays, strict=True)
            for demand in demands
        )
    ]
    return sorted(left, key=lambda one: one.rank)


def net(tried: Tried) -> Decimal:
    """Give what it costs."""
    assert tried.whole.net is not None
    return tried.whole.net
