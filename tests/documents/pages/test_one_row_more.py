"""A level that is one new row, and a demand that is one new entry, show on page and sheet."""

from pathlib import Path

import pytest

from quotelib.catalogue import cells as reading
from quotelib.documents.quoting import quote
from quotelib.enquiry.column import Demand
from quotelib.enquiry.columns import COLUMNS, Column
from quotelib.levels import LEVELS, Level
from tests.documents.builds import DATE, array, pages
from tests.end_to_end.page_text import Page
from tests.small_list import change, copy, write

WORDS = "Three drives' worth of parity are spread over all."
TRIPLE = Level("7", 5, None, 1, 3, 1, False, WORDS)
FULL_WATTS = Column(
    "full_watts",
    "Power, W",
    "At most, all drives active",
    "watts of one server with every drive active, at most",
    "no demand",
    reading.amount("0", "1000", "give a number, 0 to 1000"),
    of="server",
    said=lambda value, _: f"at most {value} W",
    demand=Demand(
        "build",
        "at most",
        lambda c, _: c.build.watts,
        lambda value, _: f"at most {value} W",
        lambda c, _: f"{c.build.watts} W",
    ),
)


def text_of(html: str) -> str:
    return " ".join(" ".join(Page(html).pieces).split())


def test_a_level_by_one_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(LEVELS, TRIPLE.name, TRIPLE)
    prices = write(tmp_path / "p", change(copy(), "CARD", levels="0;1;5;6;7;10;50;60"))
    cells = {"enquiry_id": "L", "customer": "Invented", "drive": "DISK-4T"}
    made = quote({**cells, "members": "8", "level": "7"}, str(prices), DATE)
    page, sheet = map(text_of, pages(made))
    for words in (
        "RAID 7 over 8 drives",
        WORDS,
        "It survives the failure of any three drives.",
        "survives any 3 drive failures",
        "RAID 7, 8 drives",
        "◄ proposed",
        "Parity takes the room of 3 drives.",
    ):
        assert words in page
    assert "RAID 7 over 8 drives for Invented" in sheet
    assert "Level RAID 7" in sheet
    known = {e.key: e.value for e in array(made).estimates}
    assert known["loss_pct"] is not None


def test_a_demand_by_one_entry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(COLUMNS, "full_watts", FULL_WATTS)
    cells = {"enquiry_id": "D", "customer": "Invented", "usable_tb": "4", "full_watts": "400"}
    made = quote(cells, str(write(tmp_path / "p")), DATE)
    page, sheet = map(text_of, pages(made))
    assert f"Power, W at most 400 W {made.servers[0].watts} W" in page
    assert made.rows[0].cells["full_watts"] == "400"
    assert made.quote_number in sheet
