"""Which controller would it be: every controller of the price list against one enquiry."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from quotelib.build.placement import Placement, place
from quotelib.build.speed import pcie_mb_s
from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.errors import any_of
from quotelib.quote.candidate import Candidate
from quotelib.quote.comparison.record import BestBuild, ControllerComparison, ControllerRow
from quotelib.quote.comparison.words import (
    cache_words,
    explanation,
    occupies_when_it_fits,
    protected_by,
)
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.facts import Reason
from quotelib.quote.search import Choice, choose, describe, rank
from quotelib.quote.words import KIND_WORDS, MOUNTING_WORDS, count


def compare_controllers(
    price_list: PriceList, enquiry: Enquiry, choice: Choice | None = None
) -> ControllerComparison:
    """Set every controller of a price list against one enquiry.

    Each is judged with the build that the choice takes when it is pinned. Where the enquiry pins
    a controller, the pin is lifted for the comparison and that row is marked; only the
    controller that the customer has already counts as owned.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
        Read against this price list.
    choice : Choice, optional
        What `choose` found for this enquiry: it saves looking again where no controller is
        pinned.

    Returns
    -------
    ControllerComparison
    """
    best: dict[str, Candidate] = {}
    if choice is not None and enquiry.controller is None:
        for candidate in sorted(choice.feasible, key=lambda c: rank(c, enquiry.accept)):
            best.setdefault(candidate.build.controller.sku, candidate)
    refused: dict[str, tuple[Reason, ...]] = {}
    for sku in price_list.controllers:
        if sku in best:
            continue
        found = choose(price_list, _pinned(enquiry, sku))
        if found.best is not None:
            best[sku] = found.best
        else:
            told = found.refusal.reasons if found.refusal else ()
            refused[sku] = tuple(Reason(code=code, words=words) for code, words in told)
    fitting = sorted(best, key=lambda sku: rank(best[sku], enquiry.accept))
    lowest = min((c.net for c in best.values() if c.net is not None), default=None)
    chosen = fitting[0] if fitting else None
    rows = tuple(
        _row(price_list, enquiry, sku, best.get(sku), refused.get(sku, ()), lowest, sku == chosen)
        for sku in (*fitting, *refused)
    )
    return ControllerComparison(
        enquiry_id=enquiry.enquiry_id,
        currency=enquiry.currency or price_list.terms.currency,
        builds=enquiry.builds,
        rows=rows,
        chosen=chosen,
        summary=_summary(rows, chosen),
        remarks=tuple(_remarks(price_list, enquiry, lowest, rows)),
    )


def _pinned(enquiry: Enquiry, sku: str) -> Enquiry:
    owned = enquiry.owned
    if sku != enquiry.controller:
        owned = tuple(role for role in owned if role != "controller")
    return enquiry.model_copy(update={"controller": sku, "owned": owned})


def _row(
    price_list: PriceList,
    enquiry: Enquiry,
    sku: str,
    found: Candidate | None,
    refused: tuple[Reason, ...],
    lowest: Decimal | None,
    chosen: bool,
) -> ControllerRow:
    controller = price_list.controllers[sku]
    owned = sku == enquiry.controller and "controller" in enquiry.owned
    build = None if found is None else _best_build(found)
    placement = None if build is None else build.placement
    speed = None if placement is None else placement.speed
    findings = refused
    if found is not None:
        findings = tuple(
            Reason(code=a.code, words=a.message)
            for a in found.advice
            if a.code not in enquiry.accept
        )
    protection = protected_by(controller, price_list, None if found is None else found.build)
    net = None if found is None else found.net
    return ControllerRow(
        sku=sku,
        description=controller.description,
        kind=controller.kind,
        kind_words=KIND_WORDS[controller.kind],
        mounting=controller.mounting,
        mounting_words=MOUNTING_WORDS[controller.mounting],
        pinned=sku == enquiry.controller,
        owned=owned,
        chosen=chosen,
        explanation=explanation(controller, protection),
        levels=controller.levels,
        cache_mib=controller.cache_mib,
        cache_protection=protection,
        cache_words=cache_words(controller, protection),
        sata_gbit_s=controller.sata_gbit_s,
        sas_gbit_s=controller.sas_gbit_s,
        nvme_gen=controller.nvme_gen,
        host_gen=controller.host_gen,
        host_lanes=controller.host_lanes,
        max_drives=controller.max_drives,
        host_gb_s=_gb_s(pcie_mb_s(controller.host_gen, controller.host_lanes)),
        agreed_gen=None if placement is None else placement.controller.gen,
        agreed_lanes=None if placement is None else placement.controller.lanes,
        agreed_gb_s=None if placement is None else placement.controller.gb_s,
        drives_gb_s=None if speed is None else _gb_s(speed.rated_mb_s),
        tightest=None if speed is None else speed.tightest,
        tightest_gb_s=None if speed is None else _gb_s(speed.tightest_mb_s),
        capped=None if speed is None else speed.capped,
        occupies=_occupies(controller, placement),
        fits=found is not None,
        net=net,
        net_difference=None if net is None or lowest is None else net - lowest,
        findings=findings,
        verdict=_verdict(found, findings),
        build=build,
    )


def _best_build(found: Candidate) -> BestBuild:
    build, layout = found.build, found.build.layout
    return BestBuild(
        words=describe(found),
        chassis=build.chassis.sku,
        drive=build.drive.sku,
        level=layout.level,
        members=layout.members,
        spans=layout.spans,
        spares=layout.spares,
        usable_bytes=found.usable_bytes,
        placement=place(build),
    )


def _gb_s(rate_mb_s: float | None) -> float | None:
    return None if rate_mb_s is None else rate_mb_s / 1000


def _occupies(controller: Controller, placement: Placement | None) -> str:
    if placement is None:
        return occupies_when_it_fits(controller)
    seat = placement.controller
    if seat.mounting == "board":
        return "nothing: it is part of the board"
    free = len(placement.free.slots)
    left = (
        f"{count(free, 'slot')} {'stays' if free == 1 else 'stay'} free"
        if free
        else ("no slot stays free" if seat.mounting == "card" else "the chassis has no slots")
    )
    return f"{seat.where}; {left}"


def _verdict(found: Candidate | None, findings: tuple[Reason, ...]) -> str:
    said = "; ".join(reason.words for reason in findings)
    if found is None:
        return f"Does not serve: {said}."
    if findings:
        return f"Fits, but needs a person's yes: {said}."
    return "Fits."


def _summary(rows: tuple[ControllerRow, ...], chosen: str | None) -> str:
    if not rows:
        return "The price list has no controllers, so there is nothing to compare."
    fitting = [row for row in rows if row.fits]
    if chosen is None:
        codes = Counter(code for row in rows for code in {f.code for f in row.findings})
        ways = [f"{code} ({count(n, 'controller')})" for code, n in codes.most_common()]
        return (
            f"None of the {count(len(rows), 'controller')} meets this enquiry. What stands in the "
            f"way: {', '.join(ways)}. Each row says what would be nearest."
        )
    yes = sum(bool(row.findings) for row in fitting)
    text = (
        f"{len(fitting)} of {count(len(rows), 'controller')} "
        f"{'meets' if len(fitting) == 1 else 'meet'} this enquiry"
    )
    if yes:
        text += f", {yes} of them only with a person's yes"
    return f"{text}. Left to us, it would be {chosen}."


def _remarks(
    price_list: PriceList,
    enquiry: Enquiry,
    lowest: Decimal | None,
    rows: tuple[ControllerRow, ...],
) -> Iterator[str]:
    if enquiry.chassis is None:
        yield (
            "No chassis is given, so each controller stands in the chassis that makes it cheapest; "
            "prices differ by the chassis, too."
        )
    else:
        chassis = price_list.chassis[enquiry.chassis]
        if not chassis.slots and not chassis.mezzanine_sockets:
            yield f"{chassis.sku} has neither slots nor a mezzanine socket: only its board is left."
        elif not chassis.slots:
            yield f"{chassis.sku} has no slots, so no card goes in."
        elif not chassis.mezzanine_sockets:
            yield f"{chassis.sku} has no mezzanine socket, so no mezzanine version goes in."
    if enquiry.controller is not None:
        if "controller" in enquiry.owned:
            yield (
                f"{enquiry.controller} is the customer's already and has no price here; the others "
                "are priced as new."
            )
        else:
            yield f"{enquiry.controller} was asked for; the others are here for comparison."
    if len({row.build.drive for row in rows if row.build is not None}) > 1:
        yield "The rows do not all use the same drives: each takes what makes it cheapest."
    held = [row.sku for row in rows if row.fits and row.findings]
    if lowest is not None and any(r.net == lowest and r.sku in held for r in rows if r.fits):
        yield (
            "The lowest price is that of a build which needs a person's yes "
            f"({any_of([r.sku for r in rows if r.net == lowest])}), so it is not the one chosen."
        )


def without_placements(comparison: ControllerComparison) -> ControllerComparison:
    """Leave out where everything goes: a record says that of its own build only."""
    rows = tuple(
        row
        if row.build is None
        else row.model_copy(update={"build": row.build.model_copy(update={"placement": None})})
        for row in comparison.rows
    )
    return comparison.model_copy(update={"rows": rows})
