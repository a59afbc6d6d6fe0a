"""Is the right build chosen, and a refusal worth reading: on a list small enough to check."""

from decimal import Decimal

import pytest

from quotelib.build import advice
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import AdviceTerms
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import choose
from quotelib.levels import LEVELS
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import Deal, price
from tests.asking import ask, chosen, free, named
from tests.choose.every import Everything
from tests.small_list import change, copy, only, only_array, price_list

# The choice


def test_the_lowest_net_by_hand(small: PriceList) -> None:
    # Two mirrored 4 TB disks in the small chassis on its own board:
    # 500 + 2 x 100 + 2 x 12 + 55 + 2 x 5 + 41 = 830; freight 16.50 + 1.15 x 11.6 = 29.84.
    found = choose(small, ask(small, usable_tb="4"))
    assert found.best is not None
    assert named(found.best.build) == "BOX-4 BOARD DISK-4T 1/2/1/0"
    assert found.best.net == Decimal("859.84")


def test_advice_that_nobody_accepted_comes_last(small: PriceList) -> None:
    # One drive without an array is cheaper, but a person has to want it.
    assert chosen(small, usable_tb="4").arrays[0].layout.level == "1"
    accepted = chosen(small, usable_tb="4", accept="no_redundancy")
    assert named(accepted) == "BOX-4 BOARD DISK-4T none/1/1/0"


def test_advice_is_taken_when_nothing_else_is_left(small: PriceList) -> None:
    made = chosen(small, usable_tb="4", level="0")
    assert [f.code for f in advice.advice(made, AdviceTerms())] == ["no_redundancy"]


@pytest.fixture(scope="module")
def everything(small: PriceList) -> Everything:
    return Everything(small)


@pytest.mark.parametrize(
    "cells",
    [
        {"usable_tb": "4"},
        {"usable_tb": "20"},
        {"usable_tb": "20", "survive": "2", "currency": "KWD"},
        {"usable_tb": "2", "media": "ssd", "free_slots": "1", "currency": "JPY"},
        {"usable_tb": "10", "level": "50", "builds": "6"},
        {"usable_tb": "1", "owned": "drive", "drive": "FLASH-1T", "spares": "1"},
        {"usable_tb": "30", "max_price": "4000", "discount_pct": "7.5"},
        {"drive": "DISK-4T", "members": "8", "level": "60"},
        {"usable_tb": "3", "chassis": "BOX-NV"},
        {"usable_tb": "10", "level": "none", "accept": "no_redundancy"},
    ],
    ids=lambda cells: "-".join(f"{k}={v}" for k, v in cells.items()),
)
def test_the_choice_against_every_build_there_is(
    small: PriceList, everything: Everything, cells: dict[str, str]
) -> None:
    enquiry = ask(small, **cells)
    book = PriceBook(small, enquiry.currency or "GBP")
    asked = enquiry.asked(small)
    left = []
    for made in everything.agreeing(enquiry):
        net = price(made, book, Deal(enquiry.builds, enquiry.discount_pct)).net
        array = only_array(made)
        if not all(d.met(Candidate(made, array.usable_bytes, net)) for d in asked):
            continue
        open_advice = {f.code for f in advice.advice(made, AdviceTerms())} - set(enquiry.accept)
        layout = array.layout
        skus = (made.chassis.sku, array.controller.sku, array.drive.sku)
        place = (list(LEVELS).index(layout.level), layout.spans)
        left.append(((bool(open_advice), net, layout.drives, *skus, *place), named(made)))
    assert left, "a case without any build shows nothing"
    choice = choose(small, enquiry)
    assert choice.best is not None
    assert named(choice.best.build) == min(left)[1]
    assert sorted((named(c.build), c.net) for c in choice.feasible) == sorted(
        (name, rank[1]) for rank, name in left
    )


# Ties


def test_ties_go_to_fewer_drives_then_to_skus_in_alphabetical_order() -> None:
    # Everything costs nothing. "BOX-12" sorts before "BOX-4"; BARE has an unprotected cache.
    assert named(chosen(free(copy()), usable_tb="3")) == "BOX-12 CARD DISK-4T 1/2/1/0"


