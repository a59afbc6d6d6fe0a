"""The order of work at the bench: what must come before what, and every step an order to somebody.

Common practice, no source, where nothing else is said.
"""

from __future__ import annotations

import random
import re
from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.bench.sheet import bench_sheet
from quotelib.bench.shown import BenchSheet
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import Array, Layout
from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.totals import Deal
from tests.build.random_builds import can_be_built, random_build
from tests.build.test_placement import build_of
from tests.ten_builds import ALL

from .reading import VERB, checks_of, said, step
from .test_sheet import STARTER as PRICES
from .test_sheet import bench_of, server

CARD = "card, RAID 5, twelve drives"


def sheet_of(prices: PriceList, build: Build) -> BenchSheet:
    return bench_sheet(prices, build, place(build), Deal(), may_erase=True)


def at(bench: BenchSheet, text: str) -> int:
    """Give the place of the only step that says something."""
    (found,) = [s.number for s in bench.steps if re.search(text, said(s))]
    return found


def in_order(bench: BenchSheet, *texts: str) -> None:
    places = [at(bench, text) for text in texts]
    assert places == sorted(places), dict(zip(texts, places, strict=True))


@pytest.mark.parametrize("name", ALL)
def test_every_step_starts_with_a_verb(name: str) -> None:
    for one in bench_of(name).steps:
        assert VERB.match(one.title), one.title
    assert not VERB.match("Riser") and not VERB.match("Cache protection")


def test_random_builds_too_and_each_hazard_once_at_a_step(small: PriceList) -> None:
    rng = random.Random(11)
    seen = 0
    while seen < 200:
        facts = random_build(rng)
        if not can_be_built(facts):
            continue
        seen += 1
        bench = sheet_of(small, build_of(facts))
        full = {c.hazard: c.words for c in bench.cautions}
        assert len(full) == len(bench.cautions)
        for one in bench.steps:
            assert VERB.match(one.title), one.title
            hazards = [c.hazard for c in one.cautions]
            assert len(hazards) == len(set(hazards)), one.title
            # In short at the step.
            for caution in one.cautions:
                assert len(caution.words) < len(full[caution.hazard])
        phases = [s.phase for s in bench.steps]
        assert phases == sorted(phases, key=phases.index)
        assert len(set(phases)) == 2


def test_cache_protection_and_cable_are_plugged_in_before_the_riser_goes_back() -> None:
    in_order(
        bench_of(CARD),
        "Take out the riser",
        "Remove the blank",
        "^Fit the low-profile bracket",
        "^Fit CPM-BATTERY",
        "^Seat CTL-RB2-12G-CD",
        "^Plug CBL-12G-CD into",
        "^Refit the riser",
        "^Run CBL-12G-CD",
        "Put the cover on",
    )
    assert "plug it in" in said(step(bench_of(CARD), "Fit CPM-BATTERY on the controller"))
    theirs = bench_of("the customer's controller")
    in_order(theirs, "Take out the riser", "^Check the customer's cache", "^Seat", "^Refit")
    on_the_mat = bench_of("mezzanine, RAID 60, two spans, two spares")
    in_order(on_the_mat, "^Fit CPM-BATTERY", "Seat the board edge", "onto the connector")


def test_each_card_has_its_own_module_before_its_own_riser(starter: PriceList) -> None:
    cards = [starter.controllers[sku] for sku in ("CTL-RB2-12G-CD", "CTL-RF8-12G-CD")]
    arrays = tuple(
        Array(starter.drives["DRV-HDD-8T-SAS"], card, Layout("5", 3), name=name)
        for card, name in zip(cards, ("one", "two"), strict=True)
    )
    chassis = starter.chassis["CHS-2U-12L"]
    build = assemble(starter, chassis, False, tuple(map(Placed, cards)), arrays)
    told = [s.title for s in sheet_of(starter, build).steps]
    risers = [i for i, title in enumerate(told) if title == "Refit the riser"]
    modules = [i for i, title in enumerate(told) if title.startswith("Fit CPM")]
    seats = [i for i, title in enumerate(told) if title.startswith("Seat")]
    assert len(risers) == len(modules) == len(seats) == 2
    assert modules[0] < seats[0] < risers[0] < modules[1] < seats[1] < risers[1]


def test_what_cards_would_cover_comes_first_and_supplies_last(starter: PriceList) -> None:
    options = [
        Placed(starter.options[sku], number)
        for sku, number in (("PSU-800", 1), ("MEM-32G-2", 2), ("CPU-16C-150W", 2))
    ]
    card = starter.controllers["CTL-RB2-12G-CD"]
    array = Array(starter.drives["DRV-HDD-8T-SAS"], card, Layout("5", 3))
    chassis = starter.chassis["CHS-2U-12L"]
    build = assemble(starter, chassis, False, (Placed(card), *options), (array,))
    in_order(
        sheet_of(starter, build),
        "^Set 2 × CPU",
        "^Press 2 × MEM",
        "^Take out the riser",
        "^Run CBL",
        "^Push 1 × PSU-800",
        "^Put the cover on",
    )


@pytest.mark.parametrize("name", ALL)
def test_it_is_photographed_closed_tested_and_only_then_started(name: str) -> None:
    bench = bench_of(name)
    in_order(
        bench,
        "Photograph cabling, labels and slots",
        "Put the cover on",
        "^Have its electrical safety tested",
        "^Connect the supply",
        "^Compare what",
        "^Note the firmware",
    )
    tested = step(bench, "Have its electrical safety tested")
    assert "those licensed" in tested.words and "local codes" in tested.words
    assert [c.hazard for c in tested.cautions] == ["supply"]
    musts = {c.what: c.must for c in checks_of(bench)}
    assert "licensed" in musts["Electrical safety"]
    assert "one firmware on all" in musts["Drives seen"]
    assert "controllers" in musts["Firmware"] and "chassis" in musts["Firmware"]
    firmware = step(bench, "Note the firmware versions").words
    for part in ("chassis", "controllers", "one version on all drives of an array"):
        assert part in firmware


