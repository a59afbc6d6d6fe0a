"""A flash drive: places that work side by side, a buffer for writes, and one bus."""

from __future__ import annotations

from collections import deque

from tests.estimate.opinions.array.clock import Clock
from tests.estimate.opinions.array.parts import Flash
from tests.estimate.opinions.array.spinning import Command


class FlashDrive:
    """A flash drive at work.

    Inside, c places serve one page each. A read holds one for what a lone read takes less its
    transfer, and c is such that all of them together reach the rated reads. A write is answered
    from the drive's own protected buffer while that has room, and then holds a place for
    c / rated writes, so that the rated writes come out once the buffer is full. Reads are taken
    before buffered writes. All data pass the bus one after another at the rated rate. What an
    operation takes inside goes by its number and not its bytes, so that large random writes are
    taken at the rated rate of long ones: favourable. A background command uses the bus for no
    more than its share while the host has commands there.
    """

    def __init__(self, clock: Clock, flash: Flash, background_share: float) -> None:
        """Start empty."""
        self.clock, self.flash, self.share = clock, flash, background_share
        inner = flash.read_ms / 1e3 - 4096 / (flash.read_mb_s * 1e6)
        self.places = max(round(flash.read_iops * inner), 1)
        self.read_s = self.places / flash.read_iops
        self.write_s = self.places / flash.write_iops
        self.answer_s = max(flash.write_ms / 1e3 - 4096 / (flash.write_mb_s * 1e6), 0.0)
        self.room = self.places + 32
        self.free, self.bus_at = self.places, 0.0
        self.reads: deque[Command] = deque()
        self.programs = 0
        self.held: deque[Command] = deque()
        self.waiting: deque[Command] = deque()
        self.background: deque[Command] = deque()
        self.background_at, self.background_out = 0.0, 0
        self.inside, self.bus_s, self.inside_s = 0, 0.0, 0.0

    @property
    def load(self) -> int:
        """Count the commands it has."""
        return self.inside + len(self.waiting)

    @property
    def busy_s(self) -> float:
        """Give how long it was busy: the bus or the places, whichever was longer."""
        return max(self.bus_s, self.inside_s / self.places)

    def place(self, start: int) -> float:
        """Every place is as near as any other."""
        return 0.0

    x = 0.0

    def submit(self, command: Command) -> None:
        """Take a command."""
        command.arrived = self.clock.now
        if command.background:
            self.background.append(command)
            self._background()
        elif self.inside < self.flash.depth:
            self._take(command)
        else:
            self.waiting.append(command)

    def _background(self) -> None:
        if not self.background or self.background_out:
            return
        if self.inside and self.clock.now < self.background_at:
            self.clock.at(self.background_at, self._background)
            return
        command = self.background.popleft()
        self.background_out += 1
        rate = self.flash.write_mb_s if command.write else self.flash.read_mb_s
        self.background_at = self.clock.now + command.size / (rate * 1e6) / self.share
        self._take(command)

    def _take(self, command: Command) -> None:
        self.inside += not command.background
        if command.write:
            self.clock.at(self._bus(command), self._buffer, command)
        else:
            self.reads.append(command)
            self._serve()

    def _bus(self, command: Command) -> float:
        rate = self.flash.write_mb_s if command.write else self.flash.read_mb_s
        took = command.size / (rate * 1e6)
        self.bus_at = max(self.bus_at, self.clock.now) + took
        self.bus_s += took
        return self.bus_at

    def _buffer(self, command: Command) -> None:
        if self.room:
            self.room -= 1
            self.programs += 1
            self.clock.at(self.clock.now + self.answer_s, self._end, command)
            self._serve()
        else:
            self.held.append(command)

    def _serve(self) -> None:
        while self.free and (self.reads or self.programs):
            self.free -= 1
            if self.reads:
                self.inside_s += self.read_s
                self.clock.at(self.clock.now + self.read_s, self._was_read, self.reads.popleft())
            else:
                self.programs -= 1
                self.inside_s += self.write_s
                self.clock.at(self.clock.now + self.write_s, self._was_programmed)

    def _was_read(self, command: Command) -> None:
        self.free += 1
        self.clock.at(self._bus(command), self._end, command)
        self._serve()

    def _was_programmed(self) -> None:
        self.free += 1
        self.room += 1
        if self.held:
            self._buffer(self.held.popleft())
        self._serve()

    def _end(self, command: Command) -> None:
        if command.background:
            self.background_out -= 1
            self._background()
        else:
            self.inside -= 1
            if self.waiting:
                self._take(self.waiting.popleft())
        command.done()
