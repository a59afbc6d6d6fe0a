"""Every server of several arrays that a small list can make, each made, priced and estimated."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from quotelib.build import advice, fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Array, Layout
from quotelib.catalogue.parts import Chassis, Option
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, loss_over_limit, rank
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.levels import LEVELS
from quotelib.predict.inputs import behind
from quotelib.predict.screening import Screened, screen
from quotelib.pricing.lines import PriceBook, in_vain
from quotelib.pricing.totals import price
from tests.choose.orders import every_package

Package = tuple[tuple[Option, int], ...]
Missed = frozenset[tuple[int | None, str]]


@dataclass(frozen=True)
class Server:
    """A server that fits, with each array seen alone, and which demands it misses.

    A demand is named by the place of its array (None: of the server) and its column.
    """

    whole: Candidate
    arrays: tuple[Candidate, ...]
    package: Package
    missed: Missed

    @property
    def iops(self) -> float | None:
        """Add up the operations a second of its arrays."""
        each = [one.host_iops for one in self.arrays]
        return None if None in each else sum(one for one in each if one is not None)

    @property
    def loss_pct(self) -> float | None:
        """Give the chance that any of its arrays loses data."""
        kept = 1.0
        for one in self.arrays:
            if one.loss_pct is None:
                return None
            kept *= 1 - one.loss_pct / 100
        return 100 * (1 - kept)

    def ranked(self, accept: Sequence[str]) -> tuple[object, ...]:
        """Give the order of choice."""
        added = {option.role: (option.sku, number) for option, number in self.package}
        places = tuple(added.get(role, ("", 0)) for role in ("processor", "memory module"))
        return (*rank(self.whole, accept), places)

    def shortfall(self, place: int | None, demand: Asked) -> float:
        """Tell how far it is from a demand."""
        return demand.shortfall(self.whole if place is None else self.arrays[place])


def demands(prices: PriceList, asked: ServerAsked) -> list[tuple[int | None, Asked]]:
    """List what is demanded, of the server first."""
    own = [(None, d) for d in asked.base.asked(prices) if d.of != "array"]
    rows = enumerate(asked.arrays)
    return [*own, *((n, d) for n, row in rows for d in row.asked(prices) if d.of == "array")]


def listed_packages(prices: PriceList, base: Enquiry, box: Chassis) -> Iterator[Package]:
    """Leave out more memory modules than are needed, and what gives too little."""
    named = [prices.options[sku] for sku in base.value("options") or ()]
    for package in every_package(prices, base, box):
        processors = sum(n for o, n in package if o.role == "processor")
        processors = processors or sum(o.role == "processor" for o in named)
        enough = True
        for option, number in package:
            if option.fits and box.sku not in option.fits:
                enough = False
            if option.role == "processor":
                enough &= option.cores * number >= base.value("cores")
            else:
                least = base.value("memory_gb")
                fewer = option.memory_gb * (number - max(processors, 1))
                enough &= option.memory_gb * number >= least > fewer
        if enough:
            yield package


def laid(row: Enquiry, box: Chassis) -> list[Layout]:
    """List the layouts of up to as many drives as the chassis has bays that agree with the pins."""
    return [
        Layout(name, members, spans, row.spares or 0)
        for name, level in LEVELS.items()
        for members in range(1, box.bays - (row.spares or 0) + 1)
        for spans in level.spans_for(members)
        if row.level in (None, name)
        and row.members in (None, members)
        and row.spans in (None, spans)
    ]


def boxes(prices: PriceList, base: Enquiry) -> list[Chassis]:
    """List the chassis that agree with the pins."""
    return [one for one in prices.chassis.values() if base.chassis in (None, one.sku)]


def possible(prices: PriceList, asked: ServerAsked) -> int:
    """Count by hand what agrees with the pins."""
    total = 0
    for box in boxes(prices, asked.base):
        each = [laid(row, box) for row in asked.arrays]
        together = sum(sum(layout.drives for layout in some) <= box.bays for some in product(*each))
        for row in asked.arrays:
            together *= sum(row.controller in (None, sku) for sku in prices.controllers)
            together *= sum(row.drive in (None, sku) for sku in prices.drives)
        total += together * len(list(listed_packages(prices, asked.base, box)))
    return total


def every_server(prices: PriceList, asked: ServerAsked) -> Iterator[Server]:
    """Make every server that agrees with the pins, and give those that fit."""
    base = asked.base
    book = PriceBook(prices, base.currency or prices.terms.currency)
    chosen = [prices.services[sku] for sku in base.deal.services]
    wanted = demands(prices, asked)
    known: dict[object, Screened] = {}
    for box in boxes(prices, base):
        halves = [
            [
                made(prices, row, box, controller, drive, layout)
                for controller in prices.controllers
                if row.controller in (None, controller)
                for drive in prices.drives
                if row.drive in (None, drive)
                for layout in laid(row, box)
            ]
            for row in asked.arrays
        ]
        halves = [[one for one in half if _alone(prices, asked, box, one)] for half in halves]
        for package in listed_packages(prices, base, box):
            for arrays in product(*halves):
                if sum(array.drives for array in arrays) > box.bays:
                    continue
                build = _build(prices, asked, box, package, arrays)
                if fit.stops(build) or any(in_vain(chosen, build)):
                    continue
                yield _judged(prices, asked, build, book, package, wanted, known)


def made(
    prices: PriceList, row: Enquiry, box: Chassis, controller: str, drive: str, layout: Layout
) -> Array:
    """Make an array."""
    before = prices.controllers.get(row.value("from_controller") or "")
    return Array(
        prices.drives[drive], prices.controllers[controller], layout, row.their_drives, row.action,
        row.array, before, prices.drives.get(row.value("from_drive") or ""),
    )  # fmt: skip


def _alone(prices: PriceList, asked: ServerAsked, box: Chassis, array: Array) -> bool:
    """Leave out early what no other part can mend."""
    rules = (fit.level_not_offered, fit.member_count, fit.bay_interface, fit.drive_link,
             fit.board_elsewhere, *fit.STAYING_RULES)  # fmt: skip
    parts = (Placed(array.controller),)
    return not fit.asked(rules, Build(box, "chassis" in asked.base.owned, parts, (array,)))


def _build(
    prices: PriceList, asked: ServerAsked, box: Chassis, package: Package, arrays: tuple[Array, ...]
) -> Build:
    base = asked.base
    named = base.value("options") or ()
    theirs = {r.controller for r in asked.arrays if "controller" in r.owned}
    used = {a.controller.sku: a.controller for a in arrays}
    parts = [Placed(c, owned=c.sku in theirs) for c in used.values()]
    parts += [Placed(prices.options[sku], named.count(sku)) for sku in dict.fromkeys(named)]
    parts += [Placed(option, number) for option, number in package]
    return assemble(
        prices, box, "chassis" in base.owned, tuple(parts), arrays,
        bool(base.value("redundant_supply")),
    )  # fmt: skip


def _judged(
    prices: PriceList,
    asked: ServerAsked,
    build: Build,
    book: PriceBook,
    package: Package,
    wanted: list[tuple[int | None, Asked]],
    known: dict[object, Screened],
) -> Server:
    priced = price(build, book, asked.base.deal)
    whole = Candidate(build, build.usable_bytes, priced.net, once_total=priced.once_total)
    found = {one.words: one for one in advice.advice(build, prices.terms.advice)}
    seen = []
    for row, array in zip(asked.arrays, build.arrays, strict=True):
        there = behind(build, array)
        key = (row.array, array.drive.sku, array.controller.sku, array.layout, *there[1:])
        if key not in known:
            (known[key],) = screen([there], row.load(prices), prices.terms)
        one = Candidate(
            replace(build, arrays=(array,)), array.usable_bytes, priced.net,
            once_total=priced.once_total,
        )  # fmt: skip
        one.take(known[key])
        seen.append(one)
        found |= {o.words: o for o in loss_over_limit(array, known[key], prices.terms)}
    whole.advice = tuple(found.values())
    missed = frozenset(
        (place, demand.column)
        for place, demand in wanted
        if not demand.met(whole if place is None else seen[place])
    )
    return Server(whole, tuple(seen), package, missed)
