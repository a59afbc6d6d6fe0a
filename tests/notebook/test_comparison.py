"""Controllers side by side in a notebook: words, table, widget, and what is not to be drawn."""

from __future__ import annotations

import re

import pytest

from quotelib.documents.sections import Html
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.errors import InputError
from quotelib.notebook import comparison
from quotelib.promise.compared import ControllerComparison
from quotelib.promise.controllers import compare_controllers
from tests import small_list

PINS = {"chassis": "CHS-2U-12L", "drive": "DRV-HDD-8T-SAS", "members": "8", "level": "6"}


@pytest.fixture(scope="module")
def fixed() -> ControllerComparison:
    return comparison.compare(PINS)


def test_table_sorts_those_that_fit_first(fixed: ControllerComparison) -> None:
    for key, (_, figure) in comparison.SORTS.items():
        for descending in (False, True):
            rows = comparison.ordered(fixed, key, descending)
            assert {r.sku for r in rows} == {r.sku for r in fixed.rows}
            fits = [r.fits for r in rows]
            assert fits == sorted(fits, reverse=True)
            values = [figure(r) for r in rows if r.fits]
            assert values == sorted(values, reverse=descending)
    with pytest.raises(InputError, match="sort_by: 'colour' is no such figure; use net"):
        comparison.table(fixed, sort_by="colour")


def test_table_says_what_the_issue_asks(fixed: ControllerComparison) -> None:
    text = repr(comparison.table(fixed))
    assert "generation 3, 8 lanes, 7.88 GB/s" in text  # 8 lanes of 0.985 GB/s
    assert "SATA 6, SAS 22.5 Gbit/s, NVMe generation 4" in text
    for row in fixed.rows:
        assert row.verdict in text.replace("&#39;", "'")
        assert row.cache_words in text
        assert row.occupies in text


def test_a_link_held_back_by_its_place_is_told_beside_its_own() -> None:
    tables = small_list.change(small_list.only(chassis="BOX-4"), "CARD", host_gen="4")
    prices = small_list.price_list(tables)  # its slot is of generation 3
    cells = {"enquiry_id": "T", "customer": "Invented", "drive": "DISK-4T", "members": "3"}
    made = compare_controllers(prices, read_enquiry({**cells, "level": "5"}, prices))
    # 8 lanes of 1.969 GB/s and of 0.985 GB/s
    own, less = "generation 4, 8 lanes, 15.75 GB/s", "generation 3, 8 lanes, 7.88 GB/s"
    assert f"{own}; in its place {less}" in repr(comparison.table(made))
    assert "generation 3, 4 lanes, 3.94 GB/s" in repr(comparison.table(made))  # BOARD


def test_levels_stand_in_the_order_of_the_level_table() -> None:
    prices = small_list.price_list(
        small_list.change(small_list.copy(), "CARD", levels="60;6;10;1;0;5;50")
    )
    cells = {"enquiry_id": "T", "customer": "Invented", "usable_tb": "6"}
    made = compare_controllers(prices, read_enquiry(cells, prices))
    (row,) = [row for row in made.rows if row.sku == "CARD"]
    assert row.levels == ("0", "1", "5", "6", "10", "50", "60")
    assert "0, 1, 5, 6, 10, 50, 60" in repr(comparison.table(made))


def test_widget_sorts(fixed: ControllerComparison) -> None:
    box = comparison.sortable(fixed)
    fields, shown = box.children
    by, turned = fields.children

    def order() -> list[str]:
        return re.findall(r'<th scope="row"[^>]*><strong>([^<]+)', shown.value)

    by.value = "cache"
    turned.value = True
    assert order() == [r.sku for r in comparison.ordered(fixed, "cache", True)]
    assert order()[0].startswith("CTL-RF8")


def groups(shown: Html) -> dict[str, list[str]]:
    """Read what is said of which controllers from a list."""
    items = re.findall(r"<li>(.*?)</li>", shown.html)
    pairs = (re.sub("<[^>]+>", "", item).split(": ", 1) for item in items)
    return {words: skus.split(", ") for skus, words in pairs}


