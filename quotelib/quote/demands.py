"""Does a build do what the customer asked: one small demand a column of the enquiry."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Literal

from quotelib.pricing.money import digits, exact
from quotelib.quote.candidate import Candidate
from quotelib.quote.enquiry import Enquiry
from quotelib.units import TB, TIB, plain


@dataclass(frozen=True, slots=True)
class Demand:
    """One demand of an enquiry.

    Parameters
    ----------
    column : str
        Its column, which also names it in a reason.
    needs : str
        What it takes to judge it: the ``build`` alone, its ``price`` or the ``estimates``.
    met : callable
        Whether a candidate meets it.
    shortfall : callable
        How far a candidate is from meeting it; only the order counts, lower is nearer.
    asked, got : callable
        The demand and what a candidate offers, in words.
    """

    column: str
    needs: Literal["build", "price", "estimates"]
    met: Callable[[Candidate], bool]
    shortfall: Callable[[Candidate], float]
    asked: str
    got: Callable[[Candidate], str]


def size_words(usable_bytes: int) -> str:
    """Write a size in TB and TiB side by side, rounded down: 9.996 TB do not make 10."""
    tb, tib = (usable_bytes * 100 // unit for unit in (TB, TIB))
    return f"{tb / 100:.2f} TB ({tib / 100:.2f} TiB)"


def price_words(net: Decimal, builds: int, currency: str) -> str:
    """Write the price of one build, rounded up to the minor unit: the least limit it meets."""
    with exact() as context:
        context.rounding = ROUND_CEILING
        one = (net / builds).quantize(Decimal(1).scaleb(-digits(currency)))
    return f"{currency} {one:f} a build"


def demands(enquiry: Enquiry, currency: str) -> list[Demand]:
    """List what an enquiry demands.

    Parameters
    ----------
    enquiry : Enquiry
    currency : str
        Of the quote.

    Returns
    -------
    list of Demand
        Those that the build alone answers before those that take its price or estimates.
    """
    made: list[Demand] = []
    if (wanted := enquiry.usable_tb) is not None:
        need = wanted * TB
        made.append(
            Demand(
                "usable_tb",
                "build",
                lambda c: c.usable_bytes >= need,
                lambda c: float(need) - c.usable_bytes,
                f"at least {plain(wanted)} TB usable",
                lambda c: size_words(c.usable_bytes),
            )
        )
    if (survive := enquiry.survive) is not None:
        made.append(
            Demand(
                "survive",
                "build",
                lambda c: c.build.layout.rule.survives >= survive,
                lambda c: survive - c.build.layout.rule.survives,
                f"survival of any {survive} drive {'failure' if survive == 1 else 'failures'}",
                lambda c: (
                    f"{c.build.layout.rule.label}, which survives any "
                    f"{c.build.layout.rule.survives}"
                ),
            )
        )
    if (media := enquiry.media) is not None:
        made.append(
            Demand(
                "media",
                "build",
                lambda c: c.build.drive.media == media,
                lambda c: float(c.build.drive.media != media),
                f"{media} drives",
                lambda c: f"{c.build.drive.sku}, which is {c.build.drive.media}",
            )
        )
    if (free := enquiry.free_slots) is not None:
        made.append(
            Demand(
                "free_slots",
                "build",
                lambda c: c.build.parts.slots_free >= free,
                lambda c: free - c.build.parts.slots_free,
                f"at least {free} free {'slot' if free == 1 else 'slots'}",
                lambda c: f"{c.build.parts.slots_free} in {c.build.chassis.sku}",
            )
        )
    made += _estimated(enquiry)
    if (most := enquiry.max_price) is not None:
        limit = most * enquiry.builds
        made.append(
            Demand(
                "max_price",
                "price",
                lambda c: c.net is not None and c.net <= limit,
                lambda c: float((c.net or 0) - limit),
                f"at most {currency} {plain(most)} net a build",
                lambda c: price_words(c.net or Decimal(0), enquiry.builds, currency),
            )
        )
    return made


def _estimated(enquiry: Enquiry) -> list[Demand]:
    made = []
    load = (
        f"under the workload {enquiry.workload}"
        if enquiry.workload
        else "under small random operations, as no workload is named,"
    )
    if (iops := enquiry.host_iops) is not None:
        made.append(_at_least("host_iops", float(iops), "IO/s", load, lambda c: c.host_iops))
    if (rate := enquiry.host_mb_s) is not None:
        made.append(_at_least("host_mb_s", float(rate), "MB/s", load, lambda c: c.host_mb_s))
    if (loss := enquiry.max_loss_pct) is not None:
        most = float(loss)
        made.append(
            Demand(
                "max_loss_pct",
                "estimates",
                lambda c: c.loss_pct is not None and c.loss_pct <= most,
                lambda c: float("inf") if c.loss_pct is None else c.loss_pct - most,
                f"a chance of data loss of at most {plain(loss)} %",
                lambda c: "not known" if c.loss_pct is None else f"{c.loss_pct:.3g} %",
            )
        )
    return made


def _at_least(
    column: str, wanted: float, unit: str, load: str, value: Callable[[Candidate], float | None]
) -> Demand:
    def shortfall(candidate: Candidate) -> float:
        got = value(candidate)
        return float("inf") if got is None else wanted - got

    def got_words(candidate: Candidate) -> str:
        got = value(candidate)
        return "not known" if got is None else f"about {got:,.0f} {unit}"

    return Demand(
        column,
        "estimates",
        lambda c: (value(c) or 0.0) >= wanted,
        shortfall,
        f"at least {wanted:,.0f} {unit} {load}",
        got_words,
    )
