"""What lies between drives and host: each drive's link, shared lanes, controller, host link."""

from __future__ import annotations

from heapq import heapreplace

from tests.estimate.opinions.array.clock import Clock
from tests.estimate.opinions.array.parts import Path


class Way:
    """The way of data, each part of it taken by one block at a time.

    A part passes a block on while it comes in: it needs the block's bytes over its own rate, and
    may have begun as much before the block is whole. A lane is held by one drive at a time, at
    the rate of that drive's link. The host link works in both directions at once.
    """

    def __init__(self, clock: Clock, path: Path, drives: int) -> None:
        """Start with everything free."""
        self.clock, self.path = clock, path
        self.shared = path.links_at_once < drives
        self.lanes = [0.0] * (max(int(path.links_at_once), 1) if self.shared else drives)
        self.moved_at = self.worked_at = self.read_at = self.wrote_at = 0.0
        self.commands_s = 1.0 / path.controller_iops
        self.limited = path.controller_iops < float("inf")

    def command(self) -> float:
        """Give when the controller has dealt with one more command for a drive."""
        self.worked_at = max(self.worked_at, self.clock.now) + self.commands_s
        return self.worked_at

    def move(self, drive: int, size: int) -> float:
        """Give when a block that is whole now has come through link, lanes and controller."""
        now, took = self.clock.now, size / (self.path.link_mb_s * 1e6)
        free = self.lanes[0] if self.shared else self.lanes[drive]
        there = max(free + took, now)
        if self.shared:
            heapreplace(self.lanes, there)
        else:
            self.lanes[drive] = there
        self.moved_at = max(self.moved_at + size / (self.path.controller_mb_s * 1e6), there)
        return self.moved_at

    def to_host(self, size: int) -> float:
        """Give when a block that is whole now has reached the host."""
        took = size / (self.path.host_mb_s * 1e6)
        self.read_at = max(self.read_at, self.clock.now - took) + took
        return self.read_at

    def from_host(self, size: int) -> float:
        """Give when a block that the host sends now has come in."""
        self.wrote_at = max(self.wrote_at, self.clock.now) + size / (self.path.host_mb_s * 1e6)
        return self.wrote_at
