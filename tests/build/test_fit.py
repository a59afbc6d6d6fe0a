"""Does every rule speak when it should, and only then, and does it say what to change."""

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal

import pytest

from quotelib.build import fit
from quotelib.build.build import Build, Layout
from quotelib.build.fit import CODES, Finding
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from tests.small_list import Tables, build, change, copy, price_list

RAID5 = Layout("5", 3)

# These codes need the estimates or the place of the card, so other rooms give them.
GIVEN_ELSEWHERE = {"loss_over_limit", "only_slot_used", "speed_capped"}


@dataclass(frozen=True)
class Case:
    """One build and the one finding it has to have.

    Parameters
    ----------
    code : str
    names : str
        Chassis, controller and drive.
    layout : Layout
    words : tuple of str
        What the message has to say: the skus or figures involved, and what to change.
    changed : dict
        Cells by sku that differ from the small list.
    owned : str
    """

    code: str
    names: str
    layout: Layout
    words: tuple[str, ...]
    changed: dict[str, dict[str, object]] = field(default_factory=dict)
    owned: str = ""

    @property
    def build(self) -> Build:
        tables: Tables = copy()
        for sku, cells in self.changed.items():
            change(tables, sku, **cells)
        return build(price_list(tables), self.names, self.layout, self.owned)


STOPS = [
    Case(
        "level_not_offered",
        "BOX-12 MEZZ DISK-8T",
        Layout("6", 4),
        ("MEZZ offers RAID 0, 1, 5, 10 or 50, not RAID 6", "choose another level"),
    ),
    Case(
        "level_not_offered",
        "BOX-12 THROUGH DISK-8T",
        RAID5,
        ("THROUGH makes no array, not RAID 5", "another controller"),
    ),
    Case(
        "level_not_offered",
        "BOX-12 CARD DISK-8T",
        Layout("none", 3),
        ("CARD is an array controller", "choose a pass_through or chipset controller"),
    ),
    Case(
        "member_count",
        "BOX-12 CARD DISK-8T",
        Layout("50", 5, 2),
        ("RAID 50 takes two or more equal spans of three", "use 6 members", "or choose RAID 0"),
    ),
    Case(
        "member_count",
        "BOX-12 CARD DISK-8T",
        Layout("5", 9, 3),
        ("RAID 5 takes 3 or more members in one span", "use 1 span", "or choose RAID 50 for 9"),
    ),
    Case(
        "member_count",
        "BOX-12 CARD DISK-8T",
        Layout("50", 9, 2),
        ("not 9 members in 2 spans", "use 3 spans or 10 members, or choose RAID 0"),
    ),
    Case(
        "member_count",
        "BOX-4 BOARD DISK-4T",
        Layout("1", 3),
        ("RAID 1 takes exactly 2 members", "not 3 members", "use 2 members", "or choose RAID 0"),
    ),
    Case(
        "member_count",
        "BOX-4 BOARD DISK-4T",
        Layout("0", 1),
        ("RAID 0 takes 2 or more members, not 1 member; use 2 members",),
    ),
    Case(
        "bays_full",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12, spares=1),
        ("13 drives (1 of them spares)", "the 12 bays of BOX-12", "choose a larger chassis"),
    ),
    Case(
        "bay_width",
        "BOX-8 MEZZ DISK-4T",
        RAID5,
        ("DISK-4T is 3.5 inches wide", "BOX-8 are 2.5", "choose a 2.5-inch drive"),
        {"BOX-8": {"mezzanine_sockets": 1}},
    ),
    Case(
        "bay_width",
        "BOX-12 CARD FLASH-1T",
        RAID5,
        ("FLASH-1T is 2.5 inches wide", "no adapter is sold", "choose a 3.5-inch drive"),
        {"ADAPTER": {"needed_by": "BOX-12"}},
    ),
    Case(
        "bay_interface",
        "BOX-12 CARD FLASH-NV",
        RAID5,
        ("bays of BOX-12 take sata or sas", "FLASH-NV is nvme", "chassis with nvme bays"),
        {"ADAPTER": {"needed_by": "FLASH-NV"}, "CARD": {"nvme_gen": 4}},
    ),
    Case(
        "drive_link",
        "BOX-4 BOARD DISK-8T",
        Layout("1", 2),
        ("BOARD has no sas link", "DISK-8T", "choose a drive with sata"),
        {"BOX-4": {"bay_interfaces": "sata;sas"}},
    ),
    Case(
        "too_many_drives",
        "BOX-12 MEZZ DISK-8T",
        Layout("5", 9),
        ("MEZZ runs at most 8 drives, not 9", "choose a larger controller"),
    ),
    Case(
        "no_socket",
        "BOX-4 MEZZ DISK-4T",
        RAID5,
        ("MEZZ needs a mezzanine socket and BOX-4 has none", "choose a card version"),
    ),
    Case(
        "no_slot",
        "BOX-4 BARE DISK-4T",
        RAID5,
        ("BARE", "full-height bracket", "BOX-4 has only low-height slots", "choose a chassis"),
        {"BARE": {"cache_mib": 0}},
    ),
    Case(
        "no_slot",
        "BOX-8 CARD FLASH-1T",
        RAID5,
        ("CARD", "BOX-8 has no slot", "mezzanine version"),
    ),
    Case(
        "board_elsewhere",
        "BOX-12 BOARD DISK-4T",
        Layout("1", 2),
        ("BOARD is part of another chassis' board, not of BOX-12", "choose a mezzanine or card"),
    ),
    Case(
        "board_elsewhere",
        "BOX-4 MEZZ DISK-4T",
        Layout("1", 2),
        ("MEZZ is part of another chassis' board", "use BOARD, which is on its board"),
        {"MEZZ": {"mounting": "board"}},
    ),
    Case(
        "power",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12),
        # 200 + 12 x 11 + 15 + 2 (cache protection module)
        ("draws 349 W", "BOX-12 gives 348.9 W", "choose fewer or more frugal drives"),
        {"BOX-12": {"supply_w": "348.9"}},
    ),
]

