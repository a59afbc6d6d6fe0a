"""What is odd in a price list: low margins, prices of nothing, old files, useless parts."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from quotelib.catalogue.checks import CONTENTS_FILE
from quotelib.catalogue.parts import Accessory, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.choose.enumeration import verdicts
from quotelib.choose.options import why_impossible
from quotelib.enquiry.enquiry import Enquiry
from quotelib.text import both, count, date, either
from quotelib.units import plain, round_half_away

_ANYTHING = Enquiry(enquiry_id="every", customer="every")
"""Leaves everything to us, so that every build agrees with it."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to look at in a price list, and what is odd about it.

    Of a whole file, sku and description are blank.
    """

    file: str
    sku: str
    description: str
    why: str


def sold(price_list: PriceList) -> Iterator[Part | Service]:
    """List everything that has a price."""
    for kind in ("drives", "controllers", "chassis", "accessories", "services"):
        yield from getattr(price_list, kind).values()


def _item(thing: Part | Service, why: str) -> Item:
    return Item(thing.file_name, thing.sku, thing.description, why)


def under_floor(price_list: PriceList) -> list[Item]:
    """Find what earns less than the margin floor of the terms when sold at its list price."""
    floor = price_list.terms.margin_floor_pct
    found = []
    for thing in (thing for thing in sold(price_list) if thing.unit_price):
        margin = round_half_away(100 * (thing.unit_price - thing.unit_cost) / thing.unit_price, 2)
        if margin < floor:
            short = plain(floor - margin)
            found.append(_item(thing, f"margin {margin} %, {short} points under the floor"))
    return found


def odd_prices(price_list: PriceList) -> list[Item]:
    """Find what has no price or no cost; what is part of a board comes with its chassis."""
    found = []
    for thing in sold(price_list):
        if isinstance(thing, Part) and thing.takes == "board":
            continue
        missing = [name for name in ("unit_price", "unit_cost") if not getattr(thing, name)]
        if missing:
            found.append(_item(thing, f"{both(missing)} {'are' if missing[1:] else 'is'} 0"))
    return found


def old_files(folder: Path, day: dt.date, days: int) -> list[Item]:
    """Find files with prices or terms that nobody has touched for more than so many days."""
    found = []
    for path in sorted(folder.glob("*")):
        # How many rows there have to be says nothing of prices.
        if path.suffix not in {".csv", ".toml"} or path.name == CONTENTS_FILE:
            continue
        saved = dt.date.fromtimestamp(path.stat().st_mtime)
        age = (day - saved).days
        if age > days:
            why = f"saved on {date(saved)}, {count(age, 'day')} before: are its prices stale?"
            found.append(Item(path.name, "", "", why))
    return found


def useless_parts(price_list: PriceList) -> list[Item]:
    """Find the parts that no build can use, and why, in the order of the files."""
    used = {
        piece.part.sku
        for verdict in verdicts(price_list, _ANYTHING, sound_only=True)
        for piece in verdict.build.pieces()
    }
    return [
        _item(part, _why_useless(price_list, part))
        for part in sold(price_list)
        if isinstance(part, Part) and part.sku not in used
    ]


def _why_useless(price_list: PriceList, part: Part) -> str:
    if isinstance(part, Accessory):
        if not part.needed_by:
            return "no part needs it"
        return f"none of {either(part.needed_by)} goes into a build that needs it"
    why = why_impossible(price_list, _ANYTHING, part.role, part.sku)
    return "; or else ".join(found.words for found in why) or "there is nothing to build it with"
