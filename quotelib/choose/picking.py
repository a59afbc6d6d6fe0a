"""Builds of a table that meet some demands: counted, or picked in the order of the choice.

They are picked in bands of net, each sorted by net and ties, and estimated some at a time as they
come up. A band ends at a net, and what it leaves for later costs more: of a row the net never falls
as drives are added, since every price is 0 or more and discount and freight, each rounded once,
rise by no more than what they are taken of. So no winner is passed over: the first build of the
first band that has one is the first of all.
"""

from collections.abc import Iterator, Sequence
from copy import copy
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from quotelib.choose.demanded import Form
from quotelib.choose.integers import Whole
from quotelib.choose.picked import Picked, fewer, ranges
from quotelib.choose.plans import Allowed, Numbers
from quotelib.choose.sets import Flags, Index
from quotelib.choose.table import Table
from quotelib.choose.weights import last

_FIRST_BAND, _WIDER, _MOST_AT_ONCE = 512, 4, 600_000
_FIRST_CHUNK = 256


class Selection:
    """The builds of a table that meet some demands.

    Parameters
    ----------
    sound : bool
        Whether those are left out that we advise against, where nobody has accepted it.
    accept : tuple of str
        Codes of advice that somebody has accepted.
    only : ndarray of bool, optional
        Which plans are looked at.
    rows : ndarray of bool, optional
        Which rows are.
    """

    def __init__(
        self,
        table: Table,
        forms: Sequence[Form],
        *,
        sound: bool = False,
        accept: tuple[str, ...] = (),
        only: Flags | None = None,
        rows: Flags | None = None,
    ) -> None:
        self.table, self.forms, self.sound, self._accept = table, forms, sound, accept
        self._only = only
        here = np.ones(len(table.least), dtype=bool) if rows is None else rows.copy()
        if sound:
            here &= ~table.advised.rows(accept)
        for one in forms:
            if one.rows is not None:
                here &= one.rows
        most = np.where(here, table.most, 0)
        self.last = np.where(table.idle, 0, np.stack([most, most]))
        self.data = np.zeros(len(table.least), dtype=np.int64)
        for one in forms:
            if one.last is not None:
                self.last = np.minimum(self.last, one.last)
            if one.data is not None:
                self.data = np.maximum(self.data, one.data)
        self.speeds = [one.speed for one in forms if one.speed is not None]
        self.risks = [one.risk for one in forms if one.risk is not None]
        self.alone = [one.demand for one in forms if one.alone]

    def narrowed(
        self, only: Flags | None = None, data: Numbers | None = None, rows: Flags | None = None
    ) -> "Selection":
        """Give those of some plans or rows, or with at least so many members' worth of data."""
        less = copy(self)
        for name in ("allowed", "family"):
            less.__dict__.pop(name, None)
        if only is not None:
            less._only = only if self._only is None else self._only & only
        if data is not None:
            less.data = np.maximum(self.data, data)
        if rows is not None:
            less.last = np.where(rows, self.last, 0)
        return less

    def largest(self) -> "Selection":
        """Give those of the most usable bytes, where nothing is left to be asked of estimates."""
        table = self.table
        sizes = table.sizes[table.at[1], table.at[2]]
        held = np.zeros(len(sizes), dtype=np.int64)
        for kind in (0, 1):
            most = self.allowed.most(self.family, kind, self.last[kind])
            held = np.maximum(held, np.where(self.last[kind] >= table.least, most, 0))
        largest = held * sizes
        # More data than there is where a row does not reach it.
        return self.narrowed(data=np.where(largest == largest.max(initial=0), held, 10**9))

    @cached_property
    def allowed(self) -> Allowed:
        """Sort the plans by what each controller may make of them."""
        table = self.table
        flags = np.concatenate([table.offered, table.offered])
        if self._only is not None:
            flags &= self._only
        if self.sound:
            flags &= ~table.advised.plans(self._accept)
        for one in self.forms:
            if one.plans is not None:
                flags &= one.plans
        return table.allowed(flags)

    @cached_property
    def family(self) -> Numbers:
        """Give of each row which plans it may have."""
        return np.asarray(self.allowed.family[self.table.half])

    @property
    def upper(self) -> int:
        """Count the builds that meet all that takes no look at each; exact where nothing does."""
        total = 0
        for kind in (0, 1):
            upto = self.allowed.count(self.family, kind, self.data, self.last[kind])
            before = self.allowed.count(
                self.family, kind, self.data, np.minimum(self.table.least - 1, self.last[kind])
            )
            total += int((upto - before).sum())
        return total

    def bands(self, most: int | None = None) -> Iterator[Picked]:
        """Give what meets all that takes no look at each build, in order, band by band.

        Nothing that costs more than `most` minor units.
        """
        table = self.table
        fewest = [
            np.maximum(self.allowed.least(self.family, kind, self.data), table.least)
            for kind in (0, 1)
        ]
        found = [np.flatnonzero(fewest[kind] <= self.last[kind]) for kind in (0, 1)]
        rows = np.concatenate(found)
        if not len(rows):
            return
        kinds = np.repeat([0, 1], [len(one) for one in found])
        done = np.concatenate([fewest[k][one] for k, one in enumerate(found)]) - 1
        ends = np.concatenate([self.last[k][one] for k, one in enumerate(found)])
        least = table.weights.net(rows, done + 1, kinds)
        order = np.argsort(least, kind="stable")
        rows, kinds, done, ends, least = (one[order] for one in (rows, kinds, done, ends, least))
        seen, low, size, total = 0, int(least[0]) - 1, _FIRST_BAND, len(rows)
        while seen < total or bool((done < ends).any()):
            if most is not None and low >= most:
                return
            seen = min(seen + size, total)
            high = int(least[seen - 1]) if seen < total else max(low + low // 4 + 1, int(least[-1]))
            if most is not None:
                high = min(high, most)
            picked, upto = self._band(rows, kinds, done, ends, least, low, high)
            low = upto
            size *= _WIDER
            yield picked

    def _band(
        self, rows: Index, kinds: Index, done: Numbers, ends: Numbers, least: Whole, low: int,
        high: int,
    ) -> tuple[Picked, int]:  # fmt: skip
        """Give what costs more than `low` and no more than `high`, or less where that is much."""
        while True:
            some = np.flatnonzero((least <= high) & (done < ends))
            upto = last(
                lambda drives: self.table.weights.net(rows[some], drives, kinds[some]),  # noqa: B023
                done[some] + 1, ends[some], np.asarray(high),
            )  # fmt: skip
            if high <= low + 1 or self._number(rows[some], kinds[some], done[some], upto) <= (
                _MOST_AT_ONCE
            ):
                break
            high = (low + high) // 2
        picked = self._expand(rows[some], kinds[some], done[some], upto)
        done[some] = upto
        return picked, high

    def _number(self, rows: Index, kinds: Index, done: Numbers, upto: Numbers) -> int:
        family, data, total = self.family[rows], self.data[rows], 0
        for kind in (0, 1):
            at = kinds == kind
            of = family[at], kind, data[at]
            more = self.allowed.count(*of, upto[at]) - self.allowed.count(*of, done[at])
            total += int(more.sum())
        return total

    def _expand(self, rows: Index, kinds: Index, done: Numbers, upto: Numbers) -> Picked:
        """List rows with each of their plans of more than `done` drives, up to `upto`, sorted."""
        every, family = self.table.plans, self.family[rows]
        parts: list[tuple[Index, Index]] = []
        for number, pair in enumerate(self.allowed.places):
            for kind, places in enumerate(pair):
                here = np.flatnonzero((family == number) & (kinds == kind) & (upto > done))
                if not len(here) or not len(places):
                    continue
                drives = every.drives[places]
                start = np.searchsorted(drives, done[here], side="right")
                end = np.searchsorted(drives, upto[here], side="right")
                which, plan = ranges(here, start, end)
                parts.append((rows[which], places[plan]))
        if not parts:
            none = np.empty(0, dtype=np.intp)
            return Picked(none, none, np.empty(0, dtype=np.int64))
        at, plan = (np.concatenate(column) for column in zip(*parts, strict=True))
        holds = every.data[plan] >= self.data[at]
        at, plan = at[holds], plan[holds]
        net = self.table.weights.net(at, every.drives[plan], every.is_array[plan])
        return self.sorted(Picked(at, plan, net))

    def sorted(self, picked: Picked) -> Picked:
        """Sort builds in the order of the choice, all sound or none."""
        if len(picked) < 2:
            return picked
        every, (box, controller, drive) = self.table.plans, self.table.ties
        rows, plan = picked.rows, picked.plans
        net = picked.net
        if net.dtype == object:
            net = np.unique(net, return_inverse=True)[1].reshape(-1)
        # The plans stand in the order of drives, level and spans; between come the skus.
        places = every.level * (int(every.spans.max()) + 1) + every.spans
        keys = (places[plan], drive[rows], controller[rows], box[rows], every.drives[plan], net)
        return picked.take(np.lexsort(fewer(keys)))

    def meeting(self, picked: Picked) -> Flags:
        """Tell which of some builds meet what estimates have to answer."""
        found = np.ones(len(picked), dtype=bool)
        risky = bool(self.risks) or self.sound
        if not len(picked) or not (self.speeds or risky):
            return found
        keys, estimated = self.keys(picked), self.table.estimated
        if self.speeds:
            found = self._quick(keys, estimated.best_speed(keys), found)
            found[found] = self._quick(keys[found], estimated.speed(keys[found]), found[found])
        if risky and found.any():
            risks = estimated.risk(keys[found])
            left = np.ones(int(found.sum()), dtype=bool)
            for risk in self.risks:
                left &= risk(risks)
            if self.sound and "loss_over_limit" not in self._accept:
                left &= np.isnan(risks[1])
            found[found] = left
        return found

    def _quick(self, keys: Numbers, columns: NDArray[np.float64], found: Flags) -> Flags:
        left = found.copy()
        for speed in self.speeds:
            left &= speed(columns)
        return left

    def sound_ones(self, picked: Picked, accept: tuple[str, ...]) -> Flags:
        """Tell which of some builds we do not advise against."""
        table, rows = self.table, picked.rows
        found = (
            ~table.advised.rows(accept)[rows]
            & ~table.advised.plans(accept)[table.half[rows], picked.plans]
        )
        if "loss_over_limit" not in accept and found.any():
            found[found] = np.isnan(table.estimated.risk(self.keys(picked)[found])[1])
        return np.asarray(found)

    def keys(self, picked: Picked) -> Numbers:
        """Number builds by what their estimates rest on."""
        table = self.table
        box, controller, drive = (one[picked.rows] for one in table.at)
        at = box, controller, drive
        return table.estimated.keys(at, picked.plans, table.advised.answers[picked.rows])

    def chunks(self, most: int | None = None) -> Iterator[Picked]:
        """Give the builds that meet all but what each has to be asked alone, in order."""
        for band in self.bands(most):
            size, start = _FIRST_CHUNK, 0
            while start < len(band):
                some = band.take(slice(start, start + size))
                start, size = start + size, size * _WIDER
                yield some.take(self.meeting(some))
