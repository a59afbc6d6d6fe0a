"""Rows of a summary straight from choice and price, without a record: no page, no estimate."""

import csv
import json
from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.choose.candidate import Candidate
from quotelib.choose.server import choose_server, ordered
from quotelib.documents.batch.summary import COLUMNS
from quotelib.enquiry.reading import Asked, read_enquiries
from quotelib.enquiry.request import Request
from quotelib.facts import Reason
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.quote import items, summed
from quotelib.pricing.totals import price, totals
from quotelib.units import TB, TIB, plain, round_half_away

Row = dict[str, str]


def summary_without_pages(prices: Path, enquiries: Path, out: Path) -> Path:
    """Answer every enquiry of a file; columns of estimates and files stay blank.

    In place of records it writes just where everything goes.
    """
    price_list = load_price_list(prices)
    path = out / "summary.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, restval="", lineterminator="\n")
        writer.writeheader()
        for asked in read_enquiries(enquiries, price_list):
            for row in _rows(price_list, asked):
                writer.writerow({"enquiry_id": asked.enquiry_id, **row})
            if asked.request is not None:
                _write_places(price_list, asked.request, out / "records")
    return path


def _write_places(price_list: PriceList, request: Request, folder: Path) -> None:
    choices = [choose_server(price_list, server) for server in request.servers]
    builds = [choice.best.build for choice in choices if choice.best is not None]
    if len(builds) < len(choices):
        return
    folder.mkdir(exist_ok=True)
    servers = [
        {"builds": server.base.builds, "placement": place(build).model_dump()}
        for server, build in zip(request.servers, builds, strict=True)
    ]
    text = json.dumps({"servers": servers})
    (folder / f"{request.first.enquiry_id}.json").write_text(text, encoding="utf-8")


def _rows(price_list: PriceList, asked: Asked) -> Iterator[Row]:
    if asked.request is not None:
        yield from answer(price_list, asked.request)
        return
    for row in asked.rows:
        yield {"outcome": "invalid", "reason": str(row.problems[0]) if row.problems else "with"}


def answer(price_list: PriceList, request: Request) -> list[Row]:
    """Answer one request, a row for each of its rows."""
    choices = [choose_server(price_list, server) for server in request.servers]
    best = [choice.best for choice in choices if choice.best is not None]
    if len(best) == len(choices):
        return _found(price_list, request, best)
    return [
        {
            "outcome": "refused",
            "reason": "with" if server is None else _codes(choices[server].refused) or "with",
        }
        for server, _ in request.places()
    ]


def _codes(reasons: Iterable[Reason]) -> str:
    return "; ".join(f"{reason.code}: {reason.words}" for reason in reasons)


def _found(price_list: PriceList, request: Request, best: list[Candidate]) -> list[Row]:
    sums = _sums(price_list, request, best)
    rows, seen = [], set()
    for enquiry, (server, array) in zip(request.rows, request.places(), strict=True):
        row = {"server": enquiry.server, "array": enquiry.array}
        if server is not None:
            build = best[server].build
            row["chassis"] = build.chassis.sku
            if server not in seen:
                row |= _whole(build, request.servers[server].base.builds)
            seen.add(server)
            if array is not None:
                row |= _array(build.arrays[array])
        told = {"outcome": sums["outcome"], "reason": sums["reason"]}
        rows.append(row | (told if rows else sums))
    return rows


def _sums(price_list: PriceList, request: Request, best: list[Candidate]) -> Row:
    terms = price_list.terms
    book = PriceBook(price_list, request.first.currency or terms.currency)
    made = tuple(items(ordered(price_list, request, [one.build for one in best]), book))
    priced = summed(made, book, request.deal)
    for server, candidate in zip(request.servers, best, strict=True):
        alone = price(candidate.build, book, server.base.deal)
        assert (alone.net, alone.once_total) == (candidate.net, candidate.once_total)
        if len(request.rows) == 1 and {item.kind for item in made} <= {"server", "once"}:
            assert priced == alone
    sums = totals(priced, book, request.deal)
    lines = [line for item in made for line in item.lines]
    assert sum(line.amount for line in lines) == priced.lines_total
    assert sum(line.amount for line in lines if line.once) == priced.once_total
    held = [
        f"{found.code}: {found.words}"
        for server, candidate in zip(request.servers, best, strict=True)
        for found in candidate.open_advice(server.base.accept)
    ]
    if priced.under_floor(terms.margin_floor_pct):
        held.append("margin_floor")
    margin = priced.margin_pct
    money = {
        name: format(getattr(sums, name), "f")
        for name in ("lines_total", "discount", "freight", "net", "tax", "gross")
    }
    return {
        "outcome": "held" if held else "quoted",
        "reason": "; ".join(held),
        "currency": book.currency,
        **money,
        "tax_code": sums.tax_code or "",
        "margin_pct": "" if margin is None else format(round_half_away(margin, 2), "f"),
    }


def _whole(build: Build, builds: int) -> Row:
    waited = (p for p in build.lead_pieces if p.part.stock < p.count * builds)
    return {
        "watts": plain(build.watts),
        "mass_kg": format(round_half_away(build.mass_g() / 1000, 3), "f"),
        "lead_days": str(max((piece.part.lead_days for piece in waited), default=0)),
    }


def _array(array: Array) -> Row:
    layout, usable = array.layout, array.usable_bytes
    return {
        "action": array.action,
        "controller": array.controller.sku,
        "drive": array.drive.sku,
        "members": str(layout.members),
        "level": layout.level,
        "spans": str(layout.spans),
        "spares": str(layout.spares),
        "usable_bytes": str(usable),
        "usable_tb": format(round_half_away(Decimal(usable) / TB, 3), "f"),
        "usable_tib": format(round_half_away(Decimal(usable) / TIB, 3), "f"),
    }
