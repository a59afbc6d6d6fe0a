"""What goes where: the controller's place, every bay, every accessory, and what stays free."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, PlainSerializer

from quotelib.build import fit
from quotelib.build.build import Build
from quotelib.build.seat import BRACKET_WORDS, Seat, SlotFacts, seat, slot_facts
from quotelib.build.speed import Speed, gb_s, speed
from quotelib.catalogue.parts import Accessory
from quotelib.units import plain

# As text, so that no reader turns a measure into a binary fraction.
Watts = Annotated[Decimal, PlainSerializer(plain, return_type=str)]
BayUse = Literal["member", "spare", "passed_through", "empty"]
Role = Literal["chassis", "controller", "drive"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Bay(_Frozen):
    """One bay.

    Parameters
    ----------
    bay : int
        Its number, from 1.
    use : str
        ``member`` of the array, hot ``spare``, ``passed_through`` (no array) or ``empty``.
    span : int or None
        Which span the member is in, from 1; 1 throughout where the level is not spanned.
    """

    bay: int
    use: BayUse
    span: int | None


class AccessoryPlace(_Frozen):
    """Where an accessory goes.

    Parameters
    ----------
    sku, description, kind : str
        From the price list.
    quantity : int
        In one build.
    for_parts : tuple of str
        Roles of the parts that call for it.
    bays : tuple of int
        The bays whose drives get one each; empty where there is one a build.
    where : str
        In words.
    """

    sku: str
    description: str
    kind: str
    quantity: int
    for_parts: tuple[Role, ...]
    bays: tuple[int, ...]
    where: str


class FreeForLater(_Frozen):
    """What stays free for the customer's later plans.

    Parameters
    ----------
    slots : tuple of SlotFacts
    mezzanine_sockets : int
    bays : tuple of int
        Their numbers.
    drives_more : int
        How many more of these drives bays, controller and supply take.
    draw_w, supply_w, watts : Decimal
        Draw with every drive active, what the supply gives, and what is left of it.
    words : str
        All of it in a sentence.
    """

    slots: tuple[SlotFacts, ...]
    mezzanine_sockets: int
    bays: tuple[int, ...]
    drives_more: int
    draw_w: Watts
    supply_w: Watts
    watts: Watts
    words: str


class Placement(_Frozen):
    """Where everything of a build goes.

    Parameters
    ----------
    chassis, drive : str
        Skus.
    owned : tuple of str
        Roles of the parts the customer has already.
    controller : Seat
    bays : tuple of Bay
        All bays in order: members span by span from bay 1 on, empty ones, hot spares last.
    accessories : tuple of AccessoryPlace
        In the order of the price list.
    free : FreeForLater
    speed : Speed
    """

    chassis: str
    drive: str
    owned: tuple[Role, ...]
    controller: Seat
    bays: tuple[Bay, ...]
    accessories: tuple[AccessoryPlace, ...]
    free: FreeForLater
    speed: Speed

    def bays_of(self, use: BayUse, span: int | None = None) -> tuple[int, ...]:
        """Give the numbers of the bays with one use, of one span where it is given."""
        return tuple(b.bay for b in self.bays if b.use == use and span in (None, b.span))


def place(build: Build) -> Placement:
    """Say exactly where everything of a build goes.

    Parameters
    ----------
    build : Build

    Returns
    -------
    Placement

    Raises
    ------
    ValueError
        The build has a ``stop`` finding; the message says which.
    """
    if found := fit.stops(build):
        raise ValueError("it cannot be built: " + "; ".join(f.message for f in found))
    seated = seat(build)
    bays = tuple(_bays(build))
    parts = build.parts
    return Placement(
        chassis=build.chassis.sku,
        drive=build.drive.sku,
        owned=tuple(role for role, _ in _roles(build) if role in parts.owned),
        controller=seated,
        bays=bays,
        accessories=tuple(_accessory(a, build, seated, bays) for a in parts.accessories),
        free=_free(build, seated, bays),
        speed=speed(build, None if seated.gb_s is None else seated.gb_s * 1000),
    )


def speed_capped(placement: Placement) -> fit.Finding | None:
    """Note that a slot, a link or the controller caps the drives."""
    speeds = placement.speed
    if not speeds.capped or speeds.tightest_mb_s is None or speeds.tightest is None:
        return None
    seated = placement.controller
    what = {
        "drive links": "the drives' own links",
        "controller": f"{seated.sku} itself",
        "host link": f"the link of {seated.sku} ({seated.where})",
    }[speeds.tightest]
    return fit.finding(
        "speed_capped",
        f"the {speeds.members} member drives are rated for {gb_s(speeds.rated_mb_s)} together, "
        f"{what} for {gb_s(speeds.tightest_mb_s)}; long sequential transfers stop there",
    )


def numbers(values: Iterable[int]) -> str:
    """Write rising numbers as ranges: ``1 to 4, 7``."""
    runs: list[list[int]] = []
    for value in values:
        if runs and value == runs[-1][-1] + 1:
            runs[-1].append(value)
        else:
            runs.append([value])
    return ", ".join(f"{r[0]} to {r[-1]}" if len(r) > 1 else str(r[0]) for r in runs)


def _roles(build: Build) -> tuple[tuple[Role, str], ...]:
    return (
        ("chassis", build.chassis.sku),
        ("controller", build.controller.sku),
        ("drive", build.drive.sku),
    )


def _bays(build: Build) -> Iterator[Bay]:
    layout, bays = build.layout, build.chassis.bays
    use: BayUse = "member" if layout.rule.is_array else "passed_through"
    per_span = layout.members // layout.spans
    for bay in range(1, bays + 1):
        if bay <= layout.members:
            span = (bay - 1) // per_span + 1 if layout.rule.is_array else None
            yield Bay(bay=bay, use=use, span=span)
        else:
            yield Bay(bay=bay, use="spare" if bay > bays - layout.spares else "empty", span=None)


def _accessory(
    item: Accessory, build: Build, seated: Seat, bays: tuple[Bay, ...]
) -> AccessoryPlace:
    filled = tuple(b.bay for b in bays if b.use != "empty") if item.per == "drive" else ()
    calling = tuple(role for role, sku in _roles(build) if sku in item.needed_by)
    return AccessoryPlace(
        sku=item.sku,
        description=item.description,
        kind=item.kind,
        quantity=build.quantity(item),
        for_parts=calling,
        bays=filled,
        where=_where(item, build, seated, calling, filled),
    )


def _where(
    item: Accessory,
    build: Build,
    seated: Seat,
    calling: tuple[Role, ...],
    filled: tuple[int, ...],
) -> str:
    at_bays = f"{'bays' if len(filled) > 1 else 'bay'} {numbers(filled)}"
    home = f"{build.controller.sku}, {seated.where}"
    for_controller = "controller" in calling
    if item.kind == "carrier" and filled:
        return f"on each drive before it goes in, {at_bays}"
    if item.kind == "adapter":
        between = "between the 2.5-inch drive and the 3.5-inch bay"
        return f"{between}, {at_bays}" if filled else between
    if item.kind == "rail" and not filled:
        return f"in the rack, on both sides of {build.chassis.sku}"
    if item.kind == "cable" and for_controller:
        span = at_bays if filled else f"bays 1 to {build.chassis.bays}"
        return f"from {home}, to the backplane, {span}"
    if item.kind == "cache_protection" and for_controller:
        return f"on the controller, {home}"
    if item.kind == "bracket" and for_controller and seated.bracket is not None:
        fitting = f"the {BRACKET_WORDS[seated.bracket]} one"
        return f"on the card {build.controller.sku}: fit {fitting}, for slot {seated.slot}"
    skus = dict(_roles(build))
    named = " and ".join(skus[role] for role in calling)
    return f"with {named}, {at_bays}" if filled else f"with {named}"


def _free(build: Build, seated: Seat, bays: tuple[Bay, ...]) -> FreeForLater:
    chassis = build.chassis
    slots = tuple(slot_facts(s) for s in chassis.slots if s.slot != seated.slot)
    sockets = chassis.mezzanine_sockets - (seated.socket is not None)
    empty = tuple(b.bay for b in bays if b.use == "empty")
    watts = chassis.supply_w - build.watts
    more = min(len(empty), build.controller.max_drives - build.layout.drives)
    each_w = build.drive.active_w + sum(
        (a.watts for a in build.parts.accessories if a.per == "drive"), Decimal(0)
    )
    if each_w:
        more = min(more, int(watts // each_w))
    return FreeForLater(
        slots=slots,
        mezzanine_sockets=sockets,
        bays=empty,
        drives_more=more,
        draw_w=build.watts,
        supply_w=chassis.supply_w,
        watts=watts,
        words=_free_words(build, slots, sockets, empty, more),
    )


def _free_words(
    build: Build, slots: tuple[SlotFacts, ...], sockets: int, empty: tuple[int, ...], more: int
) -> str:
    said = []
    if slots:
        each = ", ".join(
            f"{s.slot} ({BRACKET_WORDS[s.height]}, generation {s.gen}, {s.lanes} lanes)"
            for s in slots
        )
        said.append(f"{'slots' if len(slots) > 1 else 'slot'} {each}")
    else:
        said.append("no slot")
    if sockets:
        said.append(f"{sockets} mezzanine {'socket' if sockets == 1 else 'sockets'}")
    if empty:
        bays = f"{'bays' if len(empty) > 1 else 'bay'} {numbers(empty)}"
        if more < len(empty):
            bays += f" (controller and supply take {more or 'no'} more of these drives)"
        said.append(bays)
    else:
        said.append("no bay")
    left = build.chassis.supply_w - build.watts
    said.append(f"{plain(left)} W of the supply's {plain(build.chassis.supply_w)} W")
    return f"Free: {'; '.join(said)}."
