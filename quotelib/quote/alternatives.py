"""What else would meet the enquiry: the build of least cost at each other level."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Literal

from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.quote.candidate import Candidate
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.record import Alternative
from quotelib.quote.search import Choice, choose, rank
from quotelib.units import TB


def at_other_levels(
    price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> Iterator[Alternative]:
    """Give the build of least cost at each other level."""
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
        yield _alternative("level", found, best, enquiry)


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
        title=layout.rule.label,
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
        open_advice=tuple(
            found.code for found in candidate.advice if found.code not in enquiry.accept
        ),
    )