ADVICE_AND_NOTES = [
    Case(
        "no_redundancy",
        "BOX-4 BOARD DISK-4T",
        Layout("0", 2),
        ("an array without redundancy", "choose RAID 1, 5, 6 or 10", "or accept the risk"),
    ),
    Case(
        "no_redundancy",
        "BOX-4 BOARD DISK-4T",
        Layout("none", 2),
        ("no array", "choose RAID 1, 5, 6 or 10"),
    ),
    Case(
        "cache_unprotected",
        "BOX-12 BARE DISK-8T",
        RAID5,
        ("write-back cache of BARE has no protection", "choose a controller with battery or flash"),
    ),
    Case(
        "heavy",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12),
        # 16000 + 180 + 12 x 720 + 200 + 120 + 12 x 100 = 26,340 g, shown rounded up
        ("weighs 26.4 kg", "23 kg", "lift it with two people"),
    ),
    Case(
        "sata_on_sas",
        "BOX-12 CARD DISK-4T",
        RAID5,
        ("run at the SATA rate (6 Gbit/s) on CARD", "SAS rate (12 Gbit/s)"),
    ),
    Case(
        "not_a_backup",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("An array is not a backup", "Keep copies elsewhere"),
    ),
    Case(
        "not_a_backup",
        "BOX-4 BOARD DISK-4T",
        Layout("none", 1),
        ("A set of drives is not a backup",),
    ),
]


def ids(case: Case) -> str:
    return f"{case.code}-{case.names.split()[1]}-{case.layout.level}-{case.layout.members}"


def everything(made: Build) -> list[Finding]:
    return [*fit.stops(made), *fit.advice(made), *fit.notes(made)]


@pytest.mark.parametrize("case", STOPS, ids=ids)
def test_a_build_that_cannot_be_built_says_why_alone(case: Case) -> None:
    (found,) = fit.stops(case.build)
    assert (found.code, found.severity) == (case.code, "stop")
    for words in case.words:
        assert words in found.message


@pytest.mark.parametrize("case", ADVICE_AND_NOTES, ids=ids)
def test_advice_and_notes(case: Case) -> None:
    made = case.build
    assert fit.stops(made) == []
    (found,) = [f for f in everything(made) if f.code == case.code]
    assert found.severity == CODES[case.code]
    for words in case.words:
        assert words in found.message


def test_every_code_is_reached() -> None:
    reached = {case.code for case in (*STOPS, *ADVICE_AND_NOTES)}
    assert reached == set(CODES) - GIVEN_ELSEWHERE


