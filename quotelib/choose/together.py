"""What several arrays come to in one server: price, mass, draw, and whether all is here in time.

Which accessories come, and for which of the arrays, is the same for all drives of the same kinds:
one build is made for each such case, and what others differ by is counted from there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from quotelib.build.build import Build, assemble
from quotelib.build.layout import Array as Made
from quotelib.build.layout import Layout
from quotelib.catalogue.parts import Accessory, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.enumeration import array_of
from quotelib.choose.integers import Whole, floored
from quotelib.choose.lots import Array, Lots
from quotelib.choose.plans import Numbers
from quotelib.choose.scales import Scales
from quotelib.choose.seats import Seat, Seats
from quotelib.choose.sets import Flags
from quotelib.choose.weights import have_of
from quotelib.enquiry.column import Asked
from quotelib.levels import NO_ARRAY
from quotelib.pricing.lines import charges


@dataclass(frozen=True)
class Limits:
    """What a server may cost, draw and take to come; None: any.

    Parameters
    ----------
    net : int or None
        In minor units, without what is charged once.
    watts : Decimal or None
        Besides what its supplies carry.
    days : int or None
    """

    net: int | None = None
    watts: Decimal | None = None
    days: int | None = None

    @classmethod
    def of(cls, demands: Sequence[Asked], scales: Scales) -> "Limits":
        """Take them from what is demanded of a server."""
        said = {demand.column: demand.limit for demand in demands}
        net = said.get("max_price")
        return cls(
            None if net is None else floored(net, scales.places),
            said.get("max_watts"), said.get("max_lead_days"),
        )  # fmt: skip


LIMITED = ("max_price", "max_watts", "max_lead_days")
"""Columns of the demands that `Limits` holds."""


@dataclass(frozen=True)
class _Item:
    """An accessory whose number goes by drives: all of an array, or those bought."""

    part: Accessory
    of: tuple[tuple[int, bool], ...]
    per: int


class Case:
    """Arrays of some kinds of drive in a seat."""

    def __init__(
        self, seats: Seats, arrays: Sequence[Array], seat: Seat, sample: Sequence[Lots]
    ) -> None:
        prices, base = seats.prices, seats.asked.base
        scales = seats.scales
        self._have = [have_of(array.row) for array in arrays]
        self._drives = [int(lot.drives[0]) for lot in sample]
        made = tuple(_array(prices, array, lot) for array, lot in zip(arrays, sample, strict=True))
        empty = seat.build
        build = assemble(
            prices, empty.chassis, empty.chassis_owned, empty.parts, made, empty.redundant_supply
        )
        charged = charges(build, prices, 1, base.deal.services)
        self.price = sum(n * scales.minor(thing) for thing, n, once in charged if not once)
        pieces = list(build.pieces())
        self.mass = sum(p.count * scales.mass(p.part) for p in pieces if not p.owned)
        self.watts = sum(p.count * scales.watts(p.part) for p in pieces)
        for array, lot in zip(arrays, sample, strict=True):
            price, mass, watts = (int(one[0]) for one in array.own(lot))
            self.price, self.mass, self.watts = (
                self.price - price, self.mass - mass, self.watts - watts,
            )  # fmt: skip
        self.items = [self._item(build, item) for item in build.accessories if item.per != "build"]
        for item in self.items:
            number = int(self._quantity(item, [np.array([n]) for n in self._drives])[0])
            self.price -= number * scales.minor(item.part)
            self.mass -= number * scales.mass(item.part)
            self.watts -= number * scales.watts(item.part)
        drives = {drive.sku for array in build.arrays for drive, *_ in array.kinds()}
        counted = {item.part.sku for item in self.items}
        self.fixed = [p for p in build.lead_pieces if p.part.sku not in drives | counted]

    def _item(self, build: Build, item: Accessory) -> _Item:
        served = build.served(item).items()
        # Where some are bought and some are there, these numbers differ; else they are the same.
        of = tuple((place, number != self._drives[place]) for place, number in served)
        return _Item(item, of, int(item.per))

    def _quantity(self, item: _Item, drives: Sequence[Numbers]) -> Numbers:
        total = np.zeros(len(drives[0]), dtype=np.int64)
        for place, bought in item.of:
            number = drives[place]
            total = total + (np.maximum(number - self._have[place], 0) if bought else number)
        return np.asarray(-(-total // item.per))

    def brings(self, scales: Scales, drives: Sequence[Numbers]) -> tuple[Whole, Whole, Whole]:
        """Give what all but the drives themselves comes to: price, mass, draw."""
        shape = np.zeros(len(drives[0]), dtype=object if scales.wide else np.int64)
        price, mass, watts = shape + self.price, shape + self.mass, shape + self.watts
        for item in self.items:
            number = self._quantity(item, drives)
            price = price + number * scales.minor(item.part)
            mass = mass + number * scales.mass(item.part)
            watts = watts + number * scales.watts(item.part)
        return price, mass, watts

    def timely(self, days: int, builds: int, drives: Sequence[Numbers]) -> Flags:
        """Tell where all but the drives is here in time."""
        found = np.ones(len(drives[0]), dtype=bool)
        if any(late(p.part, days) and p.part.stock < p.count * builds for p in self.fixed):
            return ~found
        for item in self.items:
            if late(item.part, days):
                found &= self._quantity(item, drives) * builds <= item.part.stock
        return found


def late(part: Part, days: int) -> bool:
    """Tell whether a part that is not in stock comes too late."""
    return part.lead_days > days


def _array(prices: PriceList, array: Array, lot: Lots) -> Made:
    _, controller, drive = (int(at[lot.rows[0]]) for at in array.table.at)
    those = array.table.listed
    skus = those.controllers[controller].sku, those.drives[drive].sku
    layout = Layout("0" if lot.made[0] else NO_ARRAY, int(lot.drives[0]))
    return array_of(prices, array.row, *skus, layout)
