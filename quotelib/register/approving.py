"""How does somebody say yes to what holds a quote: a revision in which it is accepted.

Nothing else may change by it: who says yes says it to what was given.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.errors import InputError
from quotelib.promise.answer import answer
from quotelib.promise.approval import Approval
from quotelib.promise.assemble import MARGIN_FLOOR
from quotelib.promise.record import QuoteRecord
from quotelib.register.book import Register, Revision
from quotelib.register.giving import Given, now
from quotelib.register.outcomes import OPEN
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
    moment = now()
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
    floor = {one.code for one in before.record.internal.approvals} | set(codes)
    approved = frozenset(floor & {MARGIN_FLOOR})
    findings = [code for code in codes if code != MARGIN_FLOOR]
    other = ""
    for rows in _rows(before.record, findings):
        try:
            request = read_request(rows, price_list)
        except InputError as error:
            other = f"its enquiry cannot be answered any more ({error.problems[0]})"
            continue
        answered = answer(price_list, request, date, approved=approved)
        if answered.record is None:
            other = f"it is refused today ({answered.reason})"
        elif what_is_sold(answered.record) == what_is_sold(before.record):
            return answered.record
        else:
            net, then = answered.record.totals.net, before.record.totals.net
            prices = money(net, answered.record.currency), money(then, before.record.currency)
            other = f"today it would be another quote (net {prices[0]}, given at {prices[1]})"
    number = before.standing.number
    right = f"revise it first (quotelib revise {number} ENQUIRIES.csv), then say yes to that"
    raise register.problem(number, f"cannot be accepted as it was given: {other}", right)


def _rows(record: QuoteRecord, codes: Sequence[str]) -> Iterator[list[dict[str, str]]]:
    """Give the rows that were asked with more accepted; then with what was chosen pinned."""
    asked = []
    for row in record.rows:
        cells = dict(row.cells)
        if row.server is not None and codes:
            there = [code for code in cells.get("accept", "").split(";") if code.strip()]
            cells["accept"] = ";".join(dict.fromkeys([*map(str.strip, there), *codes]))
        asked.append(cells)
    yield asked
    yield [cells | pins for cells, pins in zip(asked, _pins(record), strict=True)]


def _pins(record: QuoteRecord) -> Iterator[dict[str, str]]:
    from quotelib.choose.options import array_pins

    for row in record.rows:
        if row.server is None:
            yield {}
            continue
        server = record.servers[row.server]
        pins = {"chassis": server.chassis}
        if row.array is not None:
            array = server.arrays[row.array]
            pins |= array_pins(array.controller, array.drive, array.layout)
        yield {name: cell for name, cell in pins.items() if cell}


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
