"""Estimates of the builds of a table, worked out as they are asked for, each different one once."""

from collections.abc import Callable
from threading import Lock

import numpy as np

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import estimates
from quotelib.choose.enumeration import array_of
from quotelib.choose.plans import Numbers, Plans
from quotelib.choose.sets import Flags, Index, Listed
from quotelib.enquiry.enquiry import Enquiry
from quotelib.estimate.capacity import STRIP_KIB, drive_bytes
from quotelib.estimate.checks import FloatArray
from quotelib.predict import inputs, workings
from quotelib.predict.screening import risk_of, speed_at_best, speed_of
from quotelib.units import KIB

_MOST_SHARING, _MOST_RATES = 8, 4096
"""More arrays than a server has, and more different rates than host links have."""
_AT_ONCE = 65_536
"""Arrays laid out at once, for memory."""


class _Known:
    """What was worked out of some keys, and how to work out more.

    In pieces, each at least twice as long as the next, so that what is added is not copied anew
    each time.
    """

    def __init__(self, columns: int, work_out: Callable[[Numbers], list[FloatArray]]) -> None:
        # Keys in order, and what was found of each: one tuple, as threads may look at once.
        self._found: tuple[tuple[Numbers, FloatArray], ...] = ()
        self._columns, self._work_out = columns, work_out

    def get(self, keys: Numbers) -> FloatArray:
        distinct, back = np.unique(keys, return_inverse=True)
        found = np.empty((self._columns, len(distinct)))
        new = np.ones(len(distinct), dtype=bool)
        for known, values in self._found:
            place = np.minimum(np.searchsorted(known, distinct), len(known) - 1)
            there = known[place] == distinct
            found[:, there], new = values[:, place[there]], new & ~there
        if new.any():
            more = distinct[new]
            starts = range(0, len(more), _AT_ONCE)
            parts = [np.array(self._work_out(more[at : at + _AT_ONCE])) for at in starts]
            found[:, new] = np.concatenate(parts, axis=1)
            self._found = _joined((*self._found, (more, found[:, new])))
        return found[:, back.reshape(-1)]


def _joined(
    pieces: tuple[tuple[Numbers, FloatArray], ...],
) -> tuple[tuple[Numbers, FloatArray], ...]:
    """Put the last pieces together until each is at least twice as long as the next."""
    while len(pieces) > 1 and len(pieces[-2][0]) < 2 * len(pieces[-1][0]):
        *left, one, other = pieces
        keys = np.concatenate([one[0], other[0]])
        order = np.argsort(keys, kind="stable")
        values = np.concatenate([one[1], other[1]], axis=1)
        pieces = (*left, (keys[order], values[:, order]))
    return pieces


