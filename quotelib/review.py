"""What to look at before a price list is used: what is odd, what changed, what of open quotes."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, fields
from decimal import Decimal
from pathlib import Path

from quotelib.bounded import read_text
from quotelib.build import fit
from quotelib.build.build import Build, Placed
from quotelib.catalogue.checks import CONTENTS_FILE
from quotelib.catalogue.parts import Accessory, Option, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.choose.enumeration import verdicts
from quotelib.choose.options import why_impossible
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.totals import Price, Sums
from quotelib.promise.again import again
from quotelib.promise.changed import Difference
from quotelib.promise.record import QuoteRecord
from quotelib.text import both, count, date, either, signed
from quotelib.units import plain, round_half_away

Sold = Part | Service
_ANYTHING = Enquiry("every", "every", demands=(("condition", "any"),))
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


def sold(price_list: PriceList) -> Iterator[Sold]:
    """List everything that has a price."""
    for kind in ("drives", "controllers", "chassis", "accessories", "options", "services"):
        yield from getattr(price_list, kind).values()


def _item(thing: Sold, why: str) -> Item:
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
        if not (isinstance(part, Option) and _finds_room(price_list, part))
    ]


def _finds_room(price_list: PriceList, option: Option) -> bool:
    """Tell whether any chassis takes an option, were it alone there."""
    parts = (Placed(option),)
    bare = (Build(chassis, False, parts, ()) for chassis in price_list.chassis.values())
    return any(not fit.asked(fit.PART_RULES, build) for build in bare)


def _why_useless(price_list: PriceList, part: Part) -> str:
    if isinstance(part, Accessory):
        if not part.needed_by:
            return "no part needs it"
        return f"none of {either(part.needed_by)} goes into a build that needs it"
    if isinstance(part, Option):
        return "no chassis it fits has room for it"
    why = why_impossible(price_list, _ANYTHING, part.role, part.sku)
    return "; or else ".join(found.words for found in why) or "there is nothing to build it with"


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one price or cost; None stands for a list that has it not."""

    file: str
    sku: str
    old: Sold | None
    new: Sold | None

    @property
    def words(self) -> str:
        """Say what happened."""
        if self.old is None:
            return "new"
        if self.new is None:
            return "gone"
        before, now = self.old.unit_price, self.new.unit_price
        if before == now:
            return "only the cost has moved: is the price stale?"
        if not before:
            return "had no price"
        return f"{signed(round_half_away(100 * (now - before) / before, 1))} %"


def _by_place(price_list: PriceList) -> dict[tuple[str, str], Sold]:
    return {(thing.file_name, thing.sku): thing for thing in sold(price_list)}


def changes(old: PriceList, new: PriceList) -> list[Change]:
    """Find what has another price or cost, or stands on one of two price lists only."""
    before, after = _by_place(old), _by_place(new)
    every = (Change(*key, before.get(key), after.get(key)) for key in {**before, **after})
    return [change for change in every if _money(change.old) != _money(change.new)]


def _money(thing: Sold | None) -> tuple[Decimal, Decimal] | None:
    return None if thing is None else (thing.unit_price, thing.unit_cost)


def sums(old: PriceList, new: PriceList) -> dict[str, tuple[Decimal, Decimal]]:
    """Add up, by file, the list prices before and now of the parts on both lists, one of each."""
    before = _by_place(old)
    found: dict[str, tuple[Decimal, Decimal]] = {}
    for key, now in _by_place(new).items():
        was = before.get(key)
        if was is not None and isinstance(now, Part):
            so_far = found.get(now.file_name, (Decimal(0), Decimal(0)))
            found[now.file_name] = (so_far[0] + was.unit_price, so_far[1] + now.unit_price)
    return found


@dataclass(frozen=True, slots=True)
class Effect:
    """What follows from a new price list for a file with an open quote (None: with no record).

    Where it can be priced anew, `new_net` is in the quote's currency, and `margin_pct` the margin
    at the price quoted and the new cost; `difference` says what is otherwise than quoted.
    """

    file: str
    record: QuoteRecord | None
    words: str
    new_net: Decimal | None = None
    margin_pct: Decimal | None = None
    difference: Difference | None = None


def effects(price_list: PriceList, records: Path, date: dt.date) -> list[Effect]:
    """Price every record of a folder anew that is still valid on a date, in order of file name."""
    found = []
    for path in sorted(records.glob("*.json")):
        try:
            record = QuoteRecord.model_validate_json(read_text(path))
        except (OSError, ValueError):
            found.append(Effect(path.name, None, "cannot be read as a record of this version"))
            continue
        if record.valid_until >= date:
            found.append(_effect(path.name, record, price_list, date))
    return found


def _effect(file: str, record: QuoteRecord, price_list: PriceList, date: dt.date) -> Effect:
    # What was promised is priced, whether or not it would be chosen for the demands today.
    came = again(record, price_list, date, suggest=False)
    if came.record is None or came.difference is None:
        why = "; ".join(reason.what for reason in came.answer.reasons)
        # Where it is a server that stands in the way, its reasons are told apart.
        cannot = "built any more from this list" if came.answer.refused else "priced anew"
        return Effect(file, record, f"cannot be {cannot}: {why}")
    found, sums = (
        came.difference,
        {one.name: getattr(record.totals, one.name) for one in fields(Sums)},
    )
    # What was promised stays promised: the old price has to carry the new cost.
    quoted = Price(**sums, cost=came.record.internal.cost)
    floor = price_list.terms.margin_floor_pct
    words = "unchanged"
    if quoted.under_floor(floor):
        words = f"as quoted it is under the floor of {plain(floor)} % now"
    elif found.net_now > found.net_was:
        words = "quoted lower than it would be today"
    elif found.net_now < found.net_was:
        words = "a lower price is possible today"
    words = "; ".join((words, *_what_moved(found)))
    return Effect(file, record, words, found.net_now, quoted.margin_shown, found)


def _what_moved(found: Difference) -> Iterator[str]:
    """Say what of a quote is otherwise today: parts, and what moves its price most."""
    yield from (change.words for change in found.of_build if change.kind == "part")
    priced = (change for change in found.of_group("price") if change.kind != "tax")
    moved = [(change.amount, change.what) for change in priced if change.amount]
    if moved:
        most, what = max(moved, key=lambda one: abs(one[0]))
        part = "all" if len(moved) == 1 else "most"
        yield f"{part} of it is {what}: {signed(most)}"
