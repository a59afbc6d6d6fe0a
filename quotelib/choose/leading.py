"""Which build of some gives the most of something: capacity, operations a second, safety."""

from collections.abc import Callable
from typing import Literal

import numpy as np

from quotelib.choose.asking import Asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.picked import joined
from quotelib.choose.picking import Selection
from quotelib.choose.plans import Numbers
from quotelib.estimate.checks import FloatArray

_Gives = Callable[[Numbers], FloatArray]
Strength = Literal["level", "most_capacity", "fastest", "least_risk"]
_FIRST_CHUNK, _WIDER = 512, 4


class Leading:
    """The builds of a selection that cost no more than so many minor units, by what they give.

    What a build gives at best is known before it is estimated (`Estimated.best_speed`). They are
    looked at in the order of that bound, until it is below the most that was found: whatever comes
    later gives less. Of those that give the same, the first in the order of the choice leads.
    """

    def __init__(self, asked: Asking, selection: Selection, most: int | None) -> None:
        self._asked, self._selection, self._table = asked, selection, asked.table
        self.picked = joined(list(selection.bands(most)))
        self._keys = selection.keys(self.picked)

    def of(self, kind: Strength) -> Candidate | None:
        """Give the build that leads; None: there is none, or nothing is known of any."""
        estimated = self._table.estimated
        gives: dict[
            str, tuple[Callable[[Numbers], FloatArray], Callable[[Numbers], FloatArray]]
        ] = {
            "fastest": (lambda k: estimated.best_speed(k)[0], lambda k: estimated.speed(k)[0]),
            "least_risk": (lambda k: -estimated.risk(k)[0], lambda k: -estimated.risk(k)[0]),
        }
        if kind in gives:
            bound, exact = gives[kind]
            return self._first(bound(self._keys), lambda at: exact(self._keys[at]))
        usable = self.usable()
        return self._first(usable, lambda at: usable[at])

    def usable(self) -> Numbers:
        """Count the usable bytes of each."""
        table, rows = self._table, self.picked.rows
        data = table.plans.data[self.picked.plans]
        return np.asarray(data * table.sizes[table.at[1][rows], table.at[2][rows]])

    def _first(
        self, bound: FloatArray | Numbers, exact: Callable[[Numbers], FloatArray | Numbers]
    ) -> Candidate | None:
        known = np.flatnonzero(~np.isnan(bound))
        order = known[np.argsort(-bound[known], kind="stable")]
        passed: set[int] = set()
        while True:
            at = self._leader(bound, order, exact, passed)
            if at is None:
                return None
            one = self.picked.take(slice(at, at + 1))
            found = next(iter(self._asked.confirmed(self._selection, [one])), None)
            if found is not None:
                return found
            passed.add(at)

    def _leader(
        self,
        bound: FloatArray | Numbers,
        order: Numbers,
        exact: Callable[[Numbers], FloatArray | Numbers],
        passed: set[int],
    ) -> int | None:
        most, leader = None, None
        start, size = 0, _FIRST_CHUNK
        while start < len(order) and (most is None or bound[order[start]] >= most):
            some = order[start : start + size]
            start, size = start + size, size * _WIDER
            if most is not None:
                some = some[bound[some] >= most]
            some = some[self._selection.meeting(self.picked.take(some))]
            if passed:
                some = some[~np.isin(some, list(passed))]
            given = exact(some)
            some, given = some[~np.isnan(given)], given[~np.isnan(given)]
            if not len(some):
                continue
            best = given.max()
            if most is None or best >= most:
                first = int(some[given == best].min())
                leader = first if leader is None or best > most else min(first, leader)
                most = best
        return leader
