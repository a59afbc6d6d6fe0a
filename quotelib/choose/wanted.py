"""What one array of a server is asked for, and what each way to make it adds to the price at least.

The table of the array alone (`table.Table`) says which parts go together and in which plans: with
other arrays beside it there is never more room. What it adds is a share of the net before it is
rounded (`shares.Shares`): bought drives with what comes for each of them whatever else there is,
and what is done for drives and array. Shares are floats, a hair below what they stand for.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property, lru_cache

import numpy as np

from quotelib.build.layout import Array
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import table_of
from quotelib.choose.candidate import Candidate
from quotelib.choose.demanded import form
from quotelib.choose.enumeration import array_of
from quotelib.choose.picked import ranges
from quotelib.choose.plans import Allowed, Numbers
from quotelib.choose.sets import NO_END, Basis, Flags, Index, coming
from quotelib.choose.shares import Shares
from quotelib.choose.weights import MASS, PRICE, have_of
from quotelib.enquiry.enquiry import Enquiry
from quotelib.estimate.checks import FloatArray

_AT_ONCE = 4096
HAIR = 1 - 1e-12
"""So much of a sum of floats is surely no more than what they stand for."""


@dataclass(frozen=True)
class Ways:
    """Ways to make an array in one chassis on one controller, cheapest first.

    Parameters
    ----------
    cost : ndarray of float
        What each adds at least.
    rows, plans : ndarray of int
        In the table of the array.
    order : ndarray of int
        The order of the choice among ways of one row: fewer drives, then level, then spans.
    """

    cost: FloatArray
    rows: Index
    plans: Index
    order: Numbers

    def __len__(self) -> int:
        """Count them."""
        return len(self.rows)

    def take(self, at: Index | Flags | slice) -> "Ways":
        """Give some of them."""
        return Ways(self.cost[at], self.rows[at], self.plans[at], self.order[at])


@lru_cache(maxsize=32)
def _asked_alone(
    _prices: PriceList, _row: Enquiry, _boxes: tuple[str, ...]
) -> dict[tuple[int, int], bool]:
    """Remember what arrays of a row were asked one by one: each search asks the same ones."""
    return {}


class Wanted:
    """One array of an enquiry, by the parts that can make it.

    Parameters
    ----------
    sound : bool
        Whether what we advise against is left out, where nobody has accepted it.
    boxes : tuple of str
        Skus of the chassis that may be chosen.
    """

    def __init__(
        self, prices: PriceList, row: Enquiry, shares: Shares, sound: bool, boxes: tuple[str, ...]
    ) -> None:
        self.row, self.sound = row, sound
        self.table = table_of(prices, row, boxes)
        # What an array by itself does not give, no server with it gives the whole quote.
        asked = [demand for demand in row.asked(prices) if demand.of != "server"]
        self.forms = [form(self.table, demand) for demand in asked]
        self.drives: list[int] = self.table.plans.drives.tolist()
        self._shares = shares
        self._alone = _asked_alone(prices, row, boxes)
        self._refined: set[int] = set()
        self._lay_costs(prices)
        self._lay_plans()

    @property
    def dated(self) -> bool:
        """Tell whether it has to be shipped by a day: drives passed through are ready sooner."""
        return any(one.demand.column == "ship_by" for one in self.forms)

    def meets_alone(self, row: int, plan: int) -> bool:
        """Tell whether an array meets the demands that each has to be asked by itself."""
        if (row, plan) not in self._alone:
            build = self.table.build(row, plan)
            candidate = Candidate(build, build.usable_bytes)
            alone = (one.demand for one in self.forms if one.alone)
            self._alone[row, plan] = all(demand.met(candidate) for demand in alone)
        return self._alone[row, plan]

    def _lay_costs(self, prices: PriceList) -> None:
        """Find what each row adds for each drive."""
        table, shares, scales = self.table, self._shares, self.table.scales
        those, (box, controller, drive) = table.listed, table.at
        line = float(shares.line) / 10**scales.places
        gram = float(shares.gram)
        weighed = [
            (item, (scales.minor(item), scales.mass(item)), NO_END)
            for item in prices.accessories.values()
        ]
        self._each: dict[Basis, FloatArray] = {}
        own = np.array([scales.minor(d) for d in those.drives], dtype=float)[drive] * line
        own += np.array([float(d.mass_g) for d in those.drives])[drive] * gram
        for place, how in enumerate(table.regimes):
            here = table.regime == place
            if how.bought:
                self._sum(Basis("bought"))[here] += own[here]
            found = coming(those, how, have_of(self.row), weighed, scales.wide, beside=True)
            for basis, numbers in found.sums.items():
                at = box[here], controller[here], those.kinds[drive[here]]
                price = numbers[PRICE][at].astype(float) * line
                mass = numbers[MASS][at].astype(float) * float(scales.gram) * gram
                self._sum(basis)[here] += price + mass
            done = float(shares.services("drive", self.row.action))
            if how.fitted:
                self._sum(Basis(how.fitted))[here] += done
        self._made = float(shares.services("array", self.row.action))

    def _sum(self, basis: Basis) -> FloatArray:
        return self._each.setdefault(basis, np.zeros(len(self.table.least)))

    def cost(self, rows: Index, drives: Numbers, is_array: Numbers | int) -> FloatArray:
        """Bound from below what an array of so many drives adds."""
        have, total = have_of(self.row), np.zeros(np.shape(drives))
        for basis, numbers in self._each.items():
            total = total + numbers[rows] * basis.at(drives, have)
        return np.asarray((total + self._made * is_array) * HAIR)

    def _lay_plans(self) -> None:
        table, accept = self.table, self.row.accept
        flags = np.concatenate([table.offered, table.offered])
        self.data = np.zeros(len(table.least), dtype=np.int64)
        here = np.ones(len(table.least), dtype=bool)
        if self.sound:
            flags &= ~table.advised.plans(accept)
            here &= ~table.advised.rows(accept)
        for one in self.forms:
            if one.plans is not None:
                flags &= one.plans
            if one.rows is not None:
                here &= one.rows
            if one.data is not None:
                self.data = np.maximum(self.data, one.data)
        most = np.where(here, table.most, 0)
        self._flags, self._last = flags, np.stack([most, most])
        for one in self.forms:
            if one.last is not None:
                self._last = np.minimum(self._last, one.last)
        allowed: Allowed = table.allowed(flags)
        family = np.asarray(allowed.family[table.half])
        rows = np.arange(len(table.least))
        self.least = np.full(len(rows), np.inf)
        for kind in (0, 1):
            fewest = np.maximum(allowed.least(family, kind, self.data), table.least)
            cost = self.cost(rows, fewest, kind)
            self.least = np.minimum(self.least, np.where(fewest <= self._last[kind], cost, np.inf))
        self.share = np.full((len(table.listed.boxes), len(table.listed.controllers)), np.inf)
        np.minimum.at(self.share, table.at[:2], self.least)

    def array(self, row: int, plan: int) -> Array:
        """Make the array of a way."""
        _, controller, drive = (int(at[row]) for at in self.table.at)
        those = self.table.listed
        skus = those.controllers[controller].sku, those.drives[drive].sku
        made = array_of(self.table.prices, self.row, *skus, self.table.plans.layouts[plan])
        return replace(made, name=self.row.array)

    def ways(self, box: int, controller: int, most: float) -> Ways:
        """List the ways to make it of given parts that add no more than so much, cheapest first."""
        table, every = self.table, self.table.plans
        rows = self._rows_of(box, controller)
        rows = rows[self.least[rows] <= most]
        which, plans = self._fitting(rows)
        picked = rows[which]
        cost = self.cost(picked, every.drives[plans], every.is_array[plans])
        left = cost <= most
        found = Ways(cost[left], picked[left], plans[left], plans[left])
        ties = table.ties[2][found.rows]
        return found.take(np.lexsort((found.plans, ties, every.drives[found.plans], found.cost)))

    def _fitting(self, rows: Index) -> tuple[Index, Index]:
        """List the plans of some rows: places in `rows`, and plans."""
        table, every = self.table, self.table.plans
        which, plans = np.nonzero(
            self._flags[table.half[rows]]
            & (every.drives <= self._last[:, rows][every.is_array].T)
            & (every.drives >= table.least[rows, None])
            & (every.data >= self.data[rows, None])
        )
        return which, plans

    def refine(self, box: int, most: float) -> None:
        """Raise the bounds of the rows of a chassis that are no more than so much.

        A plan that is too slow, or too likely to be lost, even with a host link without end and the
        controller to itself is so in any server. The bound on its speed is the busiest station's,
        and neither a slower link nor a share of a controller makes any station less busy; a chance
        of loss goes by the rebuild, which no host link and no share of a controller makes shorter.
        """
        estimated, table, every = self.table.estimated, self.table, self.table.plans
        if box in self._refined or not estimated.bounded:
            return
        self._refined.add(box)
        rows = np.flatnonzero((table.at[0] == box) & (self.least <= most))
        which, plans = self._fitting(rows)
        cost = self.cost(rows[which], every.drives[plans], every.is_array[plans])
        order = np.lexsort((cost, which))
        which, plans, cost = which[order], plans[order], cost[order]
        at = np.searchsorted(which, np.arange(len(rows)))
        end = np.searchsorted(which, np.arange(len(rows)), side="right")
        active = np.flatnonzero(at < end)
        while len(active):
            # Some plans of each row at once: a few take as long as many.
            until = np.minimum(at[active] + max(_AT_ONCE // len(active), 1), end[active])
            of, place = ranges(active, at[active], until)
            met = self._at_best(rows[of], plans[place])
            first = end.copy()
            np.minimum.at(first, of[met], place[met])
            at[active] = np.where(first[active] < end[active], first[active], until)
            active = active[(first[active] == end[active]) & (until < end[active])]
            active = active[cost[at[active]] <= most]
        found = at < end
        self.least[rows] = np.inf
        self.least[rows[found]] = cost[at[found]]
        self.share[box] = np.inf
        here = table.at[0] == box
        np.minimum.at(self.share[box], table.at[1][here], self.least[here])

    def _at_best(self, rows: Index, plans: Index) -> Flags:
        """Tell which builds may do what is asked, had each a controller and a link to itself."""
        table, estimated = self.table, self.table.estimated
        of = table.at[0][rows], table.at[1][rows], table.at[2][rows]
        speeds = [one.speed for one in self.forms if one.speed is not None]
        risks = [one.risk for one in self.forms if one.risk is not None]
        limit = float(table.prices.terms.risk.advise_loss_pct)
        if not self.sound or "loss_over_limit" in self.row.accept:
            limit = np.inf
        cached = np.array([bool(c.cache_mib) for c in table.listed.controllers])[of[1]]
        found = np.zeros(len(rows), dtype=bool)
        # What comes with another array may protect the cache.
        for protected in (table.advised.answers[rows], cached):
            keys = estimated.keys(of, plans, protected, (None, 1))
            met = np.ones(len(rows), dtype=bool)
            if speeds:
                columns = estimated.best_speed(keys)
                met = np.all([speed(columns) for speed in speeds], axis=0)
            if risks or np.isfinite(limit):
                chances = estimated.risk(keys[met]) * (1 - 1e-9)  # a hair for the last digit
                left = ~(chances[1] > limit)
                for risk in risks:
                    left &= risk(chances)
                met[met] = left
            found |= met
        return found

    @cached_property
    def _by_parts(self) -> tuple[Index, Index]:
        pairs = self.table.at[0] * len(self.table.listed.controllers) + self.table.at[1]
        order = np.argsort(pairs, kind="stable")
        return order, pairs[order]

    def _rows_of(self, box: int, controller: int) -> Index:
        order, pairs = self._by_parts
        pair = box * len(self.table.listed.controllers) + controller
        start, end = np.searchsorted(pairs, [pair, pair + 1])
        return order[start:end]


def above(amount: Decimal) -> float:
    """Give a float that is surely no less than an amount."""
    return float(amount) * (2 - HAIR) + 1e-9


def below(amount: Decimal) -> float:
    """Give a float that is surely no more than an amount of 0 or more."""
    return float(amount) * HAIR
