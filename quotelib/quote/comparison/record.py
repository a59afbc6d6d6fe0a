"""What does a comparison of controllers say: frozen rows, and nothing to compute."""

from typing import Literal

from quotelib.build.placement import Placement
from quotelib.build.speed import Ceiling
from quotelib.quote.facts import Exact, Frozen, Reason


class BestBuild(Frozen):
    """The build that the choice takes with one controller.

    Parameters
    ----------
    words : str
        In one line.
    chassis, drive, level : str
    members, spans, spares : int
    usable_bytes : int
    placement : Placement or None
        Where everything goes; left out of a quote record, which has it for its own build.
    """

    words: str
    chassis: str
    drive: str
    level: str
    members: int
    spans: int
    spares: int
    usable_bytes: int
    placement: Placement | None


class ControllerRow(Frozen):
    """One controller and what it comes to for the enquiry.

    Rates are GB/s (10^9 bytes) of payload, one direction, before packet overhead; None: not
    known, or, for what depends on a build, that there is none.

    Parameters
    ----------
    sku, description : str
        From the price list.
    kind, kind_words, mounting, mounting_words : str
        What it is and how it is mounted.
    pinned, owned : bool
        Whether the enquiry names it, and whether the customer has it already.
    chosen : bool
        Whether the quote would take it, were the controller left to us.
    explanation : str
        What such a controller does and does not do.
    levels : tuple of str
        The levels it makes; empty where it makes no array.
    cache_mib : int
    cache_protection : str
        ``none``, ``battery``, ``flash`` or ``module`` (an accessory of unnamed kind).
    cache_words : str
    sata_gbit_s, sas_gbit_s : str or None
        Line rates as the price list names them.
    nvme_gen, host_gen, host_lanes : int or None
        PCI Express generations and lanes of its own.
    max_drives : int
    host_gb_s : float or None
        What its own host link carries in a place that is its equal.
    agreed_gen, agreed_lanes : int or None
        What it and its place agree on.
    agreed_gb_s : float or None
    drives_gb_s : float or None
        The member drives together, as rated.
    tightest : str or None
        The lowest known ceiling: drive links, controller or host link.
    tightest_gb_s : float or None
    capped : bool or None
        Whether that is below the drives together.
    occupies : str
        What it takes up in the chassis.
    fits : bool
        Whether a build with it meets the enquiry.
    net, net_difference : Decimal or None
        Net of all builds with it in the quote's currency, and that less the lowest net.
    findings : tuple of Reason
        Where it fits, what we advise against and nobody has accepted; where it does not, what
        stands in the way.
    verdict : str
        All of it in plain words.
    build : BestBuild or None
    """

    sku: str
    description: str
    kind: Literal["chipset", "pass_through", "raid"]
    kind_words: str
    mounting: Literal["board", "mezzanine", "card"]
    mounting_words: str
    pinned: bool
    owned: bool
    chosen: bool
    explanation: str
    levels: tuple[str, ...]
    cache_mib: int
    cache_protection: Literal["none", "battery", "flash", "module"]
    cache_words: str
    sata_gbit_s: str | None
    sas_gbit_s: str | None
    nvme_gen: int | None
    host_gen: int | None
    host_lanes: int | None
    max_drives: int
    host_gb_s: float | None
    agreed_gen: int | None
    agreed_lanes: int | None
    agreed_gb_s: float | None
    drives_gb_s: float | None
    tightest: Ceiling | None
    tightest_gb_s: float | None
    capped: bool | None
    occupies: str
    fits: bool
    net: Exact | None
    net_difference: Exact | None
    findings: tuple[Reason, ...]
    verdict: str
    build: BestBuild | None


class ControllerComparison(Frozen):
    """Every controller of a price list against one enquiry.

    Parameters
    ----------
    enquiry_id, currency : str
    builds : int
        How many alike the prices are for.
    rows : tuple of ControllerRow
        Those that fit in the order of the choice, then the others in that of the price list.
    chosen : str or None
        The controller that the quote would take, were it left to us; None: none fits.
    summary : str
        What came of it, in a sentence or two.
    remarks : tuple of str
        What to know when reading the table.
    """

    enquiry_id: str
    currency: str
    builds: int
    rows: tuple[ControllerRow, ...]
    chosen: str | None
    summary: str
    remarks: tuple[str, ...]
