"""Every controller against one enquiry, and the common-practice rules."""

from __future__ import annotations

import dataclasses
import json
import time
from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.levels import array_levels
from quotelib.promise.controllers import ControllerComparison, ControllerRow, compare_controllers
from quotelib.promise.part_words import MOUNTING_WORDS
from tests.asking import ask
from tests.choose.one_by_one import try_everything

FIXED = {"drive": "DRV-HDD-1200-SAS-10K", "members": "5", "level": "5"}


def compare(price_list: PriceList, **cells: str) -> ControllerComparison:
    return compare_controllers(price_list, ask(price_list, **cells))


def rows(comparison: ControllerComparison) -> dict[str, ControllerRow]:
    return {row.sku: row for row in comparison.rows}


def test_open_enquiry_agrees_with_the_choice_and_is_quick(starter: PriceList) -> None:
    # Every controller but one has some build of disks as large as that: CTL-PT-TRI-CD is a low
    # card that is 16 lanes long, and no chassis with bays for large disks has such a slot.
    enquiry = ask(starter, usable_tb="60", media="hdd")
    started = time.process_time()
    comparison = compare_controllers(starter, enquiry)
    took = time.process_time() - started
    choice = choose(starter, enquiry)
    started = time.process_time()
    try_everything(starter, enquiry)
    # All of them, each pinned, take less than trying every build once.
    assert took < time.process_time() - started
    # Refurbished ones are compared only where they will do.
    new = {sku for sku, one in starter.controllers.items() if one.condition == "new"}
    assert len(new) < len(starter.controllers)
    assert set(rows(comparison)) == new
    either = rows(compare(starter, usable_tb="60", media="hdd", condition="any"))
    assert set(either) == set(starter.controllers)
    assert choice.best is not None
    assert comparison.chosen == choice.best.build.arrays[0].controller.sku
    assert comparison.rows[0].net == choice.best.net
    # The same lowest net for each controller, out of one enumeration of everything.
    lowest: dict[str, Decimal] = {}
    for candidate in choice.feasible:
        if not candidate.advice:
            sku = candidate.build.arrays[0].controller.sku
            assert candidate.net is not None
            lowest[sku] = min(candidate.net, lowest.get(sku, candidate.net))
    assert lowest
    for sku, net in lowest.items():
        assert rows(comparison)[sku].net == net
    cheapest = min(row.net for row in comparison.rows if row.net is not None)
    assert [row.sku for row in comparison.rows if row.net is None] == ["CTL-PT-TRI-CD"]
    for row in comparison.rows:
        if row.net is not None:
            assert row.net_difference == row.net - cheapest
    assert any("No chassis is given" in said for said in comparison.remarks)


def test_json_and_nothing_lost(starter: PriceList) -> None:
    comparison = compare(starter, chassis="CHS-2U-12L", **FIXED)
    text = comparison.model_dump_json()
    assert ControllerComparison.model_validate_json(text) == comparison
    assert "NaN" not in text
    row = next(r for r in json.loads(text)["rows"] if r["fits"])
    assert isinstance(row["net"], str)
    with pytest.raises(ValueError, match="frozen"):
        comparison.summary = "other"  # type: ignore[misc]


def test_verdicts_are_findings_in_plain_words(starter: PriceList) -> None:
    got = rows(compare(starter, chassis="CHS-1U-10S", **FIXED | {"level": "6"}))
    codes = {sku: {f.code for f in row.findings} for sku, row in got.items() if not row.fits}
    assert codes["CTL-BOARD-6"] == {"board_elsewhere", "drive_link", "level_not_offered"}
    assert codes["CTL-RE-12G-CD"] == {"level_not_offered"}
    assert codes["CTL-RF8-TRI-CD"] == {"no_slot"}
    assert codes["CTL-PT-12G-CD"] == {"level_not_offered"}
    assert "makes no array" in got["CTL-PT-12G-CD"].verdict
    assert got["CTL-RB2-12G-MZ"].verdict == "Fits."
    assert got["CTL-RB2-12G-MZ"].occupies == "mezzanine socket 1; 1 slot stays free"
    assert got["CTL-RB2-12G-CD"].occupies == "slot 1, low-profile bracket; no slot stays free"


