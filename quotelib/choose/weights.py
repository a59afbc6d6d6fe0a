"""What the builds of one array cost, weigh and draw, as whole numbers for all of them at once.

A row of the table is a chassis, a controller and a drive that go together, with a range of numbers
of drives. Price, mass and draw of a row are sums of a few functions of the number of drives
(`sets.Basis`), each with a coefficient of the row.
"""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from quotelib.build.build import Build, Placed
from quotelib.build.layout import ALL_OF_THEM, Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.choose.enumeration import array_of, options_named
from quotelib.choose.integers import Whole, laid
from quotelib.choose.scales import Scales
from quotelib.choose.sets import NO_END, Basis, Coming, Index, Listed, Regime, coming
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import NO_ARRAY
from quotelib.pricing.lines import times

PRICE, MASS, DRAW = range(3)
_MEASURES = 3


class Weights:
    """Price, mass and draw of the rows of a table.

    Parameters
    ----------
    at : tuple of ndarray
        Of each row, the place of its chassis, controller and drive in `Listed`.
    regime : ndarray of int
        Of each row, the place of its regime.
    """

    def __init__(
        self,
        prices: PriceList,
        row: Enquiry,
        listed: Listed,
        regimes: tuple[Regime, ...],
        comings: list[Coming],
        scales: Scales,
        at: tuple[Index, Index, Index],
        regime: Index,
    ) -> None:
        self._listed, self._scales, self._at = listed, scales, at
        self._have = have_of(row)
        self._kind = object if scales.wide else np.int64
        self.sums: dict[Basis, Whole] = {}
        self._parts(prices, row, regimes, regime)
        box, controller, drive = at
        kind = listed.kinds[drive]
        for place, found in enumerate(comings):
            here = np.flatnonzero(regime == place)
            for basis, table in found.sums.items():
                self._sum(basis)[:, here] += table[:, box[here], controller[here], kind[here]]
        self._services(prices, row, regimes, regime)

    def _sum(self, basis: Basis) -> Whole:
        if basis not in self.sums:
            self.sums[basis] = np.zeros((_MEASURES, len(self._at[0])), dtype=self._kind)
        return self.sums[basis]

    def _numbers(self, values: Iterator[int]) -> Whole:
        return laid(values, self._scales.wide)

    def _parts(
        self, prices: PriceList, row: Enquiry, regimes: tuple[Regime, ...], regime: Index
    ) -> None:
        """Add chassis, controller, options and drives."""
        those, s = self._listed, self._scales
        box, controller, drive = self._at
        one = self._sum(Basis("one"))
        ours = not those.box_owned
        options = options_named(prices, row)
        for measure, of in ((PRICE, s.minor), (MASS, s.mass), (DRAW, s.watts)):
            added = sum(of(piece.part) * piece.count for piece in options)
            if measure == DRAW or ours:
                one[measure] += self._numbers(of(b) for b in those.boxes)[box]
            # What is part of a board comes with its chassis, and has no price of its own.
            own = (
                of(c) * (measure == DRAW or not (owned or free))
                for c, owned, free in zip(
                    those.controllers, those.owned, self._free(measure), strict=True
                )
            )
            one[measure] += self._numbers(own)[controller] + added
        for place, how in enumerate(regimes):
            here = np.flatnonzero(regime == place)
            if how.bought:
                bought = self._sum(Basis("bought"))
                for measure, of in ((PRICE, s.minor), (MASS, s.mass), (DRAW, s.watts)):
                    bought[measure, here] += self._numbers(of(d) for d in those.drives)[drive[here]]
            if how.theirs:
                before = those.drive_before
                draws = self._numbers(s.watts(before or d) for d in those.drives)[drive[here]]
                if how.bought:
                    self._sum(Basis("one"))[DRAW, here] += draws * self._have
                else:
                    self._sum(Basis("all"))[DRAW, here] += draws

    def _free(self, measure: int) -> list[bool]:
        return [measure == PRICE and c.takes == "board" for c in self._listed.controllers]

    def _services(
        self, prices: PriceList, row: Enquiry, regimes: tuple[Regime, ...], regime: Index
    ) -> None:
        """Work out what is done: lines of each controller with drives passed through, and arrays.

        `lines` is what one build adds whatever its number of drives, `once` what all together add
        once, `idle` whether a service that was chosen would never be done; shapes (2, controllers),
        but `idle`, which goes by the regime too.
        """
        deal, those = row.deal, self._listed
        count, number = len(those.controllers), len(regimes)
        self.lines = np.zeros((2, count), dtype=self._kind)
        self.once = np.zeros((2, count), dtype=self._kind)
        self.idle = np.zeros((number, 2, count), dtype=bool)
        each = np.zeros((2, count), dtype=self._kind)
        for service in prices.services.values():
            asked = deal.services.count(service.sku) if service.when == "chosen" else 1
            if not asked:
                continue
            price = asked * self._scales.minor(service)
            for flag, level in enumerate((NO_ARRAY, "0")):
                for at in range(count):
                    done = [self._times(prices, row, service, at, level, r) for r in regimes]
                    if service.when == "chosen":
                        self.idle[:, flag, at] |= [not one for one in done]
                    if service.per == "quote":
                        self.once[flag, at] += price * done[-1]
                    elif service.per == "drive":
                        each[flag, at] += price * any(done)
                    else:
                        self.lines[flag, at] += price * done[-1]
        # So much for each drive that is put in.
        self._fitted: list[tuple[Index, Basis, Whole]] = []
        if any(each.ravel()):
            for place, how in enumerate(regimes):
                if how.fitted:
                    here = np.flatnonzero(regime == place)
                    self._fitted.append((here, Basis(how.fitted), each))
        self.each_fitted = np.zeros((2, len(regime)), dtype=self._kind)
        self.fitted_all = np.zeros(len(regime), dtype=bool)
        for here, basis, per in self._fitted:
            self.each_fitted[:, here] = per[:, self._at[1][here]]
            self.fitted_all[here] = basis.of == "all"

    def _times(
        self, prices: PriceList, row: Enquiry, service: Service, at: int, level: str, how: Regime
    ) -> int:
        those = self._listed
        controller, owned = those.controllers[at], bool(those.owned[at])
        sample = those.drives[0].sku
        drives = how.least
        array = array_of(prices, row, controller.sku, sample, Layout(level, drives))
        parts = (Placed(controller, owned=owned), *options_named(prices, row))
        return times(service, Build(those.boxes[0], those.box_owned, parts, (array,)))

    def value(self, measure: int, rows: Index | slice, drives: Whole) -> Whole:
        """Add up price, mass or draw of one build each, without services."""
        total = np.zeros(np.shape(drives), dtype=self._kind)
        for basis, numbers in self.sums.items():
            factor = numbers[measure, rows]
            if factor.any():
                total = total + factor * basis.at(drives, self._have)
        return np.asarray(total)

    def net(self, rows: Index, drives: Whole, is_array: NDArray[np.intp] | int) -> Whole:
        """Give the net of all builds, without what is charged once, in minor units."""
        controller = self._at[1][rows]
        line = self.value(PRICE, rows, drives) + self.lines[is_array, controller]
        each = self.each_fitted[is_array, rows]
        if each.any():
            bought = np.maximum(drives - self._have, 0)
            line = line + each * np.where(self.fitted_all[rows], drives, bought)
        return self._scales.net(line, self.value(MASS, rows, drives))


