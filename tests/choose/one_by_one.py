"""The choice for one array by trying everything: each build made, priced and estimated by itself.

This is what the choice was before there were tables, and what the tables are held against.
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
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.text import both


@dataclass(frozen=True, slots=True)
class Tried:
    """The build to propose or why there is none, and all that agree with pins and demands."""

    best: Candidate | None
    feasible: tuple[Candidate, ...]
    refused: tuple[Reason, ...]


def try_everything(price_list: PriceList, enquiry: Enquiry) -> Tried:
    """Choose among all builds that nothing stops."""
    asked = enquiry.asked(price_list)
    of_build = [demand for demand in asked if demand.needs == "build"]
    candidates = buildable(price_list, enquiry, of_build)
    judge(candidates, price_list, enquiry)
    rest = [demand for demand in asked if demand.needs != "build"]
    feasible = [c for c in candidates if all(demand.met(c) for demand in rest)]
    if feasible:
        best = first(feasible, enquiry.accept)
        return Tried(best, tuple(feasible), ())
    candidates = buildable(price_list, enquiry)
    if not candidates:
        return Tried(None, (), nothing_fits(price_list, enquiry))
    return Tried(None, (), nothing_meets(candidates, asked, price_list, enquiry))


def buildable(
    price_list: PriceList, enquiry: Enquiry, asked: Collection[Asked] = ()
) -> list[Candidate]:
    """List every build that agrees with the pins, has no stop finding and meets some demands."""
    found: list[Candidate] = []
    for build, _ in verdicts(price_list, enquiry, sound_only=True):
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
        against = dict.fromkeys(found.code for found in best.open_advice(enquiry.accept))
        if against:
            got += f"; we advise against it: {both(code.replace('_', ' ') for code in against)}"
        reasons.append(Reason(code=demand.column, what=f"{demand.words} asked", change=got))
    return tuple(reasons)
