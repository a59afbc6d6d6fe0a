"""Checks the second program's search, generator and comparison against plainer ways."""

from __future__ import annotations

import csv
import itertools
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal, localcontext
from pathlib import Path

import pytest

from .boxes import Box, accessories_of, watts
from .comparing import compare
from .enquiry import read_ask
from .generate import COLUMNS, SMALL, generate, generate_orders
from .levels import LEVELS, member_count_fits, survives_any
from .money import EXACT, Till, rounded
from .orders import read_quotes
from .places import enough_free, free_slots, slots_of
from .reading import Row, read_prices, read_rows
from .reference import SUMMARY_COLUMNS, reference_rows
from .search import ServerSearch, layouts
from .stops import advice, stops
from .test_reference_self import PINNED, ask, plain_list

MOST = 4000  # candidates of a server; more would take too long one by one


def every_build(search: ServerSearch) -> Iterator[tuple[Box, tuple[object, ...]]]:
    """Yield whatever agrees with the pins, with no short cut at all."""
    for chassis in search.chassis():
        ways = [
            [
                search.array(row, controller, drive, level, spans, members)
                for controller in search.controllers(row)
                for drive in search.drives(row)
                for level, members, spans in layouts(row, chassis.bays + 1)
            ]
            for row in search.arrays
        ]
        for options, filled in search.fillings(chassis):
            for arrays in itertools.product(*ways):
                yield search.box(chassis, arrays, options), filled


def meets_all(search: ServerSearch, box: Box, net: Decimal) -> bool:
    """Whether a build meets every demand, asked one by one."""
    asked, first = search.asked, search.first
    added = accessories_of(search.prices, box)
    for row, array in zip(search.arrays, box.arrays, strict=True):
        if row.usable_tb is not None and array.usable_bytes < row.usable_tb * 10**12:
            return False
        if row.survive is not None and survives_any(array.level) < row.survive:
            return False
        if row.media not in (None, array.drive.media):
            return False
    if first.max_watts is not None and watts(box, added) > first.max_watts:
        return False
    if (
        first.max_price is not None
        and rounded(net / first.builds, search.till.digits) > first.max_price
    ):
        return False
    days = search.till.lead_days(asked, box, added)
    if first.max_lead_days is not None and days > first.max_lead_days:
        return False
    return enough_free(first.free_slots, free_slots(box.chassis, slots_of(box) or ()))


def plainly_best(search: ServerSearch) -> tuple[object, ...] | None:
    """Judge and price every build by itself; the rank of the best one."""
    asked, ranks = search.asked, []
    for box, filled in every_build(search):
        added = accessories_of(search.prices, box)
        if stops(search.prices, box, added, asked.services):
            continue
        net = search.till.server_net(asked, box, added)
        if meets_all(search, box, net):
            ranks.append(rank(search, box, filled))
    return min(ranks, default=None)


def rank(search: ServerSearch, box: Box, filled: object) -> tuple[object, ...]:
    added = accessories_of(search.prices, box)
    held = bool(advice(box, added) - search.asked.accept)
    net = search.till.server_net(search.asked, box, added)
    order = [(a.controller.sku, a.drive.sku, LEVELS.index(a.level), a.spans) for a in box.arrays]
    return held, net, box.drives, box.chassis.sku, order, filled, [a.members for a in box.arrays]


def searches(folder: Path, enquiries: Path) -> Iterator[ServerSearch]:
    """Give the searches of all servers that are small enough."""
    prices = read_prices(folder)
    for quote in read_quotes(read_rows(enquiries), prices):
        if quote.wrong:
            continue
        till = Till(prices, quote)
        for asked in quote.servers:
            search = ServerSearch(prices, asked, till)
            if len(list(itertools.islice(every_build(search), MOST + 1))) <= MOST:
                yield search


def shape(search: ServerSearch) -> tuple[object, ...] | None:
    """Give the rank of what the search finds."""
    box = search.search().best
    if box is None:
        return None
    fillings = search.fillings(box.chassis)
    filled = next(filled for options, filled in fillings if options == box.options)
    return rank(search, box, filled)


@pytest.mark.parametrize("seed", range(8))
def test_short_cuts_of_the_search_are_exact(tmp_path: Path, seed: int) -> None:
    """The same choice with no short cut at all: every build judged and priced by itself."""
    compared = 0
    with localcontext(EXACT):
        for search in searches(*generate(seed, tmp_path, SMALL, services=seed == 6)):
            assert shape(search) == plainly_best(search)
            compared += 1
    assert compared >= 8


def test_short_cuts_are_exact_for_several_arrays(tmp_path: Path) -> None:
    arrays: Counter[int] = Counter()
    with localcontext(EXACT):
        for seed in range(9000, 9014):
            for search in searches(*generate_orders(seed, tmp_path / str(seed))):
                assert shape(search) == plainly_best(search), seed
                arrays[len(search.arrays)] += 1
    assert min(arrays[n] for n in range(3)) >= 5
    assert arrays[3] >= 2


def test_layouts_miss_none_that_could_be_built(tmp_path: Path) -> None:
    """Every legal (level, members, spans) up to 24 bays is among those tried."""
    tables = plain_list()
    ask(tmp_path, tables)
    prices = read_prices(tmp_path / "prices")
    tried = set(layouts(read_ask({"usable_tb": "1"}, prices), 24))
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
    seen = {name: set[str]() for name in COLUMNS}
    for seed in range(12, 24):
        folder, enquiries = generate_orders(seed, tmp_path / str(seed))
        for path in [*folder.glob("*.csv"), enquiries]:
            header = path.read_text(encoding="utf-8").splitlines()[0].split(",")
            assert header == [c for c in COLUMNS[path.stem].split(",") if c in header]
            seen[path.stem] |= set(header)
    assert seen == {name: set(columns.split(",")) for name, columns in COLUMNS.items()}


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
