"""What the bench is told: complete steps, each with its caution, every bay, and the right sizes."""

from __future__ import annotations

import datetime as dt
import random
import re
from decimal import ROUND_FLOOR, Decimal
from functools import cache

import pytest

from quotelib.bench.sheet import bench_sheet
from quotelib.bench.shown import BenchSheet
from quotelib.build.layout import Layout
from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.enquiry.reading import read_request
from quotelib.pricing.totals import Deal
from quotelib.promise.answer import Answer, answer
from quotelib.promise.record import QuoteRecord, Server
from tests import small_list
from tests.build.random_builds import can_be_built, random_build
from tests.build.test_placement import build_of
from tests.ten_builds import ALL

from .reading import CALLS, bays_in, checks_of, pushed, said, step, uncautioned

STARTER = load_price_list()


def asked(cells: dict[str, str]) -> Answer:
    request = read_request([{"enquiry_id": "T", "customer": "Invented", **cells}], STARTER)
    return answer(STARTER, request, dt.date(2026, 11, 25), alternatives=False)


@cache
def record(name: str) -> QuoteRecord:
    made = asked(ALL[name]).record
    assert made is not None
    return made


def server(name: str) -> Server:
    (made,) = record(name).servers
    return made


def bench_of(name: str) -> BenchSheet:
    return server(name).bench


def settings_of(name: str) -> dict[str, str]:
    (array,) = bench_of(name).arrays
    return {f.label: f.value for f in array.settings}


@pytest.mark.parametrize("name", ALL)
def test_no_step_without_its_caution(name: str) -> None:
    bench = bench_of(name)
    assert uncautioned(bench) == []
    at_steps = {c.hazard for s in bench.steps for c in s.cautions}
    assert {c.hazard for c in bench.cautions} == at_steps
    assert [s.number for s in bench.steps] == list(range(1, len(bench.steps) + 1))
    assert "maker's manual" in bench.rule
    assert "licensed" in bench.rule


def test_the_check_of_cautions_can_fail() -> None:
    bench = bench_of("card, RAID 5, twelve drives")
    bare = [s.model_copy(update={"cautions": ()}) for s in bench.steps]
    missing = uncautioned(bench.model_copy(update={"steps": tuple(bare), "cautions": ()}))
    for hazard in CALLS:
        assert any(hazard in line for line in missing), hazard


@pytest.mark.parametrize("name", ALL)
def test_every_bay_is_named(name: str) -> None:
    made, bench = server(name), bench_of(name)
    filled = set(made.placement.filled)
    every = {b.bay for b in made.placement.bays}
    held = pushed(bench)
    assert set().union(*held) == filled
    assert sum(map(len, held)) == len(filled)
    empty = (s for s in bench.steps if s.title == "Put blanks into the empty bays")
    told = set().union(*(bays_in(s.words) for s in empty))
    assert told == every - filled
    (drives,) = [line for line in bench.pick if line.role == "drive"]
    assert set(drives.bays) == filled
    assert drives.quantity == len(filled)
    assert [b.bay for b in bench.bays] == sorted(every)
    assert {b.bay for b in bench.bays if b.words != "empty"} == filled


def test_the_plan_names_every_place_and_what_is_free() -> None:
    bench = bench_of("mezzanine, RAID 60, two spans, two spares")
    plan = {row.label: row.value for row in bench.plan}
    assert plan["Mezzanine socket 1"] == (
        "CTL-RB2-12G-MZ; PCI Express generation 3, 8 lanes; CPM-BATTERY on it"
    )
    assert plan["Slot 4"] == "stays free (full-height, generation 5, 16 lanes)"
    assert plan["Backplane"] == "CBL-12G-MZ from CTL-RB2-12G-MZ"
    assert plan["Bays 1 to 24"] == "14 × DRV-HDD-16T-SAS-4K, each in CAR-35"
    words = [bay.words for bay in bench.bays]
    assert words == (
        ["member, span 1"] * 6 + ["member, span 2"] * 6 + ["empty"] * 10 + ["hot spare"] * 2
    )
    for name in ALL:
        places = {row.label for row in bench_of(name).plan}
        slots = [slot.slot for slot in STARTER.chassis[server(name).chassis].slots]
        assert places.issuperset(f"Slot {slot}" for slot in slots), name


def test_mezzanine_goes_board_edge_connector_screws() -> None:
    bench = bench_of("mezzanine, RAID 60, two spans, two spares")
    words = [said(s) for s in bench.steps]
    order = [
        next(i for i, w in enumerate(words) if text in w)
        for text in ("board edge first", "onto the connector", "Fit its screws")
    ]
    assert order == sorted(order)
    assert "socket 1" in words[order[0]]
    assert not any("riser" in w for w in words)


