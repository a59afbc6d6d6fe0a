"""How do the parts go in: steps for controller, small parts and drives, from the placement.

The order of work is common practice, no source; makers' manuals come first.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from quotelib.build.build import Build
from quotelib.build.placement import AccessoryPlace, Placement, numbers
from quotelib.build.seat import BRACKET_WORDS
from quotelib.quote.bench.cautions import has_lithium
from quotelib.quote.bench.record import Hazard


@dataclass(frozen=True, slots=True)
class Step:
    """A step without its number: hazards with a note where the usual words will not do."""

    title: str
    words: str
    hazards: tuple[tuple[Hazard, str], ...] = ()


def bays_words(bays: tuple[int, ...]) -> str:
    """Name bays: ``bay 3``, ``bays 1 to 4``."""
    return f"{'bay' if len(bays) == 1 else 'bays'} {numbers(bays)}"


def where_words(item: AccessoryPlace) -> str:
    """Say where in fewer words than the placement: a sheet has the rest beside it."""
    if item.kind == "adapter":
        return f"between drive and bay, {bays_words(item.bays)}" if item.bays else item.where
    if item.bays:
        return f"one a drive, {bays_words(item.bays)}"
    if item.kind == "rail":
        return "the rack, not the bench"
    if "controller" not in item.for_parts:
        return item.where
    return {
        "cable": "controller to backplane",
        "cache_protection": "on the controller",
        "bracket": "on the card",
    }.get(item.kind, item.where)


def fit_controller(build: Build, places: Placement) -> Iterator[Step]:
    """Fit the controller where it goes: board, mezzanine socket or slot."""
    seat = places.controller
    static: tuple[Hazard, str] = ("static", "")
    edges: tuple[Hazard, str] = ("edges", "")
    if seat.mounting == "board":
        yield Step(
            "Controller",
            f"{seat.sku} is part of the board: nothing to fit. Check that the backplane's leads "
            "are seated on the board's drive ports.",
            (edges, static),
        )
        return
    if seat.mounting == "mezzanine":
        yield Step(
            "Controller, board edge",
            f"Hold {seat.sku} over mezzanine socket {seat.socket} and seat its board edge first.",
            (static, edges),
        )
        yield Step(
            "Controller, connector",
            "Press it straight down onto the connector until it sits flat.",
            (static,),
        )
        yield Step("Controller, screws", "Fit its screws, evenly, without force.", (edges,))
        return
    assert seat.bracket is not None
    bracket = f"{BRACKET_WORDS[seat.bracket]} bracket ({seat.bracket_mm:g} mm)"
    yield Step(
        "Riser",
        f"Take out the riser that holds slot {seat.slot}, where the chassis has one.",
        (edges,),
    )
    yield Step("Slot blank", f"Remove the blank of slot {seat.slot} and keep it.", (edges,))
    both = len(build.controller.brackets) > 1
    fit = f"Fit the {bracket} to the card; keep the other with the paperwork."
    yield Step(
        "Bracket",
        f"{fit}" if both else f"The card has the {bracket}; check that it is tight.",
        (static, edges),
    )
    yield Step(
        "Controller",
        f"Seat {seat.sku} fully in slot {seat.slot}, straight and to the stop, then fasten its "
        "bracket.",
        (static, edges),
    )
    yield Step("Riser back", "Refit the riser and fasten it, where it was taken out.", (edges,))


def fit_small_parts(build: Build, places: Placement) -> Iterator[Step]:
    """Fit cache protection, cables, adapters and carriers."""
    seat = places.controller
    by_kind: dict[str, list[AccessoryPlace]] = {}
    for item in places.accessories:
        by_kind.setdefault(item.kind, []).append(item)
    modules = by_kind.get("cache_protection", [])
    for item in modules:
        yield Step(
            "Cache protection",
            f"Fit {item.sku} {where_words(item)}; fasten it and plug its lead in.",
            (("lithium", ""), ("static", "")),
        )
    if not modules and has_lithium(build):
        whose = "the customer's " if "controller" in places.owned else ""
        yield Step(
            "Cache protection",
            f"Check that {whose}cache protection of {seat.sku} is whole, fastened and plugged in.",
            (("lithium", ""), ("static", "")),
        )
    for item in by_kind.get("cable", []):
        yield Step(
            "Cable",
            f"Run {item.sku}: {where_words(item)}. Both ends must lock; keep it off fans, "
            "edges and hot parts.",
            (("edges", ""),),
        )
    if not by_kind.get("cable") and seat.mounting != "board":
        whose = "the customer's own cables" if places.owned else "the chassis' own cables"
        yield Step(
            "Cable",
            f"Connect {seat.sku} to the backplane with {whose} (none is on the pick list). Both "
            "ends must lock; keep them off fans, edges and hot parts.",
            (("edges", ""),),
        )
    for item in by_kind.get("adapter", []):
        yield Step(
            "Adapter",
            f"Put each 2.5-inch drive into an {item.sku}, {bays_words(item.bays)}."
            if item.bays
            else f"Fit {item.sku} {item.where}.",
            (("static", ""),),
        )
    for item in by_kind.get("carrier", []):
        yield Step(
            "Carrier",
            f"Put each drive into a {item.sku} and label it with its bay: {bays_words(item.bays)}."
            if item.bays
            else f"Fit {item.sku} {item.where}.",
            (("static", ""), ("edges", "")),
        )
    if not by_kind.get("carrier"):
        yield Step(
            "Carrier",
            "Put each drive into the carrier that came with the chassis and label it with its "
            "bay (none is on the pick list).",
            (("static", ""), ("edges", "")),
        )


def fit_drives(build: Build, places: Placement) -> Iterator[Step]:
    """Fit drives by bay, members before spares."""
    layout, sku = build.layout, build.drive.sku
    static: tuple[Hazard, str] = ("static", "Static and shock: strap on, hold drives by the sides.")
    if not layout.rule.is_array:
        bays = places.bays_of("passed_through")
        yield Step(
            "Drives", f"Push {sku} into {bays_words(bays)} until each locks, in order.", (static,)
        )
    elif layout.rule.spanned:
        for span in range(1, layout.spans + 1):
            bays = places.bays_of("member", span)
            yield Step(
                f"Drives of span {span}",
                f"Push {sku} into {bays_words(bays)} until each locks, in order.",
                (static,),
            )
    else:
        bays = places.bays_of("member")
        yield Step(
            "Member drives",
            f"Push {sku} into {bays_words(bays)} until each locks, in order.",
            (static,),
        )
    if spares := places.bays_of("spare"):
        yield Step(
            "Hot spare" if len(spares) == 1 else "Hot spares",
            f"Push {sku} into {bays_words(spares)} and label "
            f"{'it' if len(spares) == 1 else 'each'} as spare.",
            (static,),
        )
    if empty := places.bays_of("empty"):
        yield Step(
            "Empty bays",
            f"{bays_words(empty).capitalize()} {'stays' if len(empty) == 1 else 'stay'} empty: put "
            "blanks in, so that the air goes where it should.",
        )
