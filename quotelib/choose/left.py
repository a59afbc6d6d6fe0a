"""Which options are left, out of the table of all builds of one array: none is made to tell.

One table serves every option of every pin: that of the enquiry with nothing pinned, refurbished
parts among it. A pin is then a choice of its rows, or of its plans, and hot spares are drives
beside a plan. Rows that are alike to every rule and demand are looked at once. Only a demand that
nobody has put into such a form (`demanded.Form.alone`) is asked of each build by itself.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import table_of
from quotelib.choose.candidate import Candidate
from quotelib.choose.demanded import Form, form
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Flags, Index
from quotelib.choose.table import Table
from quotelib.enquiry.column import Asked
from quotelib.enquiry.columns import PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS

PARTS = ("chassis", "controller", "drive")
"""Pins of rows, in the order of a table's columns; the others are of plans."""
_NOT = 99
"""More demands than there are: it does not fit."""
_AT_ONCE = 2_000_000


@dataclass(frozen=True)
class Missed:
    """The fewest demands that a build with an option misses, and which the first of these does."""

    number: int
    demands: tuple[Asked, ...]


@dataclass(frozen=True)
class _Part:
    """Some rows of a table and some of its plans, with so many hot spares.

    Parameters
    ----------
    rows : ndarray of int
        In the order of the price list: chassis, controller, drive.
    plans : ndarray of int
    kind : ndarray of int
        Of each row, which of `samples` is like it.
    """

    rows: Index
    plans: Index
    spares: int
    kind: Index
    samples: Index


