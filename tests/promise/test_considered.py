"""What a quote was chosen from: counts, the three side by side, what no other build beats."""

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.server import choose_server
from quotelib.documents import charts
from quotelib.documents.sections import section
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer, chosen_from
from quotelib.promise.considered import Considered, Point
from quotelib.promise.considering import MOST_POINTS, spread_out
from quotelib.promise.record import QuoteRecord
from tests.asking import ask
from tests.choose.one_by_one import try_everything

DATE = dt.date(2026, 11, 25)
FIRST = {"enquiry_id": "E-1", "customer": "Somebody"}
OPEN = {"usable_tb": "4"}
MIRROR = {"chassis": "BOX-4", "controller": "CARD", "drive": "DISK-4T", "members": "4",
          "level": "6"}  # fmt: skip


def quoted(prices: PriceList, cells: dict[str, str]) -> QuoteRecord:
    record = answer(prices, read_request([{**FIRST, **cells}], prices), DATE).record
    assert record is not None
    return record


def considered(prices: PriceList, cells: dict[str, str]) -> Considered:
    found = quoted(prices, cells).servers[0].considered
    assert found is not None
    return found


Worth = tuple[float, float, float, float]


def worth(one: Point | Candidate) -> Worth:
    """Give what counts of a build, more is better, what is not known the worst."""
    worst = float("-inf")
    speed = worst if one.host_iops is None else one.host_iops
    safe = worst if one.loss_pct is None else -one.loss_pct
    return -float(one.net or 0), speed, safe, one.usable_bytes


def beats(other: Worth, one: Worth) -> bool:
    return other != one and all(a >= b for a, b in zip(other, one, strict=True))


@pytest.mark.parametrize(
    "cells",
    [OPEN, {**OPEN, "survive": "1"}, {**OPEN, "survive": "2", "media": "hdd"},
     {**OPEN, "max_price": "1300"}, {**OPEN, "builds": "25", "survive": "1"},
     {**OPEN, "level": "6", "workload": "files"}],
)  # fmt: skip
def test_it_is_what_trying_everything_finds(small: PriceList, cells: dict[str, str]) -> None:
    found, asked = considered(small, cells), ask(small, **cells)
    tried = try_everything(small, asked)
    assert found.meet == len(tried.feasible)
    assert found.words == (
        f"Of {found.possible:,} possible builds {found.fit:,} fit, "
        f"{found.meet:,} meet every demand."
    )
    assert tried.best is not None and tried.best.net is not None
    most = float("inf") if "max_price" in cells else float(tried.best.net) * 1.5
    sound = not tried.best.open_advice(())
    there = {
        worth(one)
        for one in tried.feasible
        if float(one.net or 0) <= most and not (sound and one.open_advice(()))
    }
    unbeaten = {one for one in there if not any(beats(other, one) for other in there)}
    assert {worth(point) for point in found.points} - unbeaten <= {
        worth(point) for point in found.points if point.kinds
    }
    assert unbeaten == {worth(point) for point in found.points} & unbeaten
    choice, *others = found.three
    record = quoted(small, cells)
    assert (choice.net, choice.pins) == (record.totals.net, record.pins())
    for one in others:
        assert one.net - choice.net == one.net_difference > 0
        assert one.gives and one.kinds
    marked = [point.pins for point in found.points if point.kinds]
    assert sorted(map(str, marked)) == sorted(str(one.pins) for one in found.three)


def test_a_point_taken_as_pins_is_that_build(small: PriceList) -> None:
    cells = {**OPEN, "survive": "1", "max_price": "4000"}
    found = considered(small, cells)
    assert len(found.points) > 3
    for point in found.points:
        taken = quoted(
            small, {**OPEN, "survive": "1", **{k: v for k, v in point.pins.items() if v}}
        )
        assert taken.totals.net == point.net
        assert taken.usable_bytes() == point.usable_bytes


