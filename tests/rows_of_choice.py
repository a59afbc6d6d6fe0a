"""Rows of a summary straight from choice and price, without a record: no page, no estimate."""

import csv
from decimal import Decimal
from pathlib import Path

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import Enquiry, read_enquiries
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price, totals
from quotelib.units import TB, TIB, plain, round_half_away
from tests.second_program.reference import SUMMARY_COLUMNS
from tests.small_list import only_array

Row = dict[str, str]


def summary_without_pages(prices: Path, enquiries: Path, out: Path) -> Path:
    """Answer every enquiry of a file and write the columns that the second program has."""
    price_list = load_price_list(prices)
    path = out / "summary.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, SUMMARY_COLUMNS, restval="", lineterminator="\n")
        writer.writeheader()
        for row in read_enquiries(enquiries, price_list):
            answered = {"outcome": "invalid"}
            if row.enquiry is None:
                answered["reason"] = str(row.problems[0])
            else:
                answered = answer(price_list, row.enquiry)
            writer.writerow({"enquiry_id": row.enquiry_id, **answered})
    return path


def answer(price_list: PriceList, enquiry: Enquiry) -> Row:
    """Answer one enquiry."""
    choice = choose(price_list, enquiry)
    if choice.best is None:
        reasons = "; ".join(f"{reason.code}: {reason.words}" for reason in choice.refused)
        return {"outcome": "refused", "reason": reasons}
    return _found(price_list, enquiry, choice.best)


def _found(price_list: PriceList, enquiry: Enquiry, best: Candidate) -> Row:
    build, terms = best.build, price_list.terms
    array = only_array(build)
    layout, usable = array.layout, array.usable_bytes
    book = PriceBook(price_list, enquiry.currency or terms.currency)
    priced = price(build, book, enquiry.deal)
    assert (priced.net, priced.once_total) == (best.net, best.once_total)
    summed = totals(priced, book, enquiry.deal)
    lines = book.lines(build, enquiry.builds, enquiry.deal.services)
    assert sum(line.amount for line in lines) == priced.lines_total
    assert sum(line.amount for line in lines if line.once) == priced.once_total
    held = [f"{found.code}: {found.words}" for found in best.open_advice(enquiry.accept)]
    if priced.under_floor(terms.margin_floor_pct):
        held.append("margin_floor")
    margin = priced.margin_pct
    money = {
        name: format(getattr(summed, name), "f")
        for name in ("lines_total", "discount", "freight", "net", "tax", "gross")
    }
    return {
        "outcome": "held" if held else "quoted",
        "reason": "; ".join(held),
        "currency": book.currency,
        **money,
        "tax_code": summed.tax_code or "",
        "margin_pct": "" if margin is None else format(round_half_away(margin, 2), "f"),
        "chassis": build.chassis.sku,
        "controller": array.controller.sku,
        "drive": array.drive.sku,
        "members": str(layout.members),
        "level": layout.level,
        "spans": str(layout.spans),
        "spares": str(layout.spares),
        "usable_bytes": str(usable),
        "usable_tb": format(round_half_away(Decimal(usable) / TB, 3), "f"),
        "usable_tib": format(round_half_away(Decimal(usable) / TIB, 3), "f"),
        "watts": plain(build.watts),
        "mass_kg": format(round_half_away(build.mass_g() / 1000, 3), "f"),
        "lead_days": str(_lead_days(build, enquiry.builds)),
    }


def _lead_days(build: Build, builds: int) -> int:
    waited = (p for p in build.lead_pieces if p.part.stock < p.count * builds)
    return max((piece.part.lead_days for piece in waited), default=0)
