"""Is a price list fit to sell from: margins, parts no build can use, odd and changed prices."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from pydantic import ValidationError

from quotelib.build import fit
from quotelib.build.build import Build, Parts, combine
from quotelib.catalogue.parts import Part, Service
from quotelib.catalogue.price_list import PriceList
from quotelib.errors import InputError
from quotelib.quote.answer import answer
from quotelib.quote.enquiry import Enquiry, read_enquiry
from quotelib.quote.record import QuoteRecord
from quotelib.units import plain, round_half_away
from quotelib.workbook import options
from quotelib.workbook.compare import pins_of


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to look at in a price list.

    Parameters
    ----------
    file : str
        Where it stands.
    sku : str
    description : str
    why : str
        What is odd about it, in words.
    """

    file: str
    sku: str
    description: str
    why: str


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one price.

    Parameters
    ----------
    file, sku : str
    old_price, new_price : Decimal or None
        None where it is not on that list.
    old_cost, new_cost : Decimal or None
    """

    file: str
    sku: str
    old_price: Decimal | None
    new_price: Decimal | None
    old_cost: Decimal | None
    new_cost: Decimal | None

    @property
    def words(self) -> str:
        """Say what happened."""
        if self.old_price is None:
            return "new"
        if self.new_price is None:
            return "gone"
        if self.old_price == self.new_price:
            return "only the cost has moved: is the price stale?"
        if not self.old_price:
            return "had no price"
        pct = round_half_away(100 * (self.new_price - self.old_price) / self.old_price, 1)
        return f"{'+' if pct > 0 else '−'}{abs(pct)} %"


@dataclass(frozen=True, slots=True)
class Effect:
    """What a new price list does to an open quote.

    Parameters
    ----------
    file : str
    quote : str
        Its number and customer.
    valid_until : str
    currency : str
    old_net, new_net : Decimal or None
    margin_pct : Decimal or None
        At the price quoted and the new cost.
    words : str
        What follows.
    """

    file: str
    quote: str
    valid_until: str
    currency: str
    old_net: Decimal | None
    new_net: Decimal | None
    margin_pct: Decimal | None
    words: str


def sold(price_list: PriceList) -> Iterator[Part | Service]:
    """List everything that has a price."""
    yield from price_list.drives.values()
    yield from price_list.controllers.values()
    yield from price_list.chassis.values()
    yield from price_list.accessories.values()
    yield from price_list.services.values()


def under_floor(price_list: PriceList) -> list[Item]:
    """Find what earns less than the margin floor of the terms when sold at its list price."""
    floor = price_list.terms.margin_floor_pct
    found = []
    for item in sold(price_list):
        if not item.unit_price:
            continue
        margin = round_half_away(100 * (item.unit_price - item.unit_cost) / item.unit_price, 2)
        if margin < floor:
            why = f"margin {margin} %, {plain(floor - margin)} points under the floor"
            found.append(Item(item.file_name, item.sku, item.description, why))
    return found


def odd_prices(price_list: PriceList) -> list[Item]:
    """Find what has no price or no cost; a controller on a board comes with its chassis."""
    found = []
    for item in sold(price_list):
        if getattr(item, "mounting", "") == "board":
            continue
        missing = [n for n in ("unit_price", "unit_cost") if not getattr(item, n)]
        if missing:
            why = f"{' and '.join(missing)} {'are' if len(missing) > 1 else 'is'} 0"
            found.append(Item(item.file_name, item.sku, item.description, why))
    return found


def old_files(folder: Path, date: dt.date, days: int) -> list[Item]:
    """Find files of a price list that nobody has touched for a while."""
    found = []
    for path in sorted(folder.glob("*")):
        if path.suffix not in {".csv", ".toml"}:
            continue
        saved = dt.date.fromtimestamp(path.stat().st_mtime)
        age = (date - saved).days
        if age > days:
            why = f"saved on {saved:%d %B %Y}, {age} days before: are its prices stale?"
            found.append(Item(path.name, "", "", why))
    return found


def useless_parts(price_list: PriceList) -> list[Item]:
    """Find the parts that no build can use, and why."""
    free = Enquiry(enquiry_id="every", customer="every", usable_tb=Decimal(0))
    found = []
    kinds = {
        "chassis": price_list.chassis,
        "controller": price_list.controllers,
        "drive": price_list.drives,
    }
    for pin, parts in kinds.items():
        for sku, part in parts.items():
            state, why = options.judge(price_list, free, pin, sku)
            if state == "impossible":
                reasons = _nearest_reasons(price_list, pin, sku) or why
                found.append(Item(part.file_name, sku, part.description, reasons))
    used = {a.sku for parts in _usable(price_list) for a in parts.accessories}
    for accessory in price_list.accessories.values():
        if accessory.sku not in used:
            why = (
                f"none of {', '.join(accessory.needed_by)} goes into a build that needs it"
                if accessory.needed_by
                else "no part needs it"
            )
            found.append(Item(accessory.file_name, accessory.sku, accessory.description, why))
    return found


def _nearest_reasons(price_list: PriceList, pin: str, sku: str) -> str:
    """Say what is in the way where least is, one reason of a kind; blank where parts do fit."""
    tried = Enquiry(enquiry_id="every", customer="every", usable_tb=Decimal(0), **{pin: sku})
    stopped = [stops for _, stops in options.combinations(price_list, tried)]
    fewest = min(len(stops) for stops in stopped)
    first: dict[str, str] = {}
    for stops in stopped:
        if len(stops) == fewest:
            for stop in stops:
                first.setdefault(stop.code, stop.message)
    return "; or else ".join(first.values())


def _usable(price_list: PriceList) -> Iterator[Parts]:
    """List the combinations of parts that at least one layout can be made of."""
    free = Enquiry(enquiry_id="every", customer="every", usable_tb=Decimal(0))
    for chassis in price_list.chassis.values():
        for controller in price_list.controllers.values():
            for drive in price_list.drives.values():
                parts = combine(price_list, chassis, controller, drive)
                if not fit.part_stops(parts) and any(
                    not fit.layout_stops(Build(parts, layout))
                    for layout in options.layouts(parts, free)
                ):
                    yield parts


def changes(old: PriceList, new: PriceList) -> list[Change]:
    """Compare two price lists, part by part."""
    before = {(item.file_name, item.sku): item for item in sold(old)}
    after = {(item.file_name, item.sku): item for item in sold(new)}
    found = []
    for key in dict.fromkeys((*before, *after)):
        was, now = before.get(key), after.get(key)
        change = Change(
            *key,
            was.unit_price if was else None,
            now.unit_price if now else None,
            was.unit_cost if was else None,
            now.unit_cost if now else None,
        )
        if (change.old_price, change.old_cost) != (change.new_price, change.new_cost):
            found.append(change)
    return found


def effects(price_list: PriceList, records: Path, date: dt.date) -> list[Effect]:
    """Price every open record of a folder anew, each with the very build it promises.

    Parameters
    ----------
    price_list : PriceList
        The new one.
    records : Path
        Folder with the JSON records of quotes.
    date : date
        Quotes whose validity ended before it are not open any more.

    Returns
    -------
    list of Effect
        In order of file name; a file that is no record is told as such.
    """
    found = []
    for path in sorted(records.glob("*.json")):
        try:
            record = QuoteRecord.model_validate_json(path.read_text("utf-8"))
        except (OSError, UnicodeDecodeError, ValidationError):
            words = "cannot be read as a record of this version"
            found.append(Effect(path.name, "", "", "", None, None, None, words))
            continue
        if record.valid_until >= date:
            found.append(_effect(path.name, record, price_list, date))
    return found


def _effect(file: str, record: QuoteRecord, price_list: PriceList, date: dt.date) -> Effect:
    quote = f"{record.quote_number}, {record.customer}"
    until = record.valid_until.isoformat()
    head = (file, quote, until, record.currency, record.totals.net)
    demands = ("usable_tb", "survive", "host_iops", "host_mb_s", "max_loss_pct", "max_price")
    kept = {name: cell for name, cell in record.enquiry.items() if name not in demands}
    # It is priced anew as it was promised, whatever it may cost now.
    try:
        enquiry = read_enquiry({**kept, **pins_of(record)}, price_list, file)
    except InputError as error:
        reasons = "; ".join(f"{p.column} {p.value!r} {p.why}" for p in error.problems)
        return Effect(*head, None, None, f"cannot be priced anew: {reasons}")
    again = answer(price_list, enquiry, date, alternatives=False).record
    if again is None:
        return Effect(*head, None, None, "cannot be built any more from this list")
    old, new = record.totals, again.totals
    # What was promised stays promised: the old price has to carry the new cost.
    income = old.net - old.freight
    margin = None
    if income:
        margin = round_half_away(100 * (income - again.internal.cost) / income, 2)
    floor = price_list.terms.margin_floor_pct
    if margin is None or margin < floor:
        words = f"as quoted it is under the floor of {plain(floor)} % now"
    elif new.net > old.net:
        words = "quoted lower than it would be today"
    elif new.net < old.net:
        words = "a lower price is possible today"
    else:
        words = "unchanged"
    return Effect(*head, new.net, margin, words)
