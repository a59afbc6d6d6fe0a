"""Why is there no quote: what stops the nearest build, or which demand binds."""

from collections.abc import Iterator
from dataclasses import dataclass

from quotelib.build import fit
from quotelib.build.build import Build, Layout, Parts
from quotelib.build.fit import Finding
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.quote.candidate import Candidate, describe, rank
from quotelib.quote.demands import Demand
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.enumeration import combinations
from quotelib.quote.judging import estimate, judge, price


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why no build is left.

    Parameters
    ----------
    reasons : tuple of (str, str)
        Code of each finding or column of each demand, and words.
    """

    reasons: tuple[tuple[str, str], ...]


def nothing_fits(price_list: PriceList, enquiry: Enquiry) -> Refusal:
    """Find the build that comes nearest to fitting, and say what stops it."""
    nearest: tuple[tuple[int, int, int], list[Finding]] | None = None
    for parts in combinations(price_list, enquiry):
        of_parts = fit.part_stops(parts)
        room = min(parts.chassis.bays, parts.controller.max_drives)
        for layout in _attempts(parts, enquiry):
            found = [*of_parts, *fit.layout_stops(Build(parts, layout))]
            key = (len(found), layout.drives, -room)
            if nearest is None or key < nearest[0]:
                nearest = (key, found)
    assert nearest is not None  # a price list has at least one part of each kind
    return Refusal(tuple((found.code, found.message) for found in nearest[1]))


def _attempts(parts: Parts, enquiry: Enquiry) -> Iterator[Layout]:
    """List layouts worth a message, also those that cannot be made."""
    spares = enquiry.spares or 0
    offered = parts.controller.levels or ("none",)
    for name in [enquiry.level] if enquiry.level else offered:
        level = LEVELS[name]
        spans = enquiry.spans or (2 if level.spanned else 1)
        members = enquiry.members or level.min_per_span * (spans if level.spanned else 1)
        if enquiry.spans is None and (possible := level.spans_for(members)):
            spans = possible[0]
        yield Layout(name, members, spans, spares)


def nothing_meets(
    candidates: list[Candidate], asked: list[Demand], price_list: PriceList, enquiry: Enquiry
) -> Refusal:
    """Find the demands that bind, and the build that comes nearest to them.

    Parameters
    ----------
    candidates : list of Candidate
        Every build without a stop finding; at least one.
    asked : list of Demand
        Of which each candidate misses at least one.
    price_list : PriceList
    enquiry : Enquiry

    Returns
    -------
    Refusal
    """
    needs = {demand.needs for demand in asked}
    if "price" in needs:
        price(candidates, price_list, enquiry)
    if "estimates" in needs:
        estimate(candidates, price_list, enquiry)
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
        got = f"nearest{others} is {demand.got(best)}: {describe(best)}"
        reasons.append((demand.column, f"{demand.asked} asked; {got}"))
    return Refusal(tuple(reasons))
