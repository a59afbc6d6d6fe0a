"""What stops the builds that come nearest with an option with which none can be built.

Counted for every combination of parts and every layout worth a message (`Combination.attempts`), as
`stopped` does, but in another order: where parts go together, what is wrong with the layout says
more. The nearest is made and asked the rules.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from quotelib.build import fit
from quotelib.build.actions import no_import
from quotelib.build.build import Build, Placed
from quotelib.build.findings import Finding
from quotelib.build.layout import Layout
from quotelib.choose.enumeration import alone, array_of
from quotelib.choose.picked import ranges
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Index
from quotelib.choose.table import Table
from quotelib.choose.weights import DRAW, Weights, last
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import in_vain

_FAR = 4096
"""More drives than any layout has."""
_FEW = 4096
"""Combinations that are counted one by one rather than sorted first."""
_Pins = tuple[str | None, str | None, str | None, bool]


@dataclass(frozen=True)
class _Tries:
    """Layouts worth a message, controller by controller.

    Parameters
    ----------
    layouts : list of Layout
    drives, stops : ndarray of int
        Of each, how many drives it has, and how much stops it whatever chassis and drive.
    foreign : ndarray of bool
        Whether its controller does not read an array that is there: a matter of parts.
    start, end : ndarray of int
        Of each controller, where its own begin and end.
    """

    layouts: list[Layout]
    drives: Numbers
    stops: Numbers
    foreign: Numbers
    start: Index
    end: Index


class Barred:
    """Every combination of the parts of a table in which nothing is pinned."""

    def __init__(self, table: Table) -> None:
        self._table, self._prices = table, table.prices
        self._known: dict[tuple[int, Layout], tuple[int, bool]] = {}
        self._tried: dict[object, _Tries] = {}
        self._found: dict[_Pins, tuple[Index, Index]] = {}
        chosen = dict.fromkeys(table.row.deal.services)
        self._chosen = [self._prices.services[sku] for sku in chosen]
        those = table.listed
        self._shape = tuple(map(len, (those.boxes, those.controllers, those.drives)))
        parts = table.pair_stops[:, :, those.kinds] + table.unlike
        self._parts = np.broadcast_to(parts, self._shape).reshape(-1)
        self._bays = np.array([one.bays for one in those.boxes], dtype=np.int64)
        self._runs = np.array([one.max_drives for one in those.controllers], dtype=np.int64)

    def why(self, row: Enquiry) -> tuple[Finding, ...]:
        """Say what stops the nearest build that agrees with the pins of a row."""
        tries = self._tries(row)
        every, good = self._agreeing(row)
        which, at = ranges(np.arange(len(good)), *self._ends(tries, good))
        own = tries.foreign[at] == 0
        which, at, triples = which[own], at[own], good
        if not len(at):
            triples = every
            which, at = ranges(np.arange(len(every)), *self._ends(tries, every))
        if not len(at):
            return ()
        place = triples[which]
        counted = self._parts[place] + tries.stops[at] + self._crowded(place, tries.drives[at])
        nearest = int(np.argmin(counted))
        return self._said(row, int(place[nearest]), tries.layouts[int(at[nearest])])

    def _said(self, row: Enquiry, place: int, layout: Layout) -> tuple[Finding, ...]:
        those = self._table.listed
        box, controller, drive = np.unravel_index(place, self._shape)
        skus = (those.boxes[box].sku, those.controllers[controller].sku, those.drives[drive].sku)
        parts = alone(self._prices, row, skus)
        build = parts.build.with_layouts(layout)
        said = (*parts.stops, *fit.asked(fit.LAYOUT_RULES, build))
        return (*said, *in_vain(self._chosen, build))

    def _ends(self, tries: _Tries, places: Index) -> tuple[Index, Index]:
        controllers = np.unravel_index(places, self._shape)[1]
        return tries.start[controllers], tries.end[controllers]

    def _agreeing(self, row: Enquiry) -> tuple[Index, Index]:
        """Give the combinations that agree with pins, and of these such as go together.

        In the order of the price list; of very many that go together one of those that are alike.
        """
        pins = row.chassis, row.controller, row.drive, row.value("condition") == "any"
        if pins not in self._found:
            if len(self._found) > _FEW:
                self._found.clear()
            every = self._left(row)
            self._found[pins] = every, self._apart(every[self._parts[every] == 0])
        return self._found[pins]

    def _left(self, row: Enquiry) -> Index:
        those, left = self._table.listed, []
        for named, parts in (
            (row.chassis, those.boxes), (row.controller, those.controllers),
            (row.drive, those.drives),
        ):  # fmt: skip
            found = [part.sku == named if named else row.sold(part) for part in parts]
            left.append(np.flatnonzero(found))
        return np.asarray(np.ravel_multi_index(np.ix_(*left), self._shape).reshape(-1))

    def _apart(self, found: Index) -> Index:
        if len(found) < _FEW:
            return found
        box, controller, _ = np.unravel_index(found, self._shape)
        ends = [self._ports(found), *(most[found] for most in self._power)]
        key = np.zeros(len(found), dtype=np.int64)
        for column in (controller, self._bays[box], *ends):
            distinct, back = np.unique(column, return_inverse=True)
            key = np.unique(key * len(distinct) + back.reshape(-1), return_inverse=True)[1]
        return found[np.sort(np.unique(key, return_index=True)[1])]

    def _tries(self, row: Enquiry) -> _Tries:
        pins = row.level, row.members, row.spans, row.spares
        if pins not in self._tried:
            if len(self._tried) > _FEW:
                self._tried.clear()
            self._tried[pins] = self._layouts(row)
        return self._tried[pins]

    def _layouts(self, row: Enquiry) -> _Tries:
        layouts: list[Layout] = []
        numbers: list[tuple[int, bool]] = []
        ends = [0]
        those = self._table.listed
        for at, part in enumerate(those.controllers):
            sample = those.boxes[0].sku, part.sku, those.drives[0].sku
            for made in alone(self._prices, row, sample).attempts(row):
                layout = made.arrays[0].layout
                layouts.append(layout)
                numbers.append(self._stops(at, layout))
            ends.append(len(layouts))
        own = np.array(numbers, dtype=np.int64).reshape(-1, 2)
        drives = np.array([layout.drives for layout in layouts], dtype=np.int64)
        return _Tries(
            layouts, drives, own[:, 0], own[:, 1], np.array(ends[:-1], dtype=np.intp),
            np.array(ends[1:], dtype=np.intp),
        )  # fmt: skip

    def _stops(self, at: int, layout: Layout) -> tuple[int, bool]:
        """Count what stops a layout on a controller, and tell whether it cannot read the array."""
        if (at, layout) not in self._known:
            those = self._table.listed
            part = those.controllers[at]
            drive = those.drives[0].sku
            array = array_of(self._prices, self._table.row, part.sku, drive, layout)
            placed = (Placed(part, owned=bool(those.owned[at])),)
            build = Build(those.boxes[0], those.box_owned, placed, (array,))
            rules = (fit.level_not_offered, fit.member_count, *fit.STAYING_RULES)
            number = len(fit.asked(rules, build)) + len(list(in_vain(self._chosen, build)))
            self._known[at, layout] = number, any(no_import(build))
        return self._known[at, layout]

    def _crowded(self, places: Index, drives: Numbers) -> Numbers:
        """Count the stops by the number of drives."""
        box, controller, _ = np.unravel_index(places, self._shape)
        found = (drives > self._bays[box]).astype(np.int64)
        found += drives > self._runs[controller]
        found += drives > self._ports(places)
        for how, most in zip(self._table.regimes, self._power, strict=True):
            here = (how.least <= drives) & (drives <= how.most)
            found += here & (drives > most[places])
        return found

    def _ports(self, places: Index) -> Numbers:
        """Give how many drives the ports of a controller take on a direct backplane."""
        those = self._table.listed
        box, controller, drive = np.unravel_index(places, self._shape)
        lanes = np.array([d.lanes if d.interface == "nvme" else 1 for d in those.drives])
        ports = np.array([_FAR if c.ports is None else c.ports for c in those.controllers])
        direct = np.array([one.backplane == "direct" for one in those.boxes])
        room = np.where(lanes[drive] > 0, ports[controller] // np.maximum(lanes[drive], 1), _FAR)
        return np.where(direct[box], room, _FAR)

    @cached_property
    def _power(self) -> list[Numbers]:
        """Give how many drives the supplies carry: of each regime, for every combination."""
        return list(self._powers())

    def _powers(self) -> Iterator[Numbers]:
        table, those = self._table, self._table.listed
        box, controller, drive = np.unravel_index(np.arange(len(self._parts)), self._shape)
        at = box, controller, drive
        carried = np.array([table.carries(box) for box in range(self._shape[0])], dtype=object)
        limit = np.array(carried if table.scales.wide else carried.astype(np.int64))[box]
        for number, how in enumerate(table.regimes):
            weights = Weights(
                self._prices, table.row, those, table.regimes, table.comings, table.scales, at,
                np.full(len(self._parts), number),
            )  # fmt: skip
            least = np.full(len(self._parts), how.least, dtype=np.int64)
            most = np.full(len(self._parts), _FAR, dtype=np.int64)
            every = slice(None)
            carries = last(lambda n: weights.value(DRAW, every, n), least, most, limit)  # noqa: B023
            yield carries.astype(np.int32)
