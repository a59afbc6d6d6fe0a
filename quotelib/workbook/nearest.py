"""What comes nearest to what cannot be had: a button for each that takes it, tried beforehand."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import partial
from typing import NamedTuple

from pydantic_core import PydanticCustomError

from quotelib.build.findings import ABOUT
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, describe
from quotelib.choose.server import choose_server
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.facts import Reason
from quotelib.pricing.money import exact, to_minor
from quotelib.text import both, money, spoken
from quotelib.units import plain
from quotelib.workbook.widgets import ANSWER, box, button, caption, html, show

_MOST = 4
_GIVEN = re.compile(r"\bis (?:about )?(?:[A-Z]{3} )?([0-9][0-9,]*(?:\.[0-9]+)?)")
_HEAD = "<h3>What comes nearest</h3>"


class WayOut(NamedTuple):
    """Other cells with which there is a build, that build in words, whether it is sound."""

    words: str
    cells: Mapping[str, str]
    sound: bool


class Nearest:
    """Offers what comes nearest; `take` is told the cells of the one that is wanted."""

    def __init__(self, take: Callable[[Mapping[str, str]], None]) -> None:
        self._take = take
        self._ways: Sequence[WayOut] = ()
        tip = "Ask for this instead"
        self.buttons = [button("", tip, partial(self.choose, n)) for n in range(_MOST)]
        self.block = box([html(_HEAD), box(self.buttons, "ql-starts")], "ql-stack", ANSWER)
        self.offer(())

    def offer(self, ways: Sequence[WayOut]) -> None:
        """Offer ways out; nothing is offered where there is none."""
        self._ways = ways[:_MOST]
        caption(self.buttons, [way.words for way in self._ways])
        show(self.block, bool(self._ways))

    def choose(self, place: int) -> None:
        """Take one of them."""
        self._take(self._ways[place].cells)


def ways_out(price_list: PriceList, enquiry: Enquiry, reasons: Sequence[Reason]) -> list[WayOut]:
    """Find, for each reason why there is no build, the least that has to give, and what comes.

    Where only what we advise against comes so near, the nearest with redundancy is looked for too.
    """
    found = _each(price_list, enquiry, reasons)
    if not all(way.sound for way in found) and not enquiry.value("survive"):
        safer = enquiry.change(survive=1)
        refused = choose_server(price_list, ServerAsked(safer, (safer,))).refused
        found += [way for way in _each(price_list, enquiry, refused) if way.sound]
    if not found and len(reasons) > 1:
        all_cells: dict[str, str] = {}
        for reason in reasons:
            all_cells |= next(_instead(enquiry, reason), {})
        way = _way(price_list, enquiry, all_cells) if all_cells else None
        found = [way] if way is not None else []
    return sorted(found, key=lambda way: not way.sound)


def _each(price_list: PriceList, enquiry: Enquiry, reasons: Sequence[Reason]) -> list[WayOut]:
    found = []
    for reason in reasons:
        tried = (_way(price_list, enquiry, cells) for cells in _instead(enquiry, reason))
        if (way := next(filter(None, tried), None)) is not None:
            found.append(way)
            if not way.sound and (safe := _sound(price_list, enquiry, reason)) is not None:
                found.append(safe)
    return found


def _sound(price_list: PriceList, enquiry: Enquiry, reason: Reason) -> WayOut | None:
    """Find what it takes, of a limit that binds, to have a build that we do not advise against."""
    column = COLUMNS.get(reason.code)
    if column is None or column.demand is None or column.demand.sense != "at most":
        return None
    other = enquiry.without(column.name)
    best = choose_server(price_list, ServerAsked(other, (other,))).best
    if best is None or best.open_advice(other.accept):
        return None
    if column.name != "max_price" or best.net_of_builds is None:
        return _way(price_list, enquiry, {column.name: ""})
    currency = enquiry.currency or price_list.terms.currency
    with exact():
        each = to_minor(currency, best.net_of_builds / enquiry.builds)
    return _way(price_list, enquiry, {column.name: f"{each:f}"})


def _instead(enquiry: Enquiry, reason: Reason) -> Iterator[dict[str, str]]:
    """Give other cells for what a reason is about, those that change least first."""
    column = COLUMNS.get(reason.code)
    if column is None or column.demand is None:
        first = ABOUT.get(reason.code, "")
        if first == "members" and enquiry.members:
            yield from ({"members": str(enquiry.members + n)} for n in (1, -1, 2, -2))
        pins = [pin for pin in PINS if enquiry.value(pin) is not None]
        for pin in sorted(pins, key=lambda pin: pin != first):
            yield {pin: ""}
        return
    value = enquiry.value(column.name)
    if column.name == "survive":
        yield from ({"survive": str(n)} for n in range(int(value) - 1, -1, -1))
    elif given := _GIVEN.search(reason.change):
        got = Decimal(given[1].replace(",", ""))
        at_most = column.demand.sense == "at most"
        # What is said is rounded; tried is what was said, then a little less than that.
        whole = not isinstance(value, Decimal)
        for slack in ("1", "1.001", "1.01"):
            near = got * Decimal(slack) if at_most else got / Decimal(slack)
            way = ROUND_CEILING if at_most else ROUND_FLOOR
            step = Decimal(1) if whole else Decimal(1).scaleb(min(0, near.adjusted() - 4))
            yield {column.name: plain(near.quantize(step, rounding=way))}
    yield {column.name: ""}


def _way(price_list: PriceList, enquiry: Enquiry, cells: Mapping[str, str]) -> WayOut | None:
    try:
        parsed = {name: COLUMNS[name].parse(cell) if cell else None for name, cell in cells.items()}
    except PydanticCustomError:
        return None  # no drives at all, say
    other = enquiry.change(**parsed)
    if not other.asks_array:
        return None
    best = choose_server(price_list, ServerAsked(other, (other,))).best
    if best is None or best.net is None:
        return None
    asked = both(_asked(name, cell, enquiry.cells().get(name, "")) for name, cell in cells.items())
    sound = not best.open_advice(other.accept)
    return WayOut(f"{asked}: {_offered(best, other, price_list)}", cells, sound)


def _asked(name: str, cell: str, before: str) -> str:
    label = COLUMNS[name].label
    if cell:
        return f"{label} {cell} instead of {before}"
    return f"{label} left to us" if name in PINS else f"{label} not asked for"


def _offered(best: Candidate, enquiry: Enquiry, price_list: PriceList) -> str:
    currency = enquiry.currency or price_list.terms.currency
    many = f" for all {enquiry.builds}" if enquiry.builds > 1 else ""
    assert best.net is not None
    words = f"{describe(best.build)}, {money(best.net, currency)}{many}"
    if against := [spoken(found.code) for found in best.open_advice(enquiry.accept)]:
        words += f"; we advise against it: {both(against)}"
    return words
