"""All builds of one array at once, against making, pricing and estimating each by itself.

A run looks at some lists; for five hundred:

    CHOICE_LISTS=500 .venv/bin/python -m pytest -q tests/choose/test_tables.py
"""

import os
import random
from collections.abc import Iterator

import numpy as np
import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose import demanded, refused, search
from quotelib.choose.alternatives import find_alternatives
from quotelib.choose.asking import Asking, asking
from quotelib.choose.candidate import Candidate, fill_price, first, judge
from quotelib.choose.counts import counts
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS
from tests.asking import ask
from tests.choose.one_by_one import buildable, try_everything
from tests.choose.rows import random_prices, random_row

LISTS = int(os.environ.get("CHOICE_LISTS", "30"))
_EACH = 4


def rows(start: int, count: int, *, huge: bool = False) -> Iterator[tuple[PriceList, Enquiry]]:
    """Draw lists, and a few rows for each."""
    for seed in range(start, start + count):
        rng = random.Random(seed)
        prices = random_prices(rng, huge=huge)
        for _ in range(_EACH):
            row = random_row(rng, prices)
            if row is not None:
                yield prices, row


def seen(candidate: Candidate | None) -> object:
    """Give what is compared of a candidate."""
    if candidate is None:
        return None
    return candidate.build, candidate.net, candidate.advice


def nets(asked: Asking) -> dict[object, int]:
    """Give the net of every build that fits, in minor units, as the table has it."""
    table, those = asked.table, asked.table.listed
    found = {}
    selection = asked.some(without=[demand.column for demand in asked.asked])
    for band in selection.bands():
        for row, plan, net in zip(
            band.rows.tolist(), band.plans.tolist(), band.net.tolist(), strict=True
        ):
            box, controller, drive = (int(at[row]) for at in table.at)
            skus = those.boxes[box].sku, those.controllers[controller].sku, those.drives[drive].sku
            found[*skus, table.plans.layouts[plan]] = net
    assert selection.upper == len(found)
    return found


def priced(prices: PriceList, asked: Asking) -> dict[object, int]:
    """Give the same of builds that are made and priced one by one."""
    every = buildable(prices, asked.row)
    fill_price(every, prices, asked.row)
    found = {}
    for candidate in every:
        (array,) = candidate.build.arrays
        net = candidate.net_of_builds
        assert net is not None
        minor = net.scaleb(asked.table.scales.places)
        assert minor == int(minor)
        key = candidate.build.chassis.sku, array.controller.sku, array.drive.sku, array.layout
        found[key] = int(minor)
    return found


@pytest.mark.parametrize("start", range(0, LISTS, 10))
def test_equal_to_trying_everything(start: int) -> None:
    """Build, net, ties, advice, every feasible build, refusals and the net of all that fit."""
    found = fitting = 0
    for prices, row in rows(start, 10):
        tried, choice = try_everything(prices, row), choose(prices, row)
        assert seen(choice.best) == seen(tried.best), row.cells()
        assert choice.refused == tried.refused, row.cells()
        assert list(map(seen, choice.feasible)) == list(map(seen, tried.feasible)), row.cells()
        assert choice.asking is not None
        theirs = priced(prices, choice.asking)
        assert nets(choice.asking) == theirs, row.cells()
        found += choice.best is not None
        fitting += len(theirs)
    assert found >= 3, "lists that allow nothing prove nothing"
    assert fitting > 300


def test_numbers_that_64_bits_do_not_hold() -> None:
    wide = 0
    for prices, row in rows(9000, 8, huge=True):
        choice = choose(prices, row)
        assert seen(choice.best) == seen(try_everything(prices, row).best), row.cells()
        assert choice.asking is not None
        assert nets(choice.asking) == priced(prices, choice.asking), row.cells()
        wide += choice.asking.table.scales.wide
    assert wide >= 3