def test_links_and_the_tightest_of_them(starter: PriceList) -> None:
    """PCI Express 0.985 and 1.969 GB/s a lane: from memory of the standard, re-derived."""
    got = rows(
        compare(
            starter,
            chassis="CHS-2U-24S",
            drive="DRV-SSD-3840-SAS-RD",
            members="24",
            level="6",
        )
    )
    row = got["CTL-RF8-12G-CD"]
    assert row.link_words == "PCI Express generation 4, 8 lanes"
    assert row.drives_gb_s == pytest.approx(24 * 1.085)
    assert (row.tightest, row.tightest_gb_s, row.capped) == ("controller", 12.4, True)
    bare = starter.controllers["CTL-RF8-12G-CD"].model_copy(update={"max_mb_s": None})
    changed = dataclasses.replace(starter, controllers={bare.sku: bare}, fingerprint="bare")
    (row,) = compare(
        changed, chassis="CHS-2U-24S", drive="DRV-SSD-3840-SAS-RD", members="24", level="6"
    ).rows
    assert row.tightest == "host link"
    assert row.tightest_gb_s == pytest.approx(15.75, abs=0.01)
    assert row.capped is True


def test_a_pin_is_lifted_and_marked(starter: PriceList) -> None:
    pinned = compare(starter, chassis="CHS-1U-10S", controller="CTL-RB2-12G-CD", **FIXED)
    free = compare(starter, chassis="CHS-1U-10S", **FIXED)
    assert [r.sku for r in pinned.rows if r.pinned] == ["CTL-RB2-12G-CD"]
    assert [(r.sku, r.net) for r in pinned.rows] == [(r.sku, r.net) for r in free.rows]
    assert any("CTL-RB2-12G-CD was asked for" in said for said in pinned.remarks)


def test_only_the_owned_controller_is_free_of_charge(starter: PriceList) -> None:
    cells = {"chassis": "CHS-1U-10S", "controller": "CTL-RB2-12G-CD", **FIXED}
    owned, bought = (
        rows(compare(starter, owned="controller", **cells)),
        rows(compare(starter, **cells)),
    )
    mine = owned["CTL-RB2-12G-CD"]
    assert mine.owned
    assert mine.net is not None
    assert mine.net < (bought["CTL-RB2-12G-CD"].net or 0) - 400
    others = set(owned) - {"CTL-RB2-12G-CD"}
    assert {owned[sku].net for sku in others} == {bought[sku].net for sku in others}
    assert not any(owned[sku].owned for sku in others)


def test_advice_is_a_fit_that_needs_a_yes(starter: PriceList) -> None:
    cells = {"chassis": "CHS-2U-12L", "drive": "DRV-HDD-8T-SAS", "members": "6", "level": "6"}
    row = rows(compare(starter, **cells))["CTL-RU1-12G-CD"]
    assert row.fits
    assert [f.code for f in row.findings] == ["cache_unprotected"]
    assert row.verdict.startswith("Fits, but needs a person's yes")
    accepted = rows(compare(starter, accept="cache_unprotected", **cells))["CTL-RU1-12G-CD"]
    assert accepted.verdict == "Fits."


def test_no_controller_fits(starter: PriceList) -> None:
    comparison = compare(starter, usable_tb="600", members="4")
    assert comparison.chosen is None
    assert "None of the 14 controllers meets this enquiry" in comparison.summary
    assert "usable_tb (14 controllers)" in comparison.summary
    for row in comparison.rows:
        assert not row.fits
        assert row.net is None
        assert row.build_words == ""
        assert row.drives == ()
        assert "at least 600 TB usable asked; nearest" in row.verdict


