"""What a search puts together: a server without drives, and arrays in rising order of cost."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np

from quotelib.build.build import Build
from quotelib.build.slots import host_link_mb_s
from quotelib.catalogue.parts import Controller
from quotelib.choose.packages import Package
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Flags
from quotelib.choose.wanted import Wanted, Ways

_FIRST_CHUNK, _WIDER = 64, 4


@dataclass(frozen=True)
class Frame:
    """A server without its drives: chassis, controllers array by array, options.

    Parameters
    ----------
    build : Build
        Without arrays.
    cost : Decimal
        What it costs in any case, as `Shares` counts.
    """

    build: Build
    cost: Decimal
    controllers: tuple[Controller, ...]
    package: Package

    @cached_property
    def watts(self) -> Decimal:
        """Give what it draws without drives."""
        return self.build.watts

    @cached_property
    def links(self) -> tuple[float | None, ...]:
        """Give the payload rate of the host link behind each array, in MB/s."""
        return tuple(host_link_mb_s(self.build, one) for one in self.controllers)


@dataclass(frozen=True, slots=True)
class Half:
    """One array as it may stand in a server, with what it adds to the price at least."""

    cost: float
    row: int
    plan: int
    advised: bool


class Stream:
    """Arrays for one place in a server in rising order of cost, estimated as they are needed.

    Of the plans of one row one is left out where a cheaper one that comes first in the order of the
    choice (and so takes no more drives) does all that the array was asked, and has no advice
    against it where this one has none: in any server that holds the first, the second fits as well,
    costs no more and is ranked before it. Where a service was chosen that is done array by array
    (`by_array`), drives passed through make no array needless; where a day of shipping is named,
    no array makes drives passed through needless, which are ready sooner.
    """

    def __init__(
        self, wanted: Wanted, ways: Ways, hangs: tuple[float | None, int], protected: bool,
        by_array: bool,
    ) -> None:  # fmt: skip
        self._wanted, self.ways, self._hangs = wanted, ways, hangs
        self._protected, self._by_array = protected, by_array
        self._given: list[Half] = []
        self._start, self._size = 0, _FIRST_CHUNK
        # By row: the first in the order of the choice that was kept; without advice, and an array.
        self._kept: dict[tuple[int, bool, bool], int] = {}

    def get(self, index: int) -> Half | None:
        """Give the array at a place of that order; None beyond the last."""
        while len(self._given) <= index:
            if self._start >= len(self.ways):
                return None
            some = self.ways.take(slice(self._start, self._start + self._size))
            self._start, self._size = self._start + self._size, self._size * _WIDER
            self._take_in(some)
        return self._given[index]

    def _needless(self, row: int, order: int, advised: bool, is_array: bool) -> bool:
        apart = self._by_array if is_array else self._wanted.dated
        made = (is_array,) if apart else (True, False)
        kept = [
            self._kept.get((row, against, array), order)
            for against in ((False, True) if advised else (False,))
            for array in made
        ]
        return min(kept) < order

    def _take_in(self, some: Ways) -> None:
        every = self._wanted.table.plans
        is_array = every.is_array[some.plans] > 0
        of = list(zip(some.rows.tolist(), some.order.tolist(), is_array.tolist(), strict=True))
        left = np.array([not self._needless(row, order, False, a) for row, order, a in of])
        some, is_array = some.take(left), is_array[left]
        met, advised = self.judged(some)
        for at in np.flatnonzero(met).tolist():
            row, order, against = int(some.rows[at]), int(some.order[at]), bool(advised[at])
            if self._needless(row, order, against, bool(is_array[at])):
                continue
            key = (row, against, bool(is_array[at]))
            self._kept[key] = min(self._kept.get(key, order), order)
            self._given.append(Half(float(some.cost[at]), row, int(some.plans[at]), against))

    def keys(self, some: Ways) -> Numbers:
        """Number arrays by what their estimates rest on."""
        table = self._wanted.table
        box, controller, drive = (one[some.rows] for one in table.at)
        answers = table.advised.answers[some.rows] | self._protected
        at = box, controller, drive
        return table.estimated.keys(at, some.plans, answers, self._hangs)

    def judged(self, some: Ways) -> tuple[Flags, Flags]:
        """Tell which arrays do what they were asked, and which we advise against."""
        wanted, table = self._wanted, self._wanted.table
        estimated, keys = table.estimated, self.keys(some)
        met = np.ones(len(some), dtype=bool)
        if any(one.alone for one in wanted.forms):
            for at in np.flatnonzero(met).tolist():
                met[at] = wanted.meets_alone(int(some.rows[at]), int(some.plans[at]))
        speeds = [one.speed for one in wanted.forms if one.speed is not None]
        for columns in (estimated.best_speed, estimated.speed) if speeds else ():
            if met.any():
                found = columns(keys[met])
                met[met] = np.all([speed(found) for speed in speeds], axis=0)
        accept = wanted.row.accept
        against = table.advised.plans(accept)[table.half[some.rows], some.plans]
        advised = table.advised.rows(accept)[some.rows] | against
        if met.any():
            risks = estimated.risk(keys[met])
            if "loss_over_limit" not in accept:
                advised[met] |= ~np.isnan(risks[1])
            left = np.ones(risks.shape[1], dtype=bool)
            for one in wanted.forms:
                if one.risk is not None:
                    left &= one.risk(risks)
            met[met] = left
        if wanted.sound:
            met &= ~advised
        return met, advised
