"""Answers every enquiry of a file by trying every build, and writes summary rows.

The demands ``host_iops``, ``host_mb_s`` and ``max_loss_pct`` and the finding
``loss_over_limit`` are not applied: give it enquiries without those demands and a price
list whose ``advise_loss_pct`` is 100.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from pathlib import Path

from .enquiry import LEVELS, Enquiry, read_enquiry
from .money import EXACT, Till, Totals, rounded
from .reading import Accessory, Prices, Row, read_prices, read_rows
from .rules import (
    Build,
    Options,
    accessories_of,
    advice,
    free_slots,
    layout_stops,
    mass_g,
    parts_stops,
    service_stops,
    stops,
    survives_any,
    usable_bytes,
    watts,
)

_HEADER = (
    "enquiry_id outcome reason currency lines_total discount freight net tax_code tax gross"
    " margin_pct chassis controller drive members level spans spares usable_bytes usable_tb"
    " usable_tib read_iops write_iops read_mb_s write_mb_s rebuild_hours loss_pct watts"
    " mass_kg lead_days quote_file bench_file record_file"
)
SUMMARY_COLUMNS = tuple(_HEADER.split())
# Beside the summary's columns, for `comparing`: which codes `reason` has to name.
CODES_RULE = "codes_rule"

Layout = tuple[str, int, int]


@dataclass
class Search:
    """What trying every build found; `stopped` gathers the codes of all that were stopped."""

    best: Build | None = None
    unaccepted: frozenset[str] = frozenset()
    stopped: set[str] = field(default_factory=set)
    candidates: int = 0
    free_of_stops: int = 0
    only: Build | None = None


def layouts(enquiry: Enquiry, bays: int) -> Iterator[Layout]:
    """Yield every (level, members, spans) that agrees with the pins, sensible or not."""
    for level in LEVELS if enquiry.level is None else (enquiry.level,):
        for members in range(1, bays + 1) if enquiry.members is None else (enquiry.members,):
            if enquiry.spans is not None:
                yield level, members, enquiry.spans
            elif level in ("50", "60"):
                for spans in range(2, max(2, members // 3) + 1):
                    yield level, members, spans
            else:
                yield level, members, 1


def chosen(prices: Prices, enquiry: Enquiry) -> Options:
    """Look up the options an enquiry asks for."""
    by_sku = {option.sku: option for option in prices.options}
    return tuple((by_sku[sku], count) for sku, count in enquiry.options)


def search(prices: Prices, enquiry: Enquiry, till: Till) -> Search:
    """Try every build that agrees with the pins and keep the one the choice rule wants."""
    found = Search()
    best_rank: tuple[object, ...] | None = None
    by_bays = {c.bays: list(layouts(enquiry, c.bays)) for c in prices.chassis}
    options = chosen(prices, enquiry)
    for chassis, controller, drive in itertools.product(
        [c for c in prices.chassis if enquiry.chassis in (None, c.sku)],
        [c for c in prices.controllers if enquiry.controller in (None, c.sku)],
        [d for d in prices.drives if enquiry.drive in (None, d.sku)],
    ):
        accessories = accessories_of(prices, chassis, controller, drive, enquiry.owned, options)
        stopped_already = parts_stops(prices, chassis, controller, drive, options)
        tried = by_bays[chassis.bays]
        builds: Iterable[Build] = (
            Build(
                *(chassis, controller, drive, level, spans, members, enquiry.spares),
                options,
                enquiry.redundant_supply,
            )
            for level, members, spans in tried
        )
        found.candidates += len(tried)
        found.only = None
        if tried and found.candidates == 1:
            (found.only,) = builds = tuple(builds)
        # Exact: parts that cannot go together stop every layout made of them.
        if stopped_already and tried:
            found.stopped |= stopped_already
            for build in builds if enquiry.services else ():
                found.stopped |= service_stops(build, enquiry.services)
            continue
        # Net depends on the level only through "is there an array": price each case once.
        priced: dict[tuple[int, bool], Totals] = {}
        for build in builds:
            level, spans = build.level, build.spans
            codes = layout_stops(build, accessories) | service_stops(build, enquiry.services)
            if codes:
                found.stopped |= codes
                continue
            found.free_of_stops += 1
            if not meets_demands(build, enquiry, accessories):
                continue
            case = (build.drives, level == "none")
            if case not in priced:
                priced[case] = till.totals(build)
            net = priced[case].net
            of_builds = net - priced[case].once
            if enquiry.max_price is not None and of_builds > enquiry.max_price * enquiry.builds:
                continue
            unaccepted = frozenset(advice(build, accessories, enquiry.owned) - enquiry.accept)
            rank = (
                bool(unaccepted),
                net,
                build.drives,
                chassis.sku,
                controller.sku,
                drive.sku,
                LEVELS.index(level),
                spans,
            )
            if best_rank is None or rank < best_rank:
                best_rank, found.best, found.unaccepted = rank, build, unaccepted
    return found


def meets_demands(build: Build, enquiry: Enquiry, accessories: list[Accessory]) -> bool:
    """Whether the build meets every demand but the price and those that need estimates."""
    if enquiry.usable_tb is not None and usable_bytes(build) < enquiry.usable_tb * 10**12:
        return False
    if enquiry.survive is not None and survives_any(build.level) < enquiry.survive:
        return False
    if enquiry.media is not None and build.drive.media != enquiry.media:
        return False
    if enquiry.max_watts is not None and watts(build, accessories) > enquiry.max_watts:
        return False
    return enquiry.free_slots is None or free_slots(build) >= enquiry.free_slots


def plain(value: Decimal) -> str:
    """Write a decimal without exponent or trailing zeros."""
    return format(value.normalize(), "f")


def fixed(value: Decimal, digits: int) -> str:
    """Write a decimal with so many digits, rounded half away from zero."""
    return format(rounded(value, digits), "f")


def blank_row(enquiry_id: str, outcome: str) -> Row:
    """Make a row that says only the outcome."""
    row = dict.fromkeys((*SUMMARY_COLUMNS, CODES_RULE), "")
    row.update(enquiry_id=enquiry_id, outcome=outcome)
    return row


def refused_row(prices: Prices, enquiry: Enquiry, found: Search) -> Row:
    """Make the row of an enquiry that no build answers."""
    row = blank_row(enquiry.enquiry_id, "refused")
    if found.only is not None:
        codes = stops(prices, found.only, enquiry.owned, enquiry.services)
        row[CODES_RULE] = "all" if codes else ""
        row["reason"] = " ".join(sorted(codes))
    elif not found.free_of_stops:
        row[CODES_RULE] = "some"
        row["reason"] = " ".join(sorted(found.stopped))
    return row


def answered_row(prices: Prices, enquiry: Enquiry, found: Search, till: Till) -> Row:
    """Make the row of an enquiry that a build answers."""
    build = found.best
    assert build is not None
    totals = till.totals(build)
    tax_pct = prices.tax[enquiry.tax_code] if enquiry.tax_code else Decimal(0)
    tax = rounded(totals.net * tax_pct / 100, till.digits)
    revenue = totals.net - totals.freight
    profit = revenue - totals.cost
    # Compared by multiplying, so that no division can round the floor away.
    low_margin = revenue <= 0 or profit * 100 < prices.margin_floor_pct * revenue
    held = low_margin or bool(found.unaccepted)
    accessories = accessories_of(
        prices, build.chassis, build.controller, build.drive, enquiry.owned, build.options
    )
    capacity = usable_bytes(build)
    row = blank_row(enquiry.enquiry_id, "held" if held else "quoted")
    row.update(
        reason=" ".join(sorted(found.unaccepted)),
        codes_rule="advise" if held else "",
        currency=enquiry.currency,
        lines_total=fixed(totals.lines_total, till.digits),
        discount=fixed(totals.discount, till.digits),
        freight=fixed(totals.freight, till.digits),
        net=fixed(totals.net, till.digits),
        tax_code=enquiry.tax_code,
        tax=fixed(tax, till.digits),
        gross=fixed(totals.net + tax, till.digits),
        margin_pct=fixed(profit * 100 / revenue, 2) if revenue > 0 else "",
        chassis=build.chassis.sku,
        controller=build.controller.sku,
        drive=build.drive.sku,
        members=str(build.members),
        level=build.level,
        spans=str(build.spans),
        spares=str(build.spares),
        usable_bytes=str(capacity),
        usable_tb=fixed(Decimal(capacity) / 10**12, 3),
        usable_tib=fixed(Decimal(capacity) / 2**40, 3),
        watts=plain(watts(build, accessories)),
        mass_kg=fixed(mass_g(build, accessories) / 1000, 3),
        lead_days=str(till.lead_days(build)),
    )
    return row


def answer(prices: Prices, enquiry: Enquiry) -> Row:
    """Answer one readable enquiry."""
    till = Till(prices, enquiry)
    found = search(prices, enquiry, till)
    if found.best is None:
        return refused_row(prices, enquiry, found)
    return answered_row(prices, enquiry, found, till)


def reference_rows(prices_folder: Path, enquiries_csv: Path) -> list[Row]:
    """Answer every enquiry of a file.

    Parameters
    ----------
    prices_folder : Path
        Price-list folder that follows the contract (it is not checked).
    enquiries_csv : Path
        Enquiries; rows that cannot be read come back ``invalid``.

    Returns
    -------
    list of dict
        One per enquiry, in order, keyed by `SUMMARY_COLUMNS` (columns of estimates and
        files blank, `reason` only finding codes) and `CODES_RULE`.
    """
    rows = []
    seen: set[str] = set()
    with localcontext(EXACT):
        prices = read_prices(prices_folder)
        for raw in read_rows(enquiries_csv):
            try:
                enquiry = read_enquiry(raw, prices, seen)
            except ValueError:
                rows.append(blank_row(raw.get("enquiry_id", ""), "invalid"))
            else:
                rows.append(answer(prices, enquiry))
            seen.add(raw.get("enquiry_id", ""))
    return rows
