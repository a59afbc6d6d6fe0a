"""The ways to make one array in a seat, put together where they take the same of what is shared.

A lot is so many drives of one kind, passed through or in an array: its layouts take the same bays,
lanes, watts and money, so that they are counted and not listed.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from quotelib.choose.demanded import Form, form
from quotelib.choose.integers import Whole, laid
from quotelib.choose.plans import Numbers
from quotelib.choose.seats import Seat, Seats
from quotelib.choose.sets import NO_END, Flags, Index
from quotelib.choose.weights import have_of
from quotelib.enquiry.enquiry import Enquiry


@dataclass(frozen=True)
class Lots:
    """Lots of one array in a seat, one element each.

    Parameters
    ----------
    rows : ndarray of int
        Rows of the array's table: chassis, controller and drive.
    drives : ndarray of int
        How many drives, hot spares among them.
    made : ndarray of int
        1: an array, 0: drives passed through.
    ways : ndarray of int
        How many layouts.
    """

    rows: Index
    drives: Numbers
    made: Numbers
    ways: Numbers

    def __len__(self) -> int:
        """Count them."""
        return len(self.rows)

    @cached_property
    def by_number(self) -> Numbers:
        """Count the ways by the number of drives, from 0 to the most."""
        found = np.zeros(int(self.drives.max(initial=0)) + 1, dtype=np.int64)
        np.add.at(found, self.drives, self.ways)
        return found

    def take(self, at: Index | Flags) -> "Lots":
        """Give some of them."""
        return Lots(self.rows[at], self.drives[at], self.made[at], self.ways[at])


class Array:
    """One array that is asked for: its table, its demands, and what its drives take.

    Parameters
    ----------
    spend : callable
        Told how many arrays are about to be estimated.
    """

    def __init__(self, seats: Seats, place: int, spend: Callable[[int], None]) -> None:
        self._seats, self.place, self._spend = seats, place, spend
        self.row: Enquiry = seats.asked.arrays[place]
        self.table = table = seats.tables[place]
        demands = [one for one in self.row.asked(seats.prices) if one.of == "array"]
        self.forms: list[Form] = [form(table, demand) for demand in demands]
        self._have = have_of(self.row)
        self._lay_most()
        self._lay_drives()
        self._kept: dict[object, Lots] = {}

    def _lay_most(self) -> None:
        """Find the most drives of each row that bays, controller and ports take."""
        table, those = self.table, self.table.listed
        box, controller, drive = table.at
        lanes = np.array([d.lanes if d.interface == "nvme" else 1 for d in those.drives])
        self.lanes = np.maximum(lanes, 1)[drive]
        bays = np.array([one.bays for one in those.boxes], dtype=np.int64)[box]
        runs = np.array([one.max_drives for one in those.controllers], dtype=np.int64)[controller]
        ends = np.array([how.most for how in table.regimes], dtype=np.int64)[table.regime]
        most = np.minimum(np.minimum(bays, runs), ends)
        ports = np.array([NO_END if c.ports is None else c.ports for c in those.controllers])
        direct = np.array([one.backplane == "direct" for one in those.boxes])[box]
        self.most = np.where(direct, np.minimum(most, ports[controller] // self.lanes), most)

    def _lay_drives(self) -> None:
        """Find what one drive of each row costs, weighs and draws, and what is done for it."""
        table, scales, seats = self.table, self.table.scales, self._seats
        those, drive, wide = table.listed, table.at[2], table.scales.wide
        before = those.drive_before
        of = (scales.minor, scales.mass, scales.watts)
        self.bought = [laid((give(d) for d in those.drives), wide)[drive] for give in of]
        self.theirs = laid((scales.watts(before or d) for d in those.drives), wide)[drive]
        self.for_drive = self.for_array = 0
        deal = seats.asked.base.deal
        for service in seats.prices.services.values():
            asked = deal.services.count(service.sku) if service.when == "chosen" else 1
            if asked and self.row.action in (service.actions or ("new",)):
                self.for_drive += asked * scales.minor(service) * (service.per == "drive")
                self.for_array += asked * scales.minor(service) * (service.per == "array")
        self.fitted_all = np.array([how.fitted == "all" for how in table.regimes])[table.regime]
        self.fitted_any = np.array([bool(how.fitted) for how in table.regimes])[table.regime]
        self.buys = np.array([how.bought for how in table.regimes])[table.regime]

    def number_bought(self, lots: Lots) -> Numbers:
        """Count the drives of each lot that are bought."""
        return np.where(self.buys[lots.rows], np.maximum(lots.drives - self._have, 0), 0)

    def number_fitted(self, lots: Lots) -> Numbers:
        """Count the drives of each lot that are put in."""
        bought = self.number_bought(lots)
        fitted = np.where(self.fitted_all[lots.rows], lots.drives, bought)
        return np.where(self.fitted_any[lots.rows], fitted, 0)

    def own(self, lots: Lots) -> tuple[Whole, Whole, Whole]:
        """Give what the drives themselves come to: price with what is done, mass, draw."""
        bought, rows = self.number_bought(lots), lots.rows
        price, mass, watts = (each[rows] * bought for each in self.bought)
        price = price + self.for_drive * self.number_fitted(lots) + self.for_array * lots.made
        return price, mass, watts + self.theirs[rows] * (lots.drives - bought)

    def lots(self, seat: Seat, left_out: frozenset[str], *, quick: bool) -> Lots:
        """Give the lots that do what the array is asked, but for some columns.

        Parameters
        ----------
        quick : bool
            Only by what takes no estimate.
        """
        estimated = not quick and any(
            one.demand.column not in left_out and (one.speed or one.risk) for one in self.forms
        )
        key: tuple[object, ...] = (seat.box, seat.at[self.place], left_out)
        if estimated:
            key = (*key, seat.hangs(self.place), seat.protected(self.place))
        if key not in self._kept:
            self._kept[key] = self._found(seat, left_out, estimated)
        return self._kept[key]

    def forget(self) -> None:
        """Let go of the lots of a chassis that is done with."""
        self._kept.clear()

    def listed(self, seat: Seat, left_out: frozenset[str], estimated: bool) -> tuple[Index, Index]:
        """List rows with plans that do what the array is asked."""
        table, every = self.table, self.table.plans
        asked = [one for one in self.forms if one.demand.column not in left_out]
        rows = np.flatnonzero((table.at[0] == seat.box) & (table.at[1] == seat.at[self.place]))
        flags, data = table.offered[seat.at[self.place]], np.zeros(len(rows), dtype=np.int64)
        for one in asked:
            if one.plans is not None:
                flags = flags & one.plans
            if one.data is not None:
                data = np.maximum(data, one.data[rows])
        here = flags & (every.drives <= self.most[rows, None])
        here &= every.drives >= table.least[rows, None]
        here &= every.data >= data[:, None]
        for one in asked:
            if one.rows is not None:
                here &= one.rows[rows, None]
            if one.last is not None:
                last = np.where(every.is_array, one.last[1][rows, None], one.last[0][rows, None])
                here &= every.drives <= last
        which, plans = np.nonzero(here)
        found = rows[which]
        if estimated and len(found):
            self._spend(len(found))
            met = self._estimated(seat, found, plans, asked)
            return found[met], plans[met]
        return found, plans

    def keys(self, seat: Seat, rows: Index, plans: Index) -> Numbers:
        """Number arrays in a seat by what their estimates rest on."""
        of = self.table.at[0][rows], self.table.at[1][rows], self.table.at[2][rows]
        answered = np.full(len(rows), seat.protected(self.place))
        return self.table.estimated.keys(of, plans, answered, seat.hangs(self.place))

    def _estimated(self, seat: Seat, rows: Index, plans: Index, asked: list[Form]) -> Flags:
        keys, estimated = self.keys(seat, rows, plans), self.table.estimated
        met = np.ones(len(rows), dtype=bool)
        speeds = [one.speed for one in asked if one.speed is not None]
        for columns in (estimated.best_speed, estimated.speed) if speeds else ():
            if met.any():
                found = columns(keys[met])
                met[met] = np.all([speed(found) for speed in speeds], axis=0)
        risks = [one.risk for one in asked if one.risk is not None]
        if risks and met.any():
            found = estimated.risk(keys[met])
            met[met] = np.all([risk(found) for risk in risks], axis=0)
        return met

    def _found(self, seat: Seat, left_out: frozenset[str], estimated: bool) -> Lots:
        every = self.table.plans
        rows, plans = self.listed(seat, left_out, estimated)
        most = every.most + 1
        key = (rows * most + every.drives[plans]) * 2 + every.is_array[plans]
        key, ways = np.unique(key, return_counts=True)
        left, made = np.divmod(key, 2)
        at, drives = np.divmod(left, most)
        return Lots(at.astype(np.intp), drives, made, ways.astype(np.int64))
