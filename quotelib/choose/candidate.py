"""What is known of a build under consideration, and in which order builds are chosen."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.build.findings import Finding
from quotelib.levels import place
from quotelib.text import both

Rank = tuple[bool, Decimal, int, str, tuple[tuple[str, str, int, int], ...]]


@dataclass(slots=True)
class Candidate:
    """A build under consideration, with what the search knows of it.

    Parameters
    ----------
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

    def open_advice(self, accepted: Iterable[str]) -> tuple[Finding, ...]:
        """Give the advice against it that nobody has accepted."""
        allowed = set(accepted)
        return tuple(found for found in self.advice if found.code not in allowed)


def rank(candidate: Candidate, accepted: Iterable[str]) -> Rank:
    """Give the order of choice: unaccepted advice last, then net, then the ties."""
    build, advised = candidate.build, bool(candidate.open_advice(accepted))
    arrays = tuple(
        (a.controller.sku, a.drive.sku, place(a.layout.level), a.layout.spans) for a in build.arrays
    )
    return advised, candidate.net or Decimal(0), build.drives, build.chassis.sku, arrays


def describe(build: Build) -> str:
    """Name a build in one line."""
    chassis = build.chassis.sku
    return both(
        f"{a.layout.words}, {a.drive.sku} in {chassis} on {a.controller.sku}" for a in build.arrays
    )