def test_a_chassis_without_slots(starter: PriceList) -> None:
    comparison = compare(starter, usable_tb="2", chassis="CHS-1U-8S-NS")
    assert "CHS-1U-8S-NS has no slots, so no card goes in." in comparison.remarks
    for row in comparison.rows:
        if row.mounting_words == MOUNTING_WORDS["card"]:
            assert [f.code for f in row.findings] == ["no_slot"]
            assert "has no slot" in row.verdict
    assert comparison.chosen == "CTL-BOARD-8"
    assert rows(comparison)["CTL-RE-12G-MZ"].occupies.endswith("the chassis has no slots")


def test_a_price_list_with_one_unfitting_controller_or_none(starter: PriceList) -> None:
    card = starter.controllers["CTL-RU1-12G-CD"]
    one = dataclasses.replace(starter, controllers={card.sku: card}, fingerprint="one")
    comparison = compare(one, usable_tb="2", chassis="CHS-1U-8S-NS")
    assert comparison.summary.startswith("None of the 1 controller")
    none = dataclasses.replace(starter, controllers={}, fingerprint="none")
    comparison = compare(none, usable_tb="2")
    assert comparison.rows == ()
    assert "no controllers" in comparison.summary


# Common practice, no source: rules of the trade that the starter list must keep.


def test_chipset_arrays_are_sata_only_without_cache(starter: PriceList) -> None:
    """Common practice, no source."""
    got = rows(compare(starter, drive="DRV-HDD-4T-SATA", members="4", level="10"))
    chipsets = [c for c in starter.controllers.values() if c.kind == "chipset"]
    assert chipsets
    for controller in chipsets:
        assert controller.sas_gbit_s is None
        assert controller.nvme_gen is None
        assert controller.cache_mib == 0
        assert not {"6", "60"} & set(controller.levels)
        row = got[controller.sku]
        assert row.explanation.startswith("SATA drives only")
        assert "processor does the" in row.explanation
        assert "no protected cache" in row.explanation
        assert row.occupies == "nothing: it is part of the board"


@pytest.mark.parametrize("level", array_levels())
def test_pass_through_adapters_make_no_array(starter: PriceList, level: str) -> None:
    """Common practice, no source."""
    adapters = [c for c in starter.controllers.values() if c.kind == "pass_through"]
    assert adapters
    got = rows(
        compare(
            starter, chassis="CHS-2U-24S", drive="DRV-HDD-1200-SAS-10K", usable_tb="0", level=level
        )
    )
    for controller in adapters:
        row = got[controller.sku]
        assert controller.levels == ()
        assert not row.fits
        assert "level_not_offered" in {f.code for f in row.findings}
        assert "makes no array of its own" in row.explanation


def test_entry_without_cache_lacks_double_parity_that_cached_ones_have(starter: PriceList) -> None:
    """Common practice, no source."""
    arrays = [c for c in starter.controllers.values() if c.kind == "raid"]
    arrays = [c for c in arrays if c.condition == "new"]
    entry = [c for c in arrays if not c.cache_mib]
    cached = [c for c in arrays if c.cache_mib]
    assert entry
    assert cached
    assert not any({"6", "60"} & set(c.levels) for c in entry)
    assert all({"6", "60"} <= set(c.levels) for c in cached)
    got = rows(compare(starter, chassis="CHS-2U-24S", **FIXED))
    for controller in entry:
        assert "no double parity" in got[controller.sku].explanation
        assert "no cache" in got[controller.sku].explanation
    for controller in cached:
        assert "no double parity" not in got[controller.sku].explanation


def test_mezzanine_leaves_the_slot_free_which_matters_with_one_slot(starter: PriceList) -> None:
    """Common practice, no source."""
    got = rows(compare(starter, chassis="CHS-1U-10S", free_slots="1", **FIXED))
    for row in got.values():
        if (
            row.mounting_words == MOUNTING_WORDS["card"]
            and row.sku != "CTL-RU1-12G-CD"
            and "12G" in row.sku
        ):
            assert not row.fits
    assert [f.code for f in got["CTL-RE-12G-CD"].findings] == ["free_slots"]
    assert got["CTL-RE-12G-MZ"].fits
    three = rows(compare(starter, chassis="CHS-2U-24S", free_slots="1", **FIXED))
    assert three["CTL-RE-12G-CD"].fits
