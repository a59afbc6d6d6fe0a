"""Chooses one server by trying every build.

Three short cuts, each exact because no price, mass or draw is negative: of the levels that are
alike in redundancy, in being an array at all and in whether drives are bought, only the one of
fewest members is tried (with more, nothing gets cheaper and no stop goes away); parts that
cannot go together are not laid out; and a build whose parts alone cost more than the best whole
one is not looked at.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from .boxes import Array, Box, Options, accessories_of, watts
from .enquiry import Ask
from .levels import (
    LEVELS,
    SPANNED,
    survives_any,
)
from .money import Till, rounded
from .orders import ServerAsk
from .places import enough_free, free_slots, slots_of
from .reading import Chassis, Controller, Drive, Option, Prices
from .stops import (
    advice,
    count_stops,
    layout_stops,
    option_stops,
    pair_stops,
    seat_stops,
    service_stops,
)

Filling = tuple[Options, tuple[object, ...]]  # the options, and how they rank among ties


@dataclass
class Found:
    """What trying every build of a server found."""

    best: Box | None = None
    unaccepted: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Pick:
    """One way to make an array, with what its bought drives cost and weigh, and its advice."""

    array: Array
    price: Decimal
    grams: Decimal
    unaccepted: bool


def layouts(ask: Ask, bays: int) -> Iterator[tuple[str, int, int]]:
    """Yield every (level, members, spans) that agrees with the pins, sensible or not."""
    for level in LEVELS if ask.level is None else (ask.level,):
        for members in range(1, bays + 1) if ask.members is None else (ask.members,):
            if ask.spans is not None:
                yield level, members, ask.spans
            elif level in SPANNED:
                for spans in range(2, max(2, members // 3) + 1):
                    yield level, members, spans
            else:
                yield level, members, 1


class ServerSearch:
    """Tries every build that agrees with the pins of one server."""

    def __init__(self, prices: Prices, asked: ServerAsk, till: Till) -> None:
        self.prices, self.asked, self.till = prices, asked, till
        self.first, self.arrays = asked.first, asked.arrays
        self.builds = asked.first.builds
        self._picks: dict[tuple[int, str, str], list[Pick]] = {}

    def chassis(self) -> list[Chassis]:
        """Chassis that agree with the pin, or may take part in the choice."""
        pin, every = self.first.chassis, self.asked.any_condition
        return [c for c in self.prices.chassis if pin == c.sku or _open(pin, c.refurbished, every)]

    def controllers(self, ask: Ask) -> list[Controller]:
        """Controllers an array may have."""
        pin, every = ask.controller, ask.any_condition
        listed = self.prices.controllers
        return [c for c in listed if pin == c.sku or _open(pin, c.refurbished, every)]

    def drives(self, ask: Ask) -> list[Drive]:
        """Drives an array may have."""
        pin, every = ask.drive, ask.any_condition
        return [d for d in self.prices.drives if pin == d.sku or _open(pin, d.refurbished, every)]

    def fillings(self, chassis: Chassis) -> Iterator[Filling]:
        """Yield the options asked for with each way to have the cores and the memory."""
        by_sku = {option.sku: option for option in self.prices.options}
        named = tuple((by_sku[sku], count) for sku, count in self.first.options)
        for processors, cpu_key in self._added(
            named, "processor", self.first.cores, chassis, chassis.processor_sockets, 1
        ):
            inside = named + processors
            sockets = Box(chassis, (), inside).pieces("processor")
            for memory, memory_key in self._added(
                named, "memory", self.first.memory_gb, chassis, chassis.memory_slots, sockets or 1
            ):
                yield inside + memory, (*cpu_key, *memory_key)

    def _added(
        self,
        named: Options,
        kind: str,
        least: int | None,
        chassis: Chassis,
        room: int | None,
        step: int,
    ) -> Iterator[tuple[Options, tuple[str, int]]]:
        """Yield nothing more, or so many of one sku that there are at least so many of it."""

        def holds(option: Option) -> int:
            return option.cores if kind == "processor" else option.memory_gb

        there = [(option, n) for option, n in named if option.kind == kind and not option.card]
        if least is None or there:
            if sum(n * holds(option) for option, n in there) >= (least or 0):
                yield (), ("", 0)
            return
        for option in self.prices.options:
            if (
                option.kind != kind
                or option.card
                or (option.fits and chassis.sku not in option.fits)
            ):
                continue
            if option.refurbished and not self.asked.any_condition:
                continue
            for count in range(step, (room or 0) + 1, step):
                if count * holds(option) >= least:
                    yield ((option, count),), (option.sku, count)

    def box(self, chassis: Chassis, arrays: tuple[Array, ...], options: Options) -> Box:
        """Put one build together."""
        pins = (self.first.redundant_supply, self.asked.chassis_owned)
        return Box(chassis, arrays, options, *pins)

    def array(
        self,
        ask: Ask,
        controller: Controller,
        drive: Drive,
        level: str = "0",
        spans: int = 1,
        members: int = 2,
    ) -> Array:
        """Make one array with the spares of its row; without a layout only its parts matter."""
        have = ask.have_drives
        if have is None or ask.action == "keep":
            have = members + ask.spares if "drive" in ask.owned else 0
        return Array(
            *(controller, drive, level, spans, members, ask.spares),
            controller_owned="controller" in ask.owned,
            have=have,
            action=ask.action,
            old_drive=next((d for d in self.prices.drives if d.sku == ask.from_drive), None),
            old_controller=next(
                (c for c in self.prices.controllers if c.sku == ask.from_controller), None
            ),
        )

    def probe(self, chassis: Chassis, controllers: tuple[Controller, ...], options: Options) -> Box:
        """Put controllers and options in a chassis, with whatever drives."""
        arrays = tuple(
            self.array(ask, controller, self.prices.drives[0], ask.level or "0")
            for ask, controller in zip(self.arrays, controllers, strict=True)
        )
        return self.box(chassis, arrays, options)

    def laid_out(
        self, ask: Ask, controller: Controller, chassis: Chassis, *, demands: bool
    ) -> Iterator[Array]:
        """Yield the arrays of fewest members, one for each drive and kind of level."""
        most = min(chassis.bays, controller.max_drives) - ask.spares
        for drive in self.drives(ask):
            kinds: dict[tuple[bool, bool, bool], tuple[int, int, int, Array]] = {}
            if pair_stops(
                self.prices,
                self.box(chassis, (), ()),
                self.array(ask, controller, drive),
            ):
                continue
            for level, members, spans in layouts(ask, most):
                array = self.array(ask, controller, drive, level, spans, members)
                if members > most or layout_stops(array):
                    continue
                if demands and not _meets(ask, array):
                    continue
                # Of bought drives some accessories count those alone, else all.
                kind = (level == "none", level == "0", array.bought > 0)
                order = (members, LEVELS.index(level), spans)
                if kind not in kinds or order < kinds[kind][:3]:
                    kinds[kind] = (*order, array)
            yield from (entry[3] for entry in kinds.values())

    def picks(self, place: int, chassis: Chassis, controller: Controller) -> list[Pick]:
        """List the ways to make one array that meet its own demands, cheapest drives first."""
        key = (place, chassis.sku, controller.sku)
        if key not in self._picks:
            found, ask = [], self.arrays[place]
            for array in self.laid_out(ask, controller, chassis, demands=True):
                ours = array.bought
                erases = array.action == "new" and array.there
                codes = {"erases_data"} if erases else set()
                codes |= {"no_redundancy"} if array.level in ("0", "none") else set()
                price = ours * self.till.unit(array.drive)[0]
                unaccepted = bool(codes - self.asked.accept)
                found.append(Pick(array, price, ours * array.drive.mass_g, unaccepted))
            self._picks[key] = sorted(found, key=lambda pick: pick.price)
        return self._picks[key]

    def search(self) -> Found:
        """Keep the build that the choice rule wants."""
        found, best_rank = Found(), None
        for chassis in self.chassis():
            for options, filled in self.fillings(chassis):
                if option_stops(self.box(chassis, (), options)):
                    continue
                for controllers in itertools.product(*map(self.controllers, self.arrays)):
                    best_rank = self._try(found, best_rank, chassis, options, filled, controllers)
        return found

    def _each(self, net: Decimal) -> Decimal:
        """Give the price of one of the builds, as it is printed."""
        return rounded(net / self.builds, self.till.digits)

    def _try(
        self,
        found: Found,
        best_rank: tuple[object, ...] | None,
        chassis: Chassis,
        options: Options,
        filled: tuple[object, ...],
        controllers: tuple[Controller, ...],
    ) -> tuple[object, ...] | None:
        """Try every way to fill some controllers in a chassis; give the best rank so far."""
        probe, accept = self.probe(chassis, controllers, options), self.asked.accept
        slots = slots_of(probe)
        if seat_stops(probe) or slots is None:
            return best_rank
        if not enough_free(self.first.free_slots, free_slots(chassis, slots)):
            return best_rank
        ours = [
            (part, count)
            for part, count, is_ours in probe.parts()
            if is_ours and not isinstance(part, Drive)
        ]
        grams = sum((count * part.mass_g for part, count in ours), Decimal(0))
        price = sum(
            (
                count * self.till.unit(part)[0]
                for part, count in ours
                if getattr(part, "mounting", "") != "board"
            ),
            Decimal(0),
        )
        most = self.first.max_price
        lists = [self.picks(n, chassis, one) for n, one in enumerate(controllers)]
        for picks in itertools.product(*lists):
            held = any(pick.unaccepted for pick in picks)
            least = self.till.net(
                (price + sum(pick.price for pick in picks)) * self.builds,
                grams + sum(pick.grams for pick in picks),
                self.builds,
            )
            if most is not None and self._each(least) > most:
                continue
            if best_rank is not None and (held, least) > best_rank[:2]:
                continue
            box = self.box(chassis, tuple(pick.array for pick in picks), options)
            accessories = accessories_of(self.prices, box)
            if count_stops(box, accessories) or service_stops(box, self.asked.services):
                continue
            if self.first.max_watts is not None and watts(box, accessories) > self.first.max_watts:
                continue
            net = self.till.server_net(self.asked, box, accessories)
            if most is not None and self._each(net) > most:
                continue
            days = self.first.max_lead_days
            if days is not None and self.till.lead_days(self.asked, box, accessories) > days:
                continue
            unaccepted = frozenset(advice(box, accessories) - accept)
            rank = (bool(unaccepted), net, box.drives, chassis.sku, *_order(box), filled)
            if best_rank is None or rank < best_rank:
                best_rank, found.best, found.unaccepted = rank, box, unaccepted
        return best_rank


def _open(pin: str | None, refurbished: bool, every: bool) -> bool:
    """Whether a part takes part in the choice where it is not pinned."""
    return pin is None and (every or not refurbished)


def _meets(ask: Ask, array: Array) -> bool:
    """Whether an array meets the demands of its own row that need no estimate."""
    if ask.usable_tb is not None and array.usable_bytes < ask.usable_tb * 10**12:
        return False
    if ask.survive is not None and survives_any(array.level) < ask.survive:
        return False
    return ask.media is None or array.drive.media == ask.media


def _order(box: Box) -> Iterator[tuple[object, ...]]:
    """Give what decides between builds that cost the same: array by array."""
    for a in box.arrays:
        yield a.controller.sku, a.drive.sku, LEVELS.index(a.level), a.spans