def test_card_goes_riser_blank_bracket_seat_refit() -> None:
    bench = bench_of("card, RAID 5, twelve drives")
    words = [said(s) for s in bench.steps]
    texts = ("Take out the riser", "Remove the blank", "Fit the low-profile", "Seat", "Refit the")
    order = [next(i for i, w in enumerate(words) if w.startswith(text)) for text in texts]
    assert order == sorted(order)
    assert all("slot 1" in words[i] for i in (order[0], order[1], order[3]))
    fixed = bench_of("NVMe, full-height card without a choice of bracket")
    assert "full-height bracket" in step(fixed, "Check the bracket of CTL-RF8-TRI-CD").words


@pytest.mark.parametrize("name", ALL)
def test_sizes_are_in_both_units_and_never_too_large(name: str) -> None:
    made, bench = server(name), bench_of(name)
    (array,) = made.arrays
    is_array = array.layout.level != "none"
    size = array.capacity.usable_bytes if is_array else array.capacity.drive_bytes
    tb, tib = (
        (Decimal(size) / unit).quantize(Decimal("0.01"), ROUND_FLOOR)
        for unit in (10**12, 2**40)  # IEC 80000-13 (seen)
    )
    (check,) = [c for c in checks_of(bench) if c.what.startswith("Size")]
    assert check.must == f"{tb:,} TB ({tib:,} TiB)"
    musts = {c.what: c.must for c in checks_of(bench)}
    assert musts["Arrays"] == ("one, and no other" if is_array else "none")
    assert "SHA-256" in musts["Read-back"]
    assert f"{bench.burn_in_hours} hours" in musts["Burn-in"]
    assert all(c.blank for c in checks_of(bench))
    spares = made.placement.bays_of(0, "spare")
    settings = settings_of(name)
    assert bays_in(settings["Hot spare"]) == set(spares)
    if is_array:
        assert settings["Level"] == array.label
        assert bays_in(settings["Members"]) == set(made.placement.bays_of(0, "member"))


def test_read_back_is_larger_than_the_cache() -> None:
    for name in ALL:
        must = next(c.must for c in checks_of(bench_of(name)) if c.what == "Read-back")
        amount = int(must.split()[0])
        (array,) = server(name).arrays
        assert amount * 1024 > STARTER.controllers[array.controller].cache_mib
        assert amount * 2**30 < array.capacity.usable_bytes


def test_burn_in_is_as_long_as_the_terms_say() -> None:
    def soak(prices: PriceList) -> tuple[int, str]:
        made = small_list.build(prices, "BOX-12 CARD DISK-8T", Layout("5", 4))
        bench = bench_sheet(prices, made, place(made), Deal(), may_erase=True)
        assert any(f"{bench.burn_in_hours} hours" in s.words for s in bench.steps)
        return bench.burn_in_hours, next(c.must for c in bench.checks if c.what == "Burn-in")

    silent = soak(small_list.price_list())
    assert silent[0] == 24
    assert silent[1].startswith("24 hours under load (common practice);")
    told = soak(small_list.price_list(terms=small_list.TERMS + "[bench]\nsoak_hours = 48\n"))
    assert told[0] == 48
    assert told[1].startswith("48 hours under load;")
    name = "card, RAID 5, twelve drives"
    assert bench_of(name).burn_in_hours == 24
    assert "common practice" not in next(
        c.must for c in bench_of(name).checks if c.what == "Burn-in"
    )


# Common practice, no source: write-back only with protection.
def test_cache_is_write_back_only_with_protection() -> None:
    def cache(name: str) -> str:
        return settings_of(name)["Write cache"]

    assert cache("card, RAID 5, twelve drives").startswith("write-back (2048 MiB) only while")
    assert cache("cache without protection").startswith("write-through")
    assert cache("board, RAID 1, the customer's chassis").endswith("write-through")
    assert "customer's own protection" in cache("the customer's controller")


def test_settings_name_spans_pairs_strip_and_spare() -> None:
    spanned = settings_of("mezzanine, RAID 60, two spans, two spares")
    assert spanned["Spans"] == "2 of 6: span 1: bays 1 to 6; span 2: bays 7 to 12"
    assert spanned["Hot spare"] == "bays 23 to 24, for this array"
    assert spanned["Strip"].startswith("256 KiB on each member")
    assert "1024 KiB" in spanned["Strip"]  # 256 KiB on 4 data members of a span of 6
    assert spanned["Initialisation"].startswith("full")
    assert "1 + 2, 3 + 4, 5 + 6" in settings_of("cache without protection")["Spans"]
    one_pair = settings_of("board, RAID 1, the customer's chassis")
    assert one_pair["Spans"] == "one"
    assert one_pair["Strip"].endswith("where the utility asks")
    (array,) = bench_of("cache without protection").arrays
    assert array.name == ""
    assert "whatever the maker's set-up utility calls them" in array.settings_words


def test_pass_through_makes_no_array() -> None:
    bench, settings = bench_of("passed through"), settings_of("passed through")
    assert settings["Array"] == "none"
    assert bays_in(settings["Passed through"]) == set(range(1, 11))
    titles = {s.title for s in bench.steps}
    assert "Pass through" in titles
    assert not titles & {"Create the array", "Initialise the array", "Assign the spare"}
    assert "no array is made" in bench.arrays[0].settings_words


