"""What else was considered, as a record shows it: other builds, wishes given up, controllers."""

from typing import Literal

from quotelib.build.speed import Ceiling
from quotelib.choose.leading import Strength
from quotelib.facts import Exact, Frozen, Reason
from quotelib.promise.part_words import Protection


class DrivesOn(Frozen):
    """The drives of an array and what they hang on, as skus."""

    drive: str
    controller: str


class ComparedBuild(Frozen):
    """A build that meets the enquiry, as it is set against others.

    Parameters
    ----------
    kinds, title
        What speaks for it.
    words
        Its arrays in words.
    pins
        The cells that pin it.
    net, net_difference
        Of all builds alike, and that less the proposal's.
    host_iops
        Operations a second under the workload; None: not known.
    array_loss_pct, loss_pct
        Chances of losing the array, and any data; None: not known.
    open_advice
        Codes of what we advise against in it and nobody has accepted.
    """

    kinds: tuple[str, ...]
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
    array_loss_pct: float | None
    loss_pct: float | None
    open_advice: tuple[str, ...]


class Alternative(ComparedBuild):
    """Another build than the proposal; its kind ``level``: it costs the least at its own."""

    kinds: tuple[Strength, ...]


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