def test_fewer_drives_come_before_the_alphabet_of_chassis() -> None:
    # BOX-12 takes only the small sas disks here, five of them in RAID 5 for 7 TB.
    tables = only(chassis="BOX-4 BOX-12", controllers="CARD", drives="DISK-4T DISK-8T")
    change(tables, "BOX-12", bay_interfaces="sas")
    change(tables, "DISK-8T", capacity_gb=2000)
    change(tables, "DISK-4T", capacity_gb=8000)
    assert named(chosen(free(tables), usable_tb="7")) == "BOX-4 CARD DISK-4T 1/2/1/0"


def test_ties_among_controllers() -> None:
    tables = only(chassis="BOX-12", controllers="CARD MEZZ", drives="DISK-8T")
    assert chosen(free(tables), usable_tb="3").arrays[0].controller.sku == "CARD"
    (row,) = [r for r in tables["controllers.csv"] if r["sku"] == "MEZZ"]
    row["sku"] = "A-MEZZ"
    assert chosen(free(tables), usable_tb="3").arrays[0].controller.sku == "A-MEZZ"


def test_ties_among_drives() -> None:
    tables = only(chassis="BOX-12", controllers="CARD", drives="DISK-4T DISK-8T")
    assert chosen(free(tables), usable_tb="3").arrays[0].drive.sku == "DISK-4T"
    # Fewer drives come before the alphabet: 7 TB take two of the one or four of the other.
    assert named(chosen(free(tables), usable_tb="7")) == "BOX-12 CARD DISK-8T 1/2/1/0"


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ({"members": "4", "usable_tb": "1"}, "5/4/1/0"),
        ({"members": "4", "usable_tb": "1", "accept": "no_redundancy"}, "0/4/1/0"),
        ({"members": "4", "usable_tb": "1", "survive": "2"}, "6/4/1/0"),
        ({"members": "12", "usable_tb": "1", "level": "50"}, "50/12/2/0"),
        ({"members": "12", "usable_tb": "1", "level": "60"}, "60/12/2/0"),
    ],
)
def test_ties_among_levels_and_spans(
    small: PriceList, cells: dict[str, str], expected: str
) -> None:
    made = chosen(small, chassis="BOX-12", controller="CARD", drive="DISK-8T", **cells)
    assert named(made).split()[-1] == expected


def test_the_order_of_the_files_does_not_matter() -> None:
    tables = copy()
    for rows in tables.values():
        rows.reverse()
    backwards, forwards = price_list(tables), price_list()
    for tb in ("1", "4", "11", "30", "60"):
        assert named(chosen(backwards, usable_tb=tb)) == named(chosen(forwards, usable_tb=tb))


# Pins and demands


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ({"chassis": "BOX-12"}, "BOX-12 MEZZ DISK-4T 1/2/1/0"),
        ({"controller": "CARD"}, "BOX-4 CARD DISK-4T 1/2/1/0"),
        ({"drive": "DISK-8T"}, "BOX-12 MEZZ DISK-8T 1/2/1/0"),
        ({"members": "4"}, "BOX-4 BOARD DISK-4T 10/4/1/0"),
        ({"level": "6"}, "BOX-4 CARD DISK-4T 6/4/1/0"),
        ({"level": "50", "spans": "3"}, "BOX-12 CARD DISK-4T 50/9/3/0"),
        ({"spans": "2"}, "BOX-12 MEZZ DISK-4T 50/6/2/0"),
        ({"spares": "1"}, "BOX-4 BOARD DISK-4T 1/2/1/1"),
    ],
    ids=lambda cells: (
        "-".join(f"{k}={v}" for k, v in cells.items()) if isinstance(cells, dict) else ""
    ),
)
def test_pins_are_kept(small: PriceList, cells: dict[str, str], expected: str) -> None:
    made = chosen(small, usable_tb="3.9", **cells)
    array = only_array(made)
    values = {
        "chassis": made.chassis.sku,
        "controller": array.controller.sku,
        "drive": array.drive.sku,
        "level": array.layout.level,
        "members": str(array.layout.members),
        "spans": str(array.layout.spans),
        "spares": str(array.layout.spares),
    }
    assert {name: values[name] for name in cells} == cells
    assert named(made) == expected


