"""Builds that were picked from a table, and how lists of them are laid out and sorted."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quotelib.choose.integers import Whole
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Flags, Index


@dataclass(frozen=True)
class Picked:
    """Some builds: row, plan and net in minor units, without what is charged once."""

    rows: Index
    plans: Index
    net: Whole

    def __len__(self) -> int:
        """Count them."""
        return len(self.rows)

    def take(self, at: Index | Flags | slice) -> "Picked":
        """Give some of them."""
        return Picked(self.rows[at], self.plans[at], self.net[at])


def ranges(which: Index, start: Index, end: Index) -> tuple[Index, Index]:
    """Repeat each of some for every number from its start to before its end."""
    lengths = end - start
    ends = np.cumsum(lengths)
    inner = np.arange(int(ends[-1]) if len(ends) else 0) - np.repeat(ends - lengths, lengths)
    return np.repeat(which, lengths), np.repeat(start, lengths) + inner


def fewer(keys: Sequence[Numbers]) -> Sequence[Numbers]:
    """Join keys, the least first, into fewer where 64 bits hold them: sorting is quicker."""
    joined, room = [keys[0]], int(keys[0].max()) + 1
    for key in keys[1:]:
        many = int(key.max()) + 1
        if int(key.min()) >= 0 and room * many < 2**62:
            joined[-1] = key * room + joined[-1]
            room *= many
        else:
            joined.append(key)
            room = 2**62
    return joined


def joined(parts: Sequence[Picked]) -> Picked:
    """Put bands together, in their order."""
    if not parts:
        none = np.empty(0, dtype=np.intp)
        return Picked(none, none, np.empty(0, dtype=np.int64))
    rows, plans, net = (
        np.concatenate([getattr(part, name) for part in parts]) for name in ("rows", "plans", "net")
    )
    return Picked(rows, plans, net)
