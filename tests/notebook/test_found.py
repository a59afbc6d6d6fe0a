"""The notebook that shows what a choice was made from: of an answer, of a refusal, of one build."""

from pathlib import Path

import pytest

from quotelib.documents.charts import Drawing
from quotelib.errors import InputError
from quotelib.notebook import found as show

DATE = "2026-11-25"
OPEN = {"usable_tb": "4", "survive": "1", "max_price": "4000"}


def test_of_an_answer_it_shows_all_there_is(copy_of_small: Path) -> None:
    found = show.look(OPEN, str(copy_of_small), DATE)
    considered = found.considered
    assert considered is not None and found.choice.counts is not None
    assert considered.words in repr(show.words(found))
    # The sentence is said once.
    assert considered.words not in repr(show.three(found))
    for one in considered.three:
        assert one.title in repr(show.three(found))
    assert isinstance(show.chart(found), Drawing)
    listed = repr(show.points(found))
    for point in considered.points:
        assert point.words in listed and f"{point.net:,f}" in listed
    assert "at least 4 TB usable" in repr(show.wishes(found))
    assert repr(show.nearest(found)) == "Something meets every demand."


def test_of_a_server_with_options_it_says_the_count_and_that_nothing_is_listed() -> None:
    """What else would do is not looked for there: blank cells would look like a fault."""
    found = show.look({"usable_tb": "4", "survive": "1", "memory_gb": "64"}, "", DATE)
    assert found.considered is not None and found.considered.words in repr(show.words(found))
    assert repr(show.three(found)) == "There is nothing to set side by side."
    assert repr(show.chart(found)) == "There is nothing to draw."
    assert repr(show.points(found)) == "There is nothing to list."


def test_of_a_refusal_it_shows_what_comes_nearest(copy_of_small: Path) -> None:
    found = show.look({**OPEN, "max_price": "10"}, str(copy_of_small), DATE)
    said = repr(show.words(found))
    assert "No build." in said and "0 meet every demand" in said
    near = repr(show.nearest(found))
    assert "at most GBP 10 net a build" in near and "the most capacity, at any price" in near
    largest = found.choice.largest
    assert largest is not None and f"{largest.net:,f}" in near
    wishes = repr(show.wishes(found))
    for one in found.choice.removed:
        assert one.demand.words in wishes and f"{one.builds:,}" in wishes
    for nothing in (show.three(found), show.chart(found), show.points(found)):
        assert repr(nothing).startswith("There is nothing to ")


def test_of_what_is_pinned_there_is_nothing_to_show(copy_of_small: Path) -> None:
    pins = {"chassis": "BOX-4", "controller": "CARD", "drive": "DISK-4T", "members": "4",
            "level": "6"}  # fmt: skip
    found = show.look(pins, str(copy_of_small), DATE)
    assert found.answer.record is not None and found.considered is None
    assert repr(show.points(found)) == "There is nothing to list."


def test_what_cannot_be_read_is_told(copy_of_small: Path) -> None:
    with pytest.raises(InputError, match="usable_tb"):
        show.look({"usable_tb": "plenty"}, str(copy_of_small), DATE)
