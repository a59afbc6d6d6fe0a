"""A protected cache of writes: what waits in it, and how it goes to the drives."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from random import Random

import numpy as np

Destage = Callable[[int, int, Callable[[], None]], None]


@dataclass
class Run:
    """What one stream of writes has in the cache."""

    at: int  # where the stream goes on
    since: int  # from where on it is in the cache
    under_way: int = 0  # pieces on their way to the drives
    waiting: deque[Callable[[], None]] = field(default_factory=deque)


class WriteBack:
    """Writes wait here, sorted, until they go to the drives.

    Single blocks are kept until the cache is nearly full (there they may be joined by neighbours
    or written again), then go to the drives in rising order of address, round and round, the
    more at once the fuller it is; the drives order what they have been given. A stream's blocks
    go as soon as they make a piece of whole stripes; each stream has room for two. When there is
    no room a write waits. The run starts with the cache as hours of such a load leave it: nearly
    full, with blocks the denser the longer ago the sweep passed. Flash has nothing to gain from
    order, so that its blocks go at once and the run starts empty.
    """

    def __init__(
        self,
        room: int,
        block: int,
        piece: int,
        space: int,
        at_once: int,
        eager: bool,
        random: Random,
        destage: Destage,
        destage_long: Destage,
    ) -> None:
        """Hold `room` blocks of single writes; `at_once` go to the drives together."""
        self.room, self.block, self.piece, self.space = max(room, 2), block, piece, space
        self.at_once, self.eager = at_once, eager
        self.destage, self.destage_long = destage, destage_long
        self.band = min(max(2 * at_once, 64), self.room // 2)
        self.under_way, self.sweep = 0, random.randrange(space // block)
        self.held = 0 if eager else self.room - self.band // 2
        draw = np.random.default_rng(random.getrandbits(32))
        # Single writes fall anywhere; a place was last swept as long ago as it is near ahead.
        ahead = np.unique(((1 - np.sqrt(draw.random(self.held))) * (space // block)).astype(int))
        self.old: list[int] = ((self.sweep + ahead) % (space // block)).tolist()[::-1]
        self.held = len(self.old)
        self.fresh: list[int] = []
        self.waiting: deque[tuple[int, Callable[[], None]]] = deque()
        self.pieces: deque[Run] = deque()

    def write(self, address: int, done: Callable[[], None]) -> None:
        """Take a single block, now or when there is room."""
        if self.held >= self.room:
            self.waiting.append((address, done))
        else:
            self.held += 1
            insort(self.fresh, address // self.block)
            done()
        self._send()

    def append(self, run: Run, size: int, done: Callable[[], None]) -> None:
        """Take the next block of a stream, now or when one of its pieces is written."""
        if run.under_way > 1:
            run.waiting.append(partial(self.append, run, size, done))
            return
        run.at += size
        while run.at - run.since >= self.piece:
            self._piece(run)
        done()

    def _piece(self, run: Run) -> None:
        start, run.since = run.since, run.since + self.piece
        run.under_way += 1
        if run.since + 3 * self.piece > self.space:
            run.at = run.since = 0
        self.destage_long(start, self.piece, partial(self._written, run))

    def _written(self, run: Run) -> None:
        run.under_way -= 1
        for _ in range(len(run.waiting)):
            run.waiting.popleft()()

    def _allowed(self) -> int:
        if self.eager:
            return self.at_once
        over = (self.held - (self.room - self.band)) / self.band
        return int(self.at_once * min(max(over, 0.0), 1.0))

    def _next(self) -> int | None:
        """Take the next block in order of address from the sweep on."""
        blocks = self.space // self.block
        at = bisect_left(self.fresh, self.sweep)
        fresh = self.fresh[at % len(self.fresh)] if self.fresh else None
        if fresh is None and not self.old:
            return None
        far = blocks + 1
        near_old = (self.old[-1] - self.sweep) % blocks if self.old else far
        near_new = far if fresh is None else (fresh - self.sweep) % blocks
        if near_old <= near_new:
            found = self.old.pop()
        else:
            found = self.fresh.pop(at % len(self.fresh))
        self.sweep = found
        return found

    def _send(self) -> None:
        while self.under_way < self._allowed():
            first = self._next()
            if first is None:
                return
            count = 1
            while self.old and self.old[-1] == first + count:
                self.old.pop()
                count += 1
            self.under_way += 1
            self.destage(first * self.block, count * self.block, partial(self._went, count))

    def _went(self, count: int) -> None:
        self.under_way -= 1
        self.held -= count
        while self.waiting and self.held < self.room:
            address, done = self.waiting.popleft()
            self.held += 1
            insort(self.fresh, address // self.block)
            done()
        self._send()
