"""What is shown of parts, of what stands beside servers, of arrays, of other builds compared."""

from collections.abc import Sequence
from typing import Literal

from quotelib.bench.shown import LooseSheet
from quotelib.build.layout import Layout
from quotelib.build.speed import Ceiling, Speed
from quotelib.catalogue.work import Action
from quotelib.choose.alternatives import Strength
from quotelib.facts import Exact, Fact, Frozen, Reason
from quotelib.predict.estimate import Estimate
from quotelib.predict.shown import Outlook
from quotelib.pricing.lines import Line
from quotelib.pricing.quote import Kind
from quotelib.promise.part_words import Protection


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


class PartShown(Frozen):
    """One of the parts that make the server what it is: chassis, what takes a place, drives.

    The quantity is for one server and for all together; what is owned the customer has already.
    """

    role: str
    sku: str
    description: str
    quantity: int
    quantity_all: int
    owned: bool
    facts: tuple[Fact, ...]


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


class DrivesOn(Frozen):
    """The drives of an array and what they hang on, as skus."""

    drive: str
    controller: str


class Alternative(Frozen):
    """Another build that meets the enquiry.

    Parameters
    ----------
    kinds, title
        What speaks for it; ``level``: that it costs the least at its own.
    words
        Its arrays in words.
    pins
        The cells that pin it.
    host_iops, loss_pct
        None: not known.
    open_advice
        Codes of what we advise against in it and nobody has accepted.
    """

    kinds: tuple[Strength, ...]
    title: str
    words: str
    chassis: str
    drives: tuple[DrivesOn, ...]
    pins: dict[str, str]
    usable_bytes: int
    survives: int
    net: Exact
    net_difference: Exact
    host_iops: float | None
    loss_pct: float | None
    open_advice: tuple[str, ...]


class Saving(Frozen):
    """What one wish costs: how much less the whole quote would be without it, all else as asked.

    Parameters
    ----------
    column, array
        Of the enquiry that says the wish, and the name of its array where there are several.
    wish, gives
        In words: what was asked, and what the cheaper server gives instead.
    words
        The cheaper server in words.
    saves
        Of the net of the quote, all builds.
    open_advice
        Codes of what we advise against in it and nobody has accepted.
    """

    column: str
    array: str
    wish: str
    gives: str
    words: str
    saves: Exact
    open_advice: tuple[str, ...]


class ControllerRow(Frozen):
    """One controller and what it comes to for the enquiry.

    Rates are GB/s (10^9 bytes) of payload, one direction, before packet overhead; None: not
    known, or, for what depends on a build, that there is none.

    Parameters
    ----------
    pinned, owned
        Whether the enquiry names it, and whether the customer has it already.
    chosen
        Whether the quote would take it, were the controller left to us.
    explanation
        What such a controller does and does not do.
    cache_protection
        ``module`` is an accessory of unnamed kind.
    drives_gb_s
        The member drives together, as rated.
    tightest, tightest_gb_s, capped
        The lowest known ceiling: drive links, controller or host link; whether that is below the
        drives together.
    host_words
        Its own link to the system and, where that is less, the one in its place, with rates.
    link_words
        Generation and lanes that it agrees on with its place; blank: not known.
    fits
        Whether a build with it meets the enquiry.
    net, net_difference
        Net of all builds with it in the quote's currency, and that less the lowest net.
    findings
        Where it fits, what we advise against and nobody has accepted; where it does not, what
        stands in the way.
    why
        `findings` in short, for where the sku stands beside it.
    build_words, drives
        The build it is judged with, blank where there is none, and its drives' skus.
    where
        Where it goes in that build and what stays free; in a record the build's own place says
        it, so that it is left out there.
    """

    sku: str
    description: str
    kind: Literal["chipset", "pass_through", "raid"]
    kind_words: str
    mounting_words: str
    pinned: bool
    owned: bool
    chosen: bool
    explanation: str
    levels: tuple[str, ...]
    cache_mib: int
    cache_protection: Protection
    cache_words: str
    links_words: str
    max_drives: int
    drives_gb_s: float | None
    tightest: Ceiling | None
    tightest_gb_s: float | None
    capped: bool | None
    host_words: str
    link_words: str
    occupies: str
    fits: bool
    net: Exact | None
    net_difference: Exact | None
    findings: tuple[Reason, ...]
    why: str
    verdict: str
    build_words: str
    drives: tuple[str, ...]
    where: tuple[str, ...]


class ControllerComparison(Frozen):
    """Every controller of a price list against one enquiry.

    Those that fit come in the order of the choice, then the others in that of the price list.
    `chosen` is what the quote would take, were it left to us (None: none fits); `remarks` say what
    to know when reading the table.
    """

    enquiry_id: str
    currency: str
    builds: int
    rows: tuple[ControllerRow, ...]
    chosen: str | None
    summary: str
    remarks: tuple[str, ...]
