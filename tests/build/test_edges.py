"""Where words and choices turn: one drive or several, just enough and one too many."""

import datetime as dt
from dataclasses import replace

import pytest

from quotelib.build import advice, fit, seats
from quotelib.build.layout import Array, Layout
from quotelib.build.placement import place
from quotelib.build.slots import assign, free_slots, host_link_mb_s, left_words
from quotelib.build.speed import behind_mb_s, speed
from quotelib.build.start import start_array
from quotelib.catalogue.parts import Card, Slot
from quotelib.catalogue.terms import AdviceTerms
from quotelib.estimate.performance.links import pcie_link_mb_s
from tests.small_list import OPTIONS, TABLES, build, change, copy, price_list, server, table

RAID5 = Layout("5", 3)


def slot(number: int, gen: int, lanes: int, height: str = "low") -> Slot:
    facts = {"chassis_sku": "CHS", "slot": number, "gen": gen, "lanes": lanes, "height": height}
    return Slot.model_validate(facts)


@pytest.mark.parametrize(
    ("layout", "words"),
    [
        (Layout("5", 3), "RAID 5 over 3 drives"),
        (Layout("5", 3, spares=1), "RAID 5 over 3 drives, 1 hot spare"),
        (Layout("50", 6, 2, spares=2), "RAID 50 over 6 drives in 2 spans of 3, 2 hot spares"),
        (Layout("none", 1), "1 drive passed through"),
        (Layout("none", 2), "2 drives passed through"),
    ],
)
def test_a_layout_in_words(layout: Layout, words: str) -> None:
    assert layout.words == words


def test_a_lead_time_is_of_what_stock_does_not_cover() -> None:
    made = build(price_list(), "BOX-4 BOARD DISK-4T", Layout("1", 2))
    # In stock: 3 chassis (5 days), 10 disks (3 days), 50 carriers (3 days).
    assert [made.lead_days(n) for n in (1, 3, 4, 5, 6)] == [0, 0, 5, 5, 5]
    slow = price_list(change(copy(), "DISK-4T", lead_days="30"))
    made = build(slow, "BOX-4 BOARD DISK-4T", Layout("1", 2))
    assert [made.lead_days(n) for n in (5, 6)] == [5, 30]


def test_other_layouts_bring_the_accessories_of_what_is_bought_then() -> None:
    """The customer has three of the first array's drives and none of the second's."""
    tables = copy()
    tables["accessories.csv"] += table(
        "sku description kind needed_by per watts mass_g unit_cost unit_price lead_days stock",
        "SCREWS Screws carrier DISK-8T drive 0 1 1 2 3 4",
    )
    four, two = Layout("5", 4), Layout("1", 2)
    made = build(price_list(tables), "BOX-12 CARD DISK-8T CARD DISK-4T", four, two)
    first, second = made.arrays
    made = replace(made, arrays=(replace(first, their_drives=3), second))
    assert "SCREWS" in {a.sku for a in made.with_layouts(four, two).accessories}
    assert "SCREWS" not in {a.sku for a in made.with_layouts(RAID5, two).accessories}


def test_the_only_drive_that_was_bought_brings_nothing_where_it_goes() -> None:
    tables = copy()
    tables["accessories.csv"] += table(
        "sku description kind needed_by per watts mass_g unit_cost unit_price lead_days stock",
        "SCREWS Screws carrier DISK-8T drive 0 1 1 2 3 4",
    )
    made = build(price_list(tables), "BOX-12 THROUGH DISK-8T", Layout("none", 2))
    made = replace(made, arrays=(replace(made.arrays[0], their_drives=1),))
    assert "SCREWS" in {a.sku for a in made.with_layouts(Layout("none", 2)).accessories}
    assert "SCREWS" not in {a.sku for a in made.with_layouts(Layout("none", 1)).accessories}


def test_other_layouts_are_as_many_as_there_are_arrays() -> None:
    made = build(price_list(), "BOX-4 BOARD DISK-4T", Layout("1", 2))
    for wrong in ((), (Layout("1", 2), Layout("1", 2))):
        with pytest.raises(ValueError, match="argument 2"):
            made.with_layouts(*wrong)


def test_a_new_array_is_of_bought_drives() -> None:
    made = build(price_list(), "BOX-4 BOARD DISK-4T", Layout("1", 2))
    (array,) = made.arrays
    plain = Array(array.drive, array.controller, array.layout)
    assert (plain.their_drives, plain.bought_drives, plain.action) == (0, 2, "new")


def test_cores_and_memory_add_up() -> None:
    prices = price_list(copy({**TABLES, "options.csv": OPTIONS}))
    options = "CPU-8 CPU-8 MEM-16 MEM-16 MEM-16"
    made = build(prices, "BOX-12 CARD DISK-8T", RAID5, options=options)
    assert (made.total("cores"), made.total("memory_gb")) == (16, 48)


