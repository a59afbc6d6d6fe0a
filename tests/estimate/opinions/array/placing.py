"""Where data lie in an array, and which operations of drives one of the host's becomes."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tests.estimate.opinions.array.parts import Array

Extent = tuple[int, int, int]
"""Drive, first byte, bytes."""
Pick = Callable[[list[int], int], int]
"""Chooses one of some drives that hold the same bytes."""


def merged(extents: Iterable[Extent]) -> list[Extent]:
    """Join what touches or overlaps on a drive: one command reads it."""
    found: list[Extent] = []
    for drive, start, size in sorted(extents):
        if found and found[-1][0] == drive and found[-1][1] + found[-1][2] >= start:
            _, first, before = found[-1]
            found[-1] = (drive, first, max(before, start + size - first))
        else:
            found.append((drive, start, size))
    return found


class Placing:
    """Strips over groups of drives.

    A group is a span or a set of mirrors. Strip after strip goes over the data drives of a group,
    then of the next; a row is one strip of each drive. The parity of a row moves by one drive from
    row to row, and data follow it (the left-symmetric layout of Chen et al., ACM Computing Surveys
    26(2), 1994, figure 4; from memory). `failed` is the number of a drive that is gone, or -1.
    """

    def __init__(self, array: Array, drive_bytes: int, failed: int = -1) -> None:
        """Lay an array out over drives of so many bytes."""
        self.array, self.failed, self.strip = array, failed, array.strip_bytes
        mirrored = array.copies > 1
        self.groups = array.members // array.copies if mirrored else array.spans
        self.drives = array.members // self.groups
        self.parity = array.parity
        self.data = 1 if mirrored else self.drives - self.parity
        self.rows = drive_bytes // self.strip
        self.row_bytes = self.groups * self.data * self.strip
        self.bytes = self.rows * self.row_bytes
        if array.one_by_one:
            self.row_bytes, self.bytes = self.strip, array.members * self.rows * self.strip

    def _strips(self, address: int, size: int) -> Iterable[tuple[int, int, int, int, int]]:
        """Cut a piece: group, row, data strip in the row, and from where to where in it."""
        end = address + size
        while address < end:
            strip, low = divmod(address, self.strip)
            high = min(self.strip, low + end - address)
            row, rest = divmod(strip, self.groups * self.data)
            group, place = divmod(rest, self.data)
            yield group, row, place, low, high
            address += high - low

    def _drive(self, group: int, row: int, place: int) -> int:
        """Give the drive of a data strip; places from `data` on are parity."""
        if not self.parity:
            return group * self.drives + place
        first = self.drives - 1 - row % self.drives
        if place >= self.data:
            return group * self.drives + (first + place - self.data) % self.drives
        return group * self.drives + (first + self.parity + place) % self.drives

    def _by_itself(self, address: int, size: int) -> list[Extent]:
        drive, start = divmod(address, self.rows * self.strip)
        return [(drive, start, size)]

    def copies(self, group: int) -> list[int]:
        """List the drives of a set of mirrors that are there."""
        first = group * self.drives
        return [d for d in range(first, first + self.drives) if d != self.failed]

    def reads(self, address: int, size: int, pick: Pick) -> list[Extent]:
        """List what is read of drives for a read of the host."""
        if self.array.one_by_one:
            return self._by_itself(address, size)
        found: list[Extent] = []
        chosen: dict[int, int] = {}
        for group, row, place, low, high in self._strips(address, size):
            start, long = row * self.strip + low, high - low
            if self.array.copies > 1:
                if group not in chosen:
                    chosen[group] = pick(self.copies(group), start)
                found.append((chosen[group], start, long))
                continue
            drive = self._drive(group, row, place)
            if drive != self.failed:
                found.append((drive, start, long))
                continue
            # As many others as there are data strips give it back, data first.
            others = [self._drive(group, row, p) for p in range(self.drives) if p != place]
            found += [(other, start, long) for other in others[: self.data]]
        return merged(found)

    def writes(self, address: int, size: int) -> tuple[list[Extent], list[Extent]]:
        """List what is read first and then written on drives for a write of the host."""
        if self.array.one_by_one:
            return [], self._by_itself(address, size)
        rows: dict[tuple[int, int], dict[int, tuple[int, int]]] = {}
        for group, row, place, low, high in self._strips(address, size):
            rows.setdefault((group, row), {})[place] = (low, high)
        before: list[Extent] = []
        after: list[Extent] = []
        for (group, row), touched in rows.items():
            base = row * self.strip
            if not self.parity:
                for place, (low, high) in touched.items():
                    copies = self.copies(group) if self.array.copies > 1 else [
                        self._drive(group, row, place)
                    ]  # fmt: skip
                    after += [(drive, base + low, high - low) for drive in copies]
                continue
            first, written = self._parity(group, row, touched)
            before += first
            after += written
        return merged(before), merged(after)

    def _parity(
        self, group: int, row: int, touched: dict[int, tuple[int, int]]
    ) -> tuple[list[Extent], list[Extent]]:
        """Update a row: read the old data and parity, or all the rest, whichever is fewer.

        What a failed drive has cannot be read: where it is among the data written, the rest is
        read; where it is among the rest, old data and parity are.
        """
        base, low = row * self.strip, min(a for a, _ in touched.values())
        high = max(b for _, b in touched.values())
        where = [self._drive(group, row, place) for place in range(self.drives)]
        parity = [(d, base + low, high - low) for d in where[self.data :] if d != self.failed]
        own = [(where[p], base + a, b - a) for p, (a, b) in touched.items()]
        written = [e for e in own if e[0] != self.failed] + parity
        whole = [p for p, (a, b) in touched.items() if (a, b) == (low, high)]
        rest = [(where[p], base + low, high - low) for p in range(self.data) if p not in whole]
        if not rest or not parity:
            return [], written
        old = own + parity
        lost_old = any(e[0] == self.failed for e in own)
        lost_rest = any(e[0] == self.failed for e in rest)
        if (len(rest) < len(old) or lost_old) and not lost_rest:
            return rest, written
        # Of a strip that is lost and written only in part, the rest of the group says what it was.
        return [e for e in old if e[0] != self.failed], written
