"""How do the controllers compare for an enquiry: rows and remarks in plain words."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from quotelib.build.placement import place as place_build
from quotelib.build.placement import speeds
from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.alternatives import Rival, rivals
from quotelib.choose.candidate import Candidate, describe
from quotelib.choose.search import Choice
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.levels import place as level_place
from quotelib.promise import part_words
from quotelib.promise.compared import ControllerComparison, ControllerRow
from quotelib.text import count, either


def compare_controllers(
    price_list: PriceList, enquiry: Enquiry, choice: Choice | None = None, *, where: bool = True
) -> ControllerComparison:
    """Set every controller of a price list against one enquiry.

    A `choice` that was found for this enquiry saves looking again where no controller is pinned;
    with `where`, the rows say where each controller goes.
    """
    found = rivals(price_list, enquiry, choice)
    lowest = min((r.best.net for r in found if r.best and r.best.net is not None), default=None)
    chosen = next((r.controller.sku for r in found if r.best is not None), None)
    rows = tuple(_row(price_list, enquiry, one, lowest, chosen, where) for one in found)
    return ControllerComparison(
        enquiry_id=enquiry.enquiry_id,
        currency=enquiry.currency or price_list.terms.currency,
        builds=enquiry.builds,
        rows=rows,
        chosen=chosen,
        summary=_summary(rows, chosen),
        remarks=tuple(_remarks(price_list, enquiry, lowest, rows)),
    )


def _row(
    price_list: PriceList,
    enquiry: Enquiry,
    rival: Rival,
    lowest: Decimal | None,
    chosen: str | None,
    where: bool,
) -> ControllerRow:
    controller, best, sku = rival.controller, rival.best, rival.controller.sku
    findings = best.open_advice(enquiry.accept) if best else rival.refused
    protection = part_words.protected_by(controller, price_list, best.build if best else None)
    net = best.net if best else None
    said = "; ".join(found.words for found in findings)
    verdict = f"Fits, but needs a person's yes: {said}." if findings else "Fits."
    return ControllerRow(
        sku=sku,
        description=controller.description,
        kind=controller.kind,
        kind_words=part_words.KIND_WORDS[controller.kind],
        mounting_words=part_words.MOUNTING_WORDS[controller.mounting],
        pinned=sku == enquiry.controller,
        owned=sku == enquiry.controller and "controller" in enquiry.owned,
        chosen=sku == chosen,
        explanation=part_words.explanation(controller, protection),
        levels=tuple(sorted(controller.levels, key=level_place)),
        cache_mib=controller.cache_mib,
        cache_protection=protection,
        cache_words=part_words.cache_words(controller, protection),
        links_words=part_words.links_words(controller),
        max_drives=controller.max_drives,
        fits=best is not None,
        net=net,
        net_difference=None if net is None or lowest is None else net - lowest,
        findings=tuple(Reason(code=f.code, what=f.what, change=f.change) for f in findings),
        why="; ".join(dict.fromkeys(f.what.removeprefix(f"{sku} ") for f in findings)),
        verdict=verdict if best else f"Does not serve: {said}.",
        build_words=describe(best.build) if best else "",
        **_in_place(controller, best, where),
    )


def _in_place(controller: Controller, best: Candidate | None, where: bool) -> dict[str, object]:
    """Say what depends on the build that a controller is judged with."""
    if best is None:
        return {
            **dict.fromkeys(("drives_gb_s", "tightest", "tightest_gb_s", "capped")),
            "host_words": part_words.host_words(controller),
            "link_words": "",
            "occupies": part_words.occupies_when_it_fits(controller),
            "drives": (),
            "where": (),
        }
    places = place_build(best.build)
    seat = places.seat_of(controller.sku)
    here = (a.controller.sku == controller.sku for a in best.build.arrays)
    speed = next(s for s, mine in zip(speeds(best.build), here, strict=True) if mine)
    tightest = speed.tightest_mb_s
    occupies = "nothing: it is part of the board"
    if seat.takes != "board":
        free = len(places.free.slots)
        left = f"{count(free, 'slot')} {'stays' if free == 1 else 'stay'} free"
        if not free:
            left = "no slot stays free" if seat.takes == "slot" else "the chassis has no slots"
        occupies = f"{seat.where}; {left}"
    return {
        "drives_gb_s": speed.rated_mb_s / 1000,
        "tightest": speed.tightest,
        "tightest_gb_s": None if tightest is None else tightest / 1000,
        "capped": speed.capped,
        "host_words": part_words.host_words(controller, seat),
        "link_words": seat.link_words,
        "occupies": occupies,
        "drives": tuple(dict.fromkeys(a.drive.sku for a in best.build.arrays)),
        "where": (seat.why, places.free.words) if where else (),
    }


def _summary(rows: tuple[ControllerRow, ...], chosen: str | None) -> str:
    if not rows:
        return "There are no controllers, so there is nothing to compare."
    fitting = [row for row in rows if row.fits]
    if chosen is None:
        codes = Counter(code for row in rows for code in {f.code for f in row.findings})
        ways = [f"{code} ({count(n, 'controller')})" for code, n in codes.most_common()]
        return (
            f"None of the {count(len(rows), 'controller')} meets this enquiry. What stands in the "
            f"way: {', '.join(ways)}. Each row says what would be nearest."
        )
    yes = sum(bool(row.findings) for row in fitting)
    held = f", {yes} of them only with a person's yes" if yes else ""
    meets = f"{count(len(rows), 'controller')} {'meets' if len(fitting) == 1 else 'meet'}"
    return f"{len(fitting)} of {meets} this enquiry{held}. Left to us, it would be {chosen}."


def _remarks(
    price_list: PriceList, enquiry: Enquiry, lowest: Decimal | None, rows: tuple[ControllerRow, ...]
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
    if enquiry.controller is not None and "controller" in enquiry.owned:
        theirs = f"{enquiry.controller} is the customer's already and has no price here"
        yield f"{theirs}; the others are priced as new."
    elif enquiry.controller is not None:
        yield f"{enquiry.controller} was asked for; the others are here for comparison."
    if len({row.drives for row in rows if row.drives}) > 1:
        yield "The rows do not all use the same drives: each takes what makes it cheapest."
    cheapest = [row for row in rows if row.fits and row.net == lowest]
    if lowest is not None and any(row.findings for row in cheapest):
        named = either(row.sku for row in cheapest)
        yield (
            f"The lowest price is that of a build which needs a person's yes ({named}), so it is "
            "not the one chosen."
        )
