"""Which server is it where arrays, processors and memory are chosen together.

The search is exact. What a server costs, with freight and after discount, is a sum over its parts,
but for two roundings of at most half a minor unit each; so the cheapest share of each array, with
what the chassis, its controllers and what comes with them cost in any case, bounds from below what
a server costs that holds them. Servers are tried in rising order of that bound, until it passes the
least net found. The shares of arrays are floats a hair below what they stand for, so that no bound
is too high; what is found is priced as every quote is. Of the ways to make one array with the same
drives, controller and place one is left out only where another does in every server (`stream`).
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from heapq import heappop, heappush

import numpy as np

from quotelib.build import advice, fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.findings import Finding
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Chassis, Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import anything_listed
from quotelib.choose.candidate import Candidate, estimates, loss_over_limit, rank
from quotelib.choose.enumeration import options_named
from quotelib.choose.packages import Package, packages
from quotelib.choose.shares import Shares
from quotelib.choose.stream import Frame, Half, Stream
from quotelib.choose.wanted import HAIR, Wanted, above, below
from quotelib.enquiry.request import ServerAsked
from quotelib.predict.inputs import answers_writes, behind
from quotelib.pricing.lines import in_vain
from quotelib.pricing.totals import price

MOST_TRIED = 5_000
"""Ours, for time: some seconds."""
_RISING = ("max_watts", "free_slots", "max_lead_days")
"""Columns of demands that no part added to a server helps to meet."""
NEVER = Decimal("1e90")
"""More than anything costs."""
_Rank = tuple[object, ...]


class Search:
    """The search for one server; `sound` leaves out what we advise against.

    What costs more than `most`, without what is charged once a quote, is not looked for. Where a
    day of shipping is named, nothing found bounds the search for a long time: it gives up after
    `MOST_TRIED` servers that are none, and the quote is held.
    """

    def __init__(
        self, price_list: PriceList, asked: ServerAsked, *, sound: bool, most: Decimal = NEVER
    ) -> None:
        self.prices, self.asked, self.sound = price_list, asked, sound
        self.shares = Shares(price_list, asked.base)
        self.boxes = tuple(self._chassis())
        skus = tuple(box.sku for box in self.boxes)
        base = asked.base
        self.demands = [d for d in base.asked(price_list) if d.of != "array"]
        # A chassis that misses a demand by itself misses it with anything in it.
        bare = [d for d in self.demands if d.column in _RISING]
        named = options_named(price_list, base)
        owned, redundant = "chassis" in base.owned, bool(base.value("redundant_supply"))
        self._serving = [
            all(d.met(Candidate(Build(box, owned, named, (), (), redundant), 0)) for d in bare)
            for box in self.boxes
        ]
        # Where an array has no parts to choose from there is no server, and no table of any.
        self.possible = any(self._serving) and all(
            anything_listed(price_list, r) for r in asked.arrays
        )
        rows = asked.arrays if self.possible else ()
        self.wanted = [Wanted(price_list, row, self.shares, sound, skus) for row in rows]
        self._dated = any(demand.column == "ship_by" for demand in self.demands)
        self._tried = 0
        chosen = dict.fromkeys(asked.base.deal.services)
        self.chosen = [price_list.services[sku] for sku in chosen]
        limits = (d.limit for d in self.demands if d.needs == "price")
        watts = [d.limit for d in self.demands if d.column == "max_watts"]
        self._watts_asked: Decimal = min([NEVER, *watts])
        self._watts = float(self._watts_asked)
        self._limit = above(min((most, *limits)) + self.shares.unit)
        self.best: Candidate | None = None
        self._rank: _Rank | None = None
        self._of: dict[tuple[str, bool], float] = {}
        self._streams: dict[tuple[object, ...], Stream] = {}

    def run(self) -> Candidate | None:
        """Find the server of lowest rank; None where there is none."""
        if not self.possible:
            return None
        least = np.zeros(len(self.boxes))
        for wanted in self.wanted:
            least += wanted.share.min(axis=1, initial=np.inf)
        least += [below(self.shares.box(box)) for box in self.boxes]
        order = sorted(range(len(self.boxes)), key=lambda at: (least[at], self.boxes[at].sku))
        for at in order:
            if not self._serving[at]:
                continue
            if np.isinf(least[at]) or self._beaten(least[at]):
                break
            cost, others = below(self.shares.box(self.boxes[at])), least[at]
            for wanted in self.wanted:
                wanted.refine(at, self._limit - others + wanted.share[at].min(initial=np.inf))
            least[at] = cost + sum(w.share[at].min(initial=np.inf) for w in self.wanted)
            if np.isinf(least[at]) or self._beaten(least[at]):
                continue
            for package in packages(self.prices, self.asked.base, self.boxes[at]):
                known = below(self.shares.box(self.boxes[at]) + self.shares.package(package))
                if not self._beaten(least[at] + below(self.shares.package(package))):
                    self._spread(at, package, known, ())
        return self.best

    def _chassis(self) -> Iterator[Chassis]:
        base = self.asked.base
        for chassis in self.prices.chassis.values():
            if chassis.sku == base.chassis or (base.chassis is None and base.sold(chassis)):
                yield chassis

    def _beaten(self, bound: float) -> bool:
        """Tell whether all from a bound on costs more than may be, or than the best found."""
        return bound > self._limit

    def _spread(self, box: int, package: Package, known: float, taken: tuple[int, ...]) -> None:
        """Give each array a controller, in turn, and try what is not beaten.

        `known` is what chassis and package cost, `taken` the places of controllers in the tables.
        """
        of = [w.table.listed.controllers[at] for w, at in zip(self.wanted, taken, strict=False)]
        if len(taken) == len(self.wanted):
            given_up = self._given_up()
            frame = None if given_up else self._frame(self.boxes[box], package, tuple(of))
            if frame is not None and not self._beaten(below(frame.cost)):
                self._fill(frame, box, taken)
            return
        after = self.wanted[len(taken) + 1 :]
        known += sum(w.share[box, at] for w, at in zip(self.wanted, taken, strict=False))
        known += sum(w.share[box].min(initial=np.inf) for w in after)
        before = {one.sku: one for one in of}
        known += sum(self._controller(one) for one in before.values())
        wanted = self.wanted[len(taken)]
        options = []
        for at, one in enumerate(wanted.table.listed.controllers):
            bound = known + wanted.share[box, at]
            if one.sku not in before:
                bound += self._controller(one)
            if not (np.isinf(bound) or self._beaten(bound)):
                options.append((bound, one.sku, at))
        cost = below(self.shares.box(self.boxes[box]) + self.shares.package(package))
        for bound, _, at in sorted(options):
            if not self._beaten(bound):
                self._spread(box, package, cost, (*taken, at))

    def _given_up(self) -> bool:
        self._tried += 1
        return self._dated and self.best is None and self._tried > MOST_TRIED

    def _controller(self, controller: Controller) -> float:
        key = (controller.sku, self._owned(controller))
        if key not in self._of:
            self._of[key] = below(self.shares.controller(controller, key[1]))
        return self._of[key]

    def _owned(self, controller: Controller) -> bool:
        rows = self.asked.arrays
        return any("controller" in r.owned and r.controller == controller.sku for r in rows)

    def _frame(
        self, chassis: Chassis, package: Package, taken: tuple[Controller, ...]
    ) -> Frame | None:
        """Put a server without drives together; None where no drives would make it one."""
        base = self.asked.base
        parts = (
            *(Placed(c, owned=self._owned(c)) for c in {c.sku: c for c in taken}.values()),
            *options_named(self.prices, base),
            *(Placed(option, number) for option, number in package.pieces),
        )
        redundant = bool(base.value("redundant_supply"))
        build = assemble(self.prices, chassis, "chassis" in base.owned, parts, (), redundant)
        if fit.asked((*fit.PART_RULES, fit.power), build):
            return None
        # What a server without drives has too much or too little of, drives do not mend.
        empty = Candidate(build, 0)
        # That goes for demands of a server; services depend on what is done with its arrays.
        if not all(d.met(empty) for d in self.demands if d.needs == "build" and d.of == "server"):
            return None
        if self.sound and any(
            a.code not in base.accept for a in advice.advice(build, self.prices.terms.advice)
        ):
            return None
        actions = frozenset(row.action for row in self.asked.arrays)
        return Frame(build, self.shares.of(build, actions), taken, package)

    def _fill(self, frame: Frame, box: int, taken: tuple[int, ...]) -> None:
        """Try the arrays of a frame together, in rising order of what they cost."""
        cost = below(frame.cost)
        draws = sum(w.draws[box, at] for w, at in zip(self.wanted, taken, strict=True))
        if float(frame.watts) + draws > self._watts * (2 - HAIR):
            return
        least = [w.share[box, at] for w, at in zip(self.wanted, taken, strict=True)]
        if self._beaten(cost + sum(least)):
            return
        streams = [self._stream(frame, at, box, one) for at, one in enumerate(taken)]
        if any(stream.get(0) is None for stream in streams):
            return
        start = (0,) * len(streams)
        heap: list[tuple[float, tuple[int, ...]]] = []

        def push(indices: tuple[int, ...]) -> None:
            halves = [s.get(i) for s, i in zip(streams, indices, strict=True)]
            if all(half is not None for half in halves):
                bound = sum((half.cost for half in halves if half), cost)
                if not self._beaten(bound):
                    heappush(heap, (bound, indices))

        push(start)
        seen = {start}
        while heap:
            bound, indices = heappop(heap)
            if self._beaten(bound) or self._given_up():
                return
            found = [s.get(i) for s, i in zip(streams, indices, strict=True)]
            self._try(frame, [half for half in found if half is not None])
            for at in range(len(indices)):
                more = (*indices[:at], indices[at] + 1, *indices[at + 1 :])
                if more not in seen:
                    seen.add(more)
                    push(more)

    def _stream(self, frame: Frame, at: int, box: int, controller: int) -> Stream:
        wanted, one = self.wanted[at], frame.controllers[at]
        sharing = sum(c.sku == one.sku for c in frame.controllers)
        hangs, protected = (frame.links[at], sharing), answers_writes(frame.build, one)
        key = (box, at, controller, hangs, protected)
        if key not in self._streams:
            by_array = any(service.per == "array" for service in self.chosen)
            # Whatever else is in the server, it is not to be had for less than this.
            least = below(self.shares.box(self.boxes[box])) + self._controller(one)
            least += sum(w.share[box].min() for w in self.wanted if w is not wanted)
            ways = wanted.ways(box, controller, self._limit - least)
            self._streams[key] = Stream(wanted, ways, hangs, protected, by_array)
        return self._streams[key]

    def _try(self, frame: Frame, halves: Sequence[Half]) -> None:
        empty, base = frame.build, self.asked.base
        if not self._has_room(frame, halves):
            return  # as the rules would find, much later
        arrays = tuple(
            wanted.array(half.row, half.plan)
            for wanted, half in zip(self.wanted, halves, strict=True)
        )
        drawn = sum((array.drives * array.drive.active_w for array in arrays), frame.watts)
        if drawn > min(empty.supply_w, self._watts_asked) and not any(
            array.drive_before for array in arrays
        ):
            return
        build = assemble(
            self.prices, empty.chassis, empty.chassis_owned, empty.parts, arrays,
            empty.redundant_supply,
        )  # fmt: skip
        priced = price(build, self.shares.book, base.deal)
        candidate = Candidate(build, build.usable_bytes, priced.net)
        candidate.once_total = priced.once_total
        advised = any(half.advised for half in halves)
        ranked = (*rank(candidate, base.accept), frame.package.key)
        if self._rank is not None and (advised, *ranked[1:]) >= self._rank:
            return
        if fit.stops(build) or any(in_vain(self.chosen, build)):
            return
        if not all(demand.met(candidate) for demand in self.demands):
            return
        of_arrays = (
            found
            for wanted, half, array in zip(self.wanted, halves, arrays, strict=True)
            for found in self._advice(build, wanted, half, array)
        )
        every = {
            found.words: found
            for found in (*advice.advice(build, self.prices.terms.advice), *of_arrays)
        }
        candidate.advice = tuple(every.values())
        ranked = (*rank(candidate, base.accept), frame.package.key)
        if self.sound and ranked[0]:
            return
        if self._rank is None or ranked < self._rank:
            self.best, self._rank = candidate, ranked
            net = candidate.net_of_builds or Decimal(0)
            self._limit = min(self._limit, above(net + self.shares.unit))

    def _has_room(self, frame: Frame, halves: Sequence[Half]) -> bool:
        """Tell whether chassis and controllers take so many drives."""
        on: dict[str, int] = {}
        for wanted, half, one in zip(self.wanted, halves, frame.controllers, strict=True):
            on[one.sku] = on.get(one.sku, 0) + wanted.drives[half.plan]
        most = {one.sku: one.max_drives for one in frame.controllers}
        return sum(on.values()) <= frame.build.chassis.bays and all(
            number <= most[sku] for sku, number in on.items()
        )

    def _advice(self, build: Build, wanted: Wanted, half: Half, array: Array) -> Iterator[Finding]:
        """Say what is against an array, by itself and for what is estimated of it here."""
        terms = self.prices.terms
        alone = wanted.table.build(half.row, half.plan)
        yield from advice.advice(alone, terms.advice)
        there = behind(build, array)
        protected = there.protected or answers_writes(alone, array.controller)
        load = wanted.row.load(self.prices)
        (found,) = estimates([there._replace(protected=protected)], self.prices, load)
        yield from loss_over_limit(array, found, terms)


@lru_cache(maxsize=64)
def best_of(price_list: PriceList, asked: ServerAsked) -> Candidate | None:
    """Find the best server by the search of whole ones: a sound one, or else any."""
    for sound in (True, False):
        best = Search(price_list, asked, sound=sound).run()
        if best is not None:
            return best
    return None