def test_refused_ones_are_grouped_by_what_stands_in_the_way(fixed: ControllerComparison) -> None:
    refused, _, _ = comparison.others(fixed).html.partition("What is not an array controller")
    told = groups(Html(refused))
    assert told["makes no array, not RAID 6."] == ["CTL-PT-12G-MZ", "CTL-PT-12G-CD"]
    (both,) = (words for words, skus in told.items() if skus == ["CTL-PT-TRI-CD"])
    assert "slot 1 is 8 lanes long, the card 16; makes no array, not RAID 6." in both
    listed = [sku for skus in told.values() for sku in skus]
    assert sorted(listed) == sorted(r.sku for r in fixed.rows if not r.fits)


# Common practice, no source.
def test_pass_through_and_chipset_are_explained(fixed: ControllerComparison) -> None:
    _, _, explained = comparison.others(fixed).html.partition("What is not an array controller")
    words = {sku: said for said, skus in groups(Html(explained)).items() for sku in skus}
    assert "makes no array of its own" in words["CTL-PT-12G-CD"]
    for word in ("SATA drives only", "processor does the parity", "no protected cache"):
        assert word in words["CTL-BOARD-8"]
    assert not any(sku.startswith(("CTL-RB", "CTL-RE", "CTL-RF")) for sku in words)


def test_where_the_choice_goes(fixed: ControllerComparison) -> None:
    text = repr(comparison.where(fixed))
    assert "CTL-RB2-12G-MZ is made for the mezzanine socket: all 3 slots stay free." in text
    assert "bays 9 to 12" in text


def test_no_chassis_given_is_said() -> None:
    text = repr(comparison.words(comparison.compare({**PINS, "chassis": ""})))
    assert "No chassis is given" in text


def test_nothing_fits_gives_words_and_no_empty_chart() -> None:
    nothing = comparison.compare({"chassis": "CHS-2U-12L", "usable_tb": "900"})
    assert "None of the 14 controllers meets" in repr(comparison.words(nothing))
    drawn = comparison.chart(nothing)
    assert isinstance(drawn, Html)
    assert "No chart: 0 controllers meet the enquiry" in repr(drawn)
    assert "900 TB usable asked" in repr(comparison.others(nothing))
    assert "Does not serve" in repr(comparison.table(nothing))
    assert "none has a place" in repr(comparison.where(nothing))


def test_a_chassis_without_slots_is_said() -> None:
    text = repr(
        comparison.words(
            comparison.compare(
                {"chassis": "CHS-1U-8S-NS"}
                | {"drive": "DRV-SSD-960-SATA-RD", "members": "4", "level": "5"}
            )
        )
    )
    assert "has no slots, so no card goes in" in text


def test_one_that_fits_is_no_comparison() -> None:
    prices = small_list.price_list(small_list.only(controllers="CARD BOARD"))
    cells = {"enquiry_id": "T", "customer": "Invented", "drive": "DISK-8T"}
    enquiry = read_enquiry({**cells, "members": "4", "level": "6"}, prices)
    made = compare_controllers(prices, enquiry)
    assert [row.fits for row in made.rows] == [True, False]
    drawn = comparison.chart(made)
    assert "1 controller meets the enquiry, and a comparison takes two" in repr(drawn)


def test_a_price_list_without_a_fitting_controller_and_without_any() -> None:
    tables = small_list.only(controllers="BOARD THROUGH")
    for kept in (tables, {**tables, "controllers.csv": []}):
        prices = small_list.price_list(kept)
        cells = {"enquiry_id": "T", "customer": "Invented", "drive": "DISK-8T"}
        enquiry = read_enquiry({**cells, "members": "6", "level": "6"}, prices)
        made = compare_controllers(prices, enquiry)
        assert isinstance(comparison.chart(made), Html)
        assert repr(comparison.words(made))
        assert repr(comparison.table(made))
        comparison.others(made)
    assert "no controllers" in repr(comparison.words(made))
    assert "no controller to list" in repr(comparison.table(made))


def test_a_wrong_enquiry_gives_words_and_no_traceback() -> None:
    with pytest.raises(InputError) as wrong:
        comparison.compare({"chassis": "CHS-9U"})
    shown = "\n".join(wrong.value._render_traceback_())
    assert "CHS-9U" in shown
    assert "Traceback" not in shown
