"""Which server of several arrays comes nearest to a demand that none meets, all else as asked."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import islice
from typing import Any, NamedTuple

import numpy as np

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.plans import Numbers
from quotelib.choose.strongest import Strongest, TooMany
from quotelib.choose.wanted import Wanted, Ways
from quotelib.choose.whole import Search, best_of
from quotelib.choose.wishes import seen_by, without
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.estimate.checks import FloatArray

MOST_ROWS = 20_000
"""Chassis with controllers and drives that go together, of all arrays, up to which the nearest is
looked for, and not only the cheapest; ours, for time."""
_MOST_STEPS = 14


class Near(NamedTuple):
    """A server that misses one demand; `nearest`: and none by less, or just the cheapest."""

    candidate: Candidate
    nearest: bool


def near(
    prices: PriceList, asked: ServerAsked, demand: Asked, row: Enquiry | None, *, sound: bool
) -> Near | None:
    """Find the server that comes nearest to a demand, with all else as asked.

    Of those that come as near, the first in the order of the choice; of a long list the first in
    that order, however near. `sound` leaves out what we advise against; else it comes last.

    Parameters
    ----------
    row : Enquiry or None
        The row of the array of which it is demanded; None: of the server.
    """
    less = without(asked, row, demand.column)
    found = Search(prices, less, sound=True).run() if sound else best_of(prices, less)
    if found is None or demand.needs == "price":
        return None if found is None else Near(found, True)
    if demand.column == "survive":
        return Near(_surviving(prices, asked, demand, row, found, sound=sound), True)
    search = _Search(prices, asked, demand, row, sound=sound)
    if demand.column == "ship_by" or is_long(prices, less):
        return Near(found, False)
    if row is None:
        several = demand.demand.sense == "serves" and len(demand.value) > 1
        return Near(found, False) if several else Near(search.step_by_step(found), True)
    value = _VALUES.get(demand.column)
    if value is None:
        return Near(found, demand.demand.sense == "is")
    try:
        nearest = search.strongest(less, value)
    except TooMany:
        nearest = None
    return Near(found, False) if nearest is None else Near(nearest, True)


def is_long(prices: PriceList, asked: ServerAsked) -> bool:
    """Tell whether there are too many parts to look for the nearest server, or the largest."""
    wanted = Search(prices, asked, sound=False).wanted
    return sum(len(one.table.least) for one in wanted) > MOST_ROWS


def _surviving(
    prices: PriceList, asked: ServerAsked, demand: Asked, row: Enquiry | None, found: Candidate, *,
    sound: bool,
) -> Candidate:  # fmt: skip
    """Find the server that survives the most failures short of what was asked."""
    for number in range(int(demand.value) - 1, 0, -1):
        rows = tuple(
            one.change(survive=number) if row is None or one is row else one for one in asked.arrays
        )
        less = replace(asked, arrays=rows)
        best = Search(prices, less, sound=True).run() if sound else best_of(prices, less)
        if best is not None:
            return best
    return found


class _Search:
    def __init__(
        self, prices: PriceList, asked: ServerAsked, demand: Asked, row: Enquiry | None, *,
        sound: bool,
    ) -> None:  # fmt: skip
        self._prices, self._asked, self._demand, self._row = prices, asked, demand, row
        self._sound = sound

    def strongest(self, less: ServerAsked, value: "_Value") -> Candidate | None:
        """Give the server whose array gives the most."""
        place = next(n for n, row in enumerate(self._asked.arrays) if row is self._row)

        def gives(at: int, keys: Numbers, ways: Ways) -> FloatArray:
            if at != place:
                return np.zeros(len(ways))
            return np.asarray(value(wanted[at], keys, ways), dtype=float)

        servers = Strongest(self._prices, less, sound=self._sound)
        wanted = servers.wanted
        return servers.of(gives)

    def step_by_step(self, found: Candidate) -> Candidate:
        """Ask for more and more, up to what is missed, in halves: watts to one watt."""
        for value in islice(self._between(found), _MOST_STEPS):
            base = self._asked.base.change(**{self._demand.column: value})
            rows = tuple(row.change(**{self._demand.column: value}) for row in self._asked.arrays)
            asked = replace(self._asked, base=base, arrays=rows)
            better = (
                Search(self._prices, asked, sound=True).run()
                if self._sound
                else best_of(self._prices, asked)
            )
            self._met = better is not None
            if better is not None:
                found = self._found = better
        return found

    def _between(self, found: Candidate) -> Iterator[Any]:
        """List values to ask for; after each `_met` tells whether there is such a server."""
        demand = self._demand
        if demand.demand.sense == "serves":
            for count in range(sum(one.count for one in demand.value) - 1, 0, -1):
                first = demand.value[0]
                yield (replace(first, count=count),)
                if self._met:
                    return
            return
        self._found = found
        at_least = demand.demand.sense == "at least"
        got, limit = self._got(), Decimal(demand.limit)
        while abs(limit - got) > 1:
            middle = Decimal(round((got + limit) / 2))
            if middle in (got, limit):
                return
            yield type(demand.value)(middle)
            if self._met:
                got = max(self._got(), middle) if at_least else min(self._got(), middle)
            else:
                limit = middle

    def _got(self) -> Decimal:
        demand = self._demand
        return Decimal(demand.demand.got(self._found, demand.setting))


_Value = Callable[[Wanted, Numbers, Ways], FloatArray | Numbers]


def _bytes(wanted: Wanted, _: Numbers, ways: Ways) -> Numbers:
    table = wanted.table
    sizes = table.sizes[table.at[1][ways.rows], table.at[2][ways.rows]]
    return np.asarray(table.plans.data[ways.plans] * sizes)


_VALUES: dict[str, _Value] = {
    "usable_tb": _bytes,
    "host_iops": lambda w, keys, _: w.table.estimated.speed(keys)[0],
    "host_mb_s": lambda w, keys, _: w.table.estimated.speed(keys)[1],
    "max_response_ms": lambda w, keys, _: -w.table.estimated.speed(keys)[2],
    "max_loss_pct": lambda w, keys, _: -w.table.estimated.risk(keys)[0],
}


def shown(
    prices: PriceList, asked: ServerAsked, demand: Asked, row: Enquiry | None, near_by: Near
) -> str:
    """Say what a server gives of what was demanded: ``nearest ... is 80 TB``."""
    got = demand.shown(seen_by(near_by.candidate, prices, asked, row))
    if near_by.nearest:
        return f"nearest with all else as asked is {got}"
    return f"what costs the least with all else as asked is {got}"