def test_links_in_words() -> None:
    (card,) = place(build(price_list(), "BOX-12 CARD DISK-8T", RAID5)).seats
    assert card.link_words == "PCI Express generation 3, 8 lanes"
    (board,) = place(build(price_list(), "BOX-4 BOARD DISK-4T", Layout("1", 2))).seats
    assert (board.gen, board.link_words) == (3, "")
    blank = price_list(change(copy(), "CARD", host_lanes=""))
    (unknown,) = place(build(blank, "BOX-12 CARD DISK-8T", RAID5)).seats
    assert unknown.link_words == ""


def test_several_spans_of_a_level_without_them() -> None:
    made = build(price_list(), "BOX-12 CARD DISK-8T", Layout("5", 6, 2))
    (found,) = (f for f in fit.stops(made) if f.code == "member_count")
    assert "in one span, not 6 members in 2 spans" in found.what
    # What takes six members in two spans, and not what takes six of them in any.
    assert found.change.endswith("or choose RAID 50 for 6 members")


@pytest.mark.parametrize(
    ("layout", "what", "change"),
    [
        (Layout("5", 2), ", not 2 members", "use 3 members, or choose RAID 0 or RAID 1 for 2"),
        (Layout("50", 6, 1), "not 6 members in 1 span", "use 2 spans"),
    ],
)
def test_members_that_make_no_array(layout: Layout, what: str, change: str) -> None:
    (found,) = (
        f
        for f in fit.stops(build(price_list(), "BOX-12 CARD DISK-8T", layout))
        if f.code == "member_count"
    )
    assert what in found.what
    assert change in found.change


def test_a_controllers_own_array_needs_no_driver() -> None:
    for names, layout, driver in (
        ("BOX-12 CARD DISK-8T", RAID5, False),
        ("BOX-4 BOARD DISK-4T", Layout("1", 2), True),
        ("BOX-4 BOARD DISK-4T", Layout("none", 2), False),
    ):
        found = advice.chipset_driver(build(price_list(), names, layout))
        assert bool(list(found)) is driver, names


def test_lanes_shared_by_two_arrays_go_to_the_faster_drives() -> None:
    """Two lanes of 12 Gbit/s carry 2400 MB/s, of 6 Gbit/s 1200; the drives are rated for 2500."""
    tables = change(change(copy(), "BOX-12", backplane="expander"), "CARD", ports="2")
    names = "BOX-12 CARD DISK-4T CARD DISK-8T"
    made = build(price_list(tables), names, Layout("5", 5), Layout("5", 6))
    assert behind_mb_s(made.arrays, "expander") == 2400
    (card,) = place(made).seats
    assert "carry 2.40 GB/s, less than the 2.50 GB/s of all drives." in card.why
    # As much as they carry, four of 200 MB/s and five of 320, is not held back.
    just = change(copy(tables), "DISK-8T", read_mb_s="320", write_mb_s="320")
    alike = build(price_list(just), names, Layout("5", 4), Layout("5", 5))
    assert "of all drives" not in place(alike).seats[0].why
    few = build(price_list(tables), names, Layout("5", 5), Layout("5", 5))
    assert "of all drives" not in place(few).seats[0].why
    # With lanes of their own drives share nothing, whatever one array's lanes carry.
    assert behind_mb_s(made.arrays, "direct") == 2500
    (first, second) = made.arrays
    blank = replace(second, controller=second.controller.model_copy(update={"ports": None}))
    assert behind_mb_s((first, blank), "expander") == 2500


@pytest.mark.parametrize(("ceiling", "capped"), [(749.9, True), (750.0, False), (751.0, False)])
def test_what_is_just_enough_caps_nothing(ceiling: float, capped: bool) -> None:
    (array,) = build(price_list(), "BOX-12 CARD DISK-8T", RAID5).arrays
    held = array.controller.model_copy(update={"max_mb_s": ceiling})
    found = speed(replace(array, controller=held), "direct", 7877.0)
    assert (found.tightest, found.capped, found.rated_mb_s) == ("controller", capped, 750)


@pytest.mark.parametrize(("sku", "swaps"), [("CARD", True), ("THROUGH", False)])
def test_a_bracket_is_swapped_where_there_are_two(sku: str, swaps: bool) -> None:
    layout = RAID5 if sku == "CARD" else Layout("none", 3)
    (seat,) = place(build(price_list(), f"BOX-12 {sku} DISK-8T", layout)).seats
    assert seat.swap_bracket is swaps


