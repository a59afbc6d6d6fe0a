"""What is offered where nothing meets the enquiry: each can be had, and says what is against it."""

from pathlib import Path

import pytest

from quotelib.workbook.page import Workbook

REFUSED = [
    {"usable_tb": "900000"},
    {"usable_tb": "900000", "survive": "1"},
    {"usable_tb": "900000", "builds": "7", "media": "ssd"},
    {"usable_tb": "20", "max_price": "1"},
    {"usable_tb": "20", "max_price": "1", "builds": "7"},
    {"usable_tb": "20", "max_price": "1", "currency": "JPY"},
    {"usable_tb": "20", "max_price": "1", "currency": "KWD", "builds": "3"},
    {"usable_tb": "20", "host_iops": "90000000"},
    {"usable_tb": "20", "host_mb_s": "900000", "workload": "files"},
    {"usable_tb": "20", "max_response_ms": "0.001"},
    {"usable_tb": "20", "max_loss_pct": "0.000000001"},
    {"usable_tb": "20", "max_watts": "1"},
    {"usable_tb": "20", "survive": "3"},
    {"usable_tb": "20", "survive": "9"},
    {"usable_tb": "20", "free_slots": "40"},
    {"usable_tb": "70", "media": "ssd", "survive": "2"},
    {"usable_tb": "1", "chassis": "BOX-4", "controller": "MEZZ"},
    {"usable_tb": "1", "chassis": "BOX-NV", "drive": "DISK-4T"},
    {"usable_tb": "1", "chassis": "BOX-8", "drive": "DISK-8T"},
    {"drive": "DISK-8T", "members": "7", "level": "10", "chassis": "BOX-12"},
]


@pytest.mark.parametrize("cells", REFUSED, ids=str)
def test_each_can_be_had(copy_of_small: Path, tmp_path: Path, cells: dict[str, str]) -> None:
    page = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
    page.load([{"enquiry_id": "N-1", "customer": "Mole Catchers (invented)", **cells}], "a.csv")
    assert page.results.record is None
    ways = list(page.nearest._ways)
    assert ways, page.results.line.value
    for n, way in enumerate(ways):
        before = dict(page.order.shown())
        page.nearest.choose(n)
        record = page.results.record
        assert record is not None, way
        # It is the one that was said, and what we advise against in it was said too.
        (server,) = record.servers
        (array,) = server.arrays
        assert array.words in way.words and array.drive in way.words
        assert f"{record.currency} {record.totals.net:,f}" in way.words
        open_advice = [f for f in server.findings if f.severity == "advise" and not f.accepted]
        assert ("we advise against" in way.words) == bool(open_advice)
        page.ask_instead({name: before[name] for name in way.cells})
        assert page.results.record is None
    assert [b.description for b in page.nearest.buttons if b.description]


def test_a_sound_one_comes_first(copy_of_small: Path, tmp_path: Path) -> None:
    """The largest of all has no redundancy: what has some is offered before it."""
    page = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
    page.form.fields["usable_tb"].value = "900000"
    first, *others = page.nearest._ways
    assert first.sound and "we advise against" not in first.words
    assert [way.sound for way in others] == [False]


def test_what_a_sound_one_takes_is_offered_too(tmp_path: Path) -> None:
    """The cheapest is one that we advise against: what a sound one costs stands before it."""
    page = Workbook("", "2026-11-25", tmp_path)
    page.load([{"usable_tb": "48", "survive": "2", "builds": "25", "max_price": "1500"}], "a.csv")
    first, *others = page.nearest._ways
    assert first.sound and others and not others[0].sound
    page.nearest.choose(0)
    record = page.results.record
    assert record is not None and record.outcome == "quoted"
    assert record.totals.net_per_build is not None
    # What one costs is the budget: nothing is put on top.
    assert first.cells == {"max_price": f"{record.totals.net_per_build:f}"}


def test_gone_with_the_refusal(copy_of_small: Path, tmp_path: Path) -> None:
    page = Workbook(str(copy_of_small), "2026-11-25", tmp_path)
    page.form.fields["usable_tb"].value = "900000"
    assert page.nearest._ways
    page.form.fields["usable_tb"].value = "9"
    assert not page.nearest._ways
    page.form.fields["usable_tb"].value = "900000"
    page.clear()
    assert not page.nearest._ways
