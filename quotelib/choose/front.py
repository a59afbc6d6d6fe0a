"""Which builds does no other one beat: by net, operations a second, chance of loss and capacity."""

import numpy as np

from quotelib.choose.asking import Asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.judged import kept
from quotelib.choose.picked import Picked
from quotelib.choose.picking import Selection
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Flags
from quotelib.estimate.checks import FloatArray

_FIRST_CHUNK, _WIDER, _MOST_CHUNK = 256, 2, 8192


def front(asked: Asking, *, sound: bool, most: int | None) -> tuple[Candidate, ...]:
    """Give the builds that no other one beats, from the cheapest on.

    One build beats another where it costs no more, does no fewer operations a second, is no
    likelier to lose data and holds no less, and differs in one of these at least. What is not known
    counts as the worst. Of several alike the first in the order of the choice stands for all.

    Builds are looked at in the order of their net, so that only what was seen before can beat what
    comes, but for builds that cost the same, which are sorted out at the end. A build is not
    estimated where one that was kept beats it even at its best speed: what beats that beats it.
    Of the same array in several servers only the cheapest is looked at, as it beats the others.

    Parameters
    ----------
    sound : bool
        Whether those that we advise against are left out.
    most : int or None
        Nothing that costs more minor units, without what is charged once.
    """
    selection = asked.some(sound=sound)
    found = _Front(asked, selection)
    for band in selection.bands(most):
        start, size = 0, _FIRST_CHUNK
        while start < len(band):
            found.look_at(band.take(slice(start, start + size)))
            start, size = start + size, min(size * _WIDER, _MOST_CHUNK)
    left = found.left()
    # What is confirmed below one by one is estimated here together, in a tenth of the time.
    builds = [asked.table.build(int(one.rows[0]), int(one.plans[0])) for one in left]
    asked.judge([Candidate(build, build.usable_bytes) for build in builds])
    return tuple(candidate for picked in left for candidate in asked.confirmed(selection, [picked]))


class _Front:
    """What nothing seen so far beats; points have a row each: operations, safety, capacity."""

    def __init__(self, asked: Asking, selection: Selection) -> None:
        self._asked, self._selection = asked, selection
        self._points = np.empty((0, 3))
        self._parts: list[Picked] = []
        self._seen: Numbers = np.empty(0, dtype=np.int64)

    def look_at(self, picked: Picked) -> None:
        """Take in some builds that cost no less than those before."""
        estimated = self._selection.table.estimated
        keys = self._selection.keys(picked)
        _, first = np.unique(keys, return_index=True)
        first = np.sort(first)
        first = first[~np.isin(keys[first], self._seen)]
        picked, keys = picked.take(first), keys[first]
        if not len(picked):
            return
        points = np.empty((len(picked), 3))
        points[:, 0] = _worst_unknown(estimated.best_speed(keys)[0])
        points[:, 1], points[:, 2] = 0.0, self._usable(picked)
        picked = picked.take(~_beaten(points, self._points))
        some = self._selection.meeting(picked)
        picked = kept(self._asked, self._selection, picked.take(some))
        if not len(picked):
            return
        keys, points = self._selection.keys(picked), np.empty((len(picked), 3))
        points[:, 2] = self._usable(picked)
        points[:, 0] = _worst_unknown(estimated.speed(keys)[0])
        points[:, 1] = _worst_unknown(-estimated.risk(keys)[0])
        left = ~_beaten(points, self._points)
        # Only now is the array done with: the same one elsewhere costs no less.
        self._seen = np.concatenate([self._seen, keys])
        picked, points = picked.take(left), points[left]
        alone = _unbeaten_in_order(points)
        self._points = np.concatenate([self._points, points[alone]])
        self._parts.append(picked.take(alone))

    def _usable(self, picked: Picked) -> Numbers:
        table, rows = self._selection.table, picked.rows
        data = table.plans.data[picked.plans]
        return np.asarray(data * table.sizes[table.at[1][rows], table.at[2][rows]])

    def left(self) -> list[Picked]:
        """Give what is left, one by one, without what another for the same net beats."""
        if not self._parts:
            return []
        net = np.concatenate([part.net for part in self._parts])
        keep = np.ones(len(net), dtype=bool)
        for at in range(len(net)):
            same = np.flatnonzero((net == net[at]) & keep)
            here = self._points[same]
            beats = (here >= self._points[at]).all(axis=1) & (here > self._points[at]).any(axis=1)
            keep[at] = not beats.any()
        every = [part.take(slice(n, n + 1)) for part in self._parts for n in range(len(part))]
        return [one for one, kept_one in zip(every, keep, strict=True) if kept_one]


def _worst_unknown(values: FloatArray) -> FloatArray:
    return np.where(np.isnan(values), -np.inf, values)


def _beaten(points: FloatArray, by: FloatArray) -> Flags:
    """Tell which points are no better in anything than one of some that come before them."""
    found = np.zeros(len(points), dtype=bool)
    for start in range(0, len(points), 1024):
        part = points[start : start + 1024]
        worse = np.ones((len(part), len(by)), dtype=bool)
        for measure in range(points.shape[1]):
            worse &= by[None, :, measure] >= part[:, None, measure]
        found[start : start + 1024] = worse.any(axis=1)
    return found


def _unbeaten_in_order(points: FloatArray) -> Flags:
    """Tell which points none before them beats or equals."""
    keep = np.ones(len(points), dtype=bool)
    for at in range(1, len(points)):
        before = points[:at][keep[:at]]
        keep[at] = not (before >= points[at]).all(axis=1).any()
    return keep
