"""Which build comes nearest to fitting where none fits: the fewest stops, counted and not made.

Counted for every combination of parts and every layout worth a message (`Combination.attempts`), as
the rules of `fit` find them: each says at most one thing of a build of one array, but for those of
places, which are asked for each chassis and controller. The nearest is made and asked the rules.
"""

from collections.abc import Iterator

import numpy as np

from quotelib.build import fit
from quotelib.build.build import Build, Placed
from quotelib.build.findings import Finding
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.choose.asking import table_of
from quotelib.choose.enumeration import alone, array_of
from quotelib.choose.integers import Whole
from quotelib.choose.plans import Numbers
from quotelib.choose.table import Table
from quotelib.choose.weights import DRAW, Weights
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import in_vain


def nothing_fits(prices: PriceList, row: Enquiry) -> tuple[Finding, ...]:
    """Find the build that comes nearest to fitting, and say what stops it.

    The one with the fewest stops, of those the one with the fewest drives, then with the most room;
    the first in the order of the price list.
    """
    return _Stopped(prices, row).nearest()


class _Stopped:
    """Every combination of parts, none of which fits."""

    def __init__(self, prices: PriceList, row: Enquiry) -> None:
        self._prices, self._row = prices, row
        self._table: Table = table_of(prices, row)
        self._chosen = [prices.services[sku] for sku in dict.fromkeys(row.deal.services)]
        those = self._table.listed
        counts = tuple(map(len, (those.boxes, those.controllers, those.drives)))
        box, controller, drive = np.unravel_index(np.arange(int(np.prod(counts))), counts)
        self._at = box, controller, drive
        self._counts = counts
        self._weighed: dict[int, Weights] = {}
        self._parts = self._table.pair_stops[:, :, those.kinds] + self._table.unlike
        self._bays = np.array([one.bays for one in those.boxes])
        self._supplies = np.array(
            [self._table.carries(at) for at in range(counts[0])], dtype=object
        )

    def nearest(self) -> tuple[Finding, ...]:
        """Give what stops the nearest."""
        those = self._table.listed
        found = []
        for controller in range(self._counts[1]):
            for number, (layout, stops) in enumerate(self._attempts(controller)):
                counted = self._parts[:, controller] + stops + self._crowded(controller, layout)
                room = np.minimum(self._bays, those.controllers[controller].max_drives)
                boxes, drives = np.nonzero(counted == counted.min())
                at = int(np.lexsort((drives, boxes, -room[boxes]))[0])
                box, drive = int(boxes[at]), int(drives[at])
                order = box, controller, drive, number
                ranked = int(counted.min()), layout.drives, -int(room[box]), *order
                found.append((ranked, layout))
        (*_, box, controller, drive, _), layout = min(found, key=lambda one: one[0])
        skus = (those.boxes[box].sku, those.controllers[controller].sku, those.drives[drive].sku)
        parts = alone(self._prices, self._row, skus)
        build = parts.build.with_layouts(layout)
        said = (*parts.stops, *fit.asked(fit.LAYOUT_RULES, build))
        return (*said, *in_vain(self._chosen, build))

    def _attempts(self, controller: int) -> Iterator[tuple[Layout, int]]:
        """List layouts worth a message, and how many stops there are whatever chassis and drive."""
        those, row = self._table.listed, self._row
        part = those.controllers[controller]
        skus = those.boxes[0].sku, part.sku, those.drives[0].sku
        for made in alone(self._prices, row, skus).attempts(row):
            layout = made.arrays[0].layout
            array = array_of(self._prices, row, part.sku, skus[2], layout)
            owned = bool(those.owned[controller])
            build = Build(those.boxes[0], those.box_owned, (Placed(part, owned=owned),), (array,))
            rules = (fit.level_not_offered, fit.member_count, *fit.STAYING_RULES)
            chosen: list[Service] = self._chosen
            yield layout, len(fit.asked(rules, build)) + len(list(in_vain(chosen, build)))

    def _crowded(self, controller: int, layout: Layout) -> Numbers:
        """Count the stops by the number of drives: of each chassis and drive."""
        those, drives = self._table.listed, layout.drives
        part = those.controllers[controller]
        found = np.zeros((self._counts[0], self._counts[2]), dtype=np.int64)
        found += (drives > self._bays)[:, None]
        found += drives > part.max_drives
        if part.ports is not None:
            direct = np.array([one.backplane == "direct" for one in those.boxes])
            lanes = np.array([d.lanes if d.interface == "nvme" else 1 for d in those.drives])
            found += direct[:, None] & (lanes * drives > part.ports)[None, :]
        drawn = self._drawn(controller, drives).reshape(found.shape)
        found += np.asarray(drawn > self._supplies[:, None], dtype=bool)
        return found

    def _drawn(self, controller: int, drives: int) -> Whole:
        table = self._table
        regime = next(
            place for place, how in enumerate(table.regimes) if how.least <= drives <= how.most
        )
        if regime not in self._weighed:
            self._weighed[regime] = Weights(
                self._prices, table.row, table.listed, table.regimes, table.comings, table.scales,
                self._at, np.full(len(self._at[0]), regime),
            )  # fmt: skip
        here = np.flatnonzero(self._at[1] == controller)
        return self._weighed[regime].value(DRAW, here, np.full(len(here), drives))
