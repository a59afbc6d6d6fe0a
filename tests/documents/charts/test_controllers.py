"""Controllers side by side: chart, page section, and what happens when there is nothing."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.documents import charts
from quotelib.documents.charts.controllers import controller_chart, spread
from quotelib.documents.quoting import quote
from quotelib.documents.sections import section
from quotelib.promise.record import QuoteRecord
from tests import small_list
from tests.documents.builds import DATE, page, record
from tests.end_to_end.page_text import Page

PINS = {"chassis": "CHS-2U-12L", "drive": "DRV-HDD-8T-SAS", "members": "8", "level": "6"}


@pytest.fixture(scope="module")
def fixed() -> QuoteRecord:
    return quote({"enquiry_id": "T", "customer": "Invented", **PINS}, date=DATE)


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


def test_chart_shows_every_controller_that_fits_and_says_price_and_rate(
    fixed: QuoteRecord,
) -> None:
    ((_, comparison),) = fixed.by_compared()
    chart = controller_chart(comparison)
    assert chart is not None
    svg = chart.svg()
    for row in comparison.rows:
        if row.fits:
            assert f">{row.sku}" in svg
            assert row.tightest_gb_s is not None
            assert f"GBP {row.net:,f}, {row.tightest_gb_s:.2f} GB/s" in chart.words
        else:
            assert row.sku not in svg
    assert "◄ chosen" in svg
    assert "GB/s (10⁹ bytes a second)" in svg
    assert "net, GBP" in svg
    assert "drives together 1.98" in svg  # 8 x 248 MB/s


def test_others_are_grouped_by_what_stands_in_the_way(fixed: QuoteRecord) -> None:
    ((_, comparison),) = fixed.by_compared()
    html = section("controllers_others", record=fixed).html
    text = " ".join(" ".join(Page(html).pieces).split())
    assert "CTL-PT-12G-MZ , CTL-PT-12G-CD : makes no array, not RAID 6." in text
    # One more thing stands in its way.
    assert "CTL-PT-TRI-CD : no slot of CHS-2U-12L takes CTL-PT-TRI-CD" in text
    for row in comparison.rows:
        in_groups = html.count(f">{row.sku}<")
        assert in_groups == (not row.fits) + (row.kind != "raid"), row.sku
    # Common practice, no source.
    for words in ("makes no array of its own", "SATA drives only", "no protected cache"):
        assert words in text
    alone = section("controllers_others", comparison=comparison, level=4).html
    assert alone == html.replace("h3>", "h5>")


def test_quote_page_has_the_sections_and_stays_small() -> None:
    made = record("card, RAID 5, twelve drives")
    html = page(made)
    assert len(html.encode()) <= 200_000
    text = " ".join(" ".join(Page(html).pieces).split())
    (server,) = made.servers
    assert server.controllers is not None
    for words in (server.controllers.summary, *server.room, "The others, and why not"):
        assert " ".join(words.split()) in text
    assert html.index("What stays free for later") < html.index("Which controllers would do")
    owned = record("board, RAID 1, the customer's chassis")
    told = " ".join(" ".join(Page(page(owned)).pieces).split())
    assert owned.servers[0].upgrade
    for sentence in owned.servers[0].upgrade:
        assert sentence in told


def test_sections_are_empty_where_nothing_was_compared() -> None:
    made = record("board, no array")
    bare = made.servers[0].model_copy(update={"controllers": None, "upgrade": ()})
    made = made.model_copy(update={"servers": (bare,)})
    for name in ("controllers", "controllers_others", "upgrade"):
        assert repr(section(name, record=made)) == ""
    assert charts.each(controller_chart, made.by_compared()) is None


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
    html = page(quote(cells, prices=str(folder), date=DATE))
    assert "Which controllers would do" in html
    assert "What each controller costs" not in html
