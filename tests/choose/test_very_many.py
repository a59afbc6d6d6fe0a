"""What is said of very many builds, and is it said soon?"""

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose import alternatives, refused
from quotelib.choose.alternatives import rivals
from quotelib.choose.search import choose
from quotelib.levels import LEVELS
from tests.asking import ask


def test_where_there_is_none_it_says_how_to_learn_why(
    small: PriceList, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = ask(small, usable_tb="1", max_watts="1")
    assert [reason.code for reason in choose(small, row).refused] == ["max_watts"]
    monkeypatch.setattr(refused, "MOST_SEEN", 3)
    (reason,) = choose(small, row).refused
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
