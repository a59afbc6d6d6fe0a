"""Why is there no quote: what stops the nearest build, or which demand binds."""

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, describe, rank
from quotelib.choose.enumeration import Verdict, verdicts
from quotelib.choose.judging import fill_estimates, fill_price, judge
from quotelib.enquiry.demands import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason


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
        best = min(nearest, key=lambda c: rank(c, ()))
        got = f"nearest{others} is {demand.shown(best)}: {describe(best.build)}"
        reasons.append(Reason(code=demand.column, what=f"{demand.words} asked", change=got))
    return tuple(reasons)
