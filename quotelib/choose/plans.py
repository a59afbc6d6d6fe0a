"""In which layouts may drives form an array: all of them, by number of drives, and how many."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from quotelib.build.layout import Layout
from quotelib.choose.sets import Flags
from quotelib.levels import LEVELS, place

Numbers = NDArray[np.int64]


class Plans:
    """Every layout of up to so many drives that agrees with some pins, fewest drives first.

    Equal numbers of drives stand in the order of the ties: by level, then by spans.
    """

    def __init__(
        self, level: str | None, members: int | None, spans: int | None, spares: int, most: int
    ) -> None:
        numbers = range(1, most - spares + 1) if members is None else [members]
        found = [
            Layout(name, number, several, spares)
            for number in numbers
            if number + spares <= most
            for name in ([level] if level else LEVELS)
            for several in LEVELS[name].spans_for(number)
            if spans in (None, several)
        ]
        found.sort(key=lambda one: (one.drives, place(one.level), one.spans))
        self.layouts = tuple(found)
        rules = [one.rule for one in found]
        self.level = self._of([place(one.level) for one in found])
        self.drives = self._of([one.drives for one in found])
        self.members = self._of([one.members for one in found])
        self.spans = self._of([one.spans for one in found])
        self.data = self._of([one.data_members for one in found])
        self.survives = self._of([rule.survives for rule in rules])
        self.parity = self._of([rule.parity_per_span for rule in rules])
        self.copies = self._of([rule.copies for rule in rules])
        self.is_array = np.array([rule.is_array for rule in rules], dtype=np.intp)
        self.most = most

    @staticmethod
    def _of(values: list[int]) -> Numbers:
        return np.array(values, dtype=np.int64)

    def __len__(self) -> int:
        """Count them."""
        return len(self.layouts)


def plans(
    level: str | None, members: int | None, spans: int | None, spares: int, most: int
) -> Plans:
    """Give all layouts that agree with pins; they are the same for many enquiries."""
    return _plans(level, members, spans, spares, most, tuple(LEVELS.values()))


@lru_cache(maxsize=64)
def _plans(
    level: str | None, members: int | None, spans: int | None, spares: int, most: int, _: object
) -> Plans:
    return Plans(level, members, spans, spares, most)


class Allowed:
    """Which of some plans are allowed, controller by controller, and how many hold how much.

    Controllers that allow the same stand together (`family`).

    Parameters
    ----------
    flags : ndarray of bool
        Shape (controllers, plans).
    """

    def __init__(self, every: Plans, flags: Flags) -> None:
        self.every = every
        distinct, family = flags[:1], np.zeros(len(flags), dtype=np.intp)
        if len(every):
            distinct, family = np.unique(flags, axis=0, return_inverse=True)
        self.family = family.reshape(-1)
        # For each family and kind (no array, an array): the places of its plans, fewest drives
        # first.
        self.places = [
            [np.flatnonzero(row & (every.is_array == kind)) for kind in (0, 1)] for row in distinct
        ]
        self._most_data = int(every.data.max(initial=0)) + 1
        shape = (len(distinct), 2, self._most_data + 1, every.most + 1)
        self.counted = np.zeros(shape, dtype=np.int64)
        self.fewest = np.full((len(distinct), 2, self._most_data + 1), every.most + 1)
        for number, pair in enumerate(self.places):
            for kind, those in enumerate(pair):
                at = self.counted[number, kind]
                np.add.at(at, (every.data[those], every.drives[those]), 1)
                # How many hold at least so much with at most so many drives.
                at[...] = at[::-1].cumsum(axis=0)[::-1].cumsum(axis=1)
                there = at > 0
                first = np.where(there.any(axis=1), there.argmax(axis=1), every.most + 1)
                self.fewest[number, kind] = first

    def count(self, family: Numbers, kind: int, data: Numbers, drives: Numbers) -> Numbers:
        """Count the plans that hold at least `data` members' worth with at most so many drives."""
        held = np.minimum(np.maximum(data, 0), self._most_data)
        most = np.minimum(np.maximum(drives, 0), self.every.most)
        return np.asarray(self.counted[family, kind, held, most])

    def least(self, family: Numbers, kind: int, data: Numbers) -> Numbers:
        """Give the fewest drives that hold so much; more than there are where none do."""
        held = np.minimum(np.maximum(data, 0), self._most_data)
        return np.asarray(self.fewest[family, kind, held])

    def most(self, family: Numbers, kind: int, drives: Numbers) -> Numbers:
        """Give the most members' worth of data that at most so many drives hold; 0: none do."""
        upto = np.minimum(np.maximum(drives, 0), self.every.most)
        # Plans that hold at least so much grow fewer as it grows.
        held = (self.counted[:, kind] > 0).sum(axis=1) - 1
        return np.asarray(np.maximum(held, 0)[family, upto])
