"""Every build of one array at once: which fit, how many, and what each comes to.

A build is a row (chassis, controller, drive; see `weights.Weights`) and a plan (`plans.Plans`).
Rows hold for a range of numbers of drives: the rules that count drives stop every larger number
too, so that the largest is looked for once a row.
"""

from functools import cached_property
from threading import Lock

import numpy as np

from quotelib.build import fit
from quotelib.build.build import Build, Placed
from quotelib.build.layout import Layout
from quotelib.build.slots import host_link_mb_s
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.advised import Advised
from quotelib.choose.enumeration import alone, array_of
from quotelib.choose.estimated import Estimated
from quotelib.choose.integers import scaled
from quotelib.choose.listing import bare, goes_with, listed, member_sizes, regimes, stops_of_pairs
from quotelib.choose.plans import Allowed, Numbers, plans
from quotelib.choose.scales import Scales
from quotelib.choose.sets import Flags, Index
from quotelib.choose.weights import DRAW, Weights, comings_of, last
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS


class Table:
    """All builds of one array that agree with the pins of a row and that nothing stops.

    Parameters
    ----------
    at : tuple of ndarray
        Of each row, the place of chassis, controller and drive in `listed`.
    least, most : ndarray
        Of each row, the fewest and the most drives that fit.
    """

    def __init__(
        self, prices: PriceList, row: Enquiry, boxes: tuple[str, ...] | None = None
    ) -> None:
        self.prices, self.row = prices, row
        self._lock = Lock()
        self._estimated: Estimated | None = None
        self.listed = listed(prices, row, boxes)
        self.scales = Scales(prices, row)
        self.regimes = regimes(row)
        most = max((box.bays for box in self.listed.boxes), default=0)
        self.plans = plans(row.level, row.members, row.spans, row.spares or 0, most)
        self.comings = comings_of(prices, row, self.listed, self.regimes, self.scales)
        self._lay_rows()
        self.weights = Weights(
            prices, row, self.listed, self.regimes, self.comings, self.scales, self.at, self.regime
        )
        self._room()

    def _lay_rows(self) -> None:
        row, those = self.row, self.listed
        self.pair_stops = stops_of_pairs(self.prices, row, those, self.comings[-1].adapted)
        self.unlike = ~goes_with(self.prices, row, those)
        whole = (self.pair_stops == 0)[:, :, those.kinds] & ~self.unlike
        found = np.nonzero(whole)
        box, controller, drive = (np.tile(one, len(self.regimes)) for one in found)
        self.at = box, controller, drive
        self.regime = np.repeat(np.arange(len(self.regimes)), len(found[0]))

    def _room(self) -> None:
        """Find the most drives of each row that bays, ports and power take."""
        those, (box, controller, drive) = self.listed, self.at
        bays = np.array([one.bays for one in those.boxes], dtype=np.int64)
        runs = np.array([one.max_drives for one in those.controllers], dtype=np.int64)
        most = np.minimum(bays[box], runs[controller])
        lanes = np.array([d.lanes if d.interface == "nvme" else 1 for d in those.drives])
        ports = np.array([2**31 if c.ports is None else c.ports for c in those.controllers])
        direct = np.array([one.backplane == "direct" for one in those.boxes])
        most = np.where(
            direct[box], np.minimum(most, ports[controller] // np.maximum(lanes[drive], 1)), most
        )
        self.least = np.array([r.least for r in self.regimes], dtype=np.int64)[self.regime]
        ends = np.array([r.most for r in self.regimes], dtype=np.int64)[self.regime]
        most = np.maximum(np.minimum(most, ends), self.least - 1)
        carried = np.array([self.carries(at) for at in range(len(those.boxes))], dtype=object)
        limit = np.array(carried if self.scales.wide else carried.astype(np.int64))[box]
        self.most = self.within(DRAW, limit, self.least, most)

    def carries(self, at: int) -> int:
        """Give what the supplies of a chassis carry, below nothing where they do not go."""
        empty = self._bare[at][0]
        each = empty.supplies_w
        if len(set(each)) > 1 or len(each) <= empty.redundant_supply:
            return -1
        return scaled(empty.supply_w, self.scales.watt_places)

    def within(self, measure: int, limit: object, least: Numbers, most: Numbers) -> Numbers:
        """Give the most drives of each row with which price, mass or draw keeps a limit."""
        rows = slice(None)
        return last(
            lambda drives: self.weights.value(measure, rows, drives), least, most, np.asarray(limit)
        )

    @cached_property
    def _bare(self) -> list[list[Build]]:
        return [list(ones) for ones in bare(self.prices, self.row, self.listed)]

    def empty(self, box: int, controller: int) -> Build:
        """Give a server of a row without drives."""
        return self._bare[box][controller]

    @cached_property
    def pairs(self) -> tuple[Index, Index, Index]:
        """Give chassis and controller of each pair in any row, and of each row the pair."""
        box, controller, _ = self.at
        distinct, back = np.unique(
            box * len(self.listed.controllers) + controller, return_inverse=True
        )
        return *np.divmod(distinct, len(self.listed.controllers)), back.reshape(-1)

    @cached_property
    def offered(self) -> Flags:
        """Tell which controllers make which plans: shape (controllers, plans)."""
        every, those, row = self.plans, self.listed, self.row
        sample, box = those.drives[0].sku, those.boxes[0]

        def made(at: int, layout: Layout) -> Build:
            controller = those.controllers[at]
            array = array_of(self.prices, row, controller.sku, sample, layout)
            parts = (Placed(controller, owned=bool(those.owned[at])),)
            return Build(box, those.box_owned, parts, (array,))

        names = list(LEVELS)
        flags = np.zeros((len(those.controllers), len(every)), dtype=bool)
        for at in range(len(those.controllers)):
            level = np.array(
                [not any(fit.level_not_offered(made(at, Layout(name, 1)))) for name in names]
            )
            flags[at] = level[every.level]
            if row.action != "new":
                for plan in np.flatnonzero(flags[at]):
                    stays = made(at, every.layouts[plan])
                    flags[at, plan] = not fit.asked(fit.STAYING_RULES, stays)
        return flags

    @cached_property
    def advised(self) -> Advised:
        """Say what we advise against."""
        return Advised(self)

    @cached_property
    def in_time(self) -> Numbers:
        """Give of each row the most drives for which all that has to come is here in time."""
        return self.here_within(self.row.value("max_lead_days"), self.row.builds)

    def here_within(self, days: int, builds: int) -> Numbers:
        """Give of each row the most drives for which all is here within so many days."""
        those, (box, controller, drive) = self.listed, self.at
        comings = self.comings
        if (days, builds) != (self.row.value("max_lead_days"), self.row.builds):
            asked = self.row.change(max_lead_days=days, builds=builds)
            comings = comings_of(self.prices, asked, those, self.regimes, self.scales)

        def late(part: Part, count: int = 1) -> bool:
            return part.lead_days > days and part.stock < count * builds

        boxes = np.array([those.box_owned or not late(b) for b in those.boxes])
        cards = np.array(
            [owned or c.takes == "board" or not late(c)
             for c, owned in zip(those.controllers, those.owned, strict=True)]
        )  # fmt: skip
        named = any(late(p.part, p.count) for p in self.empty(0, 0).parts[1:])
        there = boxes[box] & cards[controller] & (not named)
        far = 10**9
        each = np.array([far if d.lead_days <= days else d.stock // builds for d in those.drives])
        found = np.where(there, far, 0)
        for number, (how, one) in enumerate(zip(self.regimes, comings, strict=True)):
            here = np.flatnonzero(self.regime == number)
            table = np.broadcast_to(one.last, those.shape)
            kind = those.kinds[drive[here]]
            most = table[box[here], controller[here], kind]
            if how.bought:
                have = how.least - 1
                most = np.minimum(most, each[drive[here]] + have)
            found[here] = np.minimum(found[here], most)
        return found

    @cached_property
    def idle(self) -> Flags:
        """Tell of no array and an array, and of each row, whether a chosen service is in vain."""
        return np.moveaxis(self.weights.idle, 1, 0)[:, self.regime, self.at[1]]

    @cached_property
    def sizes(self) -> Numbers:
        """Give the bytes of a member by controller and drive."""
        return member_sizes(self.prices, self.row, self.listed)

    @property
    def estimated(self) -> Estimated:
        """Give what estimates its arrays; the one and only, whichever thread asks first."""
        with self._lock:
            if self._estimated is None:
                self._estimated = self._estimates()
            return self._estimated

    def _estimates(self) -> Estimated:
        box, controller, _ = self.pairs
        links = np.full((len(self.listed.boxes), len(self.listed.controllers)), np.inf)
        for b, c in zip(box.tolist(), controller.tolist(), strict=True):
            rate = host_link_mb_s(self.empty(b, c), self.listed.controllers[c])
            if rate is not None:
                links[b, c] = rate
        return Estimated(self.prices, self.row, self.listed, self.plans, self.sizes, links)

    def build(self, row: int, plan: int) -> Build:
        """Make the build of a row and a plan."""
        return self.build_of(row, self.plans.layouts[plan])

    def build_of(self, row: int, layout: Layout) -> Build:
        """Make the build of a row in a layout."""
        box, controller, drive = (int(at[row]) for at in self.at)
        those = self.listed
        skus = those.boxes[box].sku, those.controllers[controller].sku, those.drives[drive].sku
        return alone(self.prices, self.row, skus).build.with_layouts(layout)

    @cached_property
    def ties(self) -> tuple[Numbers, Numbers, Numbers]:
        """Give the place of each row's chassis, controller and drive in the order of their skus."""
        lists = (self.listed.boxes, self.listed.controllers, self.listed.drives)
        found = []
        for parts, at in zip(lists, self.at, strict=True):
            order = sorted(part.sku for part in parts)
            places = {sku: number for number, sku in enumerate(order)}
            found.append(np.array([places[part.sku] for part in parts], dtype=np.int64)[at])
        return found[0], found[1], found[2]

    def allowed(self, flags: Flags) -> Allowed:
        """Sort plans by what controllers allow; `flags` has one half for each of `wide_drive`."""
        return Allowed(self.plans, flags)

    @cached_property
    def half(self) -> Numbers:
        """Give of each row its place among the controllers, in the half of its kind of drive."""
        _, controller, drive = self.at
        wide = self.advised.wide_drive[drive]
        return np.asarray(controller + len(self.listed.controllers) * wide)

    @property
    def possible(self) -> int:
        """Count all builds that agree with the pins, fitting or not.

        Every chassis with every controller and drive, in every layout of no more drives than the
        chassis has bays.
        """
        drives = np.sort(self.plans.drives)
        laid = sum(int(np.searchsorted(drives, b.bays, side="right")) for b in self.listed.boxes)
        return laid * len(self.listed.controllers) * len(self.listed.drives)
