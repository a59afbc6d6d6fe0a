"""Which server is it where arrays, processors and memory are chosen together.

The search is exact. What a server costs, with freight and after discount, is a sum over its parts,
but for two roundings of at most half a minor unit each; so the cheapest share of each array, with
what the chassis, its controllers and what comes with them cost in any case, bounds from below what
a server costs that holds them. Servers are tried in rising order of that bound, until it passes the
least net found. Of the layouts of one array with the same drives, controller and place one is left
out only where another does all that the array was asked, has no advice against it where this one
has none, is charged for no more, takes no more drives, and comes first among equals: in any server
that holds the first, the second fits as well, costs no more and is ranked before it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from heapq import heappop, heappush

from quotelib.build import advice, fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.catalogue.parts import Chassis, Controller, Drive
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, estimates, loss_over_limit, rank
from quotelib.choose.enumeration import options_named, sound_alone
from quotelib.choose.packages import Package, packages
from quotelib.choose.shares import Shares
from quotelib.choose.stream import Frame, Half, Stream
from quotelib.choose.wanted import NEVER, Wanted
from quotelib.enquiry.request import ServerAsked
from quotelib.levels import place
from quotelib.predict.inputs import Behind, answers_writes
from quotelib.pricing.lines import in_vain
from quotelib.pricing.totals import price

_CHUNK = 64
MOST_TRIED = 5_000
"""Ours, for time: some seconds."""
_Rank = tuple[object, ...]
_Hangs = tuple[float | None, int, str, bool]


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
        self.wanted = [Wanted(price_list, row, sound) for row in asked.arrays]
        self.demands = [d for d in asked.base.asked(price_list) if d.of != "array"]
        chosen = dict.fromkeys(asked.base.deal.services)
        self.chosen = [price_list.services[sku] for sku in chosen]
        limits = (d.limit for d in self.demands if d.needs == "price")
        self._limit = min((most, *limits))
        self._dated = any(demand.column == "ship_by" for demand in self.demands)
        self._tried = 0
        self._serves: dict[tuple[str, int, str], bool] = {}
        self.best: Candidate | None = None
        self._rank: _Rank | None = None
        self._laid: dict[tuple[object, ...], list[Half]] = {}
        self._halves: dict[tuple[object, ...], list[Half]] = {}

    def run(self) -> Candidate | None:
        """Find the server of lowest rank; None where there is none."""
        boxes = []
        for chassis in self._chassis():
            least = self.shares.box(chassis) + sum(
                min((w.share(chassis, c, self.shares) for c in w.controllers), default=NEVER)
                for w in self.wanted
            )
            if least < NEVER:
                boxes.append((least, chassis.sku, chassis))
        for least, _, chassis in sorted(boxes, key=lambda box: box[:2]):
            if self._beaten(least):
                break
            for package in packages(self.prices, self.asked.base, chassis):
                if not self._beaten(least + self.shares.package(package)):
                    self._spread(chassis, package, ())
        return self.best

    def _chassis(self) -> Iterator[Chassis]:
        base = self.asked.base
        for chassis in self.prices.chassis.values():
            if chassis.sku == base.chassis or (base.chassis is None and base.sold(chassis)):
                yield chassis

    def _beaten(self, bound: Decimal) -> bool:
        """Tell whether all from a bound on costs more than may be, or than the best found."""
        best = self._limit if self.best is None else self.best.net_of_builds or Decimal(0)
        return bound - self.shares.unit > best

    def _spread(self, chassis: Chassis, package: Package, taken: tuple[Controller, ...]) -> None:
        """Give each array a controller, in turn, and try what is not beaten."""
        if len(taken) == len(self.wanted):
            frame = None if self._given_up() else self._frame(chassis, package, taken)
            if frame is not None and not self._beaten(frame.cost):
                self._fill(frame)
            return
        after = self.wanted[len(taken) + 1 :]
        known = self.shares.box(chassis) + self.shares.package(package)
        known += sum(
            (w.share(chassis, c, self.shares) for w, c in zip(self.wanted, taken, strict=False)),
            Decimal(0),
        )
        known += sum(
            (min(w.share(chassis, c, self.shares) for c in w.controllers) for w in after),
            Decimal(0),
        )
        wanted = self.wanted[len(taken)]
        options = []
        for one in wanted.controllers:
            if self._dated and not self._can_serve(chassis, len(taken), one):
                continue
            here = {c.sku: c for c in (*taken, one)}.values()
            bound = known + wanted.share(chassis, one, self.shares)
            bound += sum((self.shares.controller(c, self._owned(c)) for c in here), Decimal(0))
            options.append((bound, one.sku, one))
        for bound, _, one in sorted(options, key=lambda option: option[:2]):
            if bound < NEVER and not self._beaten(bound):
                self._spread(chassis, package, (*taken, one))

    def _can_serve(self, chassis: Chassis, at: int, controller: Controller) -> bool:
        """Tell whether any layout of an array on a controller can be shipped in time by itself."""
        key = (chassis.sku, at, controller.sku)
        if key not in self._serves:
            drives = self.wanted[at].drives(chassis, controller)
            self._serves[key] = any(self._made(chassis, at, controller, one) for one in drives)
        return self._serves[key]

    def _given_up(self) -> bool:
        self._tried += 1
        return self._dated and self.best is None and self._tried > MOST_TRIED

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

    def _fill(self, frame: Frame) -> None:
        """Try the arrays of a frame together, in rising order of what they cost."""
        streams = [self._stream(frame, at) for at in range(len(self.wanted))]
        start = (0,) * len(streams)
        heap: list[tuple[Decimal, tuple[int, ...]]] = []

        def push(indices: tuple[int, ...]) -> None:
            halves = [s.get(i) for s, i in zip(streams, indices, strict=True)]
            if all(half is not None for half in halves):
                cost = sum((half.cost for half in halves if half), frame.cost)
                if not self._beaten(cost):
                    heappush(heap, (cost, indices))

        push(start)
        seen = {start}
        while heap:
            cost, indices = heappop(heap)
            if self._beaten(cost) or self._given_up():
                return
            found = [s.get(i) for s, i in zip(streams, indices, strict=True)]
            self._try(frame, [half for half in found if half is not None])
            for at in range(len(indices)):
                more = (*indices[:at], indices[at] + 1, *indices[at + 1 :])
                if more not in seen:
                    seen.add(more)
                    push(more)

    def _try(self, frame: Frame, halves: Sequence[Half]) -> None:
        empty, base = frame.build, self.asked.base
        drawn = sum((half.array.drives * half.array.drive.active_w for half in halves), frame.watts)
        drives = sum(half.array.drives for half in halves)
        if drives > empty.chassis.bays or drawn > empty.supply_w:
            return  # as the rules would find, much later
        arrays = tuple(half.array for half in halves)
        build = assemble(
            self.prices, empty.chassis, empty.chassis_owned, empty.parts, arrays,
            empty.redundant_supply,
        )  # fmt: skip
        if fit.stops(build) or any(in_vain(self.chosen, build)):
            return
        candidate = Candidate(build, build.usable_bytes)
        priced = price(build, self.shares.book, base.deal)
        candidate.net, candidate.once_total = priced.net, priced.once_total
        if not all(demand.met(candidate) for demand in self.demands):
            return
        of_arrays = (a for half in halves for a in half.candidate.advice)
        every = {
            found.words: found
            for found in (*advice.advice(build, self.prices.terms.advice), *of_arrays)
        }
        candidate.advice = tuple(every.values())
        ranked = (*rank(candidate, base.accept), frame.package.key)
        if self._rank is None or ranked < self._rank:
            self.best, self._rank = candidate, ranked

    def _stream(self, frame: Frame, at: int) -> Stream:
        chassis, wanted, controller = frame.build.chassis, self.wanted[at], frame.controllers[at]
        sharing = sum(c.sku == controller.sku for c in frame.controllers)
        protected = answers_writes(frame.build, controller)
        hangs = (frame.links[at], sharing, chassis.backplane, protected)
        units = [
            (wanted.share_of(chassis, controller, drive, self.shares), drive.sku, drive)
            for drive in wanted.drives(chassis, controller)
        ]
        units = [unit for unit in units if not self._beaten(frame.cost + unit[0])]

        def key(drive: Drive) -> tuple[object, ...]:
            return chassis.sku, at, controller.sku, drive.sku, *hangs

        new = {key(d): self._made(chassis, at, controller, d) for *_, d in units
               if key(d) not in self._halves}  # fmt: skip
        # All together: estimating a few arrays takes as long as estimating many.
        first = (half for made in new.values() for half in made[:_CHUNK])
        estimates([_behind(half, hangs) for half in first], self.prices, wanted.load)

        def halves_of(drive: Drive) -> list[Half]:
            """List the layouts with these drives that no other one makes needless."""
            if key(drive) not in self._halves:
                needed = self._needed(new[key(drive)], wanted, hangs)
                self._halves[key(drive)] = list(needed)
            return self._halves[key(drive)]

        return Stream(sorted(units, key=lambda unit: unit[:2]), halves_of)

    def _made(self, chassis: Chassis, at: int, controller: Controller, drive: Drive) -> list[Half]:
        """List the layouts of one array with given parts, fewest drives first."""
        key = (chassis.sku, at, controller.sku, drive.sku)
        if key not in self._laid:
            wanted = self.wanted[at]
            alone = sound_alone(self.prices, wanted.row, (chassis.sku, controller.sku, drive.sku))
            met = [c for c in map(_candidate, alone) if all(d.met(c) for d in wanted.of_build)]
            made = (self._half(candidate, wanted.row.array) for candidate in met)
            self._laid[key] = sorted(made, key=lambda half: half.key)
        # No server with it costs less than these together.
        least = self.shares.box(chassis)
        least += self.shares.controller(controller, self._owned(controller))
        return [half for half in self._laid[key] if not self._beaten(least + half.cost)]

    def _half(self, candidate: Candidate, name: str) -> Half:
        (array,) = candidate.build.arrays
        layout = array.layout
        key = (array.drives, array.drive.sku, place(layout.level), layout.spans)
        is_array = layout.rule.is_array
        cost = self.shares.array(candidate.build, array.drives, is_array=is_array)
        return Half(cost, key, replace(array, name=name), candidate)

    def _needed(self, made: list[Half], wanted: Wanted, hangs: _Hangs) -> Iterator[Half]:
        """Leave out what another layout of the same parts, which comes first, makes needless.

        Where a service was chosen that is done array by array, drives passed through make no array
        needless.
        """
        kept: list[tuple[Decimal, bool, bool]] = []
        # Drives passed through are ready sooner than an array of them.
        dated = any(demand.column == "ship_by" for demand in wanted.of_build)
        by_array = any(service.per == "array" for service in self.chosen)
        terms, accept = self.prices.terms, set(wanted.row.accept)

        def apart(half: Half) -> bool | None:
            made = _is_array(half)
            return made if (by_array if made else dated) else None

        for start in range(0, len(made), _CHUNK):
            chunk = [
                half
                for half in made[start : start + _CHUNK]
                if not _needless(kept, half.cost, False, apart(half))
            ]
            behind = [_behind(half, hangs) for half in chunk]
            estimated = estimates(behind, self.prices, wanted.load)
            for half, found in zip(chunk, estimated, strict=True):
                one = half.candidate
                one.take(found)
                if not all(demand.met(one) for demand in wanted.of_estimates):
                    continue
                over = loss_over_limit(half.array, found, terms)
                one.advice = (*advice.advice(one.build, terms.advice), *over)
                advised = any(a.code not in accept for a in one.advice)
                needless = _needless(kept, half.cost, advised, apart(half))
                if not (advised and self.sound) and not needless:
                    kept.append((half.cost, advised, _is_array(half)))
                    # Elsewhere the same layout has another link, and other estimates.
                    yield half._replace(candidate=replace(one))


def _behind(half: Half, hangs: _Hangs) -> Behind:
    """Say what an array hangs on; its drives may bring in what protects the cache."""
    found = Behind(half.array, *hangs)
    alone = half.candidate.build
    protected = found.protected or answers_writes(alone, half.array.controller)
    return found._replace(protected=protected)


def _is_array(half: Half) -> bool:
    return half.array.layout.rule.is_array


def _needless(
    kept: list[tuple[Decimal, bool, bool]], cost: Decimal, advised: bool, apart: bool | None
) -> bool:
    """Tell whether one that is kept makes another needless.

    Where one is `apart`, only one of its kind does: an array (True), or drives passed through.
    """
    return any(c <= cost and (advised or not a) and apart in (None, made) for c, a, made in kept)


def _candidate(build: Build) -> Candidate:
    return Candidate(build, build.usable_bytes)
