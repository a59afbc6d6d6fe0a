"""What is answered where a quote was given before: a revision of it, with as little changed as can.

What somebody has said yes to stays so as long as nothing else is otherwise.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import count

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.request import Request
from quotelib.promise.again import Revised, again, revise
from quotelib.promise.assemble import MARGIN_FLOOR
from quotelib.promise.changed import Change
from quotelib.promise.difference import difference
from quotelib.promise.record import QuoteRecord
from quotelib.register.book import Register, Revision
from quotelib.register.content import content, undated
from quotelib.register.giving import Offered
from quotelib.register.standing import Wanted

Rows = Sequence[Mapping[str, str]]


def answer_again(
    before: QuoteRecord, request: Request | None, price_list: PriceList, date: dt.date
) -> Revised:
    """Answer an enquiry whose quote was given before; None: as it was asked then."""
    then = as_asked(before)
    said = {one.code for one in before.internal.approvals}
    rows = [row.cells for row in then.rows] if request is None else _cells(request)
    if said:
        accepted = accepting(rows, said - {MARGIN_FLOOR})
        approved = revise(before, accepted, price_list, date, alternatives=True, approved=said)
        came = _compared(before, approved)
        if came.record is not None and says_the_same(before, came.record):
            return came
    return _compared(before, revise(then, rows, price_list, date, alternatives=True))


def _compared(before: QuoteRecord, came: Revised) -> Revised:
    """Keep builds that were set beside the quote as long as nothing else is otherwise."""
    if before.compared is None or came.record is None:
        return came
    same = came.record.model_copy(update={"compared": before.compared})
    if not says_the_same(before, same):
        return came
    return replace(came, answer=replace(came.answer, record=same))


def _cells(request: Request) -> list[dict[str, str]]:
    return [row.cells() for row in request.rows]


def following(before: Revision, record: QuoteRecord) -> Offered:
    """Offer a record answered by itself as what follows a revision: it says what changed."""
    found = difference(before.record, record)
    told = record.model_copy(update={"since": found.since, "changes": found.changes})
    return Offered(told, before.revision, says_the_same(before.record, record))


def once_more(
    register: Register, number: str, price_list: PriceList, date: dt.date, by: str
) -> Revised:
    """Give the very same quote once more, as one of its own; refused where it cannot be had.

    Its enquiry is called as the first one, with the lowest figure behind it that is free.
    """
    before = register.revision(number).record
    kept = register.kept(date).but_for((before.enquiry_id, before.customer))
    came = again(as_asked(before), price_list.with_less_stock(kept), date)
    if came.record is None:
        return came
    taken = {one.enquiry_id for one in register.find(Wanted(customer=before.customer))}
    names = (f"{before.enquiry_id}-{n}" for n in count(2))
    name = next(one for one in names if one not in taken)
    (given,) = register.give([_called(came.record, name)], by)
    return replace(came, answer=replace(came.answer, record=given.record))


def _called(record: QuoteRecord, name: str) -> QuoteRecord:
    """Give a record whose enquiry has another number."""
    rows = tuple(
        row.model_copy(update={"cells": {**row.cells, "enquiry_id": name}}) for row in record.rows
    )
    return record.model_copy(update={"enquiry_id": name, "rows": rows})


def says_the_same(before: QuoteRecord, record: QuoteRecord) -> bool:
    """Tell whether a record says nothing else than the one before, but for what is of its day."""
    if content(before) == content(record):
        return True
    holds = [[one.code for one in r.internal.hold_reasons] for r in (before, record)]
    return holds[0] == holds[1] and all(map(_of_its_day, difference(before, record).changes))


def _of_its_day(change: Change) -> bool:
    moved = change.kind == "delivery" and undated(change.was) == undated(change.now)
    return moved or change.kind == "validity"


def accepting(rows: Rows, codes: Iterable[str]) -> list[dict[str, str]]:
    """Add what somebody has said yes to, to rows of an enquiry."""
    more = sorted(codes)
    return [_with_accepted(row, (*_accepted(row), *more)) for row in rows]


def as_asked(record: QuoteRecord) -> QuoteRecord:
    """Give a record with its rows as they were asked, without what was said yes to since."""
    said = {one.code for one in record.internal.approvals}
    if not said:
        return record
    rows = []
    for row in record.rows:
        left = [code for code in _accepted(row.cells) if code not in said]
        rows.append(row.model_copy(update={"cells": _with_accepted(row.cells, left)}))
    return record.model_copy(update={"rows": tuple(rows)})


def _accepted(row: Mapping[str, str]) -> list[str]:
    return [code.strip() for code in row.get("accept", "").split(";") if code.strip()]


def _with_accepted(row: Mapping[str, str], codes: Iterable[str]) -> dict[str, str]:
    cells = {name: cell for name, cell in row.items() if name != "accept"}
    said = ";".join(dict.fromkeys(codes))
    return {**cells, "accept": said} if said else cells
