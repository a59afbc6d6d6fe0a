"""When do the rules of the trade stay silent, and what do cables and processors come to."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.build import advice, fit
from quotelib.build.build import Build
from quotelib.build.cabling import cable_few, cable_missing
from quotelib.build.layout import Layout
from quotelib.build.members import mixed_sectors, unfit
from quotelib.build.placement import place
from quotelib.build.start import MBR_BLOCKS, STARTING_HIGH, start_array, starting_w
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import AdviceTerms
from tests.build.fit_cases import RAID5, Case
from tests.build.trade_cases import MIRROR, SPARED, TRADE, TWO
from tests.small_list import OPTIONS, TABLES, Tables, build, change, copy, price_list

OURS = {case.code for case in TRADE}
DIRECT = {"BOX-12": {"backplane": "direct"}}
SPLIT = {"BOX-12": {"backplane": "expander"}}


@pytest.mark.parametrize(
    ("code", "case"),
    [
        # Something else to start from: a boot option, an array that is small enough.
        ("start_4096", Case("", "BOX-12 CARD DISK-8T", RAID5, (), options="BOOT")),
        ("start_4096", Case("", "BOX-12 CARD DISK-8T MEZZ FLASH-1T", RAID5, (), more=(MIRROR,))),
        ("start_4096", Case("", "BOX-4 BOARD DISK-4T", MIRROR, ())),
        ("start_size", Case("", "BOX-4 BOARD DISK-4T", MIRROR, (), options="BOOT")),
        ("start_size", Case("", "BOX-12 CARD DISK-4T MEZZ FLASH-1T", RAID5, (), more=(MIRROR,))),
        ("start_size", Case("", "BOX-8 MEZZ FLASH-1T", Layout("5", 3), ())),
        # 4096-byte blocks have a note of their own, and need UEFI at any size.
        ("start_size", Case("", "BOX-12 CARD DISK-8T", RAID5, ())),
        # Drives passed through are each a volume.
        ("start_size", Case("", "BOX-8 THROUGH FLASH-1T", Layout("none", 4), (),
                            {"THROUGH": {"mounting": "mezzanine", "brackets": ""},
                             "BOX-8": {"mezzanine_sockets": "1"}})),
        # Just carried; flash does not turn.
        ("spin_up", Case("", "BOX-12 CARD DISK-8T", Layout("5", 12), (),
                         {"BOX-12": {"supply_w": "547"}})),
        ("spin_up", Case("", "BOX-8 MEZZ FLASH-1T", Layout("5", 8), (),
                         {"BOX-8": {"supply_w": "186"}})),
        ("sas_slower", Case("", "BOX-12 CARD DISK-8T", RAID5, (),
                            {"DISK-8T": {"link_gbit_s": "12"}})),
        ("sas_slower", Case("", "BOX-12 CARD DISK-8T", RAID5, ())),
        # 24 is the trade's name for 22.5.
        ("sas_slower", Case("", "BOX-12 CARD DISK-8T", RAID5, (),
                            {"DISK-8T": {"link_gbit_s": "24"}, "CARD": {"sas_gbit_s": "22.5"}})),
        ("spans_many", Case("", "BOX-12 CARD DISK-8T", Layout("50", 24, 8), (),
                            {"BOX-12": {"bays": "24"}})),
        ("chipset_expander", Case("", "BOX-4 BOARD DISK-4T", MIRROR, ())),
        ("chipset_expander", Case("", "BOX-12 CARD DISK-8T", RAID5, (), SPLIT)),
        ("expander_shared", Case("", TWO, RAID5, (), DIRECT, more=(RAID5,),
                                 terms={"shared_expander": True})),
        ("expander_shared", Case("", TWO, RAID5, (), more=(RAID5,),
                                 terms={"shared_expander": True})),
        ("expander_shared", Case("", "BOX-12 CARD DISK-8T CARD DISK-4T", RAID5, (), SPLIT,
                                 more=(MIRROR,), terms={"shared_expander": True})),
        ("backplane_split", Case("", "BOX-12 CARD DISK-8T CARD DISK-4T", RAID5, (),
                                 more=(MIRROR,))),
        # 8 and 3 drives are two sets of 8, and two controllers take two.
        ("cable_few", Case("", "BOX-12 MEZZ DISK-8T CARD DISK-8T", Layout("5", 8), (),
                           {"CABLE": {"per": "8"}}, more=(RAID5,))),
        ("cable_few", Case("", "BOX-12 CARD DISK-8T", Layout("5", 12), (),
                           {"CABLE": {"per": "8"}})),
        ("cable_few", Case("", TWO, RAID5, (), owned="controller", more=(RAID5,))),
        # The board's own come with the chassis.
        ("cable_few", Case("", "BOX-12 BOARD DISK-4T CARD DISK-8T", MIRROR, (),
                           {"BOX-12": {"board_controller": "BOARD"},
                            "CABLE": {"needed_by": "BOARD;CARD"}}, more=(RAID5,))),
        # As long as its lanes, in a slot of as many lanes, or where both are given.
        ("length_unknown", Case("", "BOX-4 CARD DISK-4T", MIRROR, ())),
        ("length_unknown", Case("", "BOX-4 CARD DISK-4T", MIRROR, (),
                                {"CARD": {"connector_lanes": "8"}})),
        ("length_unknown", Case("", "BOX-4 CARD DISK-4T", MIRROR, (),
                                {"CARD": {"host_lanes": "", "connector_lanes": "4"}})),
        # A spare each; an array that outlives no drive has no use for one; one array.
        ("spare_reach", Case("", "BOX-12 CARD DISK-8T CARD DISK-4T", SPARED, (),
                             more=(Layout("1", 2, spares=1),))),
        ("spare_reach", Case("", "BOX-12 CARD DISK-8T CARD DISK-4T", SPARED, (),
                             more=(Layout("0", 2),))),
        ("spare_reach", Case("", "BOX-12 CARD DISK-8T", SPARED, ())),
        # Nobody said what the blocks are inside.
        ("sectors_mixed", Case("", "BOX-12 CARD DISK-4T CARD DISK-4T", SPARED, (),
                               {"DISK-4T": {"physical_block_bytes": "4096"}}, more=(MIRROR,))),
    ],
    ids=lambda value: value if isinstance(value, str) else value.names,
)  # fmt: skip
def test_silent(code: str, case: Case) -> None:
    assert code in OURS
    made = case.build
    assert not [f for f in fit.stops(made) if f.code not in {"no_slot", "no_socket"}]
    said = AdviceTerms.model_validate(case.terms)
    assert code not in {f.code for f in (*advice.advice(made, said), *advice.notes(made, said))}


def test_two_controllers_on_an_expander_are_noted_where_the_terms_do_not_advise() -> None:
    made = Case("", TWO, RAID5, (), SPLIT, more=(RAID5,)).build
    assert advice.advice(made, AdviceTerms()) == []
    (note,) = [f for f in advice.notes(made, AdviceTerms()) if f.code == "backplane_split"]
    assert "would share the expander backplane of BOX-12" in note.what
    assert note.change.endswith("or see that its expander can be zoned")


def test_arrays_that_are_there_already_start_as_before() -> None:
    made = Case("", "BOX-12 CARD DISK-8T", RAID5, ()).build
    assert start_array(made) is made.arrays[0]
    kept = replace(made, arrays=(replace(made.arrays[0], action="keep"),))
    assert start_array(kept) is None


def test_a_volume_starts_to_be_too_large_above_two_tebibytes() -> None:
    # 2^32 blocks of 512 bytes: the length of a partition is a number of four bytes.
    assert MBR_BLOCKS * 512 == 2 * 2**40
    codes = {}
    # Two members' worth of data, each of 1,099,511,627,776 bytes at the limit.
    for size in (1099, 1100):
        tables = change(copy(), "FLASH-1T", capacity_gb=str(size))
        made = build(price_list(tables), "BOX-8 MEZZ FLASH-1T", RAID5)
        codes[size] = {f.code for f in advice.notes(made, AdviceTerms())}, made.usable_bytes
    assert codes[1099][1] < 2 * 2**40 < codes[1100][1]
    assert ["start_size" in codes[size][0] for size in codes] == [False, True]


def test_a_start_is_the_draw_of_disks_only() -> None:
    made = Case("", "BOX-12 CARD DISK-8T MEZZ FLASH-1T", RAID5, (), more=(MIRROR,)).build
    assert starting_w(made, STARTING_HIGH) - made.watts == Decimal(2 * 3 * 11)


@pytest.mark.parametrize(
    ("cells", "why"),
    [
        ({}, []),
        ({"capacity_gb": "8010"}, []),
        ({"capacity_gb": "7999"}, ["too small"]),
        ({"media": "ssd"}, ["flash, not a disk"]),
        ({"interface": "sata"}, ["sata, not sas"]),
        ({"block_bytes": "512"}, ["blocks of 512 bytes, not 4096"]),
        ({"block_bytes": "512", "capacity_gb": "4000", "media": "ssd", "interface": "nvme"},
         ["flash, not a disk", "nvme, not sas", "blocks of 512 bytes, not 4096", "too small"]),
    ],
)  # fmt: skip
def test_what_may_stand_in_for_a_member(cells: dict[str, str], why: list[str]) -> None:
    member = price_list().drives["DISK-8T"]
    other = price_list(change(copy(), "DISK-8T", **cells)).drives["DISK-8T"]
    assert list(unfit(other, member)) == why


@pytest.mark.parametrize(("own", "other", "said"), [
    ("512", "4096", 1), ("4096", "512", 1), ("512", "512", 0), ("", "4096", 0), ("512", "", 0),
])  # fmt: skip
def test_physical_blocks(own: str, other: str, said: int) -> None:
    drive, member = (
        price_list(change(copy(), "DISK-4T", physical_block_bytes=size)).drives["DISK-4T"]
        for size in (own, other)
    )
    found = list(mixed_sectors(drive, member))
    assert [f.code for f in found] == ["sectors_mixed"] * said


def cabled(
    cells: dict[str, str], names: str, owned: str = "", backplane: str = "direct"
) -> tuple[Build, PriceList]:
    tables = copy()
    change(tables, "CABLE", **{"with": "", "interfaces": "", **cells})
    tables["accessories.csv"] = [
        {"with": "", "interfaces": "", **row} for row in tables["accessories.csv"]
    ]
    change(tables, names.split()[0], backplane=backplane)
    prices = price_list(tables)
    return build(prices, names, RAID5, owned=owned), prices


@pytest.mark.parametrize(
    ("cells", "owned", "words"),
    [
        ({"with": "BOX-4"}, "", "no cable set of ours takes CARD to sas drives on the "
         "direct backplane of BOX-12; find one before this is ordered, or choose another"),
        ({"interfaces": "sata;nvme"}, "", "takes CARD to sas drives on the direct backplane"),
        ({"with": "BOX-4"}, "chassis", "takes CARD to sas drives"),
        ({}, "controller", "no cable set comes with the customer's own CARD, which has to reach "
         "the direct backplane of BOX-12; see that theirs does, or order CABLE apart"),
        # Theirs, and none of ours would go there either.
        ({"with": "BOX-4"}, "controller", "no cable set of ours takes CARD"),
        ({}, "", ""),
        ({"with": "BOX-12", "interfaces": "sas"}, "", ""),
        ({"with": "DISK-8T"}, "", ""),
        ({}, "chassis controller", ""),  # cabled already
        ({"needed_by": "MEZZ", "with": "BOX-4"}, "", ""),  # none for this controller: its own?
        ({"needed_by": "MEZZ"}, "", ""),
    ],
)  # fmt: skip
def test_cables_that_do_not_come(cells: dict[str, str], owned: str, words: str) -> None:
    made, prices = cabled(cells, "BOX-12 CARD DISK-8T", owned)
    found = list(cable_missing(made, prices))
    assert [f.code for f in found] == ["cable_missing"] * bool(words)
    assert all(words in f.words for f in found)


def test_the_starter_list_cables_every_controller_to_every_backplane(starter: PriceList) -> None:
    """All drives that bays and ports take, of each interface, in every chassis it goes into."""
    seen = 0
    kinds = {drive.interface: drive for drive in starter.drives.values()}
    for chassis in starter.chassis.values():
        for controller in starter.controllers.values():
            for drive in kinds.values():
                names = f"{chassis.sku} {controller.sku} {drive.sku}"
                one = build(starter, names, Layout("none", 1))
                lanes = drive.lanes if drive.interface == "nvme" else 1
                ports = (controller.ports or 0) // lanes
                most = min(chassis.bays, controller.max_drives)
                if chassis.backplane == "direct":
                    most = min(most, ports)
                full = build(starter, names, Layout("none", most)) if most else one
                # Narrow drives go into wide bays by an adapter, which cables do not care about.
                apart = {found.code for found in fit.asked(fit.PART_RULES, one)} - {"bay_width"}
                if not apart and controller.takes != "board":
                    seen += 1
                    found = [*cable_missing(full, starter), *cable_few(full)]
                    assert found == [], names
                    (cable,) = [a for a in full.accessories if a.kind == "cable"]
                    sets = full.quantity(cable)
                    assert cable.per == "build" or sets * cable.per >= full.drives
    assert seen > 80


def test_a_board_needs_no_cable() -> None:
    made, prices = cabled({"needed_by": "BOARD", "with": "BOX-12"}, "BOX-4 BOARD DISK-4T")
    assert list(cable_missing(made, prices)) == []


def test_a_backplane_of_unknown_kind_is_not_named() -> None:
    made, prices = cabled({"with": "BOX-4"}, "BOX-12 CARD DISK-8T", backplane="")
    (found,) = cable_missing(made, prices)
    assert "takes CARD to sas drives on the bays of BOX-12" in found.what


def test_an_array_of_twelve_on_a_cable_for_eight() -> None:
    # The list counts this set over bought drives, four of the twelve on the controller.
    tables = change(copy(), "CABLE", needed_by="CARD;DISK-8T", per="8")
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", Layout("6", 12))
    partly = replace(made, arrays=(replace(made.arrays[0], their_drives=8),))
    assert list(cable_few(made)) == []
    (found,) = cable_few(partly)
    assert "1 cable set CABLE would come for the 12 drives on CARD, which take 2" in found.what


def in_two_socket(needs: tuple[str, str]) -> Tables:
    """BOX-12 with two full-height slots, and what each needs."""
    tables = copy({**TABLES, "options.csv": OPTIONS})
    for row in tables["slots.csv"]:
        row["needs_processors"] = "1"
        if row["chassis_sku"] == "BOX-12":
            row.update(needs_processors=needs[int(row["slot"]) - 1], height="full", lanes="8")
    return tables


@pytest.mark.parametrize(
    ("needs", "owned", "options", "slot", "words"),
    [
        # Nobody named any: a slot that needs a second one is noted, one that does not is not.
        (("2", "2"), "", "", 1, "slot 1, which works only with 2 processors, and nobody said how "
         "many BOX-12 has; name them among the options"),
        (("1", "2"), "", "", 1, ""),
        (("2", "2"), "", "CPU-8 CPU-8", 1, ""),
        # One bought for a chassis of theirs: what is in it already nobody said.
        (("2", "2"), "chassis", "CPU-8", 1, "nobody said how many the customer's BOX-12 has; ask"),
        (("2", "2"), "chassis", "", 1, "the customer's BOX-12"),
        # A slot that surely works is taken first.
        (("2", "1"), "chassis", "CPU-8", 2, ""),
        (("2", "2"), "chassis", "CPU-8 CPU-8", 1, ""),
    ],
)  # fmt: skip
def test_processors_that_nobody_named(
    needs: tuple[str, str], owned: str, options: str, slot: int, words: str
) -> None:
    names = "BOX-12 CARD DISK-8T"
    made = build(price_list(in_two_socket(needs)), names, RAID5, owned=owned, options=options)
    assert fit.stops(made) == []
    assert place(made).seats[0].number == slot
    found = [f for f in advice.notes(made, AdviceTerms()) if f.code == "processors_unknown"]
    assert len(found) == bool(words)
    assert all(words in f.words for f in found)


def test_a_slot_without_its_processor_stops_a_chassis_of_ours() -> None:
    prices = price_list(in_two_socket(("2", "2")))
    (found,) = fit.stops(build(prices, "BOX-12 CARD DISK-8T", RAID5, options="CPU-8"))
    assert found.code == "no_slot"
    assert "slot 1 needs 2 processors and slot 2 needs 2 processors" in found.what


@pytest.mark.parametrize(
    ("card", "slot", "fits"),
    [
        # By what its connector takes, not by what is wired: contract 2, "Places".
        ({"host_lanes": "8", "connector_lanes": "16"}, {"lanes": "8", "connector_lanes": "8"}, 0),
        ({"host_lanes": "8", "connector_lanes": "16"}, {"lanes": "4", "connector_lanes": "16"}, 1),
        ({"host_lanes": "16", "connector_lanes": "16"}, {"lanes": "8", "connector_lanes": "16"}, 1),
        ({"host_lanes": "16", "connector_lanes": "16"}, {"lanes": "8", "connector_lanes": "8"}, 0),
        ({"host_lanes": "16", "connector_lanes": "8"}, {"lanes": "8", "connector_lanes": "8"}, 1),
    ],
)
def test_a_card_goes_by_its_connector(
    card: dict[str, str], slot: dict[str, str], fits: int
) -> None:
    tables = change(copy(), "CARD", **card)
    for row in tables["slots.csv"]:
        row.update(slot if row["chassis_sku"] == "BOX-4" else {"connector_lanes": ""})
    made = build(price_list(tables), "BOX-4 CARD DISK-4T", MIRROR)
    assert [f.code for f in fit.stops(made)] == ["no_slot"] * (not fits)
