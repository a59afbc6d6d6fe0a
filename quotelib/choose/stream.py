"""What a search puts together: a server without drives, and arrays in rising order of cost."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from heapq import heappop, heappush
from typing import NamedTuple

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.slots import host_link_mb_s
from quotelib.catalogue.parts import Controller, Drive
from quotelib.choose.candidate import Candidate
from quotelib.choose.packages import Package


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


class Half(NamedTuple):
    """One array as it may stand in a server, with what it adds to the price of all builds."""

    cost: Decimal
    key: tuple[int, str, int, int]
    array: Array
    candidate: Candidate


class Stream:
    """Arrays for one place in a server in rising order of cost, worked out as they are needed."""

    def __init__(
        self, units: list[tuple[Decimal, str, Drive]], halves_of: Callable[[Drive], list[Half]]
    ) -> None:
        self._units, self._halves_of = units, halves_of
        self._ready: list[tuple[Decimal, tuple[object, ...], Half]] = []
        self._given: list[Half] = []

    def get(self, index: int) -> Half | None:
        """Give the array at a place of that order; None beyond the last."""
        while len(self._given) <= index:
            while self._units and (not self._ready or self._units[0][0] <= self._ready[0][0]):
                for half in self._halves_of(self._units.pop(0)[2]):
                    heappush(self._ready, (half.cost, half.key, half))
            if not self._ready:
                return None
            self._given.append(heappop(self._ready)[2])
        return self._given[index]
