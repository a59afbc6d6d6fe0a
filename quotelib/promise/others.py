"""What else would do, and what do wishes cost: shown beside a server."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.alternatives import Other, has_ceiling
from quotelib.choose.candidate import Candidate, describe
from quotelib.choose.options import pins_of
from quotelib.choose.savings import find_cheaper
from quotelib.choose.server import ordered
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import Request
from quotelib.predict.inputs import behind
from quotelib.predict.screening import array_loss_pct
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.quote import items, summed
from quotelib.promise.compared import Alternative, DrivesOn, Saving
from quotelib.text import both, sentence

_TITLES = {"most_capacity": "most capacity", "fastest": "fastest", "least_risk": "least risk"}


def other_builds(
    others: Sequence[Other], best: Candidate, enquiry: Enquiry, price_list: PriceList
) -> Iterator[Alternative]:
    """Show other builds that meet an enquiry beside the best."""
    builds = [other.candidate.build for other in others]
    arrays = [behind(build, array) for build in builds for array in build.arrays]
    if arrays:
        chances = array_loss_pct(arrays, enquiry.load(price_list), price_list.terms)
        for other, chance in zip(others, chances, strict=True):
            yield _alternative(other, best, enquiry, chance)


def _alternative(
    other: Other, best: Candidate, enquiry: Enquiry, array_pct: float | None
) -> Alternative:
    candidate = other.candidate
    build = candidate.build
    net, best_net = candidate.net, best.net
    assert net is not None and best_net is not None  # priced by the search
    rules = [array.layout.rule for array in build.arrays]
    drives = (DrivesOn(drive=a.drive.sku, controller=a.controller.sku) for a in build.arrays)
    return Alternative(
        kinds=other.kinds,
        title=_title(other, [rule.label for rule in rules]),
        words=both(array.layout.words for array in build.arrays),
        chassis=build.chassis.sku,
        drives=tuple(drives),
        pins=pins_of(build),
        usable_bytes=candidate.usable_bytes,
        survives=min(rule.survives for rule in rules),
        net=net,
        net_difference=net - best_net,
        host_iops=candidate.host_iops,
        array_loss_pct=array_pct,
        loss_pct=candidate.loss_pct,
        open_advice=tuple(found.code for found in candidate.open_advice(enquiry.accept)),
    )


def _title(other: Other, levels: Sequence[str]) -> str:
    named = (_TITLES.get(kind) or both(levels) for kind in other.kinds)
    return sentence(both(named))


def looked_for(enquiry: Enquiry) -> str:
    """Say what was looked for to find what else would do."""
    if has_ceiling(enquiry):
        return (
            "Most capacity, fastest and least risk for no more than the budget, where they give "
            "more than the proposal, and least cost at each other level"
        )
    return (
        "Least risk and fastest within one and a half times the cost, where they differ clearly, "
        "and least cost at each other level"
    )


def savings(
    price_list: PriceList, request: Request, best: Sequence[Candidate]
) -> Iterator[tuple[Saving, ...]]:
    """Say what each wish costs, server by server, those that cost anything and the dearest first.

    `best` are the servers quoted.
    """
    currency = request.first.currency or price_list.terms.currency
    book = PriceBook(price_list, currency)

    def net(builds: Sequence[Build]) -> Decimal:
        made = tuple(items(ordered(price_list, request, builds), book))
        return summed(made, book, request.deal).net

    builds = [candidate.build for candidate in best]
    quoted = net(builds)
    for place, (asked, candidate) in enumerate(zip(request.servers, best, strict=True)):
        found = []
        for one in find_cheaper(price_list, asked, candidate):
            build = one.candidate.build
            advised = one.candidate.open_advice(asked.base.accept)
            name = ""
            if one.array is not None and len(asked.arrays) > 1:
                name = one.array.array or str(asked.arrays.index(one.array) + 1)
            found.append(
                Saving(
                    column=one.demand.column,
                    array=name,
                    wish=one.demand.words,
                    gives=one.gives,
                    words=describe(build),
                    saves=quoted - net([*builds[:place], build, *builds[place + 1 :]]),
                    open_advice=tuple(advice.code for advice in advised),
                )
            )
        # What is rounded for several servers together may not come out lower.
        lower = (saving for saving in found if saving.saves > 0)
        yield tuple(sorted(lower, key=lambda saving: -saving.saves))
