"""Answers every enquiry of a file by trying every build, and writes summary rows.

The demands ``host_iops``, ``host_mb_s``, ``max_loss_pct`` and ``max_response_ms`` and the
finding ``loss_over_limit`` are not applied: give it enquiries without those demands and a
price list whose ``advise_loss_pct`` is 100.
"""

from __future__ import annotations

import json
from decimal import Decimal, localcontext
from pathlib import Path

from .boxes import Array, Box, accessories_of, mass_g, watts
from .money import EXACT, Till, rounded
from .orders import OF_QUOTE, QuoteAsk, ServerAsk, read_quotes
from .places import bays, cards, slots_of
from .reading import Prices, Row, read_prices, read_rows
from .refusals import refusal
from .search import Found, ServerSearch

_HEADER = (
    "enquiry_id outcome reason currency lines_total discount freight net tax_code tax gross"
    " margin_pct chassis controller drive members level spans spares usable_bytes usable_tb"
    " usable_tib read_iops write_iops read_mb_s write_mb_s rebuild_hours loss_pct watts"
    " mass_kg lead_days quote_file bench_file record_file"
)
SUMMARY_COLUMNS = tuple(_HEADER.split())
# Of the first contract, and what the second appends.
ORDER_COLUMNS = (*SUMMARY_COLUMNS, "server", "array", "action", "ship_date")
# Beside the summary's columns, for `comparing`. Which codes `reason` has to name: see there.
CODES_RULE = "codes_rule"
# Which rows' reasons are read together: those of one server, or of the whole quote.
GROUP = "group"
# Where everything of a server sits, as JSON, on its first row.
PLACES = "places"
HIDDEN = (CODES_RULE, GROUP, PLACES)


def plain(value: Decimal) -> str:
    """Write a decimal without exponent or trailing zeros."""
    return format(value.normalize(), "f")


def fixed(value: Decimal, digits: int) -> str:
    """Write a decimal with so many digits, rounded half away from zero."""
    return format(rounded(value, digits), "f")


def blank_rows(quote: QuoteAsk, outcome: str) -> list[Row]:
    """Make the rows of a quote that say only the outcome, and what each row is called."""
    rows = []
    for raw in quote.raws:
        row = dict.fromkeys((*ORDER_COLUMNS, *HIDDEN), "")
        row |= {"enquiry_id": quote.enquiry_id, "outcome": outcome, GROUP: quote.enquiry_id}
        rows.append(row | {name: raw.get(name, "") for name in ("server", "array")})
    return rows


def invalid_rows(quote: QuoteAsk) -> list[Row]:
    """Make the rows of a quote that cannot be read: own reasons, or ``with`` the wrong row."""
    rows = blank_rows(quote, "invalid")
    for n, row in enumerate(rows):
        row[CODES_RULE] = "own" if n in quote.wrong else "with"
        others = n not in quote.wrong and 0 in quote.wrong
        if others and _another(quote.raws[n], quote.raws[0]):
            row[CODES_RULE] = "either"  # that it differs from a wrong first row may be told, too
        if len(quote.wrong) > 1 and quote.wrong.get(n, "").startswith("owned: chassis is required"):
            row[CODES_RULE] = "either"  # the row that says so may be the other wrong one
        row["reason"] = quote.wrong.get(n, "with")
    return rows


def _another(raw: Row, first: Row) -> bool:
    """Whether a row says for the whole quote what the first row does not."""
    return any(raw.get(name, "") not in ("", first.get(name, "")) for name in OF_QUOTE)


def refused_rows(quote: QuoteAsk, searches: list[ServerSearch], found: list[Found]) -> list[Row]:
    """Make the rows of a quote of which some servers cannot be built."""
    rows = blank_rows(quote, "refused")
    for row in rows:
        row |= {CODES_RULE: "with", "reason": "with"}
    for search, one in zip(searches, found, strict=True):
        if one.best is None:
            codes, rule = refusal(search)
            for place in search.asked.places:
                rows[place] |= {CODES_RULE: rule, "reason": " ".join(sorted(codes))}
                rows[place][GROUP] = f"{quote.enquiry_id} / {search.first.server}"
    return rows


