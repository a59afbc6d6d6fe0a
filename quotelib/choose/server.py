"""Which server is it, whatever is asked of it, or what is in the way where there is none."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

from quotelib.build import fit
from quotelib.build.build import Build, assemble
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, describe
from quotelib.choose.search import Choice, choose
from quotelib.choose.whole import Search
from quotelib.enquiry.column import Asked
from quotelib.enquiry.columns import loose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import Request, ServerAsked
from quotelib.facts import Reason
from quotelib.pricing.quote import Ordered
from quotelib.text import both


def single_array(asked: ServerAsked) -> Enquiry | None:
    """Give the one array of a server of which nothing else is left open; None for any other."""
    open_options = asked.base.value("cores") or asked.base.value("memory_gb")
    return asked.arrays[0] if len(asked.arrays) == 1 and not open_options else None


@lru_cache(maxsize=256)
def choose_server(price_list: PriceList, asked: ServerAsked) -> Choice:
    """Choose the server to propose, or say why there is none.

    Returns
    -------
    Choice
        As `search.choose` describes it; of several arrays or chosen options the best alone stands
        in `feasible`. Ties go on from array to array in their order, then to processors and memory.
    """
    array = single_array(asked)
    if array is not None:
        return choose(price_list, array)
    best = _best(price_list, asked)
    if best is not None:
        return Choice(best, (best,), ())
    return Choice(None, (), tuple(_why_none(price_list, asked)))


def ordered(price_list: PriceList, request: Request, builds: Sequence[Build]) -> Ordered:
    """Give what a request comes to with the builds chosen for its servers."""
    parts = loose(price_list)
    deals = (server.base.deal for server in request.servers)
    return Ordered(
        tuple(zip(builds, deals, strict=True)),
        tuple(parts[sku] for sku in request.parts),
        request.services,
        request.lines,
    )


def _best(price_list: PriceList, asked: ServerAsked) -> Candidate | None:
    for sound in (True, False):
        best = Search(price_list, asked, sound=sound).run()
        if best is not None:
            return best
    return None


def _why_none(price_list: PriceList, asked: ServerAsked) -> Iterator[Reason]:
    """Say what is in the way: an array by itself, one demand of many, or all of them together."""
    alone = [(array, choose(price_list, array)) for array in asked.arrays]
    hopeless = [(array, choice.refused) for array, choice in alone if choice.best is None]
    if hopeless:
        for one, reasons in hopeless:
            for reason in reasons:
                yield _of_array(reason, one, len(asked.arrays))
        return
    found = False
    for demand, array in _demands(price_list, asked):
        best = _best(price_list, _without(asked, demand.column, array))
        if best is not None:
            found = True
            got = demand.shown(_seen_by(best, demand, asked, array))
            change = f"nearest with all else as asked is {got}: {describe(best.build)}"
            reason = Reason(code=demand.column, what=f"{demand.words} asked", change=change)
            yield _of_array(reason, array, len(asked.arrays))
    if not found:
        yield from _together(price_list, asked, [choice.best for _, choice in alone])


def _of_array(reason: Reason, array: Enquiry | None, arrays: int) -> Reason:
    if array is None or arrays < 2:
        return reason
    name = f"array {array.array}" if array.array else "the array"
    return reason.model_copy(update={"what": f"{name}: {reason.what}"})


def _demands(price_list: PriceList, asked: ServerAsked) -> Iterator[tuple[Asked, Enquiry | None]]:
    for demand in asked.base.asked(price_list):
        if demand.of == "server":
            yield demand, None
    for array in asked.arrays:
        for demand in array.asked(price_list):
            if demand.of == "array" and array.value(demand.column) is not None:
                yield demand, array


def _without(asked: ServerAsked, column: str, array: Enquiry | None) -> ServerAsked:
    arrays = tuple(
        one.without(column) if array is None or one is array else one for one in asked.arrays
    )
    base = asked.base if array is not None else asked.base.without(column)
    return replace(asked, base=base, arrays=arrays)


def _seen_by(
    best: Candidate, demand: Asked, asked: ServerAsked, array: Enquiry | None
) -> Candidate:
    """Give what a demand looks at: the server, or the one array it is made of."""
    if array is None:
        return best
    build = best.build
    own = build.arrays[asked.arrays.index(array)]
    one = replace(build, arrays=(own,))
    return replace(best, build=one, usable_bytes=own.usable_bytes)


def _together(
    price_list: PriceList, asked: ServerAsked, alone: list[Candidate | None]
) -> Iterator[Reason]:
    """Say what keeps arrays apart that each could be built: in the chassis that comes nearest."""
    base = asked.base
    skus = [base.chassis] if base.chassis else list(price_list.chassis)
    tried = []
    arrays = tuple(a for c in alone if c is not None for a in c.build.arrays)
    for sku in skus:
        parts = {p.part.sku: p for c in alone if c for p in c.build.parts}
        build = assemble(
            price_list, price_list.chassis[sku], "chassis" in base.owned,
            tuple(parts.values()), arrays, bool(base.value("redundant_supply")),
        )  # fmt: skip
        tried.append((fit.stops(build), build))
    stops, _ = min(tried, key=lambda one: (len(one[0]), one[1].chassis.sku))
    if stops:
        yield from stops
        return
    columns = both(dict.fromkeys(d.column for d, _ in _demands(price_list, asked)))
    what = f"nothing on the price list meets all of it together ({columns})"
    yield Reason(code="together", what=what, change="ask for less of two of them or more")
