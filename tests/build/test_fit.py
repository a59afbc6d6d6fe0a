"""Does every rule speak when it should, and only then, and does it say what to change."""

from decimal import Decimal

import pytest

from quotelib.build import advice, fit
from quotelib.build.build import Build
from quotelib.build.findings import CODES, Finding
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import AdviceTerms
from tests.build.fit_cases import ADVICE_AND_NOTES, RAID5, STOPS, Case
from tests.build.trade_cases import TRADE
from tests.small_list import build, change, copy, price_list

# These codes need estimates, the place of the card, services, terms or the whole price list: other
# tests give them.
GIVEN_ELSEWHERE = {
    "cannot_grow",
    "cannot_replace",
    "controller_unknown",
    "drive_mismatch",
    "no_import",
    "cable_missing",
    "processors_unknown",
    "tax_missing",
    "last_buy_near",
    "loss_over_limit",
    "only_slot_used",
    "service_elsewhere",
    "speed_capped",
    "supply_high",
}


def ids(case: Case) -> str:
    return f"{case.code}-{case.names.split()[1]}-{case.layout.level}-{case.layout.members}"


def everything(made: Build, **terms: object) -> list[Finding]:
    said = AdviceTerms.model_validate(terms)
    return [*fit.stops(made), *advice.advice(made, said), *advice.notes(made, said)]


@pytest.mark.parametrize("case", STOPS, ids=ids)
def test_a_build_that_cannot_be_built_says_why_alone(case: Case) -> None:
    (found,) = fit.stops(case.build)
    assert (found.code, found.severity) == (case.code, "stop")
    for words in case.words:
        assert words in found.words


@pytest.mark.parametrize("case", [*ADVICE_AND_NOTES, *TRADE], ids=ids)
def test_advice_and_notes(case: Case) -> None:
    made = case.build
    assert fit.stops(made) == []
    (found,) = [f for f in everything(made, **case.terms) if f.code == case.code]
    assert found.severity == CODES[case.code]
    for words in case.words:
        assert words in found.words


def test_every_code_is_reached() -> None:
    reached = {case.code for case in (*STOPS, *ADVICE_AND_NOTES, *TRADE)}
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
    assert list(fit.power(made)) == []


@pytest.mark.parametrize(
    ("changed", "layout", "names"),
    [
        ({"CARD": {"ports": 8}}, Layout("6", 12), "BOX-12 CARD DISK-8T"),  # not known which
        ({"CARD": {"ports": 8}, "BOX-12": {"backplane": "expander"}}, Layout("6", 12),
         "BOX-12 CARD DISK-8T"),
        ({"BOX-12": {"backplane": "direct"}}, Layout("6", 12), "BOX-12 CARD DISK-8T"),
        ({"CARD": {"ports": 12}, "BOX-12": {"backplane": "direct"}}, Layout("6", 12),
         "BOX-12 CARD DISK-8T"),
        ({"THROUGH": {"ports": 10}, "BOX-NV": {"backplane": "direct"}, "FLASH-NV": {"lanes": 2}},
         Layout("none", 5), "BOX-NV THROUGH FLASH-NV"),
    ],
)  # fmt: skip
def test_ports_that_suffice(
    changed: dict[str, dict[str, object]], layout: Layout, names: str
) -> None:
    tables = copy()
    for sku, cells in changed.items():
        change(tables, sku, **cells)
    assert fit.stops(build(price_list(tables), names, layout)) == []


@pytest.mark.parametrize(
    ("names", "layout", "terms"),
    [
        ("BOX-12 CARD DISK-8T", Layout("6", 9), {"wide_group_members": 8}),
        ("BOX-12 CARD DISK-8T", Layout("6", 9), {"wide_group_tb": 1}),
        ("BOX-12 CARD DISK-8T", Layout("6", 9), {"wide_group_members": 9, "wide_group_tb": 8}),
        ("BOX-12 CARD DISK-8T", Layout("6", 9), {"wide_group_members": 8, "wide_group_tb": "8.1"}),
        ("BOX-12 CARD DISK-8T", Layout("60", 10, 2), {"wide_group_members": 5, "wide_group_tb": 8}),
        ("BOX-12 CARD DISK-8T", Layout("10", 10), {"wide_group_members": 5, "wide_group_tb": 8}),
        ("BOX-8 MEZZ FLASH-1T", Layout("5", 8), {"wide_group_members": 5, "wide_group_tb": "0.5"}),
        ("BOX-12 CARD DISK-8T", Layout("5", 3), {"chipset_parity": True}),
        ("BOX-4 BOARD DISK-4T", Layout("10", 4), {"chipset_parity": True}),
    ],
)
def test_advice_by_the_terms_stays_silent(
    small: PriceList, names: str, layout: Layout, terms: dict[str, object]
) -> None:
    found = {f.code for f in everything(build(small, names, layout), **terms)}
    assert found.isdisjoint({"wide_group", "chipset_parity"})


def test_a_protection_module_protects_the_cache() -> None:
    tables = copy()
    change(tables, "MODULE", needed_by="BARE")
    made = build(price_list(tables), "BOX-12 BARE DISK-8T", RAID5)
    assert list(advice.cache_unprotected(made)) == []


def test_no_module_comes_with_a_controller_the_customer_owns() -> None:
    tables = copy()
    change(tables, "MODULE", needed_by="BARE")
    made = build(price_list(tables), "BOX-12 BARE DISK-8T", RAID5, owned="controller")
    assert [f.code for f in advice.cache_unprotected(made)] == ["cache_unprotected"]


@pytest.mark.parametrize(("mass_g", "shown"), [(22_940, None), (23_000, None), (23_001, "23.1")])
def test_heavy_starts_above_the_constant(mass_g: int, shown: str | None) -> None:
    # Load constant 23 kg, NIOSH revised lifting equation (Waters et al. 1993). Status: memory.
    tables = copy()
    change(tables, "BOX-4", mass_g=mass_g - 2 * 800)  # two drives of 700 g in carriers of 100 g
    made = build(price_list(tables), "BOX-4 BOARD DISK-4T", Layout("1", 2))
    assert made.mass_g() == mass_g
    found = list(advice.heavy(made))
    assert len(found) == (shown is not None)
    assert all(f"weighs {shown} kg" in f.words for f in found)


def test_severities() -> None:
    stops = "level_not_offered member_count bays_full bay_width bay_interface drive_link"
    stops += " too_many_drives no_socket no_slot board_elsewhere power option_elsewhere"
    stops += " service_elsewhere"
    stops += " ports_short sockets_full memory_full supplies_full"
    stops += " no_import cannot_grow cannot_replace drive_mismatch"
    advise = "no_redundancy loss_over_limit cache_unprotected erases_data memory_uneven"
    advise += " wide_group chipset_parity controller_unknown expander_shared"
    notes = "only_slot_used speed_capped heavy sata_on_sas not_a_backup places_unknown supply_high"
    notes += " tax_missing last_buy_near chipset_driver length_unknown processors_unknown"
    notes += " cable_missing cable_few backplane_split chipset_expander sas_slower spans_many"
    notes += " start_4096 start_size spin_up spare_reach sectors_mixed"
    expected = {
        **dict.fromkeys(stops.split(), "stop"),
        **dict.fromkeys(advise.split(), "advise"),
        **dict.fromkeys(notes.split(), "note"),
    }
    assert expected == CODES
