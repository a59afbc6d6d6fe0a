"""What was asked, thing by thing, what is offered for each, and what is not in the offer at all."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from quotelib.build.build import Build
from quotelib.build.findings import ADVICE
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.enquiry.column import Considered, Of
from quotelib.enquiry.columns import COLUMNS, loose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import Request, ServerAsked
from quotelib.predict.inputs import behind
from quotelib.predict.screening import screen
from quotelib.pricing.lines import Line
from quotelib.pricing.quote import TAKEN
from quotelib.promise import words
from quotelib.promise.shown import Lack, Wish
from quotelib.text import both, count, money
from quotelib.units import plain

_PER = {
    "build": "for each server",
    "drive": "for each drive",
    "controller": "for each controller",
    "array": "for each array",
    "quote": "for the quote as a whole",
}
Without = Literal["drives", "processors", "memory"]
"""What a server may lack."""
_UNDER_LOAD = ("host_iops", "max_response_ms")
"""Columns whose demands say what an array does under its workload."""


def of_array(row: Enquiry, price_list: PriceList, build: Build, array: Array) -> Iterator[Wish]:
    """Say what a row asks of its array, and what that one gives."""
    (found,) = screen([behind(build, array)], row.load(price_list), price_list.terms)
    one = Candidate(replace(build, arrays=(array,)), array.usable_bytes)
    one.take(found)
    setting, layout = row.setting(price_list.terms), array.layout
    offered = {
        "controller": _part(array.controller, owned="controller" in row.owned),
        "drive": _part(array.drive, owned="drive" in row.owned),
        "members": str(layout.members),
        "level": layout.words,
        "spans": str(layout.spans),
        "spares": str(layout.spares),
        "action": words.what_is_done(array),
        "have_drives": f"{array.have_drives} stay, {array.bought_drives or 'none'} supplied",
        "from_controller": f"{array.controller.sku} takes its place",
        "from_drive": f"{array.drive.sku} in addition or in their place",
    }
    if row.workload:
        shown = (COLUMNS[name].demand for name in _UNDER_LOAD)
        offered["workload"] = ", ".join(d.shown(one, setting) for d in shown if d is not None)
    yield from _wishes(row, price_list, "array", offered, one)
    yield from _condition([row], (piece.part for piece in build.pieces()))


def of_server(asked: ServerAsked, price_list: PriceList, best: Candidate) -> Iterator[Wish]:
    """Say what is asked of a server beside its arrays, and what the one chosen gives."""
    base, build, builds = asked.base, best.build, asked.base.builds
    if builds > 1:
        yield Wish(label="How many", asked=f"{builds} alike", offered=f"{builds} alike")
    supplies = Counter(plain(watts) for watts in build.supplies_w)
    offered = {
        "chassis": _part(build.chassis, owned=build.chassis_owned),
        "redundant_supply": both(f"{n} × {watts} W" for watts, n in supplies.items()),
    }
    yield from _wishes(base, price_list, "server", offered, best)
    for sku, number in Counter(base.value("options") or ()).items():
        yield _named("Option", sku, number, price_list.options[sku].description)
    for sku, number in Counter(base.deal.services).items():
        service = price_list.services[sku]
        said = f"{service.description}; {_PER[service.per]}"
        yield _named("Service", sku, number, said)
    found = {finding.code for finding in best.advice}
    yield from _accepted(base.accept, found)
    if not any(row.value("condition") for row in asked.arrays):
        yield from _condition([base], (piece.part for piece in build.pieces()))


def of_quote(
    request: Request,
    price_list: PriceList,
    discount: str,
    agreed: Iterable[Line],
    ships: str,
) -> Iterator[Wish]:
    """Say what is asked beside servers, and of all of a quote.

    `discount` says which one counts, `agreed` are the free lines as they are charged, `ships` says
    what is offered for the day by which it is wanted.
    """
    first, parts = request.first, loose(price_list)
    currency = first.currency or price_list.terms.currency
    for sku, number in Counter(request.parts).items():
        part = parts[sku]
        days = count(part.lead_days, "day")
        there = "in stock" if part.stock >= number else f"{days} until all are here"
        yield _named("Loose part", sku, number, f"{part.description}; {there}")
    for sku, number in Counter(request.services).items():
        yield _named("Service", sku, number, price_list.services[sku].description)
    for line in agreed:
        price = f"{line.quantity} × {money(line.unit_price, currency)}"
        label = TAKEN if line.share == TAKEN else "Agreed besides"
        yield Wish(label=label, asked=line.description, offered=price)
    beside = [row for row in request.rows if not row.of_server]
    yield from _accepted(dict.fromkeys(code for row in beside for code in row.accept), ())
    yield from _condition(beside, (parts[sku] for sku in request.parts))
    offered = {
        "currency": f"all amounts are in {currency}",
        "ship_by": ships,
        "customer_ref": "stands at the head of this offer",
    }
    if first.discount_pct:
        offered["discount_pct"] = discount
    yield from _wishes(first, price_list, "quote", offered)


def _wishes(
    enquiry: Enquiry,
    price_list: PriceList,
    of: Of,
    offered: Mapping[str, str],
    candidate: Considered | None = None,
) -> Iterator[Wish]:
    """Set what the columns of a quote, server or array ask against what is offered.

    What a column demands of builds is answered by the demand, all else by what is `offered`.
    """
    setting = enquiry.setting(price_list.terms)
    for column in COLUMNS.values():
        name, value = column.name, enquiry.value(column.name)
        if value is None or column.of != of or column.many:
            continue
        if name == "workload":
            load = enquiry.load(price_list)
            said = load.description if load else ""
        elif column.said is not None:
            said = column.said(value, setting)
        elif name in offered:
            said = f"{plain(value)} %" if name == "discount_pct" else str(value)
        else:
            continue
        given = offered.get(name, "noted")
        if candidate is not None and column.demand is not None:
            given = column.demand.shown(candidate, setting)
        yield Wish(label=column.page or column.label, asked=said, offered=given)


def _part(part: Part, *, owned: bool) -> str:
    return f"{part.description}; yours already" if owned else part.description


def _named(label: str, sku: str, number: int, offered: str) -> Wish:
    many = f"{number} × " if number > 1 else ""
    return Wish(label=label, asked=f"{many}{sku}", offered=f"{many}{offered}")


def _accepted(codes: Iterable[str], found: Iterable[str]) -> Iterator[Wish]:
    for code in codes:
        there = "so it is; see what to know before you order" if code in found else "not so here"
        yield Wish(label="Said yes to", asked=ADVICE[code], offered=there)


def _condition(rows: Iterable[Enquiry], parts: Iterable[Part]) -> Iterator[Wish]:
    for value in dict.fromkeys(row.value("condition") for row in rows if row.value("condition")):
        used = dict.fromkeys(part.sku for part in parts if part.condition != "new")
        column, offered = COLUMNS["condition"], "all parts are new"
        if used:
            offered = f"refurbished: {both(used)}; all else is new"
        yield Wish(label=column.label, asked=column.offers[value][0], offered=offered)


def lacking(request: Request, builds: Sequence[Build]) -> Iterator[Lack]:
    """Find what somebody might take for granted, and is not in the offer."""
    names = [server.name or str(n) for n, server in enumerate(request.servers, 1)]
    without: dict[Without, list[bool]] = {
        "drives": [not build.arrays for build in builds],
        "processors": [_empty(build, "processor_sockets", "cores") for build in builds],
        "memory": [_empty(build, "memory_slots", "memory_gb") for build in builds],
    }
    for what, lacks in without.items():
        found = [name for name, lack in zip(names, lacks, strict=True) if lack]
        if found:
            yield Lack(what=what, servers=tuple(found) if len(found) < len(names) else ())
    chosen = {*request.services, *(s for one in request.servers for s in one.base.deal.services)}
    if builds:
        licensed = any(build.number("paperwork") for build in builds)
        yield Lack(what="other_software" if licensed else "software")
    if chosen:
        yield Lack(what="other_services")
    elif builds:
        yield Lack(what="site_work")
    if request.parts:
        yield Lack(what="fitting")
    if request.first.tax_code is None:
        yield Lack(what="tax")


def _empty(build: Build, places: str, column: str) -> bool:
    """Tell whether a chassis of ours has places for options, and nothing in any of them."""
    chassis = build.chassis
    return bool(getattr(chassis, places)) and not build.chassis_owned and not build.total(column)
