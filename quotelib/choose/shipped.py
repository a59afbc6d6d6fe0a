"""When servers of a table can leave, and up to how many drives by a day, as `Workshop` says it.

The longest wait for parts, the minutes at the bench and the hours that run by themselves all rise
with the number of drives, or stay; so the largest number in time is looked for once a row.
"""

import datetime as dt
from functools import cached_property

import numpy as np

from quotelib.build.build import Build, Placed
from quotelib.build.layout import Layout
from quotelib.build.speed import drive_link_mb_s
from quotelib.choose.enumeration import array_of, options_named
from quotelib.choose.integers import Whole, decimals, fits, scaled
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Index
from quotelib.choose.table import Table
from quotelib.choose.weights import last
from quotelib.enquiry.column import Asked
from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.whole_drive import AT_MOST, initialise_hours
from quotelib.levels import NO_ARRAY
from quotelib.ready.leaving import MOST_DAYS
from quotelib.ready.unattended import SOAK_HOURS, drive_hours
from quotelib.ready.working_days import last_working_day, working_day, working_days_until
from quotelib.ready.workshop import Workshop


def in_time(table: Table, demand: Asked, spares: int) -> Numbers:
    """Give the most drives of each row that can leave by the day demanded: shape (2, rows).

    Passed through and in an array; `spares` of them are hot spares.
    """
    made = _Leaving(table, _bench(demand), demand.setting.builds, spares)
    return made.most(demand.limit)


def leaves(table: Table, demand: Asked, rows: Index, plans: Index) -> FloatArray:
    """Give the days on which some builds leave, as ordinals; no end where nobody can say."""
    made = _Leaving(table, _bench(demand), demand.setting.builds, table.row.spares or 0)
    return made.day(rows, plans)


def _bench(demand: Asked) -> Workshop:
    bench = demand.setting.workshop
    assert bench is not None  # else no day is demanded
    return bench


