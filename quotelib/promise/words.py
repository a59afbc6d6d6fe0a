"""How do we say it: what was asked, what is proposed and on which terms, in a customer's words."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from quotelib.bench.steps import has_lithium
from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Part
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Action
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.quote import Kind
from quotelib.pricing.totals import Totals
from quotelib.text import both, count, figure, percent, size
from quotelib.units import GB, TB, plain

_WHERE = {
    "board": "is part of the chassis' board",
    "socket": "sits in the mezzanine socket, so that no slot is taken",
    "slot": "is a card in a slot",
    "paperwork": "comes with it",
    "": "comes with it",
}
_WHERE_SEVERAL = {
    "slot": "are cards in slots",
    "paperwork": "come with it",
    "": "come with it",
}

_STAYS: dict[Action, str] = {
    "keep": "goes on with {} as it is: {}",
    "grow": "grows {} while it works, to {}",
    "replace": "keeps {} while its drives change: {}",
}
"""What a controller does with an array that is there: which, and what it is afterwards."""

_PROTECTED_BY = {
    "none": "its protection module",
    "battery": "a battery",
    "flash": "flash memory and a capacitor or battery",
}


ITEMS = {
    "parts": "Loose parts",
    "services": "Services",
    "once": "Once for this quote",
    "lines": "Agreed besides",
}
"""What is called how, of what a quote has beside servers."""
_APART: dict[Kind, str] = {"once": "what is charged once", "lines": "what is agreed besides"}


def proposal(build: Build, builds: int) -> str:
    """Say what we propose in a few sentences."""
    chassis = build.chassis
    many = "One server" if builds == 1 else f"{builds} servers, all alike, each"
    whose = "your" if build.chassis_owned else "the"
    text = f"{many} on {whose} chassis {chassis.sku} ({chassis.description})"
    if drives := [_drives(array) for array in build.arrays]:
        text += f", with {both(drives)}"
    for piece in build.parts:
        mine, part, several = "Your" if piece.owned else "The", piece.part, piece.count > 1
        name, where = part.role, _WHERE.get(part.takes, f"goes into a {part.takes}")
        if several:
            name = count(piece.count, name)
            where = _WHERE_SEVERAL.get(part.takes, f"go into {part.takes}s")
        one = len(build.arrays) == 1
        does = [_does(a) if one else _does_beside(a) for a in build.arrays_on(part)]
        so = f", and {both(does)}" if does else ""
        text += f". {mine} {name} {part.sku} ({part.description}) {where}{so}"
    return f"{text}."


def supplies(build: Build) -> str:
    """Say what several equal supplies do for each other under this load; blank for one."""
    number, load = len(build.supplies_w), build.watts
    if number < 2:
        return ""
    at_work = " with all drives active" if build.arrays else ""
    each, rest = build.supplies_w[0], (number - 1) * build.supplies_w[0]
    other = "the other one" if number == 2 else f"the other {number - 1}"
    text = (
        f"{number} supplies of {plain(each)} W share the {plain(load)} W drawn{at_work}: "
        f"{figure(float(load / number))} W from each feed where each has its own, "
        f"{percent(float(100 * load / (each * number)))} of what one gives. With one out, {other} "
    )
    if load > rest:
        return f"{text}would give {plain(rest)} W, too little: they are no redundancy."
    text += f"{'carries' if number == 2 else 'carry'} all of it, at "
    text += f"{percent(float(100 * load / rest))}, and so must what feeds it. "
    return f"{text}Feeds are the work of those licensed, as local codes say."


def _drives(array: Array) -> str:
    layout, drive = array.layout, array.drive
    have, bought = array.have_drives, array.bought_drives
    kind = f"{drive.sku} ({drive.description})"
    text = f"{'' if bought else 'your '}{count(array.drives, 'drive')} {kind}"
    if have and bought:
        theirs = f" {array.drive_before.sku}" if array.drive_before else ""
        text = f"{count(bought, 'drive')} {kind} beside your {have}{theirs}"
    if not layout.spares:
        return text
    role = "is a hot spare" if layout.spares == 1 else "are hot spares"
    return f"{text}, of which {layout.spares} {role}"


def _does(array: Array) -> str:
    layout = array.layout
    if not layout.rule.is_array:
        return "hands each drive to your system by itself, without an array"
    if array.action != "new":
        return _STAYS[array.action].format("your array", replace(layout, spares=0).words)
    if layout.spares:
        return f"makes {replace(layout, spares=0).words} of the others"
    return f"makes {layout.words} of them".replace(f" over {layout.members} drives", "")


def _does_beside(array: Array) -> str:
    """Say what a controller does with the drives of one array of several."""
    layout, name = array.layout, f" (array {array.name})" if array.name else ""
    if not layout.rule.is_array:
        return f"hands each {array.drive.sku} to your system by itself{name}"
    if array.action != "new":
        own = f"your array {array.name}".rstrip()
        return _STAYS[array.action].format(own, replace(layout, spares=0).words)
    made = replace(layout, spares=0).words.replace(" drives", f" {array.drive.sku}", 1)
    return f"makes {made}{name}"


def what_is_done(array: Array) -> str:
    """Say in short what is done with an array."""
    before, members = array.members_before, array.layout.members
    return {
        "new": "it is made on empty drives",
        "keep": "nothing is written to its drives",
        "grow": f"{before} members become {members}, back-up first",
        "replace": f"{count(members - before, 'drive')} replaced one by one, back-up first",
    }[array.action]


def protection(build: Build, array: Array) -> Iterator[str]:
    """Say how an array's data is protected, and how it is not."""
    layout, level, controller = array.layout, array.layout.rule, array.controller
    yield level.words
    yield level.survives_words
    if layout.spares:
        spare = "the hot spare" if layout.spares == 1 else f"one of {layout.spares} hot spares"
        takes = f"{spare} takes its place at once"
        yield f"When a member fails, {takes} and the rebuild starts by itself."
    elif level.survives:
        yield "There is no hot spare: the rebuild starts when somebody has replaced the drive."
    if not controller.cache_mib:
        yield "The controller has no write cache: what it has confirmed is on the drives."
    elif build.is_protected(controller):
        source = _PROTECTED_BY[controller.cache_protection]
        yield (
            f"The write-back cache of {controller.cache_mib} MiB is protected against loss of "
            f"power by {source}."
        )
    else:
        yield (
            f"The cache of {controller.cache_mib} MiB is not protected: a loss of power loses "
            "writes that it had confirmed, unless it runs write-through."
        )


