"""Of how many servers was one chosen, where several things are chosen together.

Counted seat by seat (`tally`), not listed. Where that would take too long (a few seconds), what was
counted until then is a lower bound, and is told as one: never a wrong number.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from quotelib.build import fit
from quotelib.build.build import assemble
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, estimates
from quotelib.choose.enumeration import array_of
from quotelib.choose.seats import OF_PARTS, Seat, Seats
from quotelib.choose.tally import Spent, Tally
from quotelib.choose.together import LIMITED, Limits
from quotelib.enquiry.column import Asked
from quotelib.enquiry.request import ServerAsked
from quotelib.predict.inputs import behind
from quotelib.pricing.lines import PriceBook, in_vain
from quotelib.pricing.totals import price

MOST_WEIGHED = 20_000_000
"""Servers that are weighed one by one for a count, looking at a seat being worth some hundreds;
ours, for time: about six seconds of the processor."""
MOST_MADE = 2_000
"""Servers that are made for a count where a demand can be asked of nothing less; for time."""

LeftOut = frozenset[tuple[int | None, str]]
"""Demands that do not count: of an array, by its place, or of the server (None)."""


def everything_of(asked: ServerAsked, prices: PriceList) -> Iterator[tuple[int | None, Asked]]:
    """List what is demanded of a server and of each array, the workload's own with it."""
    for demand in asked.base.asked(prices):
        if demand.of != "array":
            yield None, demand
    for place, row in enumerate(asked.arrays):
        for demand in row.asked(prices):
            if demand.of == "array":
                yield place, demand


class Counting:
    """Counts the servers that agree with what was asked."""

    def __init__(self, prices: PriceList, asked: ServerAsked) -> None:
        self._prices, self._asked = prices, asked
        self._seats = Seats(prices, asked)
        self.demands = list(everything_of(asked, prices))
        self._book = PriceBook(prices, asked.base.currency or prices.terms.currency)

    def possible(self) -> int:
        """Count every chassis with every controller and drive for each array and every layout.

        Of no more drives together than the chassis has bays, with all that may be added to it for
        cores and memory.
        """
        seats, total = self._seats, 0
        if not seats.any:
            return 0
        pairs = 1
        for table in seats.tables:
            pairs *= len(table.listed.controllers) * len(table.listed.drives)
        for place, box in enumerate(seats.boxes):
            laid = [1] + [0] * box.bays
            for table in seats.tables:
                own = [0] * (box.bays + 1)
                for drives in table.plans.drives.tolist():
                    if drives <= box.bays:
                        own[drives] += 1
                laid = [
                    sum(laid[n] * own[drives - n] for n in range(drives + 1))
                    for drives in range(box.bays + 1)
                ]
            total += sum(laid) * len(seats.packages(place))
        return total * pairs

    @property
    def everything(self) -> LeftOut:
        """Give all demands, to leave them out."""
        return frozenset((place, demand.column) for place, demand in self.demands)

    def numbers(self, variants: Sequence[LeftOut]) -> tuple[list[int], bool]:
        """Count what fits and meets all demands but those left out, for each of some.

        Returns
        -------
        list of int
        bool
            Whether that is all there are; there are at least so many otherwise. All are counted
            over the same seats, so that differences are no more than they would be of all.
        """
        found, tally = [0] * len(variants), Tally(self._seats, MOST_WEIGHED)
        self._made = 0
        try:
            for box in range(len(self._seats.boxes)):
                for seat in self._seats.of(box):
                    here = [self._of(tally, seat, variant) for variant in variants]
                    found = [had + new for had, new in zip(found, here, strict=True)]
                for array in tally.arrays:
                    array.forget()
        except Spent:
            return found, False
        return found, True

    def _of(self, tally: Tally, seat: Seat, variant: LeftOut) -> int:
        base = [d for place, d in self.demands if place is None and (None, d.column) not in variant]
        left_out = [
            frozenset(column for place, column in variant if place == number)
            for number in range(len(tally.arrays))
        ]
        lots = [
            array.lots(seat, left, quick=True)
            for array, left in zip(tally.arrays, left_out, strict=True)
        ]
        if not all(map(len, lots)):
            return 0
        if not self._seats.serves(seat, [d for d in base if d.column in OF_PARTS]):
            return 0
        lots = [
            array.lots(seat, left, quick=False)
            for array, left in zip(tally.arrays, left_out, strict=True)
        ]
        if not all(map(len, lots)):
            return 0
        if self._by_hand(base, tally, left_out):
            return self._made_one_by_one(tally, seat, base, left_out)
        limits = Limits.of([d for d in base if d.column in LIMITED], self._seats.scales)
        return tally.count(seat, lots, limits)

    # One by one

    def _by_hand(
        self, base: Sequence[Asked], tally: Tally, left_out: Sequence[frozenset[str]]
    ) -> bool:
        """Tell whether each server has to be made to be asked."""
        known = (*OF_PARTS, *LIMITED)
        if any(demand.column not in known for demand in base):
            return True
        alone = (
            one.alone and one.demand.column not in left
            for array, left in zip(tally.arrays, left_out, strict=True)
            for one in array.forms
        )
        return any(alone) or self._seats.entangled

    def _made_one_by_one(
        self, tally: Tally, seat: Seat, base: Sequence[Asked], left_out: Sequence[frozenset[str]]
    ) -> int:
        ways = [
            list(zip(*(one.tolist() for one in array.listed(seat, left, False)), strict=True))
            for array, left in zip(tally.arrays, left_out, strict=True)
        ]
        chosen = [self._prices.services[s] for s in dict.fromkeys(self._asked.base.deal.services)]
        count = 0
        for those in product(*ways):
            drives = sum(
                int(array.table.plans.drives[plan])
                for array, (_, plan) in zip(tally.arrays, those, strict=True)
            )
            if drives > seat.chassis.bays:
                continue
            self._made += 1
            if self._made > MOST_MADE:
                raise Spent
            arrays = tuple(
                replace(
                    array_of(
                        self._prices, array.row, seat.controllers[array.place].sku,
                        array.table.listed.drives[int(array.table.at[2][row])].sku,
                        array.table.plans.layouts[plan],
                    ),
                    name=array.row.array,
                )
                for array, (row, plan) in zip(tally.arrays, those, strict=True)
            )  # fmt: skip
            empty = seat.build
            build = assemble(
                self._prices, empty.chassis, empty.chassis_owned, empty.parts, arrays,
                empty.redundant_supply,
            )  # fmt: skip
            if fit.stops(build) or any(in_vain(chosen, build)):
                continue
            priced = price(build, self._book, self._asked.base.deal)
            whole = Candidate(build, build.usable_bytes, priced.net, once_total=priced.once_total)
            count += all(d.met(whole) for d in base) and all(
                self._meets(whole, place, left) for place, left in enumerate(left_out)
            )
        return count

    def _meets(self, whole: Candidate, place: int, left_out: frozenset[str]) -> bool:
        array, row = whole.build.arrays[place], self._asked.arrays[place]
        (found,) = estimates([behind(whole.build, array)], self._prices, row.load(self._prices))
        one = replace(whole, build=replace(whole.build, arrays=(array,)))
        one.usable_bytes = array.usable_bytes
        one.take(found)
        return all(
            demand.met(one)
            for number, demand in self.demands
            if number == place and demand.column not in left_out
        )
