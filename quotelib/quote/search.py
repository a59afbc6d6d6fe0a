"""Which build is it: every build that agrees with the pins, and the choice among them.

A plain enumeration. Whatever is faster can take its place behind `choose`, as long as it gives
the same `Choice`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib.build import fit
from quotelib.build.build import Build, Layout, Parts, combine
from quotelib.build.fit import Finding
from quotelib.build.levels import LEVEL_ORDER, LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import Deal, net_total
from quotelib.quote.demands import Candidate, Demand, demands
from quotelib.quote.enquiry import Enquiry

Rank = tuple[bool, Decimal, int, str, str, str, int, int]


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why no build is left.

    Parameters
    ----------
    reasons : tuple of (str, str)
        Code of each finding or column of each demand, and words.
    """

    reasons: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """What the search found.

    Parameters
    ----------
    best : Candidate or None
        The build to propose.
    feasible : tuple of Candidate
        Every build that agrees with the pins, can be built and meets every demand.
    refusal : Refusal or None
        Set where `best` is None.
    """

    best: Candidate | None
    feasible: tuple[Candidate, ...]
    refusal: Refusal | None


def deal_of(enquiry: Enquiry) -> Deal:
    """Take from an enquiry what bears on its price."""
    return Deal(enquiry.builds, enquiry.discount_pct, enquiry.tax_code)


def combinations(price_list: PriceList, enquiry: Enquiry) -> Iterator[Parts]:
    """List every combination of parts that agrees with the pins, fitting or not."""
    chassis = (
        [price_list.chassis[enquiry.chassis]] if enquiry.chassis else (price_list.chassis.values())
    )
    controllers = (
        [price_list.controllers[enquiry.controller]]
        if enquiry.controller
        else (price_list.controllers.values())
    )
    drives = [price_list.drives[enquiry.drive]] if enquiry.drive else price_list.drives.values()
    for one_chassis in chassis:
        for controller in controllers:
            for drive in drives:
                yield combine(price_list, one_chassis, controller, drive, enquiry.owned)


def layouts(parts: Parts, enquiry: Enquiry) -> Iterator[Layout]:
    """List every layout that agrees with the pins and that the parts have room for."""
    spares = enquiry.spares or 0
    most = min(parts.chassis.bays, parts.controller.max_drives) - spares
    counts = [enquiry.members] if enquiry.members else range(1, most + 1)
    names = [enquiry.level] if enquiry.level else LEVELS
    for name in names:
        for members in counts:
            for spans in LEVELS[name].spans_for(members):
                if enquiry.spans in (None, spans):
                    yield Layout(name, members, spans, spares)


def rank(candidate: Candidate, accepted: Iterable[str]) -> Rank:
    """Give the order of choice: unaccepted advice last, then net, then the ties."""
    build = candidate.build
    layout = build.layout
    allowed = set(accepted)
    open_advice = any(found.code not in allowed for found in advice(candidate))
    return (
        open_advice,
        candidate.net if candidate.net is not None else Decimal(0),
        layout.drives,
        build.chassis.sku,
        build.controller.sku,
        build.drive.sku,
        LEVEL_ORDER[layout.level],
        layout.spans,
    )


def advice(candidate: Candidate) -> list[Finding]:
    """Find why we would not build a candidate."""
    return fit.advice(candidate.build)


def buildable(price_list: PriceList, enquiry: Enquiry) -> list[Candidate]:
    """List every build that agrees with the pins and has no stop finding."""
    found = []
    for parts in combinations(price_list, enquiry):
        if fit.part_stops(parts):
            continue
        for layout in layouts(parts, enquiry):
            build = Build(parts, layout)
            if not fit.layout_stops(build):
                found.append(Candidate(build, build.usable_bytes))
    return found


def choose(price_list: PriceList, enquiry: Enquiry) -> Choice:
    """Choose the build to propose.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry

    Returns
    -------
    Choice
        The build of lowest net among those that can be built and meet every demand; one with
        an unaccepted ``advise`` finding only if no other is left. Ties go to fewer drives, then
        to chassis, controller and drive sku in alphabetical order, then to the level that
        comes first in the level table, then to fewer spans.
    """
    candidates = buildable(price_list, enquiry)
    if not candidates:
        return Choice(None, (), _nothing_fits(price_list, enquiry))
    currency = enquiry.currency or price_list.terms.currency
    asked = demands(enquiry, currency)
    cheap = [d for d in asked if not d.estimated and d.column != "max_price"]
    rest = [d for d in asked if d not in cheap]
    left = [c for c in candidates if all(d.met(c) for d in cheap)]
    _price(left, price_list, enquiry, currency)
    feasible = [c for c in left if all(d.met(c) for d in rest)]
    if not feasible:
        _price(candidates, price_list, enquiry, currency)
        return Choice(None, (), _nothing_meets(candidates, asked))
    best = min(feasible, key=lambda c: rank(c, enquiry.accept))
    return Choice(best, tuple(feasible), None)


def _price(
    candidates: Iterable[Candidate], price_list: PriceList, enquiry: Enquiry, currency: str
) -> None:
    """Fill in the net, once for all layouts that cost the same."""
    book = PriceBook(price_list, currency)
    deal = deal_of(enquiry)
    known: dict[tuple[int, int, bool], Decimal] = {}
    for candidate in candidates:
        build = candidate.build
        key = (id(build.parts), build.layout.drives, build.layout.rule.is_array)
        if key not in known:
            known[key] = net_total(build, book, deal)
        candidate.net = known[key]


def _nothing_fits(price_list: PriceList, enquiry: Enquiry) -> Refusal:
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


def _nothing_meets(candidates: list[Candidate], asked: list[Demand]) -> Refusal:
    """Find the demands that bind, and the build that comes nearest to them."""
    unmet = [(c, [d for d in asked if not d.met(c)]) for c in candidates]
    fewest = min(len(missed) for _, missed in unmet)
    near = [(c, missed) for c, missed in unmet if len(missed) == fewest]
    binding = [d for d in asked if any(d in missed for _, missed in near)]
    reasons = []
    for demand in binding:
        options = [c for c, missed in near if demand in missed]
        best = min(options, key=lambda c: (demand.shortfall(c), rank(c, ())))
        others = " with all else as asked" if fewest == 1 else ""
        reasons.append(
            (
                demand.column,
                f"{demand.asked} asked; nearest{others} is {demand.got(best)}: {describe(best)}",
            )
        )
    return Refusal(tuple(reasons))


def describe(candidate: Candidate) -> str:
    """Name a build in one line."""
    build = candidate.build
    return (
        f"{build.layout.words}, {build.drive.sku} in {build.chassis.sku} on {build.controller.sku}"
    )
