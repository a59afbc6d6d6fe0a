"""What is said of very many builds, and is it said soon?"""

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose import alternatives, refused
from quotelib.choose.alternatives import rivals
from quotelib.choose.asking import asking
from quotelib.choose.search import choose
from quotelib.levels import LEVELS
from tests.asking import ask
from tests.choose.large_list import large_list


def test_where_there_is_none_it_says_how_to_learn_why(
    small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = ask(small, usable_tb="1", max_watts="1")
    assert [reason.code for reason in choose(small, row).refused] == ["max_watts"]
    monkeypatch.setattr(refused, "MOST_SEEN", 3)
    (reason,) = choose(small, row).refused
    assert reason.code == "too_open"
    assert "name a chassis, a controller or a drive" in reason.words


def test_only_what_cannot_be_worked_out_in_time_is_too_open(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Half a million builds, of which each may be the nearest: answered, up to the bound."""
    prices = large_list(100, 30, 20)
    row = ask(prices, usable_tb="1", workload="files", host_iops="1000000000")
    asked = asking(prices, row)
    number = max(asked.some(without=[one]).upper for one in ("usable_tb", "host_iops"))
    assert 300_000 < number < refused.MOST_SEEN
    monkeypatch.setattr(refused, "MOST_SEEN", number)
    (reason,) = refused.nothing_meets(asked)
    assert reason.code == "host_iops"
    most = max(
        asked.table.estimated.speed(asked.some(without=["host_iops"]).keys(band))[0].max()
        for band in asked.some(without=["host_iops"]).bands()
    )
    assert f"is about {most:,.0f} operations a second" in reason.change
    monkeypatch.setattr(refused, "MOST_SEEN", number - 1)
    (reason,) = refused.nothing_meets(asked)
    assert reason.code == "too_open"
    # What parts decide, what a size is and what it costs needs no look at each.
    for wish in ({"free_slots": "9"}, {"max_price": "5"}, {"usable_tb": "100000"}):
        (reason,) = choose(prices, ask(prices, **({"usable_tb": "1"} | wish))).refused
        assert reason.code == next(iter(wish))


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
