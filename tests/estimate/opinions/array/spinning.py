"""A disk: where its arm and its platter are, and which command it takes next."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from math import sqrt

from tests.estimate.opinions.array.clock import Clock
from tests.estimate.opinions.array.parts import Disk

_SHORT = 0.25
"""Share of the stroke up to which a seek goes by the root of its length."""
_ROOT_MEAN: float = 2 * (2 / 3 * _SHORT**1.5 - 2 / 5 * _SHORT**2.5)
_SLIP = 1e-6
"""Turns by which rounding may miss an angle."""


class Command:
    """One command for one drive, with its place in bytes from the rim."""

    __slots__ = (
        "arrived", "background", "done", "last", "long", "size", "start", "turn", "write", "x",
    )  # fmt: skip

    def __init__(
        self,
        write: bool,
        start: int,
        size: int,
        done: Callable[[], None],
        background: bool = False,
        long: bool = False,
    ) -> None:
        """Take a command; the drive fills in the place. `long`: part of a stream."""
        self.write, self.start, self.size, self.done = write, start, size, done
        self.background, self.long = background, long
        self.arrived = self.x = self.turn = self.last = 0.0


class Spinning:
    """A disk at work.

    The track is a spiral of constant density from the rim inwards, where a turn holds half as
    much: at x of the stroke the rate is (1 - x/2) of that at the rim, so that the bytes up to x are
    (x - x^2/4) / (3/4) of all. Angle and time of a transfer follow from turns along the spiral;
    skews and switches between surfaces are in the sustained rate. A seek over d of the stroke
    takes a + b sqrt(d), beyond a quarter of the stroke it goes on in a straight line (the form in
    Ruemmler and Wilkes, IEEE Computer 27(3), 1994, from memory); a is the settling time, and b is
    such that the mean over pairs of random tracks is the average seek. Its own cache of writes is
    off, as it is in arrays. After a read it reads on while it has nothing else to do.
    """

    def __init__(
        self, clock: Clock, disk: Disk, background_share: float, phase: float = 0.0
    ) -> None:
        """Start with the arm at the rim and the platter at some part of a turn."""
        self.clock, self.disk, self.phase = clock, disk, phase
        self.ahead_s = disk.buffer_bytes / (disk.rate_mb_s * 1e6)
        self.turn_s = 60.0 / disk.rpm
        self.turns = disk.bytes / (0.75 * disk.rate_mb_s * 1e6 * self.turn_s)
        self.settle: float = disk.settle_ms / 1e3
        # Beyond the quarter: sqrt(1/4) + (d - 1/4), the tangent; its mean over random pairs.
        straight = 2 * (0.25 * 0.75 + 0.375 * (1 - 1 / 16) - (1 - 1 / 64) / 3)
        self.slope: float = (disk.seek_ms / 1e3 - self.settle) / (_ROOT_MEAN + straight)
        self.x = self.along = 0.0
        self.read_to, self.passed, self.written_to = -1, 0.0, -1
        self.queue: list[Command] = []
        self.waiting: deque[Command] = deque()
        self.background: deque[Command] = deque()
        self.share, self.host_s, self.background_s = background_share, 0.0, 0.0
        self.busy, self.busy_s = False, 0.0

    @property
    def load(self) -> int:
        """Count the commands it has."""
        return len(self.queue) + len(self.waiting) + self.busy

    def place(self, start: int) -> float:
        """Give the share of the stroke at which a byte lies."""
        return 2.0 - sqrt(4.0 - 3.0 * min(start / self.disk.bytes, 1.0))

    def submit(self, command: Command) -> None:
        """Take a command."""
        command.arrived = self.clock.now
        command.x = self.place(command.start)
        command.turn = command.x * self.turns
        command.last = self.place(command.start + command.size) * self.turns
        if command.background:
            self.background.append(command)
        elif len(self.queue) + self.busy < self.disk.depth:
            self.queue.append(command)
        else:
            self.waiting.append(command)
        if not self.busy:
            self._next()

    def seek_s(self, distance: float) -> float:
        """Give the time of a seek over some share of the stroke, above zero."""
        if distance < _SHORT:
            return self.settle + self.slope * sqrt(distance)
        return self.settle + self.slope * (0.25 + distance)

    def _read_on(self, command: Command) -> bool:
        """Tell whether it comes to a command by reading on from the last read."""
        ahead = command.start - self.read_to
        return not command.write and self.read_to >= 0 and 0 <= ahead <= self.disk.buffer_bytes

    def _skipped(self, command: Command) -> float:
        return (command.turn - self.along) * self.turn_s

    def positioning(self, command: Command) -> float:
        """Give the time until its first byte passes under the head, if it went there now."""
        now = self.clock.now
        if self._read_on(command):
            return max(self.passed + self._skipped(command) - now, 0.0)
        if command.start == self.written_to and command.write:
            wait = 0.0
        elif abs(command.turn - self.along) < 1.0:
            wait = self.disk.command_ms / 1e3
        else:
            wait = self.seek_s(abs(command.x - self.x)) + self.disk.command_ms / 1e3
            if command.write:
                wait += self.disk.write_settle_ms / 1e3
        turned = command.turn - (now + wait) / self.turn_s - self.phase + _SLIP
        return wait + max(turned % 1.0 - _SLIP, 0.0) * self.turn_s

    def _choose(self) -> Command:
        if self.background:
            both = self.host_s + self.background_s
            if not self.queue or self.background_s < self.share * both:
                return self.background.popleft()
        if not self.disk.sorts or len(self.queue) == 1:
            return self.queue.pop(0)
        now, ageing, best, least = self.clock.now, self.disk.ageing, 0, 1e9
        older_long = False
        for i, command in enumerate(self.queue):
            # Streams take turns, in order of arrival: else the one that is under way, which needs
            # no positioning, would keep the drive.
            if command.long:
                if older_long:
                    continue
                older_long = True
            cost = self.positioning(command) - ageing * (now - command.arrived)
            if cost < least:
                best, least = i, cost
        return self.queue.pop(best)

    def _next(self) -> None:
        contested = bool(self.queue and self.background)
        command = self._choose()
        now, transfer = self.clock.now, (command.last - command.turn) * self.turn_s
        if self._read_on(command):
            # It has been reading on since the last byte passed, as far as its buffer goes.
            since = max(self.passed, now - self.ahead_s)
            self.passed = since + self._skipped(command) + transfer
            end = max(now, self.passed)
        else:
            end = self.passed = now + self.positioning(command) + transfer
        self.x, self.along = command.last / self.turns, command.last
        self.read_to = -1 if command.write else command.start + command.size
        self.written_to = command.start + command.size if command.write else -1
        self.busy = True
        self.busy_s += end - now
        if contested and command.background:
            self.background_s += end - now
        elif contested:
            self.host_s += end - now
        self.clock.at(end, self._end, command)

    def _end(self, command: Command) -> None:
        self.busy = False
        if self.waiting and len(self.queue) < self.disk.depth:
            self.queue.append(self.waiting.popleft())
        if self.queue or self.background:
            self._next()
        command.done()