def test_one_drive_gives_and_several_give() -> None:
    prices = price_list()
    (alone,) = place(build(prices, "BOX-12 THROUGH DISK-8T", Layout("none", 1))).seats
    (two,) = place(build(prices, "BOX-12 THROUGH DISK-8T", Layout("none", 2))).seats
    assert ", the drive gives 0.25 GB/s." in alone.why
    assert ", the 2 drives give 0.50 GB/s." in two.why


def test_a_card_that_is_no_controller_is_held_against_its_own_link() -> None:
    tables = copy({**TABLES, "options.csv": OPTIONS})
    change(tables, "BOOT-CARD", connector_lanes="16", gen="5")
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5, options="BOOT-CARD")
    boot = place(made).seat_of("BOOT-CARD")
    # Its own link is of generation 5, that of slot 2 of generation 4.
    assert (boot.number, boot.gen, boot.held_back) == (2, 4, True)
    licence = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5, options="BELL")
    assert [seat.sku for seat in place(licence).seats] == ["CARD"]


def test_the_link_of_each_card_is_that_of_its_own_slot() -> None:
    tables = copy()
    for row in tables["slots.csv"]:
        row["gen"] = "3" if row["slot"] == "1" else "4"
    change(tables, "CARD", host_gen="4")
    change(tables, "THROUGH", host_gen="4")
    wanted = [("THROUGH", "DISK-4T", Layout("none", 2)), ("CARD", "DISK-8T", RAID5)]
    made = server(price_list(tables), "BOX-12", wanted)
    placed = place(made)
    for sku in ("CARD", "THROUGH"):
        seat = placed.seat_of(sku)
        gen = 3 if seat.number == 1 else 4
        part = next(p.part for p in made.parts if p.part.sku == sku)
        assert host_link_mb_s(made, part) == pytest.approx(float(pcie_link_mb_s(4, 8, gen, 8)))
    assert {placed.seat_of(sku).number for sku in ("CARD", "THROUGH")} == {1, 2}


def test_one_lane_counts_more_than_all_generations_of_all_cards() -> None:
    """Two cards: one lane lost against five generations, and a tall slot against 12 lanes."""
    wide = Card(("low", "full"), 6, 16)
    there = (slot(1, 1, 2), slot(2, 6, 1), slot(3, 6, 16))
    found = assign(there, (Card(("low",), 6, 2), wide))
    assert found is not None
    assert [s.slot for s in found] == [1, 3]
    there = (slot(1, 4, 4, "full"), slot(2, 4, 16), slot(3, 6, 16))
    found = assign(there, (Card(("low", "full"), 4, 4), wide))
    assert found is not None
    assert [s.slot for s in found] == [2, 3]


@pytest.mark.parametrize(
    ("card", "there", "expected"),
    [
        # One lane counts more than five generations,
        (Card(("low",), 6, 2), (slot(1, 6, 1), slot(2, 1, 2)), 2),
        # and a tall slot more than fifteen lanes.
        (Card(("low", "full"), 4, 1), (slot(1, 4, 1, "full"), slot(2, 4, 16)), 2),
        (Card(("low", "full"), 4, 1), (slot(1, 4, 16), slot(2, 4, 1)), 2),
    ],
)
def test_one_card_among_slots_at_the_ends(
    card: Card, there: tuple[Slot, ...], expected: int
) -> None:
    found = assign(there, (card,))
    assert found is not None
    assert [s.slot for s in found] == [expected]


def test_a_system_starts_as_before_where_any_array_is_there_already() -> None:
    made = build(price_list(), "BOX-12 CARD DISK-8T CARD DISK-8T", RAID5, RAID5)
    assert start_array(made) is made.arrays[0]
    first, second = made.arrays
    assert start_array(replace(made, arrays=(first, replace(second, action="keep")))) is None


def test_why_the_only_slot_of_its_height() -> None:
    """Three slots, of which a card with a tall bracket finds one: not all others are tall, too."""
    tables = change(copy(), "CARD", brackets="full")
    tables["slots.csv"] += table("chassis_sku slot gen lanes height", "BOX-12 3 4 8 low")
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5)
    assert "is the only full-height slot" in place(made).seats[0].why
    # A second tall one that is too short for it: then height is not what decides.
    change(tables, "CARD", connector_lanes="16")
    for row in tables["slots.csv"]:
        row["connector_lanes"] = {"1": "16", "2": "16"}.get(row["slot"], "8")
        row["height"] = "low" if row["slot"] == "2" else "full"
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5)
    assert "Slot 1 is the only one that takes the card." in place(made).seats[0].why