def test_the_customers_data_comes_first() -> None:
    bench = bench_of("adapters, RAID 50, the customer's twelve drives, three builds")
    said = " ".join(bench.data_first)
    assert "erases all 12 of the customer's drives" in said
    assert "restoring it was tried" in said
    assert "may not read it" in said
    assert bench.steps[0].title == "Settle the customer's data"
    assert bench_of("card, RAID 5, twelve drives").data_first == ()
    chassis = bench_of("board, RAID 1, the customer's chassis")
    assert step(chassis, "Take out the drives that are in it").cautions[0].hazard == "data"
    assert "every supply cord" in step(chassis, "Shut the customer's server down").words


ERASING = re.compile(r"creat|initiali|eras|overwrit|assign|burn-in|read-back", re.IGNORECASE)


@pytest.mark.parametrize("level", ["5", "none"])
def test_nothing_is_erased_before_a_person_has_said_so(level: str) -> None:
    controller = "CTL-PT-12G-CD" if level == "none" else "CTL-RB2-12G-CD"
    cells = {
        "enquiry_id": "T",
        "customer": "Invented",
        "owned": "drive",
        "chassis": "CHS-2U-12L",
        "controller": controller,
        "drive": "DRV-HDD-8T-SAS",
        "members": "4",
        "level": level,
        "accept": "no_redundancy;loss_over_limit",
    }
    held = asked(cells)
    assert held.outcome == "held"
    (reason,) = held.reasons
    assert reason.code == "erases_data"
    assert "must the data on the customer" in reason.words
    assert held.record is not None
    bench = held.record.servers[0].bench
    assert [s.title for s in bench.steps if ERASING.search(said(s))] == []
    assert checks_of(bench) == []
    assert [f.label for array in bench.arrays for f in array.settings] == ["Array"]
    assert step(bench, "Stop and ask").cautions[0].hazard == "data"

    agreed = asked({**cells, "accept": f"{cells['accept']};erases_data"})
    assert agreed.outcome == "quoted"
    assert agreed.record is not None
    bench = agreed.record.servers[0].bench
    assert any(ERASING.search(said(s)) for s in bench.steps)
    assert bench.checks
    assert all(array.checks for array in bench.arrays)


def test_owned_parts_cost_nothing_and_are_still_checked() -> None:
    made = server("adapters, RAID 50, the customer's twelve drives, three builds")
    assert "DRV-SSD-1920-SATA-RD" not in {line.sku for line in made.lines}
    (drives,) = [line for line in made.bench.pick if line.role == "drive"]
    assert drives.owned
    assert drives.bays
    # Nine of the customer's large drives do not fit eight bays, owned or not.
    cells = {"chassis": "CHS-2U-8L", "drive": "DRV-HDD-8T-SAS", "members": "9", "level": "5"}
    refused = asked({**cells, "owned": "drive;chassis"})
    assert refused.outcome == "refused"
    assert "bays_full" in {reason.code for reason in refused.reasons}


def test_minutes_are_those_of_the_services() -> None:
    # 50 assembly, 12 x 4 drives, 20 controller, 35 array, 25 burn-in, 15 packing.
    assert bench_of("card, RAID 5, twelve drives").minutes == 193
    # A board controller is not fitted, and no array is made: 50 + 4 + 25 + 15.
    assert bench_of("board, no array").minutes == 94
    three = bench_of("adapters, RAID 50, the customer's twelve drives, three builds")
    assert three.builds == 3
    assert three.minutes_all == 3 * three.minutes
    total = record("adapters, RAID 50, the customer's twelve drives, three builds").bench_minutes
    assert total == three.minutes_all


def test_pick_list_is_what_the_quote_ships_and_what_is_the_customers() -> None:
    for name in ALL:
        made = server(name)
        lines = {x.sku: x.quantity for x in made.lines if x.share != "Services"}
        ours = {x.sku: x.quantity_all for x in made.bench.pick if not x.owned}
        assert ours == lines, name
        assert all(x.quantity_all == x.quantity * made.builds for x in made.bench.pick)
        assert all(x.location for x in made.bench.pick)


def test_heavy_builds_ask_for_a_second_person() -> None:
    # The lifting constant of the revised NIOSH equation is 23 kg (memory; see references).
    for name in ALL:
        made = server(name)
        (mass,) = [c.words for c in made.bench.cautions if c.hazard == "lifting"]
        assert ("two people or a lift" in mass) == (made.mass_kg > 23), name


def test_random_builds_have_every_caution_and_every_bay(small: PriceList) -> None:
    rng = random.Random(7)
    seen = 0
    while seen < 200:
        facts = random_build(rng)
        if not can_be_built(facts):
            continue
        seen += 1
        build = build_of(facts)
        placement = place(build)
        bench = bench_sheet(small, build, placement, Deal(), may_erase=True)
        assert uncautioned(bench) == [], facts
        assert set().union(*pushed(bench)) == set(placement.filled)
        assert bool(bench.data_first) == bool(facts["owned"])
        assert len(bench.bays) == facts["chassis"]["bays"]
