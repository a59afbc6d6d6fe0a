"""What do we answer: from an enquiry to a quote record, or to the reason why there is none."""

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from quotelib.catalogue.price_list import PriceList
from quotelib.quote.alternatives import find_alternatives
from quotelib.quote.assemble import Beside, assemble
from quotelib.quote.comparison.compare import compare_controllers, without_placements
from quotelib.quote.comparison.twins import keeping_slot_free
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.facts import Reason
from quotelib.quote.record import QuoteRecord
from quotelib.quote.search import choose


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one enquiry that could be read.

    Parameters
    ----------
    outcome : str
        ``quoted``, ``held`` or ``refused``.
    reasons : tuple of Reason
        Why it is held or refused; empty for ``quoted``.
    record : QuoteRecord or None
        None where it is refused.
    """

    outcome: Literal["quoted", "held", "refused"]
    reasons: tuple[Reason, ...]
    record: QuoteRecord | None

    @property
    def reason(self) -> str:
        """Give the reasons in one line."""
        return "; ".join(f"{reason.code}: {reason.words}" for reason in self.reasons)


@lru_cache(maxsize=64)
def answer(
    price_list: PriceList, enquiry: Enquiry, date: dt.date, *, alternatives: bool = True
) -> Answer:
    """Answer an enquiry.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
        Read against this price list.
    date : date
        Of the quote.
    alternatives : bool
        Whether to look for other builds too: at other levels, with every controller, with
        the slot kept free. Without them a pinned build is answered in milliseconds, which the
        workbook needs while somebody types.

    Returns
    -------
    Answer
        The same for the same three.
    """
    choice = choose(price_list, enquiry)
    if choice.best is None:
        reasons = choice.refusal.reasons if choice.refusal else ()
        told = tuple(Reason(code=code, words=text) for code, text in reasons)
        return Answer("refused", told, None)
    best = choice.best
    beside = Beside()
    if alternatives:
        comparison = compare_controllers(price_list, enquiry, choice)
        beside = Beside(
            find_alternatives(price_list, enquiry, choice, best),
            keeping_slot_free(price_list, enquiry, best.build),
            without_placements(comparison),
        )
    record = assemble(price_list, enquiry, date, best, beside)
    return Answer(record.outcome, record.internal.hold_reasons, record)
