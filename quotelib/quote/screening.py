"""What would each candidate do: the estimates that take part in the choice, for all at once."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from quotelib.build import fit
from quotelib.build.seat import host_link_mb_s
from quotelib.catalogue.parts import Terms, Workload
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import loss_probability
from quotelib.quote import figures
from quotelib.quote.candidate import Candidate
from quotelib.units import KIB, MB, plain


def screen(candidates: Sequence[Candidate], workload: Workload | None, terms: Terms) -> None:
    """Fill in what the choice needs to know of each candidate.

    Parameters
    ----------
    candidates : sequence of Candidate
        Their ``host_iops``, ``host_mb_s``, ``loss_pct`` and ``advice`` are set. What is not
        known stays None.
    workload : Workload or None
        None: the neutral load.
    terms : Terms
        How many years we look ahead, and the chance of loss from which we advise against.
    """
    load = workload or figures.NEUTRAL
    limit = float(terms.risk.advise_loss_pct)
    years = float(terms.risk.years)
    groups: dict[tuple[object, ...], list[Candidate]] = {}
    places: dict[tuple[int, int], float | None] = {}
    for candidate in candidates:
        groups.setdefault(_key(candidate, places), []).append(candidate)
    if not groups:
        return
    f = figures.figures([alike[0].build for alike in groups.values()])
    mixed = figures.throughput(f, figures.load_of(load))
    window = figures.rebuild(f, mixed.drive_utilisation)
    protection = figures.protection(f, window)
    media = np.where(f.flash, "ssd", "hdd")
    expected = mttf_range(protection.mttf_hours, media).expected
    loss = 100 * loss_probability(replace(protection, mttf_hours=expected), years).any_data
    block_mb = float(load.block_kib) * KIB / MB
    for alike, iops, pct in zip(groups.values(), mixed.iops, loss, strict=True):
        for candidate in alike:
            if not np.isnan(iops):
                candidate.host_iops = float(iops)
                candidate.host_mb_s = float(iops) * block_mb
            if not np.isnan(pct):
                candidate.loss_pct = float(pct)
            candidate.advice = tuple(advice(candidate, limit, plain(terms.risk.years)))


def advice(candidate: Candidate, limit_pct: float, years: str) -> list[fit.Finding]:
    """Find why we would not build a candidate, in the order of the codes."""
    found = fit.advice(candidate.build)
    loss = candidate.loss_pct
    if loss is not None and loss > limit_pct:
        found.append(
            fit.finding(
                "loss_over_limit",
                f"the estimated chance of losing data over {years} years is {loss:.2g} %, above "
                f"the {limit_pct:g} % from which we advise against it; choose a level that "
                "survives more failures, fewer or smaller drives or a hot spare, or accept the "
                "risk",
            )
        )
    return found


def _key(candidate: Candidate, places: dict[tuple[int, int], float | None]) -> tuple[object, ...]:
    """Name what the estimates of a candidate depend on: the same key, the same estimates."""
    parts, layout = candidate.build.parts, candidate.build.layout
    place = (id(parts), layout.members)
    if place not in places:
        places[place] = host_link_mb_s(parts, layout.members)
    return (parts.drive.sku, parts.controller.sku, layout, places[place])
