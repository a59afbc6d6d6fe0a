"""Is a row enough: a level nobody has sold yet, and a demand nobody has made yet."""

from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.catalogue import cells as reading
from quotelib.catalogue.price_list import load_price_list, read_folder
from quotelib.choose.options import judge_all
from quotelib.choose.search import choose
from quotelib.enquiry.column import Demand
from quotelib.enquiry.columns import COLUMNS, Column, readme_table
from quotelib.errors import InputError
from quotelib.levels import LEVELS, Level
from tests.asking import ask, chosen, named
from tests.small_list import change, copy, only_array, price_list, write

TRIPLE = Level("7", 5, None, 1, 3, 1, False, "Three drives' worth of parity are spread over all.")
THREEFOLD = Level("13", 3, None, 3, 0, 3, False, "Three drives hold the same data.")

# Of a member of DISK-4T on CARD: 4,000,787,030,016 bytes less 512 MiB, in whole strips of 256 KiB.
MEMBER = (4_000_787_030_016 - 512 * 2**20) // 2**18 * 2**18


@pytest.fixture
def more_levels(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(LEVELS, TRIPLE.name, TRIPLE)
    monkeypatch.setitem(LEVELS, THREEFOLD.name, THREEFOLD)


SOLD = change(copy(), "CARD", levels="0;1;5;6;7;10;13;50;60")


@pytest.mark.usefixtures("more_levels")
def test_a_price_list_may_name_it(tmp_path: Path) -> None:
    prices = load_price_list(write(tmp_path / "prices", SOLD))
    assert prices.controllers["CARD"].levels == ("0", "1", "5", "6", "7", "10", "13", "50", "60")


def test_without_its_row_it_is_an_error(tmp_path: Path) -> None:
    price, problems = read_folder(write(tmp_path / "prices", SOLD))
    assert price is None
    assert [(p.column, "'7' in its list" in str(p)) for p in problems] == [("levels", True)]
    with pytest.raises(InputError, match="'7' is not known; use 0, 1, 5"):
        ask(price_list(), usable_tb="4", level="7")


@pytest.mark.usefixtures("more_levels")
@pytest.mark.parametrize(
    ("cells", "expected", "data_members"),
    [
        ({"level": "7", "usable_tb": "8"}, "BOX-12 CARD DISK-4T 7/5/1/0", 2),
        ({"level": "7", "drive": "DISK-4T", "members": "12"}, "BOX-12 CARD DISK-4T 7/12/1/0", 9),
        ({"level": "13", "usable_tb": "7", "drive": "DISK-4T"}, "BOX-12 CARD DISK-4T 13/6/1/0", 2),
        # Not pinned: the cheapest that survives any three.
        ({"survive": "3", "usable_tb": "8.1"}, "BOX-12 CARD DISK-4T 7/6/1/0", 3),
    ],
)
def test_it_is_chosen(cells: dict[str, str], expected: str, data_members: int) -> None:
    made = chosen(price_list(SOLD), **cells)
    assert named(made) == expected
    assert only_array(made).usable_bytes == data_members * MEMBER


@pytest.mark.usefixtures("more_levels")
def test_what_it_takes_and_survives_follows_from_the_row() -> None:
    assert (TRIPLE.survives, THREEFOLD.survives) == (3, 2)
    assert TRIPLE.survives_words == "It survives the failure of any three drives."
    prices = price_list(SOLD)
    (found,) = choose(prices, ask(prices, drive="DISK-4T", members="4", level="7")).refused
    assert found.code == "member_count"
    assert "RAID 7 takes 5 or more members, not 4 members; use 5 members" in found.words
    (found,) = choose(prices, ask(prices, drive="DISK-4T", members="5", level="13")).refused
    assert "RAID 13 takes 3 or more members, a multiple of 3, not 5 members; use 6" in found.words
    states = judge_all(prices, ask(prices, usable_tb="4", controller="CARD"), ["level"])["level"]
    assert states["7"] == states["13"] == ("", "")


# A demand

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


@pytest.fixture
def full_watts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(COLUMNS, "full_watts", FULL_WATTS)


@pytest.mark.usefixtures("full_watts")
def test_a_demand_is_read_listed_and_written() -> None:
    prices = price_list()
    enquiry = ask(prices, usable_tb="4", full_watts="119.5")
    assert enquiry.value("full_watts") == Decimal("119.5")
    assert enquiry.cells()["full_watts"] == "119.5"
    assert [d.words for d in enquiry.asked(prices)] == [
        "at least 4 TB usable",
        "at most 119.5 W",
    ]
    row = "| `full_watts` | watts of one server with every drive active, at most | no demand |"
    assert row in readme_table().splitlines()
    with pytest.raises(InputError, match="'much' is not a number"):
        ask(prices, usable_tb="4", full_watts="much")


@pytest.mark.usefixtures("full_watts")
def test_a_demand_takes_part_in_the_choice() -> None:
    # A mirror of two disks in BOX-4 draws 100 + 2 x 10 W, four in RAID 10 draw 140.
    prices = price_list()
    assert named(chosen(prices, usable_tb="4", full_watts="120")) == "BOX-4 BOARD DISK-4T 1/2/1/0"
    pins = {"drive": "DISK-4T", "controller": "BOARD", "usable_tb": "4", "full_watts": "139"}
    judged = judge_all(prices, ask(prices, **pins), ["level"])["level"]
    assert judged["1"] == ("", "")
    assert judged["10"] == ("unmet", "would not give at most 139 W")


@pytest.mark.usefixtures("full_watts")
def test_a_demand_binds_in_a_refusal() -> None:
    prices = price_list()
    found = choose(prices, ask(prices, usable_tb="4", level="1", full_watts="100"))
    assert found.best is None
    (reason,) = found.refused
    assert reason.code == "full_watts"
    assert reason.words.startswith("at most 100 W asked; nearest with all else as asked is 120 W: ")
    assert reason.words.endswith("RAID 1 over 2 drives, DISK-4T in BOX-4 on BOARD")


def test_without_its_row_it_is_not_known() -> None:
    with pytest.raises(InputError, match="full_watts: '100' is not a known name"):
        ask(price_list(), usable_tb="4", full_watts="100")
