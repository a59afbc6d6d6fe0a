"""What else would meet the enquiry: least risk, fastest, and least cost at each other level."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from quotelib.build.build import Build
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.quote.candidate import Candidate
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.record import Alternative
from quotelib.quote.search import Choice, choose, rank
from quotelib.units import TB

MOST_PRICE = Decimal("1.5")
"""How many times the least net an alternative may cost to be worth showing; ours, no source."""


_CLEARLY_LESS = 0.95
"""What differs by less than a twentieth is the same, given the ranges; ours, no source."""


@dataclass(frozen=True)
class Other:
    """An alternative, with the build itself for those who look further into it."""

    facts: Alternative
    build: Build


def find_alternatives(
    price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> tuple[Other, ...]:
    """Find what else would meet the enquiry.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
    choice : Choice
        What `choose` found for it.
    best : Candidate
        The build of least cost, which is the quote.

    Returns
    -------
    tuple of Other
        The least risk and the fastest within `MOST_PRICE` times the least cost, neither with
        unaccepted advice against it that the quote has not; then the least cost at each other
        level.
    """
    at_levels = _at_other_levels(price_list, enquiry, choice, best)
    return (*_by_strength(enquiry, choice, best), *at_levels)


def _by_strength(enquiry: Enquiry, choice: Choice, best: Candidate) -> Iterator[Other]:
    assert best.net is not None  # priced by the search
    limit = best.net * MOST_PRICE
    # What we advise against is no strength, unless the quote itself is no better.
    open_advice = rank(best, enquiry.accept)[0]
    near = [
        c
        for c in choice.feasible
        if c.net is not None and c.net <= limit and rank(c, enquiry.accept)[0] <= open_advice
    ]
    known = [c for c in near if c.loss_pct is not None]
    if known:
        safest = min(known, key=lambda c: (c.loss_pct, rank(c, enquiry.accept)))
        if best.loss_pct is None or (safest.loss_pct or 0) < best.loss_pct * _CLEARLY_LESS:
            yield Other(_alternative("least_risk", safest, best, enquiry), safest.build)
    quick = [c for c in near if c.host_iops is not None]
    if quick:
        fastest = min(quick, key=lambda c: (-(c.host_iops or 0), rank(c, enquiry.accept)))
        if (fastest.host_iops or 0) * _CLEARLY_LESS > (best.host_iops or 0):
            yield Other(_alternative("fastest", fastest, best, enquiry), fastest.build)


def _at_other_levels(
    price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> Iterator[Other]:
    feasible = choice.feasible
    if enquiry.level is not None or enquiry.members is not None or enquiry.spans is not None:
        open_enquiry = enquiry.without("level", "members", "spans")
        if enquiry.usable_tb is None:
            wanted = Decimal(best.usable_bytes) / TB
            open_enquiry = open_enquiry.model_copy(update={"usable_tb": wanted})
        feasible = choose(price_list, open_enquiry).feasible
    for level in LEVELS:
        at_level = [c for c in feasible if c.build.layout.level == level]
        if not at_level or level == best.build.layout.level:
            continue
        found = min(at_level, key=lambda c: rank(c, enquiry.accept))
        yield Other(_alternative("level", found, best, enquiry), found.build)


_TITLES = {"least_risk": "Least risk", "fastest": "Fastest"}


def _alternative(
    kind: Literal["level", "least_risk", "fastest"],
    candidate: Candidate,
    best: Candidate,
    enquiry: Enquiry,
) -> Alternative:
    build, layout = candidate.build, candidate.build.layout
    net, best_net = candidate.net, best.net
    assert net is not None and best_net is not None  # priced by the search
    return Alternative(
        kind=kind,
        title=_TITLES.get(kind, layout.rule.label),
        level=layout.level,
        words=layout.words,
        chassis=build.chassis.sku,
        controller=build.controller.sku,
        drive=build.drive.sku,
        members=layout.members,
        spans=layout.spans,
        spares=layout.spares,
        usable_bytes=candidate.usable_bytes,
        survives=layout.rule.survives,
        net=net,
        net_difference=net - best_net,
        host_iops=candidate.host_iops,
        loss_pct=candidate.loss_pct,
        open_advice=tuple(
            found.code for found in candidate.advice if found.code not in enquiry.accept
        ),
    )