def test_where_all_is_pinned_nothing_is_said(small: PriceList) -> None:
    record = quoted(small, MIRROR)
    assert record.servers[0].considered is None
    assert not section("considered", record=record).html.strip()
    assert not section("considered_points", record=record).html.strip()


def test_of_several_arrays_only_the_count_is_said(small: PriceList) -> None:
    rows = [{**FIRST, **OPEN, "array": "data"}, {**FIRST, **OPEN, "array": "log"}]
    request = read_request(rows, small)
    record = answer(small, request, DATE).record
    assert record is not None
    (found,) = (server.considered for server in record.servers)
    assert found is not None
    counts = choose_server(small, request.servers[0]).counts
    assert counts is not None and counts.meet >= 1
    assert (found.possible, found.fit, found.meet) == (counts.possible, counts.fit, counts.meet)
    said = section("considered", record=record)
    assert found.words in repr(said) and "<table" not in said.html
    assert not section("considered_points", record=record).html.strip()
    assert charts.front_chart(found) is None
    assert found.words not in section("alternatives", record=record).html
    # Where somebody waits for the page it is left out.
    quick = chosen_from(small, request, DATE)
    assert quick is not None and quick.servers[0].considered is None


def test_what_each_wish_takes_stands_beside_what_it_costs(small: PriceList) -> None:
    cells = {"usable_tb": "11", "survive": "1", "chassis": "BOX-4"}
    (server,) = quoted(small, cells).servers
    assert server.considered is not None
    told = list(server.wishes())
    assert [saving is not None for _, _, saving in told] == [True, False]
    assert {saving.column for _, _, saving in told if saving} == {"usable_tb"}
    for ruled in server.considered.ruled:
        asked = ask(small, **cells).without(ruled.column)
        without = len(try_everything(small, asked).feasible)
        assert ruled.alone == without - server.considered.meet
    html = section("savings", record=quoted(small, cells)).html
    assert html.count('<th scope="row">') == 2


def test_the_quick_one_says_all_but_what_each_demand_takes(small: PriceList) -> None:
    request = read_request([{**FIRST, **OPEN}], small)
    quick, whole = chosen_from(small, request, DATE), answer(small, request, DATE).record
    assert quick is not None and whole is not None
    (server,) = quick.servers
    assert server.considered is not None and server.considered.ruled == ()
    full = whole.servers[0].considered
    assert full is not None and full.ruled
    assert full.model_copy(update={"ruled": ()}) == server.considered
    plain = answer(small, request, DATE, considered=False).record
    assert plain is not None and plain.servers[0].considered is None


def point(number: int, kinds: tuple[str, ...] = ()) -> Point:
    cells = {"level": "RAID 6", "words": "", "pins": {}, "usable_bytes": 1, "host_iops": 1.0}
    return Point.model_validate({"kinds": kinds, "net": number, "loss_pct": None, **cells})


@given(st.integers(0, 400), st.sets(st.integers(0, 399), max_size=3))
def test_of_many_points_some_are_shown_evenly_and_the_three_always(
    many: int, three: set[int]
) -> None:
    points = [point(n, ("fastest",) if n in three else ()) for n in range(many)]
    shown = spread_out(points)
    assert len(shown) == min(many, MOST_POINTS)
    assert [p.net for p in shown] == sorted({p.net for p in shown})
    assert {n for n in three if n < many} == {int(p.net) for p in shown if p.kinds}
    if many > MOST_POINTS:
        gaps = [int(b.net - a.net) for a, b in pairwise(shown)]
        step = (many - 1) / (MOST_POINTS - 4)
        assert max(gaps) <= step + 3
        # Both ends of the price are there.
        assert shown[0].net <= len(three) and shown[-1].net >= many - 1 - len(three)


def test_how_some_of_many_were_picked_is_said(small: PriceList) -> None:
    found = considered(small, OPEN)
    assert found.points_all == len(found.points)
    assert "are shown" not in found.points_words