def capacity_words(array: Array) -> str:
    """Say why the usable capacity differs from the sum on the labels."""
    layout, level = array.layout, array.layout.rule
    label_tb = plain(label_bytes(array) / TB)
    text = (
        f"The labels of the {count(array.drives, 'drive')} add up to {label_tb} TB. "
        f"Your system will show {size(array.usable_bytes)}: the same bytes, counted in units of "
        "10¹² or of 2⁴⁰. Many systems count in TiB and yet write TB. "
    )
    if level.copies == 2:
        text += "Every byte is held twice, so half of the members' capacity is usable. "
    elif level.copies > 2:
        text += f"Every byte is held {level.copies} times. "
    elif level.parity_per_span:
        parity = layout.spans * level.parity_per_span
        text += f"Parity takes the room of {count(parity, 'drive')}. "
    if layout.spares:
        hold = "holds" if layout.spares == 1 else "hold"
        text += f"{count(layout.spares, 'hot spare')} {hold} no data until a drive fails. "
    if reserve := array.controller.reserve_mib:
        text += f"The controller keeps {reserve} MiB of each member for itself. "
    return text.strip()


def label_bytes(array: Array) -> Decimal:
    """Add up what stands on the labels of an array's drives."""
    return Decimal(array.drives * array.drive.capacity_gb * GB)


_ERASES = (
    "A new array erases everything on its member drives. Copy what you need first, and test "
    "that the copy can be read."
)
_BACKUP = (
    "An array that stays may still be lost to a slip, a fault or a failing drive while it is "
    "worked on. Have a tested backup on another machine before anyone opens the server."
)
_CAUTIONS = (
    "Before anyone opens the server: shut it down, disconnect every supply cord and wait. Work "
    "on mains wiring is for those licensed to do it.",
    "Handle boards and drives with protection against static (IEC 61340-5-1, ANSI/ESD S20.20).",
    "Lift with two people or a lift where the mass calls for it, and fix the rack against "
    "tipping. Follow the makers' manuals and your local rules.",
)
_LITHIUM_CAUTION = (
    "The cache protection may hold lithium cells: do not open, crush or heat it; transport "
    "rules for lithium batteries (UN 38.3) apply when it is sent."
)


_STATIC = (
    "Handle loose parts with protection against static (IEC 61340-5-1, ANSI/ESD S20.20). Fitting "
    "them is for somebody trained to it, with the server shut down and every supply cord out; "
    "follow the makers' manuals and your local rules."
)


def cautions(builds: Sequence[Build], parts: Sequence[Part]) -> tuple[str, ...]:
    """List the cautions a customer needs."""
    lithium = any(map(has_lithium, builds)) or any(p.role == "cache_protection" for p in parts)
    actions = {array.action for build in builds for array in build.arrays}
    said = {
        (_ERASES,): "new" in actions,
        (_BACKUP,): bool(actions - {"new"}),
        _CAUTIONS: bool(builds),
        (_STATIC,): bool(parts),
        (_LITHIUM_CAUTION,): lithium,
    }
    return tuple(caution for some, needed in said.items() if needed for caution in some)


def apart(kinds: Collection[Kind]) -> str:
    """Name what neither takes a discount nor is part of the price of a build, of some items."""
    return both(words for kind, words in _APART.items() if kind in kinds)


def each_words(totals: Totals, beside: str) -> str:
    """Say what the net of a build is for; blank where that is said already, or there is none."""
    if totals.net_per_build is None or totals.builds < 2:
        return ""
    return "for each server" + (f", apart from {beside}" if beside else "")


def discount_words(totals: Totals, kinds: int, beside: str) -> str:
    """Say which discount counts, of so many kinds of servers, and what is beside it."""
    discount = f"discount of {plain(totals.discount_pct)} %"
    if totals.volume_discount:
        discount = f"volume {discount} for {totals.builds} {'alike' if kinds == 1 else 'servers'}"
    if not totals.discount_pct:
        return "no discount"
    return f"{discount}, on all but {beside}" if totals.once_total else discount


def terms_words(
    terms: Terms, enquiry: Enquiry, shipping: Iterable[str], *, servers: bool
) -> Iterator[str]:
    """Say the terms of the offer, which may have servers; `shipping` says when it leaves."""
    yield f"This quote is valid for {count(terms.quote_valid_days, 'day')} from its date."
    yield from shipping
    currency = enquiry.currency or terms.currency
    if currency != terms.currency:
        rate = plain(terms.rate(currency))
        yield f"Prices are converted at {rate} {currency} for 1 {terms.currency}."
    if servers:
        yield "Estimates are estimates: they say what they rest on, and are no promise."