def have_of(row: Enquiry) -> int:
    """Count the drives the customer has, where not all are theirs."""
    return row.their_drives if row.their_drives < ALL_OF_THEM else 0


def comings_of(
    prices: PriceList, row: Enquiry, listed: Listed, regimes: tuple[Regime, ...], scales: Scales
) -> list[Coming]:
    """Say what accessories come, regime by regime."""
    days = row.value("max_lead_days")
    weighed = [
        (
            item,
            (scales.minor(item), scales.mass(item), scales.watts(item)),
            NO_END if days is None or item.lead_days <= days else item.stock // row.builds,
        )
        for item in prices.accessories.values()
    ]
    return [coming(listed, how, have_of(row), weighed, scales.wide) for how in regimes]


def last(
    given: Callable[[Whole], Whole], least: Whole, most: Whole, limit: Whole
) -> NDArray[np.int64]:
    """Give the largest number, from `least` to `most`, for which what is given is within a limit.

    One less than `least` where none is. What is given never falls as the number rises.
    """
    low, high = least - 1, most.copy()
    while (open_ := low < high).any():
        middle = np.where(open_, (low + high + 1) // 2, np.maximum(low, least))
        within = np.asarray(given(middle) <= limit, dtype=bool)
        low = np.where(open_ & within, middle, low)
        high = np.where(open_ & ~within, middle - 1, high)
    return low
