"""What do we answer: from an enquiry to a quote record, or to the reason why there is none."""

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.options import pinned
from quotelib.choose.search import Choice, buildable, choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.promise.arrays import arrays_laid
from quotelib.promise.assemble import assemble
from quotelib.promise.beside import widen
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import ArrayLaid


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one enquiry that could be read.

    There are reasons where it is held or refused, and a record where it is not refused.
    """

    outcome: Literal["quoted", "held", "refused"]
    reasons: tuple[Reason, ...]
    record: QuoteRecord | None

    @property
    def reason(self) -> str:
        """Give the reasons in one line."""
        return "; ".join(f"{reason.code}: {reason.words}" for reason in self.reasons)


@lru_cache(maxsize=64)
def _first(
    price_list: PriceList, enquiry: Enquiry, date: dt.date
) -> tuple[Choice, QuoteRecord | None]:
    choice = choose(price_list, enquiry)
    best = choice.best
    return choice, None if best is None else assemble(price_list, enquiry, date, best)


@lru_cache(maxsize=64)
def answer(
    price_list: PriceList, enquiry: Enquiry, date: dt.date, *, alternatives: bool = True
) -> Answer:
    """Answer an enquiry that was read against this price list.

    With `alternatives` it looks for other builds too: at other levels, with every controller,
    with the slot kept free. Without them a pinned build is answered in milliseconds, which the
    workbook needs while somebody types; asked for afterwards, they are added to that answer.
    """
    choice, record = _first(price_list, enquiry, date)
    if record is None or choice.best is None:
        return Answer("refused", choice.refused, None)
    if alternatives:
        record = widen(record, price_list, enquiry, choice, choice.best)
    return Answer(record.outcome, record.internal.hold_reasons, record)


def laid_out(price_list: PriceList, enquiry: Enquiry) -> tuple[ArrayLaid, ...]:
    """Describe the arrays of a build that is pinned whole, without waiting for the answer.

    They are as the answer will have them. None where the pins leave a choice, where the build
    cannot be built, or where it takes a price or an estimate to see whether it is what was asked.
    """
    asked = enquiry.asked(price_list.terms)
    if not pinned(enquiry) or any(demand.needs != "build" for demand in asked):
        return ()
    found = buildable(price_list, enquiry, asked)
    return tuple(arrays_laid(found[0].build)) if len(found) == 1 else ()
