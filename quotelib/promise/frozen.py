"""Which server is it that was quoted before: every part stays that can, and as much as can.

First everything is pinned as it was quoted. Only where that cannot be built, or misses what is
asked otherwise, pins are let go of, in the order of `GROUPS`: of all that serve, the set of pins is
taken that lets go of the least of the last groups.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Any

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import Choice
from quotelib.choose.server import best_server, choose_server
from quotelib.choose.wishes import seen_by
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.facts import Reason
from quotelib.promise.before import Before
from quotelib.promise.changed_asked import parsed
from quotelib.promise.record import DEMANDED, STORAGE
from quotelib.promise.sold import Swap, swap, theirs, to_be_had

GROUPS = ("options", "count", "level", "drive", "controller", "chassis")
"""What is let go of, and in which order: what was chosen besides, how many drives, in which level,
which drives, on which controller, in which chassis."""
_FIRST = frozenset(GROUPS[:3])
_ANY_SPEED, _ANY_TIME = Decimal(0), Decimal(1_000_000)


@dataclass(frozen=True, slots=True)
class Kept:
    """The server to propose, or why there is none.

    Parameters
    ----------
    why : mapping of str to str
        By sku, why a part had to go.
    holds : tuple of Reason
        What a person has to look at first.
    """

    best: Candidate | None
    refused: tuple[Reason, ...] = ()
    why: Mapping[str, str] | None = None
    holds: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class Freezer:
    """One server, what it was, and the list and day it is priced by."""

    price_list: PriceList
    asked: ServerAsked
    before: Before
    date: dt.date

    def keep(self, *, strictly: bool = False) -> Kept:
        """Find the server that keeps what can be kept; `strictly`: all of it, or successors."""
        gone = self.gone
        why = {one.was: one.words for one in gone}
        followed = {one.was: one.now for one in gone}
        stays = Choice(None, ())
        if (strictly or self.before.unchanged) and None not in followed.values():
            stays = self._choose(self._pinned(followed, frozenset(), frozenset()), free=True)
            if stays.best and (strictly or not gone or not any(self._missed(stays.best))):
                return Kept(stays.best, (), why, tuple(self._unmet(stays.best)))
        if strictly:
            return Kept(None, (*self._no_successor(gone), *stays.refused), why)
        if not gone and stays.refused:
            cannot = "; ".join(reason.what for reason in stays.refused)
            why = dict.fromkeys(self._skus(), f"as quoted before it cannot be built: {cannot}")
        found = self._search(followed, gone) or stays.best
        if found is None:
            lost = (*self._no_successor(gone), *self._choose(self.asked).refused)
            return Kept(None, lost, why)
        return Kept(found, (), why, tuple(self._unmet(found)))

    @cached_property
    def _list(self) -> PriceList:
        rows = (row.cells() for row in (self.asked.base, *self.asked.arrays))
        own = frozenset[str]().union(*map(theirs, rows))
        return to_be_had(self.price_list, self.date, own)

    def _choose(self, asked: ServerAsked, *, free: bool = False) -> Choice:
        return choose_server(self._list, _undemanding(asked, self._list) if free else asked)

    def _skus(self) -> set[str]:
        """Name the parts that were quoted, and were ours to deliver."""
        return {part.sku for part in self.before.server.parts if not part.owned}

    @cached_property
    def gone(self) -> list[Swap]:
        """Find what was quoted and can be had no more."""
        server, found = self.before.server, []
        files = {"chassis": {server.chassis}}
        files["controller"] = {array.controller for array in server.arrays}
        files["drive"] = {array.drive for array in server.arrays}
        files["options"] = {p.sku for p in server.parts if p.role not in STORAGE}
        own = {part.sku for part in server.parts if part.owned} - self._skus()
        for column, skus in files.items():
            for sku in sorted(skus - own):
                one = swap(self.price_list, column, sku, self.date)
                found += [] if one is None else [one]
        return found

    def _no_successor(self, gone: list[Swap]) -> Iterator[Reason]:
        for one in gone:
            if one.now is None:
                what = f"{one.words}, and nothing is named that takes its place"
                yield Reason(code=one.column, what=what, change="ask what would do in its place")
            else:
                yield Reason(code=one.column, what=one.words)

    @cached_property
    def _affected(self) -> frozenset[int]:
        """Give the arrays that may change first: asked otherwise, or with a part that is gone."""
        over = {one.was for one in self.gone}
        found = {at for at, names in self.before.arrays_otherwise.items() if names}
        for at, was in self.before.arrays.items():
            array = self.before.server.arrays[was]
            if over & {array.drive, array.controller}:
                found.add(at)
        return frozenset(found)

    def _pinned(
        self, followed: Mapping[str, str | None], loose: frozenset[str], affected: frozenset[int]
    ) -> ServerAsked:
        """Ask for what was quoted, but for what the rows say themselves and what is let go of."""

        def now(sku: str) -> str | None:
            return followed.get(sku, sku)

        server, asked = self.before.server, self.asked
        shared: dict[str, Any] = {}
        if asked.base.chassis is None and "chassis" not in loose:
            shared["chassis"] = now(server.chassis)
        if "options" not in loose:
            shared["options"] = self._options(followed) or None
        base, arrays = asked.base.change(**shared), []
        for at, row in enumerate(asked.arrays):
            pins = dict(shared)
            if at in self.before.arrays:
                array = server.arrays[self.before.arrays[at]]
                free = loose if at in affected else frozenset[str]()
                layout = array.layout
                own: dict[str, dict[str, Any]] = {
                    "count": {"members": layout.members, "spans": layout.spans},
                    "level": {"level": layout.level},
                    "drive": {"drive": now(array.drive)},
                    "controller": {"controller": now(array.controller)},
                }
                if not layout.rule.spanned:
                    del own["count"]["spans"]
                for group, values in own.items():
                    if group not in free:
                        pins |= {n: v for n, v in values.items() if row.value(n) is None}
            arrays.append(row.change(**pins))
        return replace(asked, base=base, arrays=tuple(arrays))

    def _options(self, followed: Mapping[str, str | None]) -> tuple[str, ...]:
        """Give what the rows name, and what was chosen besides."""

        def now(sku: str) -> str | None:
            return followed.get(sku, sku)

        named = tuple(self.asked.base.value("options") or ())
        had = Counter(map(now, parsed("options", self.before.options) or ()))
        chosen = Counter[str | None]()
        for part in self.before.server.parts:
            if part.role not in STORAGE:
                chosen[now(part.sku)] += part.quantity
        return (*named, *(sku for sku in (chosen - had).elements() if sku))

    def _search(self, followed: Mapping[str, str | None], gone: list[Swap]) -> Candidate | None:
        """Find the server that lets go of the least; None where none serves."""
        opened: dict[str, str | None] = {one.was: None for one in gone}
        ways = [(followed, self._sets(_FIRST)), (opened, self._sets(frozenset(GROUPS)))]
        if not gone:
            ways = ways[1:]
        everywhere = frozenset(range(len(self.asked.arrays)))
        # Where letting go of all of them leaves nothing, letting go of less does not either.
        ways = [
            (swaps, sets) for swaps, sets in ways
            if self._best(self._pinned(swaps, sets[-1], self._affected), sound=False) is not None
        ]  # fmt: skip
        for sound in (True, False):
            for swaps, sets in ways:
                for loose in sets:
                    found = self._best(self._pinned(swaps, loose, self._affected), sound=sound)
                    if found is not None:
                        return found
            whole = self._pinned(opened, frozenset(GROUPS), everywhere)
            if (found := self._best(whole, sound=sound)) is not None:
                return found
        return None

    def _sets(self, groups: frozenset[str]) -> list[frozenset[str]]:
        """List what may be let go of together, the least first."""
        usable = [g for g in GROUPS if g in groups]
        return [
            frozenset(g for place, g in enumerate(usable) if number >> place & 1)
            for number in range(2 ** len(usable))
        ]

    def _best(self, pinned: ServerAsked, *, sound: bool) -> Candidate | None:
        """Choose with some pins; `sound`: with no advice against it that there was not before."""
        best = best_server(self._list, self._eased(pinned))
        if best is None or not sound:
            return best
        known = {f.code for f in self.before.server.findings if f.severity == "advise"}
        new = {found.code for found in best.open_advice(self.asked.base.accept)}
        return best if new <= known else None

    def _eased(self, pinned: ServerAsked) -> ServerAsked:
        """Leave out what was missed before anything else was asked: a price alone moves no part."""
        for demand, at in self._missed_already:
            rows = pinned.arrays
            if at is None:
                base = pinned.base.without(demand.column)
                rows = tuple(row.without(demand.column) for row in rows)
                pinned = replace(pinned, base=base, arrays=rows)
            else:
                row = rows[at].without(demand.column)
                pinned = replace(pinned, arrays=(*rows[:at], row, *rows[at + 1 :]))
        return pinned

    @cached_property
    def _missed_already(self) -> list[tuple[Asked, int | None]]:
        """List what is asked as before and would be missed by the very same server today."""
        if self.gone or len(self.before.arrays) < len(self.asked.arrays):
            return []
        same = self._pinned({}, frozenset(), frozenset())
        choice = self._choose(same, free=True)
        if choice.best is None:
            return []
        said = self.before
        return [
            (demand, at)
            for demand, at in self._missed(choice.best)
            if demand.column
            not in (said.otherwise if at is None else said.arrays_otherwise.get(at, ()))
        ]

    def _missed(self, best: Candidate) -> Iterator[tuple[Asked, int | None]]:
        """List the demands, of the server or of an array, that a server does not meet."""
        for demand in self.asked.base.asked(self.price_list):
            if demand.of == "server" and not demand.met(best):
                yield demand, None
        for at, row in enumerate(self.asked.arrays):
            seen = seen_by(best, self.price_list, self.asked, row)
            for demand in row.asked(self.price_list):
                if demand.of == "array" and not demand.met(seen):
                    yield demand, at

    def _unmet(self, best: Candidate) -> Iterator[Reason]:
        """Say what is asked and not met by what stays: a person has to look at it."""
        for demand, at in self._missed(best):
            row = None if at is None else self.asked.arrays[at]
            got = demand.shown(seen_by(best, self.price_list, self.asked, row))
            what = f"{demand.words} asked, and the parts that stay give {got}"
            change = "ask the customer, or ask for other parts in a quote of its own"
            yield Reason(code=demand.column, what=what, change=change)


def _undemanding(asked: ServerAsked, price_list: PriceList) -> ServerAsked:
    """Ask for the same, whatever was demanded of it, by the workload too."""

    def freed(row: Enquiry) -> Enquiry:
        load, own = row.load(price_list), dict[str, Any]()
        if load is not None and load.min_iops is not None:
            own["host_iops"] = _ANY_SPEED
        if load is not None and load.max_response_ms is not None:
            own["max_response_ms"] = _ANY_TIME
        return row.without(*DEMANDED).change(**own)

    return replace(asked, base=freed(asked.base), arrays=tuple(map(freed, asked.arrays)))