class Estimated:
    """Estimates of arrays by drive, controller, plan and what they hang on.

    Parameters
    ----------
    sizes : ndarray
        Bytes of a member by controller and drive.
    links : ndarray
        Payload rate of the host link by chassis and controller; infinite: not known.
    """

    def __init__(
        self,
        prices: PriceList,
        row: Enquiry,
        listed: Listed,
        every: Plans,
        sizes: Numbers,
        links: FloatArray,
    ) -> None:
        self._prices, self._row, self._listed, self._every = prices, row, listed, every
        self._sizes = sizes
        self._load = row.load(prices) or workings.NEUTRAL
        self._rates: dict[float, int] = {}
        self._lock = Lock()
        self._link = np.array([[self._rate(one) for one in line] for line in links.tolist()])
        names = [box.backplane for box in listed.boxes]
        self._backplanes = list(dict.fromkeys(names))
        self._backplane = np.array([self._backplanes.index(name) for name in names])
        self._bytes = np.array(
            [drive_bytes(d.capacity_gb, int(d.block_bytes)) for d in listed.drives], dtype=float
        )
        self._rows: dict[tuple[int, int, int], tuple[float, ...]] = {}
        self._speed, self._bounds = _Known(3, self._speeds), _Known(3, self._best_speeds)
        self._risk = _Known(2, self._risks)
        self._radix = (2, _MOST_SHARING, max(len(names), 1), _MOST_RATES, max(len(every), 1),
                       max(len(listed.controllers), 1))  # fmt: skip

    def _rate(self, mb_s: float) -> int:
        with self._lock:
            return self._rates.setdefault(mb_s, len(self._rates))

    def keys(
        self,
        at: tuple[Index, Index, Index],
        plan: Index,
        protected: Flags,
        hangs: tuple[float | None, int] | None = None,
    ) -> Numbers:
        """Number the arrays of some builds; those that estimates cannot tell apart alike.

        Parameters
        ----------
        hangs : tuple of (float or None, int), optional
            Payload rate of the controller's host link (None: not known), and how many arrays share
            the controller; by default that of its chassis without anything else, for one array.
        """
        box, controller, drive = at
        link, sharing = self._link[box, controller], 1
        if hangs is not None:
            link = np.asarray(self._rate(np.inf if hangs[0] is None else hangs[0]))
            sharing = hangs[1]
        key = drive.astype(np.int64)
        parts = (controller, plan, link, self._backplane[box], sharing, protected)
        for part, many in zip(parts, self._radix[::-1], strict=True):
            key = np.asarray(key * many + np.asarray(part), dtype=np.int64)
        return key

    def _apart(self, keys: Numbers) -> list[Numbers]:
        """Give protected, sharing, backplane, link, plan, controller and drive of some keys."""
        found = []
        for many in self._radix:
            found.append(keys % many)
            keys = keys // many
        return [*found, keys]

    def speed(self, keys: Numbers) -> FloatArray:
        """Estimate operations a second, MB/s and response time: one row each, NaN: not known."""
        return self._speed.get(keys)

    def risk(self, keys: Numbers) -> FloatArray:
        """Estimate the chances of `Screened`: one row each, NaN: not known, or none."""
        return self._risk.get(keys)

    def best_speed(self, keys: Numbers) -> FloatArray:
        """Bound `speed` from the better side.

        An array whose bound does not meet a demand does not meet it.
        """
        return self._bounds.get(keys)

    @property
    def bounded(self) -> bool:
        """Tell whether `at_best` can be asked: not of arrays of two kinds of drive."""
        return self._listed.drive_before is None

    def _speeds(self, keys: Numbers) -> list[FloatArray]:
        return speed_of(self._inputs(keys), self._load) if self.bounded else self._both(keys)[:3]

    def _risks(self, keys: Numbers) -> list[FloatArray]:
        if not self.bounded:
            return self._both(keys)[3:]
        return risk_of(self._inputs(keys), self._load, self._prices.terms.risk)

    def _best_speeds(self, keys: Numbers) -> list[FloatArray]:
        if not self.bounded:
            return self._speeds(keys)
        return speed_at_best(self._inputs(keys), self._load)

    def _both(self, keys: Numbers) -> list[FloatArray]:
        found = estimates(self._behind(keys), self._prices, self._row.load(self._prices))
        return list(np.array(found, dtype=float).T)

    def _inputs(self, keys: Numbers) -> inputs.Inputs:
        protected, sharing, backplane, link, plan, controller, drive = self._apart(keys)
        pairs, back = np.unique(
            (drive * len(self._listed.controllers) + controller) * len(self._backplanes)
            + backplane,
            return_inverse=True,
        )
        table = np.array([self._drive_row(int(pair)) for pair in pairs])[back.reshape(-1)]
        plans = self._every
        layout = np.empty((len(keys), 11))
        is_array = plans.is_array[plan] > 0
        columns = (
            plans.members[plan], plans.spans[plan], plans.parity[plan], plans.copies[plan],
            np.full(len(keys), self._row.spares or 0), np.array(list(self._rates))[link], sharing,
            self._sizes[controller, drive], self._bytes[drive],
            np.where(is_array, STRIP_KIB * KIB, np.inf), protected,
        )  # fmt: skip
        for at, column in enumerate(columns):
            layout[:, at] = column
        return inputs.of_numbers(table, layout, is_array)

    def _drive_row(self, pair: int) -> tuple[float, ...]:
        rest, backplane = divmod(pair, len(self._backplanes))
        drive, controller = divmod(rest, len(self._listed.controllers))
        key = (drive, controller, backplane)
        if key not in self._rows:
            self._rows[key] = inputs.drive_row(
                self._listed.drives[drive],
                self._listed.controllers[controller],
                self._backplanes[backplane],
            )
        return self._rows[key]

    def _behind(self, keys: Numbers) -> list[inputs.Behind]:
        listed, rates = self._listed, list(self._rates)
        made = []
        for protected, sharing, backplane, link, plan, controller, drive in zip(
            *(column.tolist() for column in self._apart(keys)), strict=True
        ):
            skus = listed.controllers[controller].sku, listed.drives[drive].sku
            array = array_of(self._prices, self._row, *skus, self._every.layouts[plan])
            host = None if np.isinf(rates[link]) else rates[link]
            name = self._backplanes[backplane]
            made.append(inputs.Behind(array, host, sharing, name, bool(protected)))
        return made