@pytest.mark.parametrize(
    ("names", "layout"),
    [
        ("BOX-4 BOARD DISK-4T", Layout("1", 2)),
        ("BOX-12 CARD DISK-8T", Layout("6", 5, spares=1)),
        ("BOX-12 MEZZ DISK-8T", Layout("50", 6, 2)),
        ("BOX-12 THROUGH DISK-8T", Layout("none", 4)),
        ("BOX-4 CARD FLASH-1T", Layout("10", 4)),  # small drives, large bays, with an adapter
        ("BOX-8 MEZZ FLASH-1T", Layout("5", 8)),  # every bay full
        ("BOX-NV THROUGH FLASH-NV", Layout("none", 8)),
        ("BOX-4 BOARD DISK-4T", Layout("none", 1)),
    ],
)
def test_sound_builds_have_no_stop(small: PriceList, names: str, layout: Layout) -> None:
    assert fit.stops(build(small, names, layout)) == []


def test_all_stops_are_told_together(small: PriceList) -> None:
    # A wide drive for narrow bays, sas on a sata board of another chassis, too many of them.
    found = {f.code for f in fit.stops(build(small, "BOX-8 BOARD DISK-8T", Layout("5", 9)))}
    assert found == {
        "bay_width",
        "drive_link",
        "board_elsewhere",
        "level_not_offered",
        "bays_full",
        "too_many_drives",
    }


@pytest.mark.parametrize(
    ("names", "layout", "supply"),
    [
        ("BOX-12 CARD DISK-8T", Layout("5", 12), "349"),  # 200 + 132 + 15 + 2
        ("BOX-4 BOARD DISK-4T", Layout("1", 2, spares=1), "130"),  # spares draw power too
    ],
)
def test_a_supply_that_just_suffices(names: str, layout: Layout, supply: str) -> None:
    tables = copy()
    change(tables, names.split()[0], supply_w=supply)
    made = build(price_list(tables), names, layout)
    assert made.watts == Decimal(supply)
    assert fit.power(made) is None


def test_a_protection_module_protects_the_cache() -> None:
    tables = copy()
    change(tables, "MODULE", needed_by="BARE")
    made = build(price_list(tables), "BOX-12 BARE DISK-8T", RAID5)
    assert fit.cache_unprotected(made) is None


def test_no_module_comes_with_a_controller_the_customer_owns() -> None:
    tables = copy()
    change(tables, "MODULE", needed_by="BARE")
    made = build(price_list(tables), "BOX-12 BARE DISK-8T", RAID5, owned="controller")
    assert fit.cache_unprotected(made) is not None


@pytest.mark.parametrize(("mass_g", "shown"), [(22_940, None), (23_000, None), (23_001, "23.1")])
def test_heavy_starts_above_the_constant(mass_g: int, shown: str | None) -> None:
    # Load constant 23 kg, NIOSH revised lifting equation (Waters et al. 1993). Status: memory.
    tables = copy()
    change(tables, "BOX-4", mass_g=mass_g - 2 * 800)  # two drives of 700 g in carriers of 100 g
    made = build(price_list(tables), "BOX-4 BOARD DISK-4T", Layout("1", 2))
    assert made.mass_g() == mass_g
    found = fit.heavy(made)
    assert (found is None) == (shown is None)
    if found is not None:
        assert f"weighs {shown} kg" in found.message


@pytest.mark.parametrize("level", [name for name in LEVELS if name != "none"])
@pytest.mark.parametrize("spans", [1, 2, 3])
@pytest.mark.parametrize("members", range(1, 14))
def test_the_members_it_proposes_can_be_used(level: str, members: int, spans: int) -> None:
    nearest = fit.nearest_members(level, members, spans)
    rule = LEVELS[level]
    assert rule.spans_for(nearest)
    if rule.spanned and spans > 1:
        assert rule.takes(nearest, spans)
    # upwards first, and nothing nearer in that direction
    between = range(members, nearest) if nearest >= members else range(members, members)
    fits: Callable[[int], bool] = (
        (lambda n: rule.takes(n, spans))
        if rule.spanned and spans > 1
        else (lambda n: bool(rule.spans_for(n)))
    )
    assert not any(fits(n) for n in between)


def test_severities() -> None:
    stops = "level_not_offered member_count bays_full bay_width bay_interface drive_link"
    stops += " too_many_drives no_socket no_slot board_elsewhere power"
    advise = "no_redundancy loss_over_limit cache_unprotected"
    notes = "only_slot_used speed_capped heavy sata_on_sas not_a_backup"
    expected = {
        **dict.fromkeys(stops.split(), "stop"),
        **dict.fromkeys(advise.split(), "advise"),
        **dict.fromkeys(notes.split(), "note"),
    }
    assert expected == CODES
