"""What is known of a build under consideration, and in which order builds are chosen."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.build.fit import Finding
from quotelib.build.levels import LEVEL_ORDER

Rank = tuple[bool, Decimal, int, str, str, str, int, int]


@dataclass(slots=True)
class Candidate:
    """A build under consideration, with what the search knows of it.

    Parameters
    ----------
    build : Build
    usable_bytes : int
    net : Decimal or None
        Of all builds together, in the quote's currency; None until it is needed.
    host_iops, host_mb_s, loss_pct : float or None
        Estimates under the enquiry's workload and the terms' years; None: not known.
    advice : tuple of Finding
        Why we would not build it.
    """

    build: Build
    usable_bytes: int
    net: Decimal | None = None
    host_iops: float | None = None
    host_mb_s: float | None = None
    loss_pct: float | None = None
    advice: tuple[Finding, ...] = ()


def rank(candidate: Candidate, accepted: Iterable[str]) -> Rank:
    """Give the order of choice: unaccepted advice last, then net, then the ties."""
    build = candidate.build
    layout = build.layout
    allowed = set(accepted)
    open_advice = any(found.code not in allowed for found in candidate.advice)
    return (
        open_advice,
        candidate.net if candidate.net is not None else Decimal(0),
        layout.drives,
        build.chassis.sku,
        build.controller.sku,
        build.drive.sku,
        LEVEL_ORDER[layout.level],
        layout.spans,
    )


def describe(candidate: Candidate) -> str:
    """Name a build in one line."""
    build = candidate.build
    return (
        f"{build.layout.words}, {build.drive.sku} in {build.chassis.sku} on {build.controller.sku}"
    )