class _Leaving:
    """The rows of a table, of which so many builds are ordered."""

    def __init__(self, table: Table, bench: Workshop, builds: int, spares: int) -> None:
        self._table, self._bench, self._builds, self._spares = table, bench, builds, spares

    def most(self, day: int) -> Numbers:
        """Give the most drives of each row that leave by a day."""
        table, left = self._table, day - self._bench.ordered.toordinal()
        if left < 0:
            none = table.least - 1
            return np.stack([none, none])
        leads = [days for days in self._leads if days <= left]
        here = self._here(leads)
        rooms = self._rooms(leads, dt.date.fromordinal(day), min(left, MOST_DAYS))
        rows = np.arange(len(table.least))

        def late(drives: Numbers, kind: int) -> Numbers:
            kinds = np.full(len(rows), kind)
            wait = self._wait(here, rows, drives)
            by_itself = np.ceil(self._hours(rows, drives, kinds) / 24)
            never = (wait >= len(leads)) | ~(by_itself < rooms.shape[1])
            at = np.where(never, 0, wait), np.where(never, 0, by_itself).astype(np.int64)
            days = self._days(rows, drives, kinds)
            return np.asarray(never | (days > rooms[at]), dtype=np.int64)

        found = [
            last(lambda n, kind=kind: late(n, kind), table.least, table.most, np.asarray(0))  # type: ignore[misc]
            for kind in (0, 1)
        ]
        return np.stack(found)

    def day(self, rows: Index, plans: Index) -> FloatArray:
        """Give the days on which some builds leave."""
        every, leads = self._table.plans, self._leads
        drives, kinds = every.drives[plans], every.is_array[plans]
        wait = self._wait(self._here(leads), rows, drives)
        by_itself = np.ceil(self._hours(rows, drives, kinds) / 24)
        days = np.minimum(self._days(rows, drives, kinds), MOST_DAYS + 1)
        together = np.stack([wait, by_itself.astype(np.int64), days.astype(np.int64)])
        distinct, back = np.unique(together, axis=1, return_inverse=True)
        found = [self._leaves(leads, *one) for one in distinct.T.tolist()]
        return np.array(found, dtype=float)[back.reshape(-1)]

    def _leaves(self, leads: list[int], wait: int, by_itself: int, days: int) -> float:
        if wait >= len(leads) or max(by_itself, days) > MOST_DAYS:
            return np.inf
        holidays = self._bench.terms.holidays
        parts = working_day(self._bench.ordered + dt.timedelta(days=leads[wait]), holidays)
        bench = working_day(parts, holidays, days)
        return float(working_day(bench + dt.timedelta(days=by_itself), holidays).toordinal())

    @property
    def _leads(self) -> list[int]:
        """List how long parts may take: nothing changes between these days."""
        prices, row = self._table.prices, self._table.row
        files = (prices.drives, prices.controllers, prices.chassis, prices.accessories)
        days = {part.lead_days for parts in files for part in parts.values()}
        days |= {piece.part.lead_days for piece in options_named(prices, row)}
        return sorted(d for d in {0, *days} if d <= MOST_DAYS)

    def _here(self, leads: list[int]) -> list[Numbers]:
        return [self._table.here_within(days, self._builds) for days in leads]

    @staticmethod
    def _wait(here: list[Numbers], rows: Index, drives: Numbers) -> Numbers:
        """Tell how long the parts of some builds take, as a place in the list of lead times."""
        wait = np.zeros(len(drives), dtype=np.int64)
        for most in here:
            wait += drives > most[rows]
        return wait

    def _rooms(self, leads: list[int], day: dt.date, most: int) -> Numbers:
        """Count the days at the bench there are, by how long parts and what runs by itself take.

        Below nothing where there is no time for either; shape (leads, days by themselves).
        """
        holidays, ordered = self._bench.terms.holidays, self._bench.ordered
        by = last_working_day(day, holidays)
        found = np.full((len(leads), most + 1), -1, dtype=np.int64)
        for at, days in enumerate(leads):
            parts = working_day(ordered + dt.timedelta(days=days), holidays)
            ends = (by - parts).days + 1  # so many ends of the bench leave time for the rest
            if ends > 0:
                count = np.minimum(working_days_until(parts, by, holidays), MOST_DAYS)
                found[at, :ends] = count[::-1][: found.shape[1]]
        return found

    def _days(self, rows: Index, drives: Numbers, kinds: Index) -> Numbers:
        """Count the days at the bench; very many where nobody says how much a day does."""
        fixed, each = self._minutes
        table = self._table
        at = table.regime[rows], kinds, table.at[1][rows]
        minutes = fixed[at] + each[at] * (drives - table.least[rows])
        if self._bench.terms.minutes_per_day is None:
            return np.where(minutes > 0, MOST_DAYS + 1, 0)
        return np.asarray(-(-minutes // (self._bench.terms.minutes_per_day * self._parts_of_one)))

    @cached_property
    def _parts_of_one(self) -> int:
        return int(10 ** decimals(service.minutes for service, _ in self._bench.services))

    @cached_property
    def _minutes(self) -> tuple[Whole, Whole]:
        """Give the minutes of the fewest drives, and of each more: by regime, kind, controller."""
        table, places = self._table, len(str(self._parts_of_one)) - 1
        shape = len(table.regimes), 2, len(table.listed.controllers)
        fixed, each = np.zeros(shape, dtype=object), np.zeros(shape, dtype=object)
        for at in np.ndindex(shape):
            least, more = (
                scaled(self._bench.minutes(self._sample(at, drives), self._builds), places)
                for drives in (table.regimes[at[0]].least, table.regimes[at[0]].least + 1)
            )
            fixed[at], each[at] = least, more - least
        if fits(*(fixed + each * MOST_DAYS).reshape(-1).tolist()):
            fixed, each = fixed.astype(np.int64), each.astype(np.int64)
        return fixed, each

    def _sample(self, at: tuple[int, ...], drives: int) -> Build:
        """Make what nothing but parts of the bench looks at."""
        table, (_, kind, controller) = self._table, at
        those, row = table.listed, table.row
        part = those.controllers[controller]
        layout = Layout("0" if kind else NO_ARRAY, drives)
        array = array_of(table.prices, row, part.sku, those.drives[0].sku, layout)
        placed = Placed(part, owned=bool(those.owned[controller]))
        parts = (placed, *options_named(table.prices, row))
        return Build(those.boxes[0], those.box_owned, parts, (array,))

    def _hours(self, rows: Index, drives: Numbers, kinds: Index) -> FloatArray:
        """Give the most hours that run by themselves, as `unattended.most_hours` does."""
        table = self._table
        new = table.row.action == "new"
        drive = table.at[2][rows]
        fitted = np.array([bool(how.fitted) for how in table.regimes])[table.regime[rows]]
        tested = np.array([drive_hours(one) for one in table.listed.drives])[drive]
        hours = np.where(fitted, AT_MOST * tested, 0.0)
        if new and kinds.any():
            members = np.maximum(drives - self._spares, 1)
            hours = hours + AT_MOST * self._initialised(rows, members) * (kinds > 0)
        # Nothing is written to drives of an array that stays, so that there is no soak.
        return hours + (self._bench.terms.soak_hours or SOAK_HOURS) * new

    def _initialised(self, rows: Index, members: Numbers) -> FloatArray:
        table = self._table
        those, controller, drive = table.listed, table.at[1][rows], table.at[2][rows]
        rates = np.array([float(c.max_mb_s or np.inf) for c in those.controllers])
        write = np.array([float(d.write_mb_s) for d in those.drives])
        return initialise_hours(
            table.sizes[controller, drive], write[drive], members, self._links[controller, drive],
            rates[controller],
        )  # fmt: skip

    @cached_property
    def _links(self) -> FloatArray:
        """Give the rate of a drive's link, by controller and drive; no end where not known."""
        those, (_, controller, drive) = self._table.listed, self._table.at
        found = np.full((len(those.controllers), len(those.drives)), np.inf)
        for pair in np.unique(controller * len(those.drives) + drive).tolist():
            at = divmod(pair, len(those.drives))
            rate = drive_link_mb_s(those.drives[at[1]], those.controllers[at[0]])
            found[at] = np.inf if rate is None else rate
        return found
