"""What we advise against among all builds of one array, but for what is estimated of them.

As `build.advice` finds it of one build; what is chosen is asked there again.
"""

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from quotelib.build import advice
from quotelib.choose.sets import Flags

if TYPE_CHECKING:
    from quotelib.choose.table import Table

_Method = Callable[["Advised", tuple[str, ...]], Flags]


def _known(method: _Method) -> _Method:
    """Work out once what accepted advice leaves."""

    def known(advised: "Advised", accept: tuple[str, ...]) -> Flags:
        key = (method.__name__, accept)
        if key not in advised.worked_out:
            advised.worked_out[key] = method(advised, accept)
        return advised.worked_out[key]

    known.__doc__ = method.__doc__
    return known


class Advised:
    """What is advised against in a table."""

    def __init__(self, table: "Table") -> None:
        self._table = table
        self.worked_out: dict[tuple[str, tuple[str, ...]], Flags] = {}

    @cached_property
    def wide_drive(self) -> NDArray[np.int64]:
        """Tell of each drive whether many of it in one parity group are advised against (1)."""
        terms = self._table.prices.terms.advice
        big, known = terms.wide_group_tb, terms.wide_group_members is not None
        return np.array(
            [
                known and big is not None and d.media == "hdd" and d.capacity_gb >= 1000 * big
                for d in self._table.listed.drives
            ],
            dtype=np.int64,
        )

    @_known
    def plans(self, accept: tuple[str, ...]) -> Flags:
        """Tell which plans are advised against: shape (2 x controllers, plans).

        In the second half those of drives that `wide_drive` tells. What nobody accepted, of a
        layout and its controller alone.
        """
        every, those = self._table.plans, self._table.listed
        terms = self._table.prices.terms.advice
        count = len(those.controllers)
        found = np.zeros((2 * count, len(every)), dtype=bool)
        if "no_redundancy" not in accept:
            found |= every.survives == 0
        if terms.chipset_parity and "chipset_parity" not in accept:
            chipset = np.array([c.kind == "chipset" for c in those.controllers])
            found |= np.tile(chipset, 2)[:, None] & (every.parity > 0)
        if "wide_group" not in accept and terms.wide_group_members is not None:
            wide = (every.members // every.spans > terms.wide_group_members) & (every.parity > 0)
            found[count:] |= wide
        if self._table.row.action != "new" and "controller_unknown" not in accept:
            asking = np.array([self._unknown(at) for at in range(count)])
            found |= np.tile(asking, 2)[:, None] & (every.is_array > 0)
        return found

    def _unknown(self, at: int) -> bool:
        row, those = self._table.row, self._table.listed
        before = self._table.prices.controllers.get(row.value("from_controller") or "")
        return not those.owned[at] and before is None

    @_known
    def rows(self, accept: tuple[str, ...]) -> Flags:
        """Tell which rows are advised against whatever the plan, and nobody has accepted it."""
        row = self._table.row
        found = np.zeros(len(self._table.regime), dtype=bool)
        if row.their_drives and row.action == "new" and "erases_data" not in accept:
            found[:] = True
        if any(a.code not in accept for a in advice.memory_uneven(self._table.empty(0, 0))):
            found[:] = True
        if "cache_unprotected" not in accept:
            cached = np.array([bool(c.cache_mib) for c in self._table.listed.controllers])
            found |= cached[self._table.at[1]] & ~self.protected
        return found

    @cached_property
    def protected(self) -> Flags:
        """Tell of each row whether its controller's cached writes survive a loss of power."""
        box, controller, drive = self._table.at
        own = np.array([c.cache_protection != "none" for c in self._table.listed.controllers])
        found = own[controller]
        for number, one in enumerate(self._table.comings):
            here = np.flatnonzero(self._table.regime == number)
            table = np.broadcast_to(one.protected, self._table.listed.shape)
            kind = self._table.listed.kinds[drive[here]]
            found[here] |= table[box[here], controller[here], kind]
        return found

    @cached_property
    def answers(self) -> Flags:
        """Tell of each row whether its controller answers writes once they are in its cache."""
        cached = np.array([bool(c.cache_mib) for c in self._table.listed.controllers])
        return np.asarray(self.protected & cached[self._table.at[1]])
