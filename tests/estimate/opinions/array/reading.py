"""Reading ahead: what a customer reads one block after another is fetched in large pieces."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from tests.estimate.opinions.array.clock import Join

Fetch = Callable[[int, int, Callable[[], None]], None]


class Stream:
    """One customer's place, and what has been fetched from there on.

    As soon as a customer comes into one piece the next is asked for, so that two are ahead of
    nobody and a lone stream keeps the drives at work. It starts somewhere within a piece that is
    there, with the next one there too, as any moment of a long run would find it.
    """

    def __init__(self, at: int, piece: int, end: int, fetch: Fetch) -> None:
        """Start at a byte of an array of so many."""
        self.at, self.piece, self.end, self.fetch = at, piece, end, fetch
        self.asked = at // piece + 2
        self.coming: dict[int, list[Callable[[], None]]] = {}

    def read(self, size: int, done: Callable[[], None]) -> None:
        """Read the next block."""
        if self.at + size + 3 * self.piece > self.end:
            self.at, self.asked = 0, 0
        first, last = self.at // self.piece, (self.at + size - 1) // self.piece
        self.at += size
        while self.asked <= last + 1:
            number = self.asked
            self.asked += 1
            self.coming[number] = []
            self.fetch(number * self.piece, self.piece, partial(self._came, number))
        missing = [n for n in range(first, last + 1) if n in self.coming]
        if not missing:
            done()
            return
        join = Join(len(missing), done)
        for number in missing:
            self.coming[number].append(join)

    def _came(self, number: int) -> None:
        for waiting in self.coming.pop(number, ()):
            waiting()