def money_cells(quote: QuoteAsk, till: Till, boxes: list[Box]) -> tuple[Row, bool]:
    """Write the money of a quote, and whether its margin is too low."""
    totals = till.totals(boxes)
    revenue = totals.net - totals.freight
    profit = revenue - totals.cost
    # Compared by multiplying, so that no division can round the floor away.
    low_margin = revenue <= 0 or profit * 100 < till.prices.margin_floor_pct * revenue
    names = ("lines_total", "discount", "freight", "net", "tax", "gross")
    cells = {name: fixed(getattr(totals, name), till.digits) for name in names}
    cells["currency"] = quote.first.currency
    cells["tax_code"] = quote.first.tax_code
    cells["margin_pct"] = fixed(profit * 100 / revenue, 2) if revenue > 0 else ""
    return cells, low_margin


def array_cells(array: Array) -> Row:
    """Write what a row says of its array."""
    capacity = array.usable_bytes
    return {
        "controller": array.controller.sku,
        "drive": array.drive.sku,
        "members": str(array.members),
        "level": array.level,
        "spans": str(array.spans),
        "spares": str(array.spares),
        "usable_bytes": str(capacity),
        "usable_tb": fixed(Decimal(capacity) / 10**12, 3),
        "usable_tib": fixed(Decimal(capacity) / 2**40, 3),
        "action": array.action,
    }


def places_of(asked: ServerAsk, box: Box) -> str:
    """Write where cards and drives of a server sit."""
    slots = slots_of(box)
    assert slots is not None
    wanted = cards(box.controllers, box.options)
    return json.dumps(
        {
            "chassis": box.chassis.sku,
            "builds": asked.first.builds,
            "slots": sorted([c.sku, s.slot] for c, s in zip(wanted, slots, strict=True)),
            "bays": list(bays(box)),
        }
    )


def server_cells(rows: list[Row], asked: ServerAsk, box: Box, till: Till) -> None:
    """Write what the rows of a server say of it."""
    accessories = accessories_of(till.prices, box)
    for place in asked.places:
        rows[place]["chassis"] = box.chassis.sku
    rows[asked.places[0]] |= {
        "watts": plain(watts(box, accessories)),
        "mass_kg": fixed(mass_g(box, accessories, shipped=False) / 1000, 3),
        "lead_days": str(till.lead_days(asked, box, accessories)),
        PLACES: places_of(asked, box),
    }
    of_arrays = [
        place for place, row in zip(asked.places, asked.rows, strict=True) if row.asks_array
    ]
    for place, array in zip(of_arrays, box.arrays, strict=True):
        rows[place] |= array_cells(array)


def answer(prices: Prices, quote: QuoteAsk) -> list[Row]:
    """Answer one quote: a row for each of its rows."""
    if quote.wrong:
        return invalid_rows(quote)
    till = Till(prices, quote)
    searches = [ServerSearch(prices, asked, till) for asked in quote.servers]
    found = [search.search() for search in searches]
    boxes = [one.best for one in found if one.best is not None]
    if len(boxes) < len(found):
        return refused_rows(quote, searches, found)
    money, low_margin = money_cells(quote, till, boxes)
    unaccepted = {code for one in found for code in one.unaccepted}
    held = low_margin or bool(unaccepted)
    rows = blank_rows(quote, "held" if held else "quoted")
    rows[0] |= money
    for row in rows:
        row["reason"] = " ".join(sorted(unaccepted))
        row[CODES_RULE] = "advise" if held else ""
    for asked, box in zip(quote.servers, boxes, strict=True):
        server_cells(rows, asked, box, till)
    return rows


def reference_rows(prices_folder: Path, enquiries_csv: Path) -> list[Row]:
    """Answer every enquiry of a file.

    Parameters
    ----------
    prices_folder : Path
        Price-list folder that follows the contract (it is not checked).
    enquiries_csv : Path
        Enquiries; rows that cannot be read come back ``invalid``, with the whole quote.

    Returns
    -------
    list of dict
        One per row of the file, in order, keyed by `ORDER_COLUMNS` (columns of estimates and
        files blank, `reason` only finding codes, ``with``, or why a row is invalid) and by
        `HIDDEN`.
    """
    with localcontext(EXACT):
        prices = read_prices(prices_folder)
        quotes = read_quotes(read_rows(enquiries_csv), prices)
        return [row for quote in quotes for row in answer(prices, quote)]