def test_no_spares_unless_pinned(small: PriceList) -> None:
    found = choose(small, ask(small, usable_tb="4"))
    assert {c.build.arrays[0].layout.spares for c in found.feasible} == {0}


def test_usable_counts_what_is_left_after_the_reserve(small: PriceList) -> None:
    # Two mirrored 4 TB disks on the board (8 MiB reserve): 4,000,787,030,016 - 8,388,608 =
    # 4,000,778,641,408 bytes, of which 15,261,759 whole strips of 262,144 count.
    made = chosen(small, usable_tb="4")
    usable = only_array(made).usable_bytes
    assert usable == 15_261_759 * 262_144
    exactly = Decimal(usable) / 10**12
    assert named(chosen(small, usable_tb=str(exactly))) == named(made)
    more = chosen(small, usable_tb=str(exactly + Decimal("1e-12")))
    assert only_array(more).usable_bytes > usable


@pytest.mark.parametrize("survive", ["0", "1", "2"])
def test_survive(small: PriceList, survive: str) -> None:
    found = choose(small, ask(small, usable_tb="4", survive=survive, accept="no_redundancy"))
    assert found.best is not None
    assert {c.build.arrays[0].layout.rule.survives for c in found.feasible} == set(
        range(int(survive), 3)
    )
    assert found.best.build.arrays[0].layout.level == {"0": "none", "1": "1", "2": "6"}[survive]


def test_media(small: PriceList) -> None:
    assert chosen(small, usable_tb="1.8", media="ssd").arrays[0].drive.sku == "FLASH-1T"


def test_free_slots(small: PriceList) -> None:
    # BOX-4 keeps its one slot free only with the controller on the board, which makes no
    # level 5: 8 TB protected, or 16 TB not.
    cells = {"usable_tb": "11", "chassis": "BOX-4", "survive": "1"}
    assert named(chosen(small, **cells)) == "BOX-4 CARD DISK-4T 5/4/1/0"
    found = choose(small, ask(small, **cells, free_slots="1"))
    assert [reason.code for reason in found.refused] == ["usable_tb", "survive", "free_slots"]
    smaller = {**cells, "usable_tb": "7"}
    assert named(chosen(small, **smaller, free_slots="1")) == "BOX-4 BOARD DISK-4T 10/4/1/0"


def test_max_price_is_per_build_and_after_discount(small: PriceList) -> None:
    # 830 less 10 % plus 29.84: 776.84 for one; three of them 2490 - 249 + 89.52 = 2330.52.
    kept = {"usable_tb": "4", "discount_pct": "10", "builds": "3"}
    assert named(chosen(small, **kept, max_price="776.84")) == "BOX-4 BOARD DISK-4T 1/2/1/0"
    assert choose(small, ask(small, **kept, max_price="776.83", level="1")).best is None


def test_what_is_owned_is_not_paid_for(small: PriceList) -> None:
    pins = {"drive": "DISK-4T", "members": "2", "level": "1", "chassis": "BOX-4"}
    ours, theirs = (
        choose(small, ask(small, **pins, owned=owned)).best for owned in ("", "chassis;drive")
    )
    assert ours is not None
    assert theirs is not None
    owned = {piece.part.sku for piece in theirs.build.pieces() if piece.owned}
    assert owned == {"BOX-4", "BOARD", "DISK-4T"}
    # 55 + 2 x 5 + 41 = 106 of services, and freight for nothing but the paper: 16.50
    assert theirs.net == Decimal("122.50")


def test_what_is_owned_is_still_checked_for_fit(small: PriceList) -> None:
    cells = {"usable_tb": "4", "owned": "chassis;drive", "chassis": "BOX-8", "drive": "DISK-4T"}
    found = choose(small, ask(small, **cells))
    assert found.best is None
    assert found.refused[0].code == "bay_width"
