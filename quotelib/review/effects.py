"""What does a price list do to open quotes: each is priced anew as the very build it promises."""

import datetime as dt
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import buildable, nothing_fits
from quotelib.enquiry.columns import demand_columns
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.errors import InputError
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price
from quotelib.promise.pins import pins_of
from quotelib.promise.record import QuoteRecord, Server
from quotelib.units import plain, round_half_away


@dataclass(frozen=True, slots=True)
class Effect:
    """What follows from a new price list for a file with an open quote (None: with no record).

    Where it can be priced anew, `new_net` is in the quote's currency, and `margin_pct` the margin
    at the price quoted and the new cost.
    """

    file: str
    record: QuoteRecord | None
    words: str
    new_net: Decimal | None = None
    margin_pct: Decimal | None = None


def effects(price_list: PriceList, records: Path, date: dt.date) -> list[Effect]:
    """Price every record of a folder anew that is still valid on a date, in order of file name."""
    found = []
    for path in sorted(records.glob("*.json")):
        try:
            record = QuoteRecord.model_validate_json(path.read_text("utf-8"))
            (server,) = record.servers
        except (OSError, ValueError):
            found.append(Effect(path.name, None, "cannot be read as a record of this version"))
            continue
        if record.valid_until >= date:
            found.append(_effect(path.name, record, server, price_list))
    return found


def _effect(file: str, record: QuoteRecord, server: Server, price_list: PriceList) -> Effect:
    cells = {**record.enquiry, **pins_of(server), "currency": record.currency}
    try:
        enquiry = read_enquiry(cells, price_list, file)
    except InputError as error:
        reasons = "; ".join(f"{p.column} {p.value!r} {p.why}" for p in error.problems)
        return Effect(file, record, f"cannot be priced anew: {reasons}")
    # What was promised is priced, whether or not it would be chosen for the demands today.
    enquiry = enquiry.without(*(column.name for column in demand_columns()))
    again = buildable(price_list, enquiry)
    if not again:
        reasons = "; ".join(reason.what for reason in nothing_fits(price_list, enquiry))
        return Effect(file, record, f"cannot be built any more from this list: {reasons}")
    today = price(again[0].build, PriceBook(price_list, record.currency), enquiry.deal)
    # What was promised stays promised: the old price has to carry the new cost.
    quoted = replace(today, net=record.totals.net, freight=record.totals.freight)
    floor = price_list.terms.margin_floor_pct
    words = "unchanged"
    if quoted.under_floor(floor):
        words = f"as quoted it is under the floor of {plain(floor)} % now"
    elif today.net > quoted.net:
        words = "quoted lower than it would be today"
    elif today.net < quoted.net:
        words = "a lower price is possible today"
    margin = quoted.margin_pct
    margin = None if margin is None else round_half_away(margin, 2)
    return Effect(file, record, words, today.net, margin)