class Left:
    """The options of one enquiry.

    Parameters
    ----------
    asked : list of Asked
        Demands that count.
    """

    def __init__(self, prices: PriceList, row: Enquiry, asked: list[Asked]) -> None:
        self._row, self.table = row, open_table(prices, row)
        those = self.table.listed
        self._listed: tuple[Sequence[Part], ...] = those.boxes, those.controllers, those.drives
        self._prices, self._asked = prices, asked
        self._forms = [form(self.table, demand, row.spares or 0) for demand in asked]
        self._alone = any(one.alone for one in self._forms)

    def of(self, pin: str, values: Iterable[str]) -> dict[str, Missed]:
        """Judge options of a pin; those with which nothing fits are left out."""
        if pin == "spares":
            return dict(self._spares(values))
        if pin in PARTS:
            return dict(self._parts(pin))
        return dict(self._plans(pin))

    def _spares(self, values: Iterable[str]) -> Iterator[tuple[str, Missed]]:
        for value in values:
            number = int(value)
            if any(demand.column == "ship_by" for demand in self._asked) and number != (
                self._row.spares or 0
            ):  # hot spares are not written to, so that they are ready sooner
                other = Left(self._prices, self._row.change(spares=number), self._asked)
                yield from other.of("spares", [value]).items()
                continue
            part = self._part("spares", number)
            least = min((int(found.min()) for _, found in self._numbers(part)), default=_NOT)
            if least < _NOT:
                rows = part.rows[np.isin(part.kind, self._kinds(part, least))]
                yield value, self._first(part, rows, least)

    def _kinds(self, part: _Part, number: int) -> Index:
        """Give the kinds of rows with a plan that misses so many demands."""
        found = [at[(those == number).any(axis=1)] for at, those in self._numbers(part)]
        return np.concatenate(found)

    def _parts(self, pin: str) -> Iterator[tuple[str, Missed]]:
        part, axis = self._part(pin), PARTS.index(pin)
        places = self.table.at[axis][part.rows]
        of_kind = np.full(len(part.samples), _NOT, dtype=np.uint8)
        for at, those in self._numbers(part):
            of_kind[at] = those.min(axis=1, initial=_NOT)
        of_row = of_kind[part.kind]
        least = np.full(len(self._listed[axis]), _NOT, dtype=np.uint8)
        np.minimum.at(least, places, of_row)
        for place, one in enumerate(self._listed[axis]):
            number = int(least[place])
            if number < _NOT:
                here = part.rows
                if number:
                    here = here[(places == place) & (of_row == number)]
                yield one.sku, self._first(part, here, number)

    def _plans(self, pin: str) -> Iterator[tuple[str, Missed]]:
        part, every = self._part(pin), self.table.plans
        least = np.full(len(part.plans), _NOT, dtype=np.uint8)
        for _, those in self._numbers(part):
            least = np.minimum(least, those.min(axis=0, initial=_NOT))
        names = list(LEVELS)
        column = {"level": every.level, "members": every.members, "spans": every.spans}[pin]
        of_plan = column[part.plans]
        for value in np.unique(of_plan[least < _NOT]).tolist():
            those = of_plan == value
            number = int(least[those].min())
            less = _Part(part.rows, part.plans[those], part.spares, part.kind, part.samples)
            rows = part.rows
            if number:
                rows = rows[np.isin(part.kind, self._kinds(less, number))]
            yield names[value] if pin == "level" else str(value), self._first(less, rows, number)

    def _part(self, pin: str, spares: int | None = None) -> _Part:
        """Give what agrees with all pins but one."""
        row, every = self._row, self.table.plans
        keep = [self._sold(axis, name, name == pin) for axis, name in enumerate(PARTS)]
        rows = np.flatnonzero(keep[0] & keep[1] & keep[2])
        rows = rows[np.argsort(self._order[rows], kind="stable")]
        plans = np.ones(len(every), dtype=bool)
        for name, column in (("members", every.members), ("spans", every.spans)):
            if name != pin and row.value(name) is not None:
                plans &= column == row.value(name)
        if pin != "level" and row.level:
            plans &= every.level == list(LEVELS).index(row.level)
        number = spares if spares is not None else row.spares or 0
        _, first, back = np.unique(self._alike[rows], return_index=True, return_inverse=True)
        return _Part(rows, np.flatnonzero(plans), number, back.reshape(-1), rows[first])

    def _sold(self, axis: int, pin: str, open_: bool) -> Flags:
        """Tell of each row whether its part agrees with its pin."""
        named = self._row.value(pin)
        if open_:
            return np.ones(len(self.table.least), dtype=bool)
        if named:
            found = [part.sku == named for part in self._listed[axis]]
        else:
            found = [self._row.sold(part) for part in self._listed[axis]]
        return np.asarray(np.array(found, dtype=bool)[self.table.at[axis]])

    @cached_property
    def _order(self) -> Numbers:
        """Give the place of each row's parts in the order of the price list."""
        those = self.table.listed
        box, controller, drive = self.table.at
        many = len(those.controllers), len(those.drives)
        return np.asarray((box * many[0] + controller) * many[1] + drive, dtype=np.int64)

    @cached_property
    def _offers(self) -> tuple[Flags, Index]:
        """Give which plans controllers make, those that make the same once; and which each does."""
        distinct, back = np.unique(self.table.offered, axis=0, return_inverse=True)
        return distinct, back.reshape(-1)

    @cached_property
    def _alike(self) -> Numbers:
        """Number the rows, alike those that no rule and no demand tells apart."""
        table = self.table
        if self._alone:
            return np.arange(len(table.least))
        columns = [self._offers[1][table.at[1]], table.least, table.most, *table.idle]
        for one in self._forms:
            columns += [] if one.rows is None else [one.rows]
            columns += [] if one.last is None else list(one.last)
            columns += [] if one.data is None else [one.data]
        found = np.zeros(len(table.least), dtype=np.int64)
        many = 1
        for column in columns:
            distinct, back = np.unique(column, return_inverse=True)
            if many * len(distinct) >= 2**62:
                known, found = np.unique(found, return_inverse=True)
                many = len(known)
            found = found * len(distinct) + back.reshape(-1)
            many *= len(distinct)
        return found

    def _numbers(self, part: _Part) -> Iterator[tuple[Index, NDArray[np.uint8]]]:
        """Count what is missed, some kinds of rows at a time: kinds, and a line of plans each."""
        if not len(part.plans):
            return
        size = max(_AT_ONCE // len(part.plans), 1)
        for start in range(0, len(part.samples), size):
            at = np.arange(start, min(start + size, len(part.samples)))
            yield at, self._count(part, part.samples[at])

    def _count(self, part: _Part, rows: Index) -> NDArray[np.uint8]:
        found = np.zeros((len(rows), len(part.plans)), dtype=np.uint8)
        for one in self._forms:
            found += ~self._met(one, part, rows)
        found[~self._fits(part, rows)] = _NOT
        return found

    def _fits(self, part: _Part, rows: Index) -> Flags:
        table, every, plans = self.table, self.table.plans, part.plans
        drives = every.drives[plans] + part.spares
        made = self._offers[0][self._offers[1][table.at[1][rows]]][:, plans]
        idle = table.idle[:, rows][every.is_array[plans]].T
        least, most = table.least[rows, None], table.most[rows, None]
        return np.asarray(made & ~idle & (drives >= least) & (drives <= most))

    def _met(self, one: Form, part: _Part, rows: Index) -> Flags:
        every, plans = self.table.plans, part.plans
        found = np.ones((len(rows), len(plans)), dtype=bool)
        if one.rows is not None:
            found &= one.rows[rows, None]
        if one.last is not None:
            last = one.last[:, rows][every.is_array[plans]].T
            found &= every.drives[plans] + part.spares <= last
        if one.plans is not None:
            found &= one.plans[plans]
        if one.data is not None:
            found &= every.data[plans] >= one.data[rows, None]
        if one.alone:
            for at, plan in zip(*np.nonzero(self._fits(part, rows)), strict=True):
                layout = replace(every.layouts[plans[plan]], spares=part.spares)
                build = self.table.build_of(int(rows[at]), layout)
                found[at, plan] = one.demand.met(Candidate(build, build.usable_bytes))
        return found

    def _first(self, part: _Part, rows: Index, number: int) -> Missed:
        """Say what the first build of some rows misses, of those that miss the fewest demands."""
        if not number:
            return Missed(0, ())
        # The parts that come first may be several rows: for fewer drives, and for more.
        here = rows[self._order[rows] == self._order[rows[0]]]
        of, plan = np.nonzero(self._count(part, here) == number)
        every, plans = self.table.plans, part.plans[plan]
        first = np.lexsort((every.spans[plans], every.drives[plans], every.level[plans]))[0]
        one = _Part(part.rows, plans[[first]], part.spares, part.kind, part.samples)
        row = here[[of[first]]]
        return Missed(
            number,
            tuple(each.demand for each in self._forms if not self._met(each, one, row).all()),
        )


def open_table(prices: PriceList, row: Enquiry) -> Table:
    """Give the table of an enquiry with nothing pinned, whatever the quote comes to."""
    builds = row.builds if row.value("max_lead_days") is not None else 1
    open_ = row.without(*PINS).change(
        condition="any", builds=builds, all_builds=None, currency=None, discount_pct=Decimal(0),
        workload=None,
    )  # fmt: skip
    return table_of(prices, open_)