def test_what_stays_free_in_words() -> None:
    prices = price_list()
    free = place(build(prices, "BOX-12 CARD DISK-8T", RAID5)).free
    assert free.drives_more == len(free.bays) == 9
    assert "bays 4 to 12; " in free.words
    full = place(build(prices, "BOX-4 BOARD DISK-4T", Layout("none", 4))).free
    assert "; no bay; " in full.words
    assert "more of these drives" not in full.words
    tight = place(
        build(price_list(change(copy(), "CARD", max_drives="5")), "BOX-12 CARD DISK-8T", RAID5)
    ).free
    assert "bays 4 to 12 (controller and supply take 2 more of these drives)" in tight.words
    none = place(
        build(price_list(change(copy(), "CARD", max_drives="3")), "BOX-12 CARD DISK-8T", RAID5)
    ).free
    assert "(controller and supply take no more of these drives)" in none.words


@pytest.mark.parametrize(("owned", "said"), [("", True), ("chassis", False)])
def test_bays_of_the_customers_chassis_without_arrays_are_not_counted(
    owned: str, said: bool
) -> None:
    prices = price_list(change(copy(), "CABLE", needed_by="BOX-12"))
    words = place(server(prices, "BOX-12", [], owned)).free.words
    assert ("bays 1 to 12" in words) is said
    assert "more of these drives" not in words
    assert place(server(prices, "BOX-12", [], owned)).free.drives_more == 0


def test_a_volume_of_two_tebibytes_is_not_too_large() -> None:
    # 1103 GB less 3541 MiB are, in whole strips, just half of 2^32 blocks of 512 bytes.
    tables = change(copy(), "FLASH-1T", capacity_gb="1103")
    found = {}
    for reserve in (3541, 3540):
        change(tables, "MEZZ", reserve_mib=str(reserve))
        made = build(price_list(tables), "BOX-8 MEZZ FLASH-1T", RAID5)
        codes = {f.code for f in advice.notes(made, AdviceTerms())}
        found[reserve] = made.usable_bytes - 2 * 2**40, "start_size" in codes
    assert found[3541] == (0, False)
    assert found[3540][0] > 0
    assert found[3540][1]


def test_long_slots_that_stay_free() -> None:
    tables = copy()
    for row in tables["slots.csv"]:
        row["connector_lanes"] = "16" if row["slot"] == "1" else ""
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5)
    assert [s.slot for s in free_slots(made)] == [1]
    assert left_words(made) == "BOX-12; slot 1 is 16 lanes long, 8 of them connected"
    plain = build(price_list(), "BOX-12 CARD DISK-8T", RAID5)
    assert left_words(plain) == "BOX-12"
    for row in tables["slots.csv"]:
        row["lanes"] = "16"
    whole = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5)
    assert [s.slot for s in free_slots(whole)] == [1]
    assert left_words(whole) == "BOX-12"


@pytest.mark.parametrize(("redundant", "codes"), [(False, []), (True, ["power"])])
def test_one_supply_is_none_to_spare_even_for_what_draws_nothing(
    redundant: bool, codes: list[str]
) -> None:
    tables = change(copy(), "BOX-12", base_w="0")
    made = server(price_list(tables), "BOX-12", [], "", "", redundant)
    assert made.watts == 0
    assert [f.code for f in fit.power(made)] == codes


def test_the_last_day_to_buy_a_part() -> None:
    day = dt.date(2026, 5, 4)
    tables = change(copy(), "DISK-8T", last_buy=day.isoformat(), replaced_by="DISK-4T")
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", RAID5)
    (found,) = advice.last_buy_near(made, day)
    assert found.what.startswith("DISK-8T can be bought for the last time on")
    assert found.what.endswith("; DISK-4T takes its place")
    assert list(advice.last_buy_near(made, day - dt.timedelta(1))) == []


@pytest.mark.parametrize(
    ("needed_by", "card", "bare"),
    [("CARD", True, False), ("BOX-12", True, True), ("CARD;BARE", True, True)],
)
def test_whose_cache_a_module_protects(needed_by: str, card: bool, bare: bool) -> None:
    tables = change(copy(), "MODULE", needed_by=needed_by)
    change(tables, "CARD", cache_protection="none")
    change(tables, "BARE", brackets="low;full")
    made = build(price_list(tables), "BOX-12 CARD DISK-8T BARE DISK-8T", RAID5, RAID5)
    first, second = (controller for _, controller in made.controllers())
    assert (made.is_protected(first), made.is_protected(second)) == (card, bare)


@pytest.mark.parametrize(("rate", "held"), [(499.0, True), (500.0, False), (501.0, False)])
def test_a_link_that_is_just_fast_enough_holds_nothing_back(rate: float, held: bool) -> None:
    assert ("it holds them back" in seats._link_words(rate, 500.0, 2)) is held
