"""Which build is it, or why is there none: the choice among all that agree with the pins.

Trying everything, as long as that is not more than `MOST_SEEN` builds with `MOST_WEIGHED` of them
to be priced and estimated; of more, the best is found by the search of whole servers, and nothing
else is looked for.
"""

from collections.abc import Collection
from dataclasses import dataclass

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import (
    Candidate,
    describe,
    fill_estimates,
    fill_price,
    first,
    judge,
)
from quotelib.choose.enumeration import Verdict, verdicts
from quotelib.choose.whole import Search
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.facts import Reason


@dataclass(frozen=True, slots=True)
class Choice:
    """The build to propose or why there is none, and all that agree with pins and demands.

    Of very many builds only the best was looked for (`narrow`), and is `feasible` alone.
    """

    best: Candidate | None
    feasible: tuple[Candidate, ...]
    refused: tuple[Reason, ...]
    narrow: bool = False


MOST_SEEN, MOST_WEIGHED = 3_000_000, 500_000
"""Four times what the starter list of four times its chassis has; ours, for time and memory."""


class TooMany(Exception):  # noqa: N818 - nothing is wrong with them
    """There are more builds than are weighed one by one."""


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
    try:
        return _among_all(price_list, enquiry)
    except TooMany:
        return _among_very_many(price_list, enquiry)


def _among_all(price_list: PriceList, enquiry: Enquiry) -> Choice:
    asked = enquiry.asked(price_list)
    of_build = [demand for demand in asked if demand.needs == "build"]
    candidates = buildable(price_list, enquiry, of_build)
    judge(candidates, price_list, enquiry)
    rest = [demand for demand in asked if demand.needs != "build"]
    feasible = [c for c in candidates if all(demand.met(c) for demand in rest)]
    if feasible:
        best = first(feasible, enquiry.accept)
        return Choice(best, tuple(feasible), ())
    candidates = buildable(price_list, enquiry)
    if not candidates:
        return Choice(None, (), nothing_fits(price_list, enquiry))
    return Choice(None, (), nothing_meets(candidates, asked, price_list, enquiry))


def _among_very_many(price_list: PriceList, enquiry: Enquiry) -> Choice:
    server = ServerAsked(enquiry, (enquiry,))
    for sound in (True, False):
        best = Search(price_list, server, sound=sound).run()
        if best is not None:
            return Choice(best, (best,), (), narrow=True)
    what = "none of very many builds meets all that was asked"
    change = "name a chassis, a controller or a drive, and what is in the way is said"
    return Choice(None, (), (Reason(code="too_open", what=what, change=change),), narrow=True)


def buildable(
    price_list: PriceList, enquiry: Enquiry, asked: Collection[Asked] = ()
) -> list[Candidate]:
    """List every build that agrees with the pins, has no stop finding and meets some demands.

    Raises
    ------
    TooMany
    """
    found: list[Candidate] = []
    for seen, (build, _) in enumerate(verdicts(price_list, enquiry, sound_only=True)):
        if seen == MOST_SEEN or len(found) == MOST_WEIGHED:
            raise TooMany
        candidate = Candidate(build, build.usable_bytes)
        for demand in asked:
            if not demand.met(candidate):
                break
        else:
            found.append(candidate)
    return found


def nothing_fits(price_list: PriceList, enquiry: Enquiry) -> tuple[Reason, ...]:
    """Find the build that comes nearest to fitting, and say what stops it."""

    def distance(verdict: Verdict) -> tuple[int, int, int]:
        build = verdict.build
        room = min([build.chassis.bays, *(a.controller.max_drives for a in build.arrays)])
        return len(verdict.stops), build.drives, -room

    return min(verdicts(price_list, enquiry), key=distance).stops


def nothing_meets(
    candidates: list[Candidate], asked: list[Asked], price_list: PriceList, enquiry: Enquiry
) -> tuple[Reason, ...]:
    """Find the demands that bind, and the build that comes nearest to each.

    Parameters
    ----------
    candidates : list of Candidate
        Every build without a stop finding; at least one, and each misses one of `asked`.
    """
    needs = {demand.needs for demand in asked}
    if "price" in needs:
        fill_price(candidates, price_list, enquiry)
    if "estimates" in needs:
        fill_estimates(candidates, price_list, enquiry)
    unmet = [(c, [d for d in asked if not d.met(c)]) for c in candidates]
    fewest = min(len(missed) for _, missed in unmet)
    near = [(c, missed) for c, missed in unmet if len(missed) == fewest]
    binding = [d for d in asked if any(d in missed for _, missed in near)]
    others = " with all else as asked" if fewest == 1 else ""
    reasons = []
    for demand in binding:
        short = [(demand.shortfall(c), c) for c, missed in near if demand in missed]
        least = min(shortfall for shortfall, _ in short)
        nearest = [c for shortfall, c in short if shortfall == least]
        judge(nearest, price_list, enquiry)
        best = first(nearest, ())
        got = f"nearest{others} is {demand.shown(best)}: {describe(best.build)}"
        reasons.append(Reason(code=demand.column, what=f"{demand.words} asked", change=got))
    return tuple(reasons)
