"""How does somebody say yes to what holds a quote: a revision in which it is accepted.

Nothing else may change by it: who says yes says it to what was given.
"""

import datetime as dt
from collections.abc import Iterable, Sequence

from quotelib.catalogue.price_list import PriceList
from quotelib.promise.again import revise
from quotelib.promise.approval import Approval
from quotelib.promise.assemble import MARGIN_FLOOR
from quotelib.promise.record import QuoteRecord
from quotelib.register.book import Register, Revision
from quotelib.register.giving import Given
from quotelib.register.outcomes import OPEN
from quotelib.register.revising import accepting
from quotelib.register.standing import Event
from quotelib.text import both, either, money


def approve(
    register: Register,
    number: str,
    codes: Sequence[str],
    by: str,
    price_list: PriceList,
    date: dt.date,
    note: str = "",
) -> Given:
    """Say yes to reasons for which a quote is held, in a revision of its own.

    Parameters
    ----------
    codes
        Of findings, or ``margin_floor``: a margin under the floor.
    price_list, date
        To answer it with, and of the revision.

    Raises
    ------
    InputError
        Where it is not held for that, is not open, or would not be the same quote any more.
    """
    before = register.revision(number)
    if before.standing.outcome != OPEN:
        raise register.closed(number, before.standing.outcome)
    codes = list(dict.fromkeys(codes))
    _held_for(register, before, codes)
    record = _accepted(register, before, codes, price_list, date)
    reasons = {reason.code: reason for reason in reversed(before.record.internal.hold_reasons)}
    moment = register.now()
    said = [
        Approval(code=code, what=reasons[code].what, by=by, moment=moment, note=note)
        for code in codes
    ]
    approvals = (*before.record.internal.approvals, *said)
    internal = record.internal.model_copy(update={"approvals": approvals})
    events = [
        Event(number, before.revision + 1, "approval", one.code, note, by, moment) for one in said
    ]
    return register.revise(
        before, record.model_copy(update={"internal": internal}), by, events=events
    )


def _held_for(register: Register, before: Revision, codes: Iterable[str]) -> None:
    number, held = before.standing.number, before.record.internal.hold_reasons
    known = list(dict.fromkeys(reason.code for reason in held))
    right = f"it is held for {both(known)}" if known else "it needs no yes"
    if wrong := [code for code in codes if code not in known]:
        raise register.problem(number, f"is not held for {either(wrong)}", right)


def _accepted(
    register: Register,
    before: Revision,
    codes: Sequence[str],
    price_list: PriceList,
    date: dt.date,
) -> QuoteRecord:
    """Answer what was asked once more with some things accepted: the same quote, or none."""
    then = before.record
    rows = accepting([row.cells for row in then.rows], set(codes) - {MARGIN_FLOOR})
    approved = frozenset(codes) | {one.code for one in then.internal.approvals}
    came = revise(then, rows, price_list, date, alternatives=True, approved=approved)
    record = came.record
    if record is not None and what_is_sold(record) == what_is_sold(then):
        # Who said yes to what is nothing that changed for the customer.
        return record.model_copy(update={"since": then.since, "changes": then.changes})
    if record is None:
        other = f"it is refused today ({came.answer.reason})"
    else:
        net, given = (money(one.totals.net, one.currency) for one in (record, then))
        other = f"today it would be another quote (net {net}, given at {given})"
    number = before.standing.number
    right = f"revise it first (quotelib revise {number}), then say yes to that"
    raise register.problem(number, f"cannot be accepted as it was given: {other}", right)


def what_is_sold(record: QuoteRecord) -> object:
    """Give what makes two records the same offer: parts, places, arrays, prices."""
    servers = [
        (
            one.name,
            one.builds,
            one.placement,
            tuple((p.sku, p.quantity, p.owned) for p in one.parts),
            tuple((a.name, a.controller, a.drive, a.layout) for a in one.arrays),
            one.lines,
        )
        for one in record.servers
    ]
    return servers, [item.lines for item in record.items], record.totals, record.currency
