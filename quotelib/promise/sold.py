"""What can still be had, and what takes the place of what cannot: rows of an earlier day mended."""

import datetime as dt
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

from quotelib.catalogue.cells import split_counts
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import loose
from quotelib.promise.changed_asked import parsed
from quotelib.promise.record import QuoteRecord
from quotelib.text import date as day_words

Parts = Mapping[str, Part]
_PINNED = {"chassis": "chassis", "controller": "controllers", "drive": "drives"}
_LISTED = ("options", "parts")


@dataclass(frozen=True, slots=True)
class Swap:
    """A part that can be had no more, and its successor; None: it has none."""

    column: str
    was: str
    now: str | None
    why: str

    @property
    def words(self) -> str:
        """Say what takes its place."""
        return f"{self.why}; {self.now} takes its place" if self.now else self.why


def is_over(part: Part, date: dt.date) -> bool:
    """Tell whether the last day on which a part could be ordered has gone by."""
    return part.last_buy is not None and part.last_buy < date


def parts_of(price_list: PriceList, column: str) -> Parts:
    """Give the parts that a column of an enquiry can name."""
    if column == "parts":
        return loose(price_list)
    found: Parts = getattr(price_list, _PINNED.get(column, column))
    return found


def successor(parts: Parts, sku: str, date: dt.date) -> str | None:
    """Follow what replaces a part to one that can be had; None: there is none, or a ring."""
    seen = {sku}
    part = parts.get(sku)
    while part is not None and part.replaced_by and part.replaced_by not in seen:
        sku = part.replaced_by
        seen.add(sku)
        part = parts.get(sku)
        if part is not None and not is_over(part, date):
            return sku
    return None


def swap(price_list: PriceList, column: str, sku: str, date: dt.date) -> Swap | None:
    """Say what becomes of a part that a row or a record names; None: it can be had."""
    parts = parts_of(price_list, column)
    part = parts.get(sku)
    if part is None:
        return Swap(column, sku, None, f"{sku} is not on the price list any more")
    if part.last_buy is None or not is_over(part, date):
        return None
    why = f"{sku} could be ordered until {day_words(part.last_buy)} only"
    return Swap(column, sku, successor(parts, sku, date), why)


@lru_cache(maxsize=16)
def to_be_had(price_list: PriceList, date: dt.date, theirs: frozenset[str]) -> PriceList:
    """Give a price list without what cannot be ordered on a day, but for what is the customer's."""
    kept: dict[str, Mapping[str, Part]] = {}
    over: set[str] = set()
    for name in ("drives", "controllers", "chassis", "options"):
        parts: Parts = getattr(price_list, name)
        gone = {sku for sku, part in parts.items() if is_over(part, date)} - theirs
        kept[name] = MappingProxyType({s: part for s, part in parts.items() if s not in gone})
        over |= gone
    if not over:
        return price_list
    # Another content has another fingerprint: answers are remembered by it.
    mark = f"{price_list.fingerprint} without {' '.join(sorted(over))}"
    return replace(price_list, **kept, fingerprint=mark)  # type: ignore[arg-type]


def theirs(row: Mapping[str, str]) -> frozenset[str]:
    """Name the parts of a row that the customer has."""
    owned = parsed("owned", row.get("owned", "")) or ()
    named = [row.get(column, "") for column in owned]
    named += [row.get("from_controller", ""), row.get("from_drive", "")]
    if row.get("have_drives", "0") not in {"", "0"} and not row.get("from_drive"):
        named.append(row.get("drive", ""))
    return frozenset(filter(None, named))


@dataclass(frozen=True, slots=True)
class Mended:
    """Rows in which successors stand for what can be had no more.

    Parameters
    ----------
    swaps : tuple of Swap
        What had to go, once each; what has no successor is left open in `rows` where it is a
        part of a server, and stays where it is an option or sold loose.
    """

    rows: tuple[dict[str, str], ...]
    swaps: tuple[Swap, ...]


def mend(
    rows: Sequence[Mapping[str, str]], price_list: PriceList, date: dt.date, known: Collection[str]
) -> Mended:
    """Write successors into rows for what can be had no more; what is the customer's stays.

    What is not on the list counts as gone where it was `known`; else it is for whoever reads the
    rows to say so.
    """
    found: dict[tuple[str, str], Swap] = {}
    made = []
    for row in rows:
        cells = {name: cell for name, cell in row.items() if cell}
        for one in _swaps(cells, price_list, date, known):
            found.setdefault((one.column, one.was), one)
        made.append(cells)
    return Mended(tuple(made), tuple(found.values()))


def _swaps(
    cells: dict[str, str], price_list: PriceList, date: dt.date, known: Collection[str]
) -> Iterator[Swap]:
    """Mend one row in place; give what was swapped."""
    own = theirs(cells)
    for column in _PINNED:
        sku = cells.get(column, "")
        if not sku:
            continue
        if sku in own:
            yield from _drives_beside(cells, column, price_list, date)
            continue
        one = _swap(price_list, column, sku, date, known)
        if one is not None:
            cells[column] = one.now or ""
            yield one
    for column in _LISTED:
        pieces = []
        for sku, number in split_counts(cells.get(column, "")):
            one = _swap(price_list, column, sku, date, known) if sku else None
            if one is not None:
                yield one
            name = one.now if one is not None and one.now else sku
            pieces.append(f"{name}*{number}" if number else name)
        if any(pieces):
            cells[column] = ";".join(pieces)


def _swap(
    price_list: PriceList, column: str, sku: str, date: dt.date, known: Collection[str]
) -> Swap | None:
    if sku not in parts_of(price_list, column) and sku not in known:
        return None
    return swap(price_list, column, sku, date)


def _drives_beside(
    cells: dict[str, str], column: str, price_list: PriceList, date: dt.date
) -> Iterator[Swap]:
    """Swap drives that are bought to go beside or in the place of the customer's own."""
    bought = cells.get("action") in {"grow", "replace"} and not cells.get("from_drive")
    if (
        column != "drive"
        or not bought
        or "drive" in (parsed("owned", cells.get("owned", "")) or ())
    ):
        return
    one = swap(price_list, column, cells[column], date)
    if one is not None and one.now:
        cells["from_drive"], cells["drive"] = cells["drive"], one.now
        yield one


def skus_of(record: QuoteRecord) -> frozenset[str]:
    """Name every part of a record, and what its rows name."""
    found = {part.sku for server in record.servers for part in server.parts}
    found |= {line.sku for item in record.items for line in item.lines}
    for row in record.rows:
        found |= {row.cells.get(column, "") for column in _PINNED}
        for column in _LISTED:
            found |= {sku for sku, _ in split_counts(row.cells.get(column, ""))}
    return frozenset(found)
