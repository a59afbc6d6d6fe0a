"""Which build is it: the choice among every build that agrees with the pins.

A plain enumeration. Whatever is faster can take its place behind `choose`, as long as it gives
the same `Choice`.
"""

from dataclasses import dataclass

from quotelib.catalogue.price_list import PriceList
from quotelib.quote.candidate import Candidate, describe, rank
from quotelib.quote.demands import demands
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.enumeration import buildable, combinations, layouts
from quotelib.quote.judging import deal_of, judge
from quotelib.quote.refusal import Refusal, nothing_fits, nothing_meets


@dataclass(frozen=True, slots=True)
class Choice:
    """What the search found.

    Parameters
    ----------
    best : Candidate or None
        The build to propose.
    feasible : tuple of Candidate
        Every build that agrees with the pins, can be built and meets every demand.
    refusal : Refusal or None
        Set where `best` is None.
    """

    best: Candidate | None
    feasible: tuple[Candidate, ...]
    refusal: Refusal | None


def choose(price_list: PriceList, enquiry: Enquiry) -> Choice:
    """Choose the build to propose.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry

    Returns
    -------
    Choice
        The build of lowest net among those that can be built and meet every demand; one with
        an unaccepted ``advise`` finding only if no other is left. Ties go to fewer drives, then
        to chassis, controller and drive sku in alphabetical order, then to the level that
        comes first in the level table, then to fewer spans.
    """
    currency = enquiry.currency or price_list.terms.currency
    asked = demands(enquiry, currency)
    of_build = [d for d in asked if d.needs == "build"]
    candidates = buildable(price_list, enquiry, of_build)
    judge(candidates, price_list, enquiry)
    rest = [d for d in asked if d.needs != "build"]
    feasible = [c for c in candidates if all(d.met(c) for d in rest)]
    if not feasible:
        candidates = buildable(price_list, enquiry)
        if not candidates:
            return Choice(None, (), nothing_fits(price_list, enquiry))
        return Choice(None, (), nothing_meets(candidates, asked, price_list, enquiry))
    best = min(feasible, key=lambda c: rank(c, enquiry.accept))
    return Choice(best, tuple(feasible), None)


__all__ = [
    "Choice",
    "Refusal",
    "buildable",
    "choose",
    "combinations",
    "deal_of",
    "describe",
    "layouts",
    "rank",
]
