"""Checks the second program's search, generator and comparison against plainer ways."""

from __future__ import annotations

import csv
import itertools
from decimal import Decimal, localcontext
from pathlib import Path

import pytest

from .comparing import compare
from .enquiry import LEVELS, read_enquiry
from .generate import COLUMNS, SMALL, generate
from .money import EXACT, Till
from .reading import Row, read_prices, read_rows
from .reference import SUMMARY_COLUMNS, chosen, layouts, meets_demands, reference_rows
from .rules import Build, accessories_of, advice, member_count_fits, stops
from .test_reference_self import PINNED, ask, plain_list


@pytest.mark.parametrize(("seed", "services"), [*((n, False) for n in range(6)), (6, True)])
def test_short_cuts_of_the_search_are_exact(tmp_path: Path, seed: int, services: bool) -> None:
    """The same choice with no short cut at all: every build judged and priced by itself."""
    folder, enquiries = generate(seed, tmp_path, SMALL, services=services)
    rows = reference_rows(folder, enquiries)
    with localcontext(EXACT):
        prices = read_prices(folder)
        for raw, row in zip(read_rows(enquiries), rows, strict=True):
            if row["outcome"] == "invalid":
                continue
            enquiry = read_enquiry(raw, prices, set())
            till, options = Till(prices, enquiry), chosen(prices, enquiry)
            ranked = []
            for chassis, controller, drive in itertools.product(
                prices.chassis, prices.controllers, prices.drives
            ):
                if enquiry.chassis not in (None, chassis.sku):
                    continue
                if enquiry.controller not in (None, controller.sku):
                    continue
                if enquiry.drive not in (None, drive.sku):
                    continue
                for level, members, spans in layouts(enquiry, SMALL.bays + 2):
                    build = Build(
                        *(chassis, controller, drive, level, spans, members, enquiry.spares),
                        options,
                        enquiry.redundant_supply,
                    )
                    added = accessories_of(
                        prices, chassis, controller, drive, enquiry.owned, options
                    )
                    if stops(prices, build, enquiry.owned, enquiry.services):
                        continue
                    if not meets_demands(build, enquiry, added):
                        continue
                    totals = till.totals(build)
                    net, most = totals.net, enquiry.max_price
                    if most is not None and net - totals.once > most * enquiry.builds:
                        continue
                    held = bool(advice(build, added, enquiry.owned) - enquiry.accept)
                    skus = (chassis.sku, controller.sku, drive.sku)
                    order = LEVELS.index(level)
                    ranked.append((held, net, build.drives, *skus, order, spans, members))
            if not ranked:
                assert row["outcome"] == "refused"
                continue
            _, net, _, *skus_found, order, spans, members = min(ranked)
            assert Decimal(row["net"]) == net
            assert [row["chassis"], row["controller"], row["drive"]] == skus_found
            assert (row["level"], row["spans"]) == (LEVELS[order], str(spans))
            assert row["members"] == str(members)


def test_layouts_miss_none_that_could_be_built(tmp_path: Path) -> None:
    """Every legal (level, members, spans) up to 24 bays is among those tried."""
    tables = plain_list()
    ask(tmp_path, tables)
    prices = read_prices(tmp_path / "prices")
    row = {"enquiry_id": "E", "customer": "Invented", "usable_tb": "1"}
    tried = set(layouts(read_enquiry(row, prices, set()), 24))
    legal = {
        (level, members, spans)
        for level, members, spans in itertools.product(LEVELS, range(1, 25), range(1, 25))
        if member_count_fits(level, members, spans)
    }
    assert legal <= tried
    assert ("60", 24, 6) in legal
    assert ("60", 24, 8) not in legal


def test_generator_repeats_itself_and_reaches_every_outcome(tmp_path: Path) -> None:
    outcomes, levels = set(), set()
    for seed in range(12):
        folder, enquiries = generate(seed, tmp_path / f"{seed}")
        again, enquiries_again = generate(seed, tmp_path / f"{seed}-again")
        for path in [*folder.iterdir(), enquiries]:
            twin = enquiries_again if path == enquiries else again / path.name
            assert path.read_bytes() == twin.read_bytes()
        for row in reference_rows(folder, enquiries):
            outcomes.add(row["outcome"])
            levels.add(row["level"])
    assert outcomes == {"quoted", "held", "refused", "invalid"}
    assert levels == {*LEVELS, ""}


def test_tables_have_the_columns_that_are_read(tmp_path: Path) -> None:
    folder, _ = generate(1, tmp_path, services=True)
    for path in folder.glob("*.csv"):
        header = path.read_text(encoding="utf-8").splitlines()[0]
        assert header == COLUMNS[path.stem]


def written(path: Path, rows: list[Row], columns: tuple[str, ...] = SUMMARY_COLUMNS) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)
    return path


def test_compare_sees_every_changed_cell(tmp_path: Path) -> None:
    rows = ask(
        tmp_path,
        plain_list(),
        PINNED,
        PINNED | {"level": "0"},
        PINNED | {"members": "13"},
        PINNED | {"level": "7"},
    )
    assert [r["outcome"] for r in rows] == ["quoted", "held", "refused", "invalid"]
    path = tmp_path / "summary.csv"
    assert compare(written(path, rows), rows) == []
    for column in (*SUMMARY_COLUMNS[3:22], "watts", "mass_kg", "lead_days", "outcome"):
        changed = [rows[0] | {column: rows[0][column] + "1"}, *rows[1:]]
        (difference,) = compare(written(path, changed), rows)
        assert column in difference
        assert "'E0'" in difference
    # Estimates, files and the words of a reason are not compared; its codes are.
    free = {"read_iops": "5", "quote_file": "x", "reason": "all fine"}
    worded = [rows[0] | free, rows[1] | {"reason": "needs a yes: no_redundancy"}, *rows[2:]]
    assert compare(written(path, worded), rows) == []
    for n in (1, 2):
        silent = [row | {"reason": "no"} if i == n else row for i, row in enumerate(rows)]
        assert len(compare(written(path, silent), rows)) == 1
    # A refused row has no price.
    priced = [*rows[:2], rows[2] | {"net": "1.00"}, rows[3]]
    assert len(compare(written(path, priced), rows)) == 1
    assert compare(written(path, rows[:3]), rows) == ["3 rows, not 4"]
    assert "header" in compare(written(path, rows, SUMMARY_COLUMNS[1:]), rows)[0]
