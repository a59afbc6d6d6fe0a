"""What is shown of parts, of what stands beside servers, and of arrays."""

from collections.abc import Iterator, Sequence
from typing import Literal, TypeVar

from quotelib.bench.shown import LooseSheet
from quotelib.build.layout import Layout
from quotelib.build.speed import Speed
from quotelib.catalogue.work import Action
from quotelib.facts import Exact, Fact, Frozen, Measure
from quotelib.predict.estimate import Estimate
from quotelib.predict.shown import Outlook
from quotelib.pricing.lines import Line
from quotelib.pricing.quote import Kind


class Wish(Frozen):
    """One thing asked, as the customer put it, and what is offered for it."""

    label: str
    asked: str
    offered: str


def called(kind: str, names: Sequence[str]) -> list[str]:
    """Call each of several by its name or number: ``server B``, ``server 2``; one is not called."""
    if len(names) < 2:
        return [""] * len(names)
    return [f"{kind} {name or number}" for number, name in enumerate(names, 1)]


class Lack(Frozen):
    """Something that somebody might take for granted, and is not in the offer.

    Parameters
    ----------
    what
        Names its sentence in the texts of the offer.
    servers
        Names or numbers of those that lack it; empty: all of them.
    """

    what: Literal[
        "drives", "processors", "memory", "software", "other_software", "other_services",
        "site_work", "fitting", "tax",
    ]  # fmt: skip
    servers: tuple[str, ...] = ()


class PartShown(Frozen):
    """One of the parts that make the server what it is: chassis, what takes a place, drives.

    The quantity is for one server and for all together; what is owned the customer has already.

    Parameters
    ----------
    condition
        ``new`` or ``refurbished``.
    warranty_years
        None: the price list names none.
    """

    role: str
    sku: str
    description: str
    quantity: int
    quantity_all: int
    owned: bool
    facts: tuple[Fact, ...]
    condition: str = "new"
    warranty_years: Measure | None = None


class ItemShown(Frozen):
    """What a quote has beside servers: loose parts, services, what is charged once, free lines.

    Parameters
    ----------
    lines_total, freight
        Sub-totals, before discount and tax.
    pick
        The loose parts.
    bench
        How they are picked and packed; None where there are none.
    """

    kind: Kind
    name: str
    lines: tuple[Line, ...]
    lines_total: Exact
    freight: Exact
    mass_kg: Exact
    lead_days: int
    pick: tuple[PartShown, ...]
    bench: LooseSheet | None


class CapacityShare(Frozen):
    """Where a part of the raw capacity goes."""

    kind: Literal["usable", "redundancy", "spares", "reserve"]
    name: str
    bytes: int
    pct: float
    why: str


class Capacity(Frozen):
    """From the labels to what the customer's system shows."""

    label_bytes: int
    drive_bytes: int
    member_bytes: int
    raw_bytes: int
    usable_bytes: int
    usable_tb: Exact
    usable_tib: Exact
    shares: tuple[CapacityShare, ...]
    words: str


class LevelShown(Frozen):
    """What the drives of an array would give at another level."""

    level: str
    label: str
    members: int
    spans: int
    usable_bytes: int
    survives: int
    offered: bool
    proposed: bool


class ArrayLaid(Frozen):
    """How one array of a server is laid out and what it holds: all that takes no estimate.

    Parameters
    ----------
    name
        Blank for the only one.
    have_drives
        How many of its drives the customer has already.
    controller_before, drive_before
        What ran it until now, and what the drives are that are there; blank: the same.
    label, words
        Of the level, and of the whole layout.
    protection
        How the data is protected, and how it is not.
    """

    name: str
    action: Action
    controller: str
    drive: str
    have_drives: int
    controller_before: str = ""
    drive_before: str = ""
    layout: Layout
    strip_words: str
    label: str
    survives: int
    data_members: int
    words: str
    capacity: Capacity
    protection: tuple[str, ...]
    levels: tuple[LevelShown, ...]


class ArrayShown(ArrayLaid):
    """One array of a server, with what it will do.

    Parameters
    ----------
    asked
        What was asked of it, and what it gives.
    speed
        Drives against links, controller and its place.
    outlook
        What the charts and sentences about it show.
    estimates
        Speed, rebuild, risk and wear.
    """

    asked: tuple[Wish, ...]
    speed: Speed
    outlook: Outlook
    estimates: tuple[Estimate, ...]


Laid = TypeVar("Laid", bound=ArrayLaid)


def arrays_called(arrays: Sequence[Laid]) -> Iterator[tuple[str, Laid]]:
    """Give the arrays of one server, each with what to call it there; blank for the only one."""
    return zip(called("array", [array.name for array in arrays]), arrays, strict=True)


def by_array(servers: Sequence[tuple[str, Sequence[Laid]]]) -> Iterator[tuple[str, Laid]]:
    """Give each array of servers, whose names come first, as ``server B, array data``."""
    names = called("server", [name for name, _ in servers])
    for of, (_, arrays) in zip(names, servers, strict=True):
        for own, array in arrays_called(arrays):
            yield ", ".join(filter(None, (of, own))), array
