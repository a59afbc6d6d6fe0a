"""Is the best of very many builds the same that weighing them all would give, and soon found?"""

import datetime as dt

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose import alternatives, search
from quotelib.choose.alternatives import rivals
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.enquiry.request import single
from quotelib.levels import LEVELS
from quotelib.promise.answer import answer
from tests.asking import ask

ROWS = [
    {"usable_tb": "10"},
    {"usable_tb": "20", "survive": "2", "media": "hdd"},
    {"usable_tb": "1", "host_iops": "20000", "workload": "files"},
    {"usable_tb": "30", "max_price": "5000", "drive": "DISK-8T"},
]


@pytest.mark.parametrize("limit", ["MOST_SEEN", "MOST_WEIGHED"])
@pytest.mark.parametrize("cells", ROWS, ids=str)
def test_the_best_is_the_same(
    limit: str, cells: dict[str, str], small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = read_enquiry({"enquiry_id": "A", "customer": "B", **cells}, small)
    every = search.choose(small, row)
    assert len(every.feasible) > 3
    assert not every.narrow
    monkeypatch.setattr(search, limit, 3)
    one = search.choose(small, row)
    assert one.narrow
    assert one.best is not None and every.best is not None
    assert (one.best.build.pieces() and one.best.net) == every.best.net
    assert one.best.build.arrays == every.best.build.arrays
    assert one.feasible == (one.best,)


def test_it_is_answered_without_what_else_would_do(
    small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "MOST_SEEN", 3)
    row = read_enquiry({"enquiry_id": "narrow", "customer": "B", "usable_tb": "11"}, small)
    record = answer(small, single(row), dt.date(2026, 11, 28)).record
    assert record is not None
    (server,) = record.servers
    assert server.alternatives == ()
    assert server.controllers is None


def test_where_there_is_none_it_says_how_to_learn_why(
    small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "MOST_SEEN", 3)
    row = read_enquiry(
        {"enquiry_id": "A", "customer": "B", "usable_tb": "1", "max_price": "1"}, small
    )
    (reason,) = search.choose(small, row).refused
    assert reason.code == "too_open"
    assert "name a chassis, a controller or a drive" in reason.words


@pytest.mark.parametrize("level", LEVELS.values(), ids=lambda level: level.name)
def test_the_nearest_number_of_members_is_found_at_once(level) -> None:
    # A million members took minutes; a number it takes is nearest to itself.
    for members in (1, 7, 999, 100_000):
        near = level.nearest_members(members, 1)
        assert level.spans_for(near)
        if level.spans_for(members):
            assert near == members


def test_of_a_long_list_the_last_controllers_are_not_looked_into(
    small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    enquiry = ask(small, usable_tb="8", survive="2")
    known = [rival for rival in rivals(small, enquiry) if rival.best is None]
    assert len(known) > 2
    monkeypatch.setattr(alternatives, "MOST_EXPLAINED", 2)
    told = [rival for rival in rivals(small, enquiry) if rival.best is None]
    assert told[:2] == known[:2]
    assert {reason.code for rival in told[2:] for reason in rival.refused} == {"not_looked_into"}