@pytest.mark.parametrize("name", ALL)
def test_it_is_proved_in_order(name: str) -> None:
    bench = bench_of(name)
    erasing = [s.number for s in bench.steps if s.title.startswith(("Create", "Pass through"))]
    assert at(bench, "^Run the extended self-test") < erasing[0]
    in_order(
        bench,
        "^Run the extended self-test",
        "^(Create|Pass through)",
        "^Send a test alert",
        "^Read the link error counts",
        "hours under load",
        "^Read the error counts again",
        "^Export the settings",
        "^Shut down",
        "^Pack the drives apart",
        "^Pack the chassis",
    )
    musts = {c.what: c.must for c in checks_of(bench)}
    assert "extended" in musts["Self-test"] and "after the soak" in musts["Self-test"]
    assert "no increase over the soak" in musts["Link errors"]
    assert musts["Test alert"] == "sent, and received"
    assert "exported" in musts["Settings"]
    (array,) = server(name).arrays
    scrubbed = any(s.title == "Set the schedule of the scrub" for s in bench.steps)
    assert scrubbed == (array.layout.level != "none")
    settings = {f.label for one in bench.arrays for f in one.settings}
    assert ("Scrub" in settings) == scrubbed


def test_write_back_waits_for_a_charged_cache() -> None:
    for name in ALL:
        (settings,) = bench_of(name).arrays
        (cache,) = [f.value for f in settings.settings if f.label == "Write cache"]
        waits = [s for s in bench_of(name).steps if s.title.endswith("is charged")]
        assert bool(waits) == cache.startswith("write-back"), name
        if waits:
            assert waits[0].number < at(bench_of(name), "^Create")
            assert "write-back stays off" in waits[0].words


@pytest.mark.parametrize(
    ("name", "links"),
    [
        (CARD, "SAS phys, SATA CRC and PCI Express"),
        ("passed through", "SAS phys and PCI Express"),
        ("board, RAID 1, the customer's chassis", "SATA CRC and PCI Express"),
        ("NVMe, full-height card without a choice of bracket", "PCI Express"),
    ],
)
def test_errors_are_counted_of_the_links_that_are_there(name: str, links: str) -> None:
    bench = bench_of(name)
    assert (
        f"Errors of {links}, corrected ones too" in step(bench, "Read the link error counts").words
    )
    musts = {c.what: c.must for c in bench.checks}
    assert musts["Link errors"] == f"no increase over the soak: {links}"


@pytest.mark.parametrize(("base_w", "asked"), [(220, False), (220, True), (700, False)])
def test_each_cord_comes_out_in_turn_where_the_other_supply_carries_it(
    starter: PriceList, base_w: int, asked: bool
) -> None:
    card, supply = starter.controllers["CTL-RB2-12G-CD"], starter.options["PSU-800"]
    chassis = starter.chassis["CHS-2U-12L"].model_copy(update={"base_w": Decimal(base_w)})
    array = Array(starter.drives["DRV-HDD-8T-SAS"], card, Layout("5", 12))
    parts = (Placed(card), Placed(supply))
    build = replace(assemble(starter, chassis, False, parts, (array,)), redundant_supply=asked)
    carries = build.watts <= 800
    bench = sheet_of(starter, build)
    told = [s for s in bench.steps if s.title == "Pull each supply's cord in turn"]
    assert len(told) == carries == (base_w == 220)
    assert ("One supply less" in {c.what for c in bench.checks}) == carries
    if told:
        assert "Under load" in told[0].words
        assert [c.hazard for c in told[0].cautions] == ["supply"]
    if carries:
        alone = sheet_of(starter, replace(build, parts=parts[:1], redundant_supply=False))
        assert not any("cord in turn" in s.title for s in alone.steps)


@pytest.mark.parametrize("name", ALL)
def test_a_chassis_is_sent_with_its_drives_packed_apart(name: str) -> None:
    made, bench = server(name), bench_of(name)
    apart = step(bench, "Pack the drives apart")
    assert "bay's number" in apart.words
    assert [c.hazard for c in apart.cautions] == ["static"]
    last = bench.steps[-1]
    assert last.title == "Pack the chassis"
    assert {"lifting"} <= {c.hazard for c in last.cautions}
    (drives,) = [p for p in made.parts if p.role == "drive"]
    from_list = PRICES.drives[drives.sku].mass_g * drives.quantity / 1000
    kg = re.match(r"([\d.]+) kg without its drives;", last.words)
    assert kg is not None
    # Rounded up to a tenth.
    assert 0 <= Decimal(kg[1]) - (made.mass_kg - from_list) < Decimal("0.1")
    for thing in ("photographs", "settings", "reports", "a copy of this sheet"):
        assert thing in last.words


def test_a_server_without_drives_is_proved_without_them(starter: PriceList) -> None:
    build = assemble(starter, starter.chassis["CHS-2U-12L"], False, (), ())
    bench = sheet_of(starter, build)
    told = " ".join(map(said, bench.steps))
    at_steps = " ".join(c.words for s in bench.steps for c in s.cautions)
    assert "drive" not in told and "rives" not in at_steps
    for text in ("^Have its electrical", "^Send a test alert", "hours under load", "^Pack the"):
        at(bench, text)
    assert {c.hazard for c in bench.cautions} == {"supply", "static", "lifting", "edges"}
