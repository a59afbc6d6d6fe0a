"""What does keeping a slot free cost: the same controller as mezzanine and as card."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.speed import serial_mb_s
from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.options import pins_of
from quotelib.choose.search import choose
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price

_OTHER = {"socket": "slot", "slot": "socket"}


@dataclass(frozen=True, slots=True)
class Twin:
    """The same controller in its other form, and what comes of it here.

    Parameters
    ----------
    quoted, other : Controller
        In the build, and in its other form.
    candidate : Candidate or None
        The build with the other form; None where it does not meet the enquiry (`refused`).
    difference : Decimal or None
        Net of the mezzanine build less net of the card build, all builds together: what
        keeping the slot free costs; negative where it saves.
    """

    quoted: Controller
    other: Controller
    candidate: Candidate | None
    refused: tuple[Reason, ...]
    difference: Decimal | None


def _abilities(c: Controller) -> tuple[object, ...]:
    sas = None if c.sas_gbit_s is None else serial_mb_s(c.sas_gbit_s)  # one rate, two names
    cache, links = (c.cache_mib, c.cache_protection), (c.sata_gbit_s, sas, c.nvme_gen)
    return c.kind, frozenset(c.levels), cache, links, c.max_drives, c.ports, c.condition


def twins(price_list: PriceList, controller: Controller) -> tuple[Controller, ...]:
    """Find the same controller in its other form: a card's mezzanine version, or the reverse.

    The same is what has the same kind, levels, cache and protection, link rates, most drives,
    ports and condition; a price list does not say it in any other way. A board controller has none.
    """
    wanted = _OTHER.get(controller.takes)
    same = _abilities(controller)
    return tuple(
        c for c in price_list.controllers.values() if c.takes == wanted and _abilities(c) == same
    )


def only_slot_used(price_list: PriceList, build: Build) -> Iterator[Finding]:
    """Note a card in the only slot of a chassis, though its mezzanine version would leave it free.

    Only where the chassis has a socket: without one, the mezzanine version is no way out here.
    """
    chassis = build.chassis
    if len(chassis.slots) != 1 or not chassis.mezzanine_sockets:
        return
    for _, controller in build.controllers():
        others = [c.sku for c in twins(price_list, controller)]
        if controller.takes == "slot" and others:
            what = f"{controller.sku} takes the only slot of {chassis.sku}"
            other = f"its mezzanine version {' or '.join(others)}"
            yield finding("only_slot_used", what, f"{other} would leave it free for a later card")


def find_twins(price_list: PriceList, enquiry: Enquiry, build: Build) -> Iterator[Twin]:
    """Try each controller of a build in its other form: the cheapest of each that has one.

    The build is priced again with the other form and all else the same. Where the chassis has no
    socket for the mezzanine version and is ours to choose, so is its chassis.
    """
    book = PriceBook(price_list, enquiry.currency or price_list.terms.currency)
    for _, controller in build.controllers():
        others = twins(price_list, controller)
        tries = [(other, *_try(price_list, enquiry, build, other)) for other in others]
        possible = [(c.net, o.sku, o, c) for o, c, _ in tries if c and c.net is not None]
        if possible:
            net, _, other, candidate = min(possible, key=lambda option: option[:2])
            here = price(build, book, enquiry.deal).net
            difference = net - here if other.takes == "socket" else here - net
            yield Twin(controller, other, candidate, (), difference)
        elif tries:
            other, _, refused = tries[0]
            yield Twin(controller, other, None, refused, None)


def _try(
    price_list: PriceList, enquiry: Enquiry, build: Build, other: Controller
) -> tuple[Candidate | None, tuple[Reason, ...]]:
    cells = {**pins_of(build), "controller": other.sku}
    owned = tuple(role for role in enquiry.owned if role != "controller")
    pins = {name: COLUMNS[name].parse(cell) for name, cell in cells.items()}
    pinned = enquiry.change(**pins, owned=owned)
    choice = choose(price_list, pinned)
    no_socket = other.takes == "socket" and not build.chassis.mezzanine_sockets
    if choice.best is None and no_socket and enquiry.chassis is None:
        elsewhere = choose(price_list, pinned.without("chassis"))
        if elsewhere.best is not None:
            return elsewhere.best, ()
    return choice.best, choice.refused
