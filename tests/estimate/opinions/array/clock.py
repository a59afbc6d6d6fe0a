"""What happens when: events in order of time."""

from __future__ import annotations

from collections.abc import Callable
from heapq import heappop, heappush
from itertools import count
from typing import Any


class Clock:
    """Keeps simulated time, in seconds, and calls what is due."""

    def __init__(self) -> None:
        """Start at zero."""
        self.now = 0.0
        self._due: list[tuple[float, int, Callable[..., None], tuple[Any, ...]]] = []
        self._order = count()

    def at(self, time: float, call: Callable[..., None], *args: Any) -> None:
        """Call something later, never in the past."""
        heappush(self._due, (max(time, self.now), next(self._order), call, args))

    def step(self) -> bool:
        """Do the next thing; tell whether there was one."""
        if not self._due:
            return False
        self.now, _, call, args = heappop(self._due)
        call(*args)
        return True


class Join:
    """Calls something once several things have ended."""

    __slots__ = ("_call", "_left")

    def __init__(self, number: int, call: Callable[[], None]) -> None:
        """Wait for so many, at least one."""
        self._left, self._call = number, call

    def __call__(self) -> None:
        """Count one as ended."""
        self._left -= 1
        if not self._left:
            self._call()
