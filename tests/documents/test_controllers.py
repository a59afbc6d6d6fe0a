"""Controllers side by side: chart, table, page section, and what happens when there is nothing."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.documents import comparison_view, controller_rows, controller_section
from quotelib.documents.charts_controllers import controller_chart, spread
from quotelib.documents.quoting import quote, quote_page
from quotelib.documents.sections import Html
from quotelib.errors import InputError
from quotelib.quote.comparison.compare import compare_controllers
from quotelib.quote.comparison.record import ControllerComparison
from quotelib.quote.enquiry import read_enquiry
from tests import small_list
from tests.end_to_end.page_text import Page

from .builds import DATE, record

PINS = {"chassis": "CHS-2U-12L", "drive": "DRV-HDD-8T-SAS", "members": "8", "level": "6"}


@pytest.fixture(scope="module")
def fixed() -> ControllerComparison:
    return comparison_view.compare(PINS)


@given(st.lists(st.floats(0, 400), min_size=1, max_size=20))
def test_labels_are_spread_without_overlap_in_order_and_in_the_room(places: list[float]) -> None:
    wanted = sorted(places)
    room = max(400.0, 17 * len(wanted))
    got = spread(wanted, 17, room)
    assert len(got) == len(wanted)
    assert all(b - a >= 17 - 1e-6 for a, b in pairwise(got))
    assert got[0] >= 17 / 2 - 1e-6
    assert got[-1] <= room - 17 / 2 + 1e-6


def test_labels_near_an_edge_do_not_meet() -> None:
    assert spread([375, 399], 17, 400) == [374.5, 391.5]


def test_labels_far_apart_stay_where_they_are() -> None:
    assert spread([50, 100, 200], 17, 400) == [50, 100, 200]


def test_chart_shows_every_controller_that_fits_with_its_price_and_rate(
    fixed: ControllerComparison,
) -> None:
    chart = controller_chart(fixed)
    assert chart is not None
    svg = chart.svg()
    for row in fixed.rows:
        if row.fits:
            assert f"{row.sku}: GBP {row.net:,f}, {row.tightest_gb_s:.1f} GB/s" in svg
        else:
            assert row.sku not in svg
    assert "◄ chosen" in svg
    assert "GB/s (10⁹ bytes a second)" in svg
    assert "net, GBP" in svg
    assert "drives together 2.0" in svg  # 8 x 248 MB/s


def test_table_sorts_those_that_fit_first(fixed: ControllerComparison) -> None:
    for key, (_, figure) in controller_rows.SORTS.items():
        for descending in (False, True):
            rows = controller_rows.ordered(fixed, key, descending)
            assert {r.sku for r in rows} == {r.sku for r in fixed.rows}
            fits = [r.fits for r in rows]
            assert fits == sorted(fits, reverse=True)
            values = [figure(r) for r in rows if r.fits]
            assert values == sorted(values, reverse=descending)
    with pytest.raises(InputError, match="sort_by: 'colour' is no such figure; use net"):
        comparison_view.table(fixed, sort_by="colour")


def test_table_says_what_the_issue_asks(fixed: ControllerComparison) -> None:
    text = repr(comparison_view.table(fixed))
    assert "generation 3, 8 lanes, 7.88 GB/s" in text  # 8 lanes of 0.985 GB/s
    assert "SATA 6, SAS 22.5 Gbit/s, NVMe generation 4" in text
    for row in fixed.rows:
        assert row.verdict in text.replace("&#39;", "'")
        assert row.cache_words in text
        assert row.occupies in text


def test_widget_sorts(fixed: ControllerComparison) -> None:
    box = comparison_view.sortable(fixed)
    fields, shown = box.children
    by, turned = fields.children

    def order() -> list[str]:
        return re.findall(r'<strong style="white-space:nowrap">([^<]+)', shown.value)

    by.value = "cache"
    turned.value = True
    assert order() == [r.sku for r in controller_rows.ordered(fixed, "cache", True)]
    assert order()[0].startswith("CTL-RF8")


def test_refused_ones_are_grouped_by_what_stands_in_the_way(fixed: ControllerComparison) -> None:
    groups = {g.words: g.skus for g in controller_rows.refused(fixed)}
    assert groups["makes no array, not RAID 6"] == (
        "CTL-PT-12G-MZ",
        "CTL-PT-12G-CD",
        "CTL-PT-TRI-CD",
    )
    listed = [sku for skus in groups.values() for sku in skus]
    assert sorted(listed) == sorted(r.sku for r in fixed.rows if not r.fits)


def test_where_the_choice_goes(fixed: ControllerComparison) -> None:
    text = repr(comparison_view.where(fixed))
    assert "CTL-RB2-12G-MZ is made for the mezzanine socket: all 3 slots stay free." in text
    assert "bays 9 to 12" in text


# Common practice, no source.
def test_pass_through_and_chipset_are_explained(fixed: ControllerComparison) -> None:
    groups = controller_rows.explained(fixed)
    words = {sku: g.words for g in groups for sku in g.skus}
    assert "makes no array of its own" in words["CTL-PT-12G-CD"]
    for word in ("SATA drives only", "processor does the parity", "no protected cache"):
        assert word in words["CTL-BOARD-8"]
    assert not any(sku.startswith(("CTL-RB", "CTL-RE", "CTL-RF")) for sku in words)


def test_no_chassis_given_is_said() -> None:
    text = repr(comparison_view.words(comparison_view.compare({"usable_tb": "10"})))
    assert "No chassis is given" in text


def test_nothing_fits_gives_words_and_no_empty_chart() -> None:
    nothing = comparison_view.compare({"usable_tb": "900"})
    assert "None of the 14 controllers meets" in repr(comparison_view.words(nothing))
    drawn = comparison_view.chart(nothing)
    assert isinstance(drawn, Html)
    assert "No chart: 0 controllers meet the enquiry" in repr(drawn)
    assert "900 TB usable asked" in repr(comparison_view.others(nothing))
    assert "Does not serve" in repr(comparison_view.table(nothing))
    assert "none has a place" in repr(comparison_view.where(nothing))


def test_a_chassis_without_slots_is_said() -> None:
    text = repr(
        comparison_view.words(
            comparison_view.compare(
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
    comparison = compare_controllers(prices, enquiry)
    assert [row.fits for row in comparison.rows] == [True, False]
    drawn = comparison_view.chart(comparison)
    assert "1 controller meets the enquiry, and a comparison takes two" in repr(drawn)


def test_a_price_list_without_a_fitting_controller_and_without_any() -> None:
    tables = small_list.only(controllers="BOARD THROUGH")
    for kept in (tables, {**tables, "controllers.csv": []}):
        prices = small_list.price_list(kept)
        cells = {"enquiry_id": "T", "customer": "Invented", "drive": "DISK-8T"}
        enquiry = read_enquiry({**cells, "members": "6", "level": "6"}, prices)
        comparison = compare_controllers(prices, enquiry)
        assert isinstance(comparison_view.chart(comparison), Html)
        assert repr(comparison_view.words(comparison))
        assert repr(comparison_view.table(comparison))
        comparison_view.others(comparison)
    assert "no controllers" in repr(comparison_view.words(comparison))
    assert "no controller to list" in repr(comparison_view.table(comparison))


def test_a_wrong_enquiry_gives_words_and_no_traceback() -> None:
    with pytest.raises(InputError) as wrong:
        comparison_view.compare({"chassis": "CHS-9U"})
    shown = "\n".join(wrong.value._render_traceback_())
    assert "CHS-9U" in shown
    assert "Traceback" not in shown


def test_quote_page_has_the_sections_and_stays_small() -> None:
    made = record("card, RAID 5, twelve drives")
    html = quote_page(made, "")
    assert len(html.encode()) <= 200_000
    text = " ".join(" ".join(Page(html).pieces).split())
    assert made.controllers is not None
    for words in (
        made.controllers.summary,
        made.placement.free.words,
        made.placement.controller.why,
        made.slot_saving.words if made.slot_saving else "",
        "The others, and why not",
    ):
        assert words in text
    assert html.index("What it costs") < html.index("What stays free for later")
    assert html.index("What stays free for later") < html.index("Which controllers would do")
    owned = record("board, RAID 1, the customer's chassis")
    told = " ".join(" ".join(Page(quote_page(owned, "")).pieces).split())
    assert owned.upgrade
    for sentence in owned.upgrade:
        assert sentence in told


def test_sections_are_empty_where_nothing_was_compared() -> None:
    made = record("board, no array").model_copy(update={"controllers": None, "upgrade": ()})
    assert repr(controller_section.fitting(made)) == ""
    assert repr(controller_section.chart(made)) == ""
    assert repr(controller_section.others(made)) == ""


def test_page_with_one_controller(tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = small_list.write(
        tmp_path_factory.mktemp("prices") / "p",
        small_list.only(controllers="CARD", chassis="BOX-12"),
    )
    cells = {
        "enquiry_id": "T",
        "customer": "Invented",
        "drive": "DISK-8T",
        "members": "4",
        "level": "6",
    }
    made = quote(cells, prices=str(folder), date=DATE)
    html = quote_page(made, str(folder))
    assert "Which controllers would do" in html
    assert "What each controller costs" not in html
