"""What becomes of a quote that was given: a revision that keeps its parts, or the same once more.

A revision answers the rows of an enquiry anew with the parts and places of the record before it;
*the same again* prices the very same parts, or their successors, and nothing else.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace

from quotelib.catalogue.parts import Accessory
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import Choice
from quotelib.choose.server import choose_server
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import Request, ServerAsked
from quotelib.errors import InputError
from quotelib.facts import Reason
from quotelib.promise.answer import Answer, named_reasons, weigh, widen
from quotelib.promise.assemble import assemble
from quotelib.promise.before import before
from quotelib.promise.changed import Difference
from quotelib.promise.changed_asked import paired
from quotelib.promise.difference import difference
from quotelib.promise.frozen import Freezer, Kept
from quotelib.promise.record import QuoteRecord
from quotelib.promise.sold import Mended, is_over, mend, skus_of, theirs, to_be_had
from quotelib.text import date as day_words

Rows = Sequence[Mapping[str, str]]
_OF_ITS_DAY = {"max_price", "ship_by"}
"""Who asks for the same again asks for it at the prices and in the time of today."""


@dataclass(frozen=True, slots=True)
class Revised:
    """What came of a quote that was given before.

    Parameters
    ----------
    answer : Answer
        Its record knows what changed (`QuoteRecord.changes`); None where it is refused.
    difference : Difference or None
        Against the record before it.
    """

    answer: Answer
    difference: Difference | None

    @property
    def record(self) -> QuoteRecord | None:
        """Give the record; None where it is refused."""
        return self.answer.record


def revise(
    record: QuoteRecord,
    asked: Request | Rows | None,
    price_list: PriceList,
    date: dt.date,
    *,
    alternatives: bool = False,
    approved: Set[str] = frozenset(),
) -> Revised:
    """Answer an enquiry anew as a revision of the same number, with as little changed as can be.

    Every server of which nothing is asked otherwise keeps its parts and places, whatever they cost
    today, but for what can no longer be had: that gives way to its successor where it fits, else
    to what is chosen anew. Of any other server only as much is chosen anew as it takes.

    Parameters
    ----------
    asked : Request, sequence of mappings or None
        The rows as they are now, by column; None: nothing is asked otherwise.
    alternatives : bool
        Whether to look for other builds too, where what is kept is what would be chosen today.
    approved : set of str
        Codes of what holds nothing, since somebody has said yes to it.

    Raises
    ------
    InputError
        Where rows that are given cannot be read.
    """
    given = _rows(record, asked)
    mended = mend(given, price_list, date, skus_of(record))
    read = _read(mended, price_list, refuse=asked is None)
    if isinstance(read, Answer):
        return Revised(read, None)
    asked_then = _mended(record, price_list, date)
    kept = _keep_all(asked_then, read, price_list, date, strictly=False)
    made = _made(kept, read, price_list, date, mended, approved)
    if isinstance(made, Answer):
        return Revised(made, None)
    if alternatives:
        made = _widened(made, kept, read, _had(price_list, read.servers, date))
    update = {"quote_number": record.quote_number, "revision": record.revision + 1}
    return _told(record, asked_then, made.model_copy(update=update), kept, mended)


def again(
    record: QuoteRecord, price_list: PriceList, date: dt.date, *, suggest: bool = True
) -> Revised:
    """Quote the very same once more, at the prices of a price list, under a number of its own.

    What can no longer be had gives way to its successor where that fits; where there is none, or
    where the same parts do not go together any more, it is refused with the reason. To `suggest`
    is to look for what a revision would offer instead, and to say so there.
    """
    came = _again(record, price_list, date)
    if came.record is None and suggest:
        reasons = _with_what_would_do(came.answer.reasons, record, price_list, date)
        came = replace(came, answer=replace(came.answer, reasons=tuple(reasons)))
    return came


def _again(record: QuoteRecord, price_list: PriceList, date: dt.date) -> Revised:
    mended = mend(list(_same(record, price_list)), price_list, date, skus_of(record))
    if lost := [one for one in mended.swaps if one.now is None]:
        change = "name what shall take its place, or revise the quote"
        reasons = [Reason(code=one.column, what=one.why, change=change) for one in lost]
        return Revised(_refused(reasons), None)
    read = _read(mended, price_list, refuse=True)
    if isinstance(read, Answer):
        return Revised(read, None)
    if (read.first.currency or price_list.terms.currency) != record.currency:
        what = f"no currency is {record.currency!r}"
        return Revised(_refused([Reason(code="currency", what=what)]), None)
    kept = _keep_all(record, read, price_list, date, strictly=True)
    made = _made(kept, read, price_list, date, mended)
    if isinstance(made, Answer):
        return Revised(made, None)
    return _told(record, _mended(record, price_list, date), made, kept, mended)


def _with_what_would_do(
    reasons: Sequence[Reason], record: QuoteRecord, price_list: PriceList, date: dt.date
) -> list[Reason]:
    """Add to the last reason what a revision would offer; it is not offered unasked."""
    other = revise(record, None, price_list, date).record
    *first, last = reasons
    if other is None:
        return [*first, last]
    would = f"a revision would offer {other.in_short()}"
    change = "; ".join(filter(None, (last.change, would)))
    return [*first, last.model_copy(update={"change": change})]


def _same(record: QuoteRecord, price_list: PriceList) -> Iterator[dict[str, str]]:
    """Give the rows of a record, in its currency, without what held for its own day alone."""
    for row in record.rows:
        cells = {name: cell for name, cell in row.cells.items() if name not in _OF_ITS_DAY}
        if record.currency != price_list.terms.currency:
            cells["currency"] = record.currency
        yield cells


def _rows(record: QuoteRecord, asked: Request | Rows | None) -> Rows:
    if asked is None:
        return [row.cells for row in record.rows]
    return [row.cells() for row in asked.rows] if isinstance(asked, Request) else asked


def _refused(reasons: Sequence[Reason]) -> Answer:
    return Answer("refused", tuple(reasons), None)


def _read(mended: Mended, price_list: PriceList, *, refuse: bool) -> Request | Answer:
    """Read rows; what is wrong with those of a record, nobody has typed: it is refused."""
    over = [one for one in mended.swaps if one.now is None and one.column in {"options", "parts"}]
    if over:
        change = "name what shall take its place, or leave it out"
        return _refused([Reason(code=s.column, what=s.why, change=change) for s in over])
    try:
        return read_request(mended.rows, price_list)
    except InputError as error:
        if lost := [one for one in mended.swaps if one.now is None]:
            change = "name what shall take its place, or say how many TB are needed"
            return _refused([Reason(code=s.column, what=s.why, change=change) for s in lost])
        if not refuse:
            raise
        return _refused(
            [
                Reason(code=p.column, what=f"{p.column} {p.value!r} {p.why}", change=p.right)
                for p in error.problems
            ]
        )


def _keep_all(
    record: QuoteRecord, read: Request, price_list: PriceList, date: dt.date, *, strictly: bool
) -> list[Kept]:
    names = [server.name for server in record.servers]
    pairs = paired(names, [server.name for server in read.servers])
    kept = []
    for at, asked in enumerate(read.servers):
        if at in pairs:
            then = before(record, pairs[at], read, at)
            kept.append(Freezer(price_list, asked, then, date).keep(strictly=strictly))
        else:
            kept.append(_new(_had(price_list, [asked], date), asked))
    return kept


def _had(price_list: PriceList, servers: Sequence[ServerAsked], date: dt.date) -> PriceList:
    """Give a price list without what can be ordered no more, but for what is the customer's."""
    rows = (row.cells() for one in servers for row in (one.base, *one.arrays))
    return to_be_had(price_list, date, frozenset[str]().union(*map(theirs, rows)))


