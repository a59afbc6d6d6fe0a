"""Which demand binds where builds of one array fit and none does, and what comes nearest."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from quotelib.choose.asking import Asking
from quotelib.choose.candidate import Candidate, described, rank
from quotelib.choose.demanded import Form
from quotelib.choose.judged import bounded, kept, made, shortfall
from quotelib.choose.picked import Picked, joined
from quotelib.choose.picking import Selection
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason

_FEW = 100_000
"""Builds that are kept rather than looked for again."""
MOST_SEEN = 12_000_000
"""Builds that are looked at for the nearest one; ours, for time and memory: about half a minute of
the processor and 1 GiB."""
_AT_ONCE = 16_384
_TOO_OPEN = Reason(
    code="too_open",
    what="none of very many builds meets all that was asked",
    change="name a chassis, a controller or a drive, and what is in the way is said",
)


@dataclass(frozen=True)
class Near:
    """Builds that miss a demand by the least.

    Parameters
    ----------
    alone : bool
        Whether it is the only demand that they miss.
    selections : tuple
        Builds by what else they miss; with a `Picked` only those of a selection.
    """

    demand: Asked
    alone: bool
    selections: tuple[tuple[Selection, Picked | None], ...]


class TooMany(Exception):  # noqa: N818 - nothing is wrong with them
    """There are more builds than are looked at one by one."""


def nearest(asked: Asking, *, sound: bool = False) -> Iterator[Near]:
    """Find the demands that bind, and the builds that come nearest to each.

    Of all builds that fit (with `sound`: of those that we do not advise against) those count that
    miss the fewest demands. Demands are left out one by one, two by two and so on, until something
    is left: all of it misses every demand that was left out, since leaving out fewer left nothing.

    Raises
    ------
    TooMany
    """
    for number in range(1, len(asked.forms) + 1):
        found: dict[str, list[tuple[float, Selection, Picked | None]]] = {}
        for some in combinations(asked.forms, number):
            without = [form.demand.column for form in some]
            selection = asked.some(without=without, sound=sound)
            for form in some if selection.upper else ():
                closest = _closest(asked, form, selection)
                if closest is not None:
                    found.setdefault(form.demand.column, []).append(closest)
        for form in asked.forms if found else ():
            if near := found.get(form.demand.column):
                least = min(short for short, *_ in near)
                parts = tuple((of, picked) for short, of, picked in near if short == least)
                yield Near(form.demand, number == 1, parts)
        if found:
            return


def _closest(
    asked: Asking, form: Form, selection: Selection
) -> tuple[float, Selection, Picked | None] | None:
    """Give the least shortfall of some builds, and which have it; None: there are none.

    Only what has to be is listed: a price falls short by the least where it is the lowest, and the
    lowest come first; levels are asked from the one that survives most on, sizes from the largest,
    what parts decide from the nearest parts on. What is too slow even at its bound to come as near
    as another is not estimated.
    """
    column = form.demand.column
    if column == "survive":
        survives = asked.table.plans.survives
        for number in sorted(set(survives.tolist()), reverse=True):
            some = selection.narrowed(only=survives == number)
            if some.upper and (short := _any(asked, form, some)) is not None:
                return short, some, None
        return None
    if form.rows is not None:
        return _by_parts(asked, form, selection)
    if column == "max_price":
        for picked in selection.bands():
            met = kept(asked, selection, picked.take(selection.meeting(picked)))
            if len(met):
                cheapest = met.take(met.net == met.net[0])
                return float(shortfall(asked, form, selection, cheapest)[0]), selection, cheapest
        return None
    looked_at = selection.speeds or selection.risks or selection.alone
    if column == "usable_tb" and not looked_at and len(asked.table.regimes) == 1:
        selection = selection.largest()
    if selection.upper > MOST_SEEN:
        raise TooMany
    found: list[Picked] = []
    least = np.inf
    for band in selection.bands():
        for part in _nearer_first(form, selection, band):
            if form.speed is not None:
                part = part.take(bounded(form, selection, part) <= least)
            met = kept(asked, selection, part.take(selection.meeting(part)))
            if not len(met):
                continue
            far = shortfall(asked, form, selection, met)
            if far.min() < least:
                found, least = [], float(far.min())
            found.append(met.take(far == least))
    if not found:
        return None
    return least, selection, selection.sorted(joined(found))


def _nearer_first(form: Form, selection: Selection, band: Picked) -> Iterator[Picked]:
    """Split a band so that what may come nearest is estimated first, and the rest perhaps not."""
    if form.speed is None or len(band) <= _AT_ONCE:
        yield band
        return
    order = np.argsort(bounded(form, selection, band), kind="stable")
    for start in range(0, len(order), _AT_ONCE):
        yield band.take(order[start : start + _AT_ONCE])


def _by_parts(
    asked: Asking, form: Form, selection: Selection
) -> tuple[float, Selection, Picked | None] | None:
    """Find the nearest of builds that parts alone tell apart: the nearest parts with any build."""
    table = asked.table
    _, first = np.unique(table.pairs[2], return_index=True)
    if form.demand.column == "media":
        far = np.array([float(d.media != form.demand.limit) for d in table.listed.drives])
        short = far[table.at[2]]
    else:
        samples = Picked(first, np.zeros_like(first), np.zeros(len(first), dtype=np.int64))
        each = np.array([form.demand.shortfall(one) for one in made(asked, samples, form)])
        short = each[table.pairs[2]]
    for least in np.unique(short).tolist():
        some = selection.narrowed(rows=short == least)
        if some.upper and _any(asked, form, some) is not None:
            return least, some, None
    return None


def _any(asked: Asking, form: Form, selection: Selection) -> float | None:
    """Give how far any of some builds is from a demand, all alike; None: there are none."""
    for part in selection.chunks():
        picked = kept(asked, selection, part)
        if len(picked):
            return float(shortfall(asked, form, selection, picked.take(slice(0, 1)))[0])
    return None


def nothing_meets(asked: Asking) -> tuple[Reason, ...]:
    """Say which demands bind, and what comes nearest to each; nothing where no build fits."""
    if not asked.some(without=[demand.column for demand in asked.asked]).upper:
        return ()
    reasons, accept = [], asked.row.accept
    try:
        for near in nearest(asked):
            others = " with all else as asked" if near.alone else ""
            best = first_of(asked, near, ())
            got = f"nearest{others} is {near.demand.shown(best)}: {described(best, accept)}"
            what = f"{near.demand.words} asked"
            reasons.append(Reason(code=near.demand.column, what=what, change=got))
    except TooMany:
        return (_TOO_OPEN,)
    return tuple(reasons)


def first_of(asked: Asking, near: Near, accept: tuple[str, ...]) -> Candidate:
    """Give the first of the nearest in the order of the choice."""
    found = (
        one
        for selection, picked in near.selections
        if (one := _first(asked, selection, picked, accept)) is not None
    )
    return min(found, key=lambda one: rank(one, accept))


def _first(
    asked: Asking, selection: Selection, picked: Picked | None, accept: tuple[str, ...]
) -> Candidate | None:
    parts = list(selection.chunks()) if picked is None and selection.upper < _FEW else None
    for sound in (True, False):
        chunks = [picked] if picked is not None else parts or selection.chunks()
        for chunk in chunks:
            some = selection.sound_ones(chunk, accept) == sound
            for found in asked.confirmed(selection, [chunk.take(some)]):
                if bool(found.open_advice(accept)) != sound:
                    return found
    return None


@dataclass(frozen=True)
class Nearest:
    """A sound build that misses a demand by the least; `alone`: and no other demand.

    `array` is the row of the array of which it is demanded, where a server has several; None: of
    the server, or of its only array. `gives` says in words what it gives of what is demanded.
    """

    demand: Asked
    alone: bool
    candidate: Candidate
    array: Enquiry | None = None
    gives: str = ""


def nearest_sound(asked: Asking) -> tuple[Nearest, ...]:
    """Find the nearest builds that we would quote without advising against them.

    None where there are too many to look at.
    """
    accept = asked.row.accept
    try:
        found = ((one, first_of(asked, one, accept)) for one in nearest(asked, sound=True))
        return tuple(
            Nearest(one.demand, one.alone, best, gives=one.demand.shown(best))
            for one, best in found
        )
    except TooMany:
        return ()
