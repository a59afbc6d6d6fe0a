"""Why is there no server for what was asked, where several things were left to choose together."""

from collections.abc import Iterator
from dataclasses import replace

from quotelib.build import fit
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Array, Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.choose.asking import anything_listed, asking
from quotelib.choose.candidate import described
from quotelib.choose.enumeration import array_of, options_named
from quotelib.choose.near_server import near, shown
from quotelib.choose.search import choose
from quotelib.choose.whole import best_of
from quotelib.choose.wishes import demands, without
from quotelib.enquiry.columns import COLUMNS, demand_columns
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.facts import Reason
from quotelib.levels import LEVELS
from quotelib.pricing.lines import in_vain
from quotelib.text import both

_APART = Reason(
    code="together",
    what="these arrays do not go together into any server on the price list",
    change="spread them over several servers",
)
_DEMANDED = tuple(column.name for column in demand_columns())
_OF_SERVER = tuple(name for name in _DEMANDED if COLUMNS[name].of != "array")


def open_options(base: Enquiry) -> bool:
    """Tell whether processors or memory are left to choose."""
    return bool(base.value("cores") or base.value("memory_gb"))


def why_none(price_list: PriceList, asked: ServerAsked) -> Iterator[Reason]:
    """Say what is in the way: one demand of many, an array by itself, or all of them together."""
    stops = list(_stops_of_the_one(price_list, asked))
    if stops:
        yield from stops
        return
    binding = list(_binding(price_list, asked))
    if binding:
        yield from binding
        return
    rows = [array.without(*_OF_SERVER, "services") for array in asked.arrays]
    alone = [choose(price_list, row) for row in rows]
    if not all(choice.best for choice in alone):
        for row, choice in zip(asked.arrays, alone, strict=True):
            for reason in choice.refused:
                yield _of_array(reason, row, len(asked.arrays))
        best = best_of(price_list, without(asked, None, *_DEMANDED, "services"))
        if best is None:
            yield from _nearest(price_list, asked)
        elif best_of(price_list, without(asked, None, *_DEMANDED)) is None:
            yield from in_vain(_chosen(price_list, asked.base), best.build)
        return
    yield from _together(price_list, asked)


def _serves_alone(price_list: PriceList, row: Enquiry) -> bool:
    """Tell whether an array can be made as asked in a server of its own, whatever that costs."""
    alone = row.without(*_OF_SERVER, "services")
    return anything_listed(price_list, alone) and asking(price_list, alone).first() is not None


def _binding(price_list: PriceList, asked: ServerAsked) -> Iterator[Reason]:
    """Name each demand without which there is a server, and what comes nearest to it."""
    accept = asked.base.accept
    hopeless = [row for row in asked.arrays if not _serves_alone(price_list, row)]
    if len(hopeless) > 1:
        return  # more than one demand has to give
    for demand, array in demands(price_list, asked):
        if hopeless and (
            array is not hopeless[0] or not _serves_alone(price_list, array.without(demand.column))
        ):
            continue
        found = near(price_list, asked, demand, array, sound=False)
        if found is not None:
            got = shown(price_list, asked, demand, array, found)
            change = f"{got}: {described(found.candidate, accept)}"
            reason = Reason(code=demand.column, what=f"{demand.words} asked", change=change)
            yield _of_array(reason, array, len(asked.arrays))


def _stops_of_the_one(price_list: PriceList, asked: ServerAsked) -> Iterator[Reason]:
    """Find what stops a server of which everything is decided; nothing where it is not."""
    base = asked.base
    layouts = [_only_layout(row) for row in asked.arrays]
    if open_options(base) or not base.chassis or None in layouts:
        return
    arrays: list[Array] = []
    controllers: dict[str, Placed] = {}
    for row, layout in zip(asked.arrays, layouts, strict=True):
        assert row.controller and row.drive and layout  # pinned
        part = price_list.controllers[row.controller]
        made = array_of(price_list, row, row.controller, row.drive, layout)
        arrays.append(replace(made, name=row.array))
        before = controllers.get(part.sku)
        owned = "controller" in row.owned or bool(before and before.owned)
        controllers[part.sku] = Placed(part, owned=owned)
    parts = (*controllers.values(), *options_named(price_list, base))
    build = _assembled(price_list, base, base.chassis, parts, tuple(arrays))
    yield from fit.stops(build)
    yield from in_vain(_chosen(price_list, base), build)


def _only_layout(row: Enquiry) -> Layout | None:
    """Give the layout where a row's pins leave one, and one controller and drive for it."""
    if not (row.controller and row.drive and row.level and row.members):
        return None
    level = LEVELS[row.level]
    possible = level.spans_for(row.members) or [2 if level.spanned else 1]
    if row.spans is None and len(possible) > 1:
        return None
    return Layout(row.level, row.members, row.spans or possible[0], row.spares or 0)


def _chosen(price_list: PriceList, base: Enquiry) -> list[Service]:
    return [price_list.services[sku] for sku in dict.fromkeys(base.deal.services)]


def _assembled(
    price_list: PriceList,
    base: Enquiry,
    chassis: str,
    parts: tuple[Placed, ...],
    arrays: tuple[Array, ...],
) -> Build:
    box, owned = price_list.chassis[chassis], "chassis" in base.owned
    return assemble(price_list, box, owned, parts, arrays, bool(base.value("redundant_supply")))


def _of_array(reason: Reason, array: Enquiry | None, arrays: int) -> Reason:
    if array is None or arrays < 2:
        return reason
    name = f"array {array.array}" if array.array else "the array"
    return reason.model_copy(update={"what": f"{name}: {reason.what}"})


def _together(price_list: PriceList, asked: ServerAsked) -> Iterator[Reason]:
    """Say what keeps arrays apart that each could be built, or which wishes do not go together."""
    best = best_of(price_list, without(asked, None, *_DEMANDED, "services"))
    if best is None:
        yield from list(_nearest(price_list, asked)) or [_APART]
        return
    idle = list(in_vain(_chosen(price_list, asked.base), best.build))
    yield from idle
    if not idle:
        wishes = both(dict.fromkeys(demand.column for demand, _ in demands(price_list, asked)))
        what = f"nothing on the price list meets all of it together ({wishes})"
        yield Reason(code="together", what=what, change="ask for less of two of them or more")


def _nearest(price_list: PriceList, asked: ServerAsked) -> Iterator[Reason]:
    """Say what stops the arrays together in the chassis that comes nearest."""
    base = asked.base
    each = (choose(price_list, row.without(*_DEMANDED, "services")) for row in asked.arrays)
    alone = [choice.best for choice in each if choice.best is not None]
    arrays = tuple(array for candidate in alone for array in candidate.build.arrays)
    parts = {p.part.sku: p for candidate in alone for p in candidate.build.parts}
    pieces = tuple(parts.values()) if arrays else options_named(price_list, base)
    tried = []
    for sku in [base.chassis] if base.chassis else price_list.chassis:
        build = _assembled(price_list, base, sku, pieces, arrays)
        stops = fit.stops(build)
        # Of a server with arrays left out nobody knows what would be done.
        if not stops and len(alone) == len(asked.arrays):
            stops = list(in_vain(_chosen(price_list, base), build))
        if stops:
            tried.append((len(stops), sku, stops))
    if tried:
        yield from min(tried, key=lambda one: one[:2])[2]
