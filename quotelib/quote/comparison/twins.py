"""What does keeping the slot free cost: the same controller as mezzanine and as card."""

from decimal import Decimal

from pydantic import BaseModel, ConfigDict

from quotelib.build.build import Build
from quotelib.build.fit import Finding, finding
from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import net_total
from quotelib.quote.candidate import Candidate
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.facts import Exact
from quotelib.quote.search import choose, deal_of
from quotelib.quote.words import count, money

_OTHER = {"mezzanine": "card", "card": "mezzanine"}


class SlotSaving(BaseModel):
    """What keeping the slot free costs or saves, with the same controller in its other form.

    Parameters
    ----------
    quoted, other : str
        Sku of the controller in the build, and of its other form.
    other_mounting : str
        ``mezzanine`` or ``card``.
    chassis : str or None
        The chassis with the other form, the same wherever it takes it. None: there is none.
    currency : str
        Of the quote.
    net_difference : Decimal or None
        Net of the mezzanine build less net of the card build, all builds together: what
        keeping the slot free costs; negative where it saves. None where the other form does
        not meet the enquiry.
    words : str
        All of it in a sentence or two.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    quoted: str
    other: str
    other_mounting: str
    chassis: str | None
    currency: str
    net_difference: Exact | None
    words: str


def _abilities(controller: Controller) -> tuple[object, ...]:
    sas = "22.5" if controller.sas_gbit_s == "24" else controller.sas_gbit_s
    return (
        controller.kind,
        frozenset(controller.levels),
        controller.cache_mib,
        controller.cache_protection,
        controller.sata_gbit_s,
        sas,
        controller.nvme_gen,
        controller.max_drives,
    )


def twins(price_list: PriceList, controller: Controller) -> tuple[Controller, ...]:
    """Find the same controller in its other form: a card's mezzanine version, or the reverse.

    The same is what has the same kind, levels, cache and protection, link rates and most
    drives; a price list does not say it in any other way.

    Parameters
    ----------
    price_list : PriceList
    controller : Controller

    Returns
    -------
    tuple of Controller
        In the order of the price list; empty for a board controller.
    """
    wanted = _OTHER.get(controller.mounting)
    same = _abilities(controller)
    return tuple(
        c for c in price_list.controllers.values() if c.mounting == wanted and _abilities(c) == same
    )


def only_slot_used(price_list: PriceList, build: Build) -> Finding | None:
    """Note a card in the only slot of a chassis, though its mezzanine version would leave it free.

    Only where the chassis has a socket: without one, the mezzanine version is no way out here.
    """
    controller, chassis = build.controller, build.chassis
    if controller.mounting != "card" or len(chassis.slots) != 1 or not chassis.mezzanine_sockets:
        return None
    others = [c.sku for c in twins(price_list, controller)]
    if not others:
        return None
    return finding(
        "only_slot_used",
        f"{controller.sku} takes the only slot of {chassis.sku}; its mezzanine version "
        f"{' or '.join(others)} would leave it free for a later card",
    )


def keeping_slot_free(price_list: PriceList, enquiry: Enquiry, build: Build) -> SlotSaving | None:
    """Say what keeping the slot free costs or saves for this enquiry.

    The build is priced again with the controller's other form and all else the same. Where the
    chassis has no socket for the mezzanine version and is ours to choose, so is its chassis.

    Parameters
    ----------
    price_list : PriceList
    enquiry : Enquiry
    build : Build
        What is to be quoted for it.

    Returns
    -------
    SlotSaving or None
        None where the controller has no other form.
    """
    others = twins(price_list, build.controller)
    if not others:
        return None
    tries = [(other, _try(price_list, enquiry, build, other)) for other in others]
    possible = [(c.net, other, c) for other, (c, _) in tries if c is not None and c.net is not None]
    currency = enquiry.currency or price_list.terms.currency
    if not possible:
        other, (_, reasons) = tries[0]
        form = "mezzanine" if other.mounting == "mezzanine" else "card"
        return SlotSaving(
            quoted=build.controller.sku,
            other=other.sku,
            other_mounting=other.mounting,
            chassis=None,
            currency=currency,
            net_difference=None,
            words=f"The same controller is sold as {form}, {other.sku}, which does not serve "
            f"here: {reasons}.",
        )
    net, other, candidate = min(possible, key=lambda option: (option[0], option[1].sku))
    here = net_total(build, PriceBook(price_list, currency), deal_of(enquiry))
    difference = net - here if other.mounting == "mezzanine" else here - net
    chassis = candidate.build.chassis.sku
    return SlotSaving(
        quoted=build.controller.sku,
        other=other.sku,
        other_mounting=other.mounting,
        chassis=chassis,
        currency=currency,
        net_difference=difference,
        words=_words(build, other, chassis, difference, currency, enquiry.builds),
    )


def _try(
    price_list: PriceList, enquiry: Enquiry, build: Build, other: Controller
) -> tuple[Candidate | None, str]:
    layout = build.layout
    pinned = enquiry.model_copy(
        update={
            "chassis": build.chassis.sku,
            "controller": other.sku,
            "drive": build.drive.sku,
            "members": layout.members,
            "level": layout.level,
            "spans": layout.spans,
            "spares": layout.spares,
            "owned": tuple(role for role in enquiry.owned if role != "controller"),
        }
    )
    choice = choose(price_list, pinned)
    no_socket = other.mounting == "mezzanine" and not build.chassis.mezzanine_sockets
    if choice.best is None and no_socket and enquiry.chassis is None:
        elsewhere = choose(price_list, pinned.without("chassis"))
        if elsewhere.best is not None:
            return elsewhere.best, ""
    reasons = choice.refusal.reasons if choice.refusal else ()
    return choice.best, "; ".join(words for _, words in reasons)


def _words(
    build: Build, other: Controller, chassis: str, difference: Decimal, currency: str, builds: int
) -> str:
    many = f" for {count(builds, 'build')}" if builds > 1 else ""
    amount = f"{money(abs(difference), currency)} net{many}"
    cost = f"costs {amount} more" if difference > 0 else f"saves {amount}"
    if not difference:
        cost = "costs nothing"
    if other.mounting == "card":
        text = (
            f"This is the mezzanine version, which keeps the slots free. It is sold as card too, "
            f"{other.sku}: against that, keeping the slot free {cost}."
        )
    else:
        text = (
            f"The same controller is sold for the mezzanine socket, {other.sku}: keeping the slot "
            f"free with it {cost}"
        )
        text += "." if chassis == build.chassis.sku else f", and takes {chassis} as chassis."
    return text