def test_a_demand_that_nobody_put_in_a_form_is_asked_of_each_build(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cases = [one for one in rows(40, 8) if one[1].asked(one[0])]
    expected = [choose(prices, row) for prices, row in cases]
    monkeypatch.setattr(demanded, "_FORMS", {})
    found = 0
    for (prices, row), choice in zip(cases, expected, strict=True):
        asked = Asking(prices, row)
        assert all(form.alone for form in asked.forms)
        assert seen(asked.first()) == seen(choice.best), row.cells()
        if choice.best is None:
            assert refused.nothing_meets(asked) in (choice.refused, ()), row.cells()
        else:
            assert counts(asked) == choice.counts
        found += choice.best is not None
    assert found >= 3


# How many


def possible(prices: PriceList, row: Enquiry) -> int:
    """Count by hand what agrees with the pins."""
    left = [
        [part for part in parts.values() if row.value(pin) in (None, part.sku)]
        for pin, parts in zip(
            ("chassis", "controller", "drive"),
            (prices.chassis, prices.controllers, prices.drives),
            strict=True,
        )
    ]
    number = 0
    for box in left[0]:
        for members in range(1, box.bays - (row.spares or 0) + 1):
            for level in LEVELS.values():
                spans = [s for s in level.spans_for(members) if row.spans in (None, s)]
                pinned = row.members in (None, members) and row.level in (None, level.name)
                number += len(spans) * pinned
    return number * len(left[1]) * len(left[2])


def alone_missed(prices: PriceList, row: Enquiry, column: str) -> int:
    """Count the builds that meet every demand but one."""
    asked, number = row.asked(prices), 0
    every = buildable(prices, row)
    judge(every, prices, row)
    for candidate in every:
        missed = [demand.column for demand in asked if not demand.met(candidate)]
        number += missed == [column]
    return number


def test_counts_are_those_of_trying_everything() -> None:
    counted = removed = 0
    for prices, row in rows(60, max(LISTS // 3, 8)):
        tried, choice = try_everything(prices, row), choose(prices, row)
        counted_here = choice.counts
        assert counted_here is not None
        number = len(buildable(prices, row)), len(tried.feasible)
        assert (counted_here.fit, counted_here.meet) == number, row.cells()
        assert counted_here.possible == possible(prices, row) >= number[0], row.cells()
        for one in choice.removed:
            assert one.builds == alone_missed(prices, row, one.demand.column), row.cells()
            less = row.without(one.demand.column)
            if row.value(one.demand.column) is not None:
                without = try_everything(prices, less).best
                saves = None
                if without is not None and tried.best is not None:
                    assert without.net is not None and tried.best.net is not None
                    saves = tried.best.net - without.net
                    saves = saves if saves > 0 else None
                assert one.saves == saves, (row.cells(), one.demand.column)
            removed += one.builds
        counted += counted_here.meet
    assert counted > 100 and removed > 50


def test_the_sentence(small: PriceList) -> None:
    found = choose(small, ask(small, usable_tb="11", survive="1", chassis="BOX-4")).counts
    assert found is not None
    # In four bays: 0 (3 ways), 1, 5 (2), 6, 10, each drive by itself (4), times 5 times 4 parts.
    assert found.possible == (3 + 1 + 2 + 1 + 1 + 4) * 5 * 4
    assert (found.fit, found.meet) == (42, 1)
    assert found.words == "of 240 possible builds 42 fit, 1 meets every demand"


# What no other beats, and what is nearest


def values(candidate: Candidate) -> tuple[float, ...]:
    """Give net, operations, chance of loss and capacity so that more is better."""
    iops = -np.inf if candidate.host_iops is None else candidate.host_iops
    loss = np.inf if candidate.loss_pct is None else candidate.loss_pct
    return -float(candidate.net or 0), iops, -loss, float(candidate.usable_bytes)


def test_the_front_is_what_no_other_beats() -> None:
    sizes = []
    for prices, row in rows(80, max(LISTS // 3, 8)):
        choice = choose(prices, row)
        if choice.best is None:
            assert choice.front == ()
            continue
        sound = not choice.best.open_advice(row.accept)
        limit = (choice.best.net_of_builds or 0) * search.MOST_PRICE
        left = [
            one
            for one in try_everything(prices, row).feasible
            if row.value("max_price") or (one.net_of_builds or 0) <= limit
            if not sound or not one.open_advice(row.accept)
        ]
        points = np.array([values(one) for one in left])
        beaten = [
            ((points >= one).all(axis=1) & (points > one).any(axis=1)).any() for one in points
        ]
        expected = {tuple(one) for one, worse in zip(points, beaten, strict=True) if not worse}
        found = [values(one) for one in choice.front]
        # The last digit of an estimate may hang on what is estimated beside it.
        assert len(found) == len(set(found)) == len(expected), row.cells()
        assert np.allclose(sorted(found), sorted(expected), rtol=1e-12), row.cells()
        sizes.append(len(found))
    assert max(sizes) > 4 and min(sizes) >= 1


def test_the_fastest_and_the_safest_are_those_of_trying_everything() -> None:
    """Within the budget, or one and a half times the least cost where there is none."""
    found = 0
    for prices, row in rows(240, max(LISTS // 3, 20)):
        choice = choose(prices, row)
        if choice.best is None:
            continue
        budget = row.value("max_price") is not None
        sound = budget or not choice.best.open_advice(row.accept)
        limit = (choice.best.net_of_builds or 0) * search.MOST_PRICE
        pool = [
            one
            for one in try_everything(prices, row).feasible
            if budget or (one.net_of_builds or 0) <= limit
            if not (sound and one.open_advice(row.accept))
        ]
        others = find_alternatives(prices, row, choice, choice.best)
        own = values(choice.best)
        for kind, at, share in (("fastest", 1, 0.95), ("least_risk", 2, 0.95)):
            most = max((values(one)[at] for one in pool), default=-np.inf)
            told = [one.candidate for one in others if kind in one.kinds]
            less, more = sorted((abs(own[at]), abs(most)))
            better = most > own[at] and less < more * (1 if budget else share)
            assert bool(told) == bool(np.isfinite(most) and better), (row.cells(), kind)
            if told:
                assert values(told[0])[at] == pytest.approx(most, rel=1e-9), (row.cells(), kind)
                found += 1
    assert found >= 8


def test_nearest_and_largest_are_sound_and_can_be_taken() -> None:
    taken = largest = 0
    for prices, row in rows(120, max(LISTS // 2, 16)):
        choice = choose(prices, row)
        if choice.best is not None or not choice.refused:
            continue
        every = buildable(prices, row)
        judge(every, prices, row)
        sound = [one for one in every if not one.open_advice(row.accept)]
        for near in choice.nearest:
            assert not near.candidate.open_advice(row.accept)
            short = near.demand.shortfall(near.candidate)
            asked = row.asked(prices)
            others = [d for d in asked if d.column != near.demand.column]
            if near.alone:
                rivals = [one for one in sound if all(d.met(one) for d in others)]
                least = min(near.demand.shortfall(one) for one in rivals)
                assert short == pytest.approx(least, rel=1e-9), row.cells()
                same = [one for one in rivals if near.demand.shortfall(one) == short]
                if same:
                    assert near.candidate.net == first(same, row.accept).net
                less = row.without(near.demand.column)
                if row.value(near.demand.column) is not None:
                    again = choose(prices, less).best
                    assert again is not None and not again.open_advice(row.accept)
            taken += 1
        if choice.largest is not None:
            asked = [d for d in row.asked(prices) if d.column not in ("usable_tb", "max_price")]
            rivals = [one for one in sound if all(d.met(one) for d in asked)]
            assert choice.largest.usable_bytes == max(one.usable_bytes for one in rivals)
            largest += 1
    assert taken >= 8 and largest >= 8


# Bounds


def test_no_array_is_faster_or_safer_than_with_all_to_itself() -> None:
    """What `refine` leaves out for good is too slow on any link, however many share it."""
    looked_at = 0
    for prices, row in rows(160, 6):
        asked = asking(prices, row)
        table = asked.table
        if not len(table.least) or not table.estimated.bounded:
            continue
        selection = asked.some(without=[demand.column for demand in asked.asked])
        for picked in selection.bands():
            at = tuple(one[picked.rows] for one in table.at)
            for answers in (False, True):
                given = np.full(len(picked), answers)
                own = table.estimated.keys(at, picked.plans, given, (None, 1))  # type: ignore[arg-type]
                free = table.estimated.best_speed(own)
                for hangs in ((None, 1), (900.0, 1), (3900.0, 2), (150.0, 3), (None, 6)):
                    keys = table.estimated.keys(at, picked.plans, given, hangs)  # type: ignore[arg-type]
                    bound, exact = table.estimated.best_speed(keys), table.estimated.speed(keys)
                    for most, got in ((free, bound), (bound, exact)):
                        assert not (got[:2] > most[:2]).any()
                        assert not (got[2] < most[2]).any()
                    alone, here = table.estimated.risk(own), table.estimated.risk(keys)
                    assert not (alone[0] * (1 - 1e-9) > here[0]).any()
                    assert not (np.isnan(here[1]) & ~np.isnan(alone[1])).any()
            looked_at += len(picked)
    assert looked_at > 200


def test_the_net_never_falls_as_drives_are_added() -> None:
    looked_at = 0
    for prices, row in [*rows(200, 6), *rows(9100, 3, huge=True)]:
        table = asking(prices, row).table
        at = np.flatnonzero(table.most > table.least)
        for kind in (0, 1):
            for drives in range(1, 7):
                some = at[(table.least[at] <= drives) & (drives < table.most[at])]
                few = table.weights.net(some, np.full(len(some), drives), kind)
                more = table.weights.net(some, np.full(len(some), drives + 1), kind)
                assert (few <= more).all()
                looked_at += len(some)
    assert looked_at > 200