def _new(price_list: PriceList, asked: ServerAsked) -> Kept:
    choice = choose_server(price_list, asked)
    return Kept(choice.best, choice.refused)


def _made(
    kept: Sequence[Kept],
    read: Request,
    price_list: PriceList,
    date: dt.date,
    mended: Mended,
    approved: Set[str] = frozenset(),
) -> QuoteRecord | Answer:
    """Put the record together, or say why there is none."""
    best = [one.best for one in kept if one.best is not None]
    if len(best) < len(kept):
        refused = tuple(one.refused for one in kept)
        reasons = tuple(named_reasons(read.servers, refused))
        return Answer("refused", reasons, None, refused)
    if over := _sold_no_more(best, date):
        return _refused(over)
    holds = [hold for one in kept for hold in one.holds]
    holds += [
        Reason(code=s.column, what=f"{s.why}, and nothing is named that takes its place",
               change="ask the customer whether what is offered instead will do")
        for s in mended.swaps if s.now is None
    ]  # fmt: skip
    holds += _accessories(best, date)
    return assemble(price_list, read, date, best, holds, approved=approved)


def _sold_no_more(best: Sequence[Candidate], date: dt.date) -> list[Reason]:
    """Find what would have to be ordered and cannot: drives beside the customer's own, say."""
    parts = {p.part.sku: p.part for one in best for p in one.build.lead_pieces}
    return [
        Reason(code=part.role, what=f"{sku} could be ordered until {day_words(part.last_buy)} only",
               change="name what shall take its place")
        for sku, part in parts.items()
        if not isinstance(part, Accessory) and part.last_buy and is_over(part, date)
    ]  # fmt: skip


def _accessories(best: Sequence[Candidate], date: dt.date) -> list[Reason]:
    """Find what comes with other parts and can be had no more: the list has to name another."""
    items = {item.sku: item for one in best for item in one.build.accessories}
    return [
        Reason(code="accessories", what=f"{sku}, which goes with it, can be ordered no more",
               change="name what takes its place in accessories.csv")
        for sku, item in items.items() if is_over(item, date)
    ]  # fmt: skip


def _widened(
    made: QuoteRecord, kept: Sequence[Kept], read: Request, price_list: PriceList
) -> QuoteRecord:
    """Add what else would do, where what is kept is what would be chosen today, too."""
    choices: list[Choice] = []
    for one, asked in zip(kept, read.servers, strict=True):
        choice = choose_server(price_list, asked)
        if choice.best is None or one.best is None or choice.best.build != one.best.build:
            return made
        choices.append(choice)
    return weigh(widen(made, price_list, read, choices), price_list, read, choices)


def _mended(record: QuoteRecord, price_list: PriceList, date: dt.date) -> QuoteRecord:
    """Give a record with rows as they would be read today: a successor is no new wish."""
    then = mend([row.cells for row in record.rows], price_list, date, skus_of(record))
    rows = (
        row.model_copy(update={"cells": cells})
        for row, cells in zip(record.rows, then.rows, strict=True)
    )
    return record.model_copy(update={"rows": tuple(rows)})


def _told(
    old: QuoteRecord,
    asked_then: QuoteRecord,
    new: QuoteRecord,
    kept: Sequence[Kept],
    mended: Mended,
) -> Revised:
    """Write into a record how it differs from the one before it."""
    why = {one.was: one.words for one in mended.swaps}
    for one in kept:
        why |= one.why or {}
    found = difference(old, new, why, asked_then)
    told = new.model_copy(update={"since": found.since, "changes": found.changes})
    return Revised(Answer(told.outcome, told.internal.hold_reasons, told), found)
