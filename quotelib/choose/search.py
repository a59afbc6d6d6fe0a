"""Which build is it: the choice among every build that agrees with the pins.

Trying everything. Whatever is faster can take its place behind `choose`, as long as it gives
the same `Choice`.
"""

from collections.abc import Collection
from dataclasses import dataclass

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, rank
from quotelib.choose.enumeration import verdicts
from quotelib.choose.judging import judge
from quotelib.choose.refusal import nothing_fits, nothing_meets
from quotelib.enquiry.demands import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason


@dataclass(frozen=True, slots=True)
class Choice:
    """The build to propose or why there is none, and all that agree with pins and demands."""

    best: Candidate | None
    feasible: tuple[Candidate, ...]
    refused: tuple[Reason, ...]


def choose(price_list: PriceList, enquiry: Enquiry) -> Choice:
    """Choose the build to propose.

    Returns
    -------
    Choice
        The build of lowest net among those that can be built and meet every demand; one with
        an unaccepted ``advise`` finding only if no other is left. Ties go to fewer drives, then
        to chassis, controller and drive sku in alphabetical order, then to the level that
        comes first in the level table, then to fewer spans.
    """
    asked = enquiry.asked(price_list.terms)
    of_build = [demand for demand in asked if demand.needs == "build"]
    candidates = buildable(price_list, enquiry, of_build)
    judge(candidates, price_list, enquiry)
    rest = [demand for demand in asked if demand.needs != "build"]
    feasible = [c for c in candidates if all(demand.met(c) for demand in rest)]
    if feasible:
        best = min(feasible, key=lambda c: rank(c, enquiry.accept))
        return Choice(best, tuple(feasible), ())
    candidates = buildable(price_list, enquiry)
    if not candidates:
        return Choice(None, (), nothing_fits(price_list, enquiry))
    return Choice(None, (), nothing_meets(candidates, asked, price_list, enquiry))


def buildable(
    price_list: PriceList, enquiry: Enquiry, asked: Collection[Asked] = ()
) -> list[Candidate]:
    """List every build that agrees with the pins, has no stop finding and meets some demands."""
    sound = verdicts(price_list, enquiry, sound_only=True)
    found = (Candidate(build, build.usable_bytes) for build, _ in sound)
    return [candidate for candidate in found if all(demand.met(candidate) for demand in asked)]
