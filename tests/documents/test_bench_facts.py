"""What the bench is told: complete steps, each with its caution, every bay, and the right sizes."""

from __future__ import annotations

import random
import re
from decimal import ROUND_HALF_UP, Decimal

import pytest

from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList
from quotelib.documents.bench_plan import bench_plan
from quotelib.documents.quoting import NoQuote, quote
from quotelib.quote.bench.record import BenchFacts, BenchStep
from quotelib.quote.bench.sheet import bench_facts
from tests.build.random_builds import can_be_built, random_build
from tests.build.test_placement import build_of

from .builds import ALL, DATE, record

# What in a step's words calls for which caution, written without a look at the code.
CALLS = {
    "data": r"create the array|assign.* (hot )?spare|initialisation|read-back check|"
    r"passed through by itself|backup made",
    "supply": r"cover off|supply cord|connect the supply|disconnect every",
    "static": r"seat .* (board edge|fully)|onto the connector|bracket .* card|each .*drive into|"
    r"push \S+ into|plug|strap on\b",
    "lifting": r"\blift\b|\bpack with\b",
    "edges": r"cover off|riser|remove the blank|screws, evenly|leads? .*seated|ends must lock|"
    r"hours under load|and start\b",
    "lithium": r"cache protection|plug its lead|cpm-",
}


def bays_in(words: str) -> set[int]:
    """Read the bays that a sentence names."""
    found: set[int] = set()
    for text in re.findall(r"\b[Bb]ays? (\d+(?: to \d+)?(?:, \d+(?: to \d+)?)*)", words):
        for part in text.split(", "):
            first, _, last = part.partition(" to ")
            found.update(range(int(first), int(last or first) + 1))
    return found


def step(bench: BenchFacts, title: str) -> BenchStep:
    (found,) = [s for s in bench.steps if s.title == title]
    return found


def uncautioned(bench: BenchFacts) -> list[str]:
    """List what a step calls for and neither it nor the head of the sheet cautions about."""
    head = {c.hazard for c in bench.cautions}
    missing = []
    for one in bench.steps:
        words = f"{one.title}: {one.words}".lower()
        for hazard, calls in CALLS.items():
            if re.search(calls, words):
                if hazard not in {c.hazard for c in one.cautions}:
                    missing.append(f"{one.number} {one.title}: {hazard} at the step")
                if hazard not in head:
                    missing.append(f"{one.number} {one.title}: {hazard} before the first step")
    return missing


@pytest.mark.parametrize("name", ALL)
def test_no_step_without_its_caution(name: str) -> None:
    bench = record(name).bench
    assert uncautioned(bench) == []
    at_steps = {c.hazard for s in bench.steps for c in s.cautions}
    assert {c.hazard for c in bench.cautions} == at_steps
    assert [s.number for s in bench.steps] == list(range(1, len(bench.steps) + 1))
    assert "maker's manual" in bench.rule
    assert "licensed" in bench.rule


def test_the_check_of_cautions_can_fail() -> None:
    bench = record("card, RAID 5, twelve drives").bench
    bare = [s.model_copy(update={"cautions": ()}) for s in bench.steps]
    missing = uncautioned(bench.model_copy(update={"steps": tuple(bare), "cautions": ()}))
    for hazard in CALLS:
        assert any(hazard in line for line in missing), hazard


@pytest.mark.parametrize("name", ALL)
def test_every_bay_is_named(name: str) -> None:
    made = record(name)
    filled = {b.bay for b in made.placement.bays if b.use != "empty"}
    every = {b.bay for b in made.placement.bays}
    pushed = [s for s in made.bench.steps if "Push" in s.words]
    assert set().union(*(bays_in(s.words) for s in pushed)) == filled
    assert sum(len(bays_in(s.words)) for s in pushed) == len(filled)
    told = set().union(*(bays_in(s.words) for s in made.bench.steps if s.title == "Empty bays"))
    assert told == every - filled
    (drives,) = [line for line in made.bench.pick if line.role == "drive"]
    assert set(drives.bays) == filled
    assert drives.quantity == len(filled)
    plan = bench_plan(made.placement)
    drawn = re.findall(r">Bay (\d+)<", plan.svg())
    assert sorted(map(int, drawn)) == sorted(every)
    assert bays_in(plan.words) == every


def test_mezzanine_goes_board_edge_connector_screws() -> None:
    bench = record("mezzanine, RAID 60, two spans, two spares").bench
    words = [s.words for s in bench.steps]
    order = [
        next(i for i, w in enumerate(words) if text in w)
        for text in ("board edge first", "onto the connector", "Fit its screws")
    ]
    assert order == sorted(order)
    assert "socket 1" in words[order[0]]
    assert not any("riser" in w for w in words)


def test_card_goes_riser_blank_bracket_seat_refit() -> None:
    bench = record("card, RAID 5, twelve drives").bench
    words = [s.words for s in bench.steps]
    texts = ("Take out the riser", "Remove the blank", "Fit the low-profile", "Seat", "Refit the")
    order = [next(i for i, w in enumerate(words) if w.startswith(text)) for text in texts]
    assert order == sorted(order)
    assert all("slot 1" in words[i] for i in (order[0], order[1], order[3]))
    fixed = record("NVMe, full-height card without a choice of bracket").bench
    assert "full-height bracket" in step(fixed, "Bracket").words
    assert "check" in step(fixed, "Bracket").words


@pytest.mark.parametrize("name", ALL)
def test_sizes_are_what_an_operating_system_prints(name: str) -> None:
    made = record(name)
    array = made.layout.level != "none"
    size = made.capacity.usable_bytes if array else made.capacity.drive_bytes
    tb, tib = (
        (Decimal(size) / unit).quantize(Decimal("0.01"), ROUND_HALF_UP)
        for unit in (10**12, 2**40)  # IEC 80000-13 (seen)
    )
    (check,) = [c for c in made.bench.checks if c.what.startswith("Size")]
    assert check.must == f"{tb:,} TB = {tib:,} TiB"
    musts = {c.what: c.must for c in made.bench.checks}
    assert musts["Arrays"] == ("one, and no other" if array else "none")
    assert "SHA-256" in musts["Read-back"]
    assert f"{made.bench.burn_in_hours} hours" in musts["Burn-in"]
    assert all(c.blank for c in made.bench.checks)
    spares = made.placement.bays_of("spare")
    assert bays_in(musts["Hot spare"]) == set(spares)
    if array:
        assert musts["Level"] == made.layout.label
        assert bays_in(musts["Members"]) == set(made.placement.bays_of("member"))


def test_read_back_is_larger_than_the_cache() -> None:
    for name in ALL:
        must = next(c.must for c in record(name).bench.checks if c.what == "Read-back")
        amount = int(must.split()[0])
        cache = next(f.value for f in record(name).part("controller").facts if f.label == "Cache")
        mib = 0 if cache == "none" else int(cache.split()[0])
        assert amount * 1024 > mib
        assert amount * 2**30 < record(name).capacity.usable_bytes


# Common practice, no source: write-back only with protection.
def test_cache_is_write_back_only_with_protection() -> None:
    def cache(name: str) -> str:
        return next(f.value for f in record(name).bench.settings if f.label == "Write cache")

    assert cache("card, RAID 5, twelve drives").startswith("write-back (2048 MiB) only while")
    assert cache("cache without protection").startswith("write-through")
    assert cache("board, RAID 1, the customer's chassis").endswith("write-through")
    assert "customer's own protection" in cache("the customer's controller")


def test_settings_name_spans_pairs_strip_and_spare() -> None:
    spanned = {
        f.label: f.value for f in record("mezzanine, RAID 60, two spans, two spares").bench.settings
    }
    assert spanned["Spans"] == "2 of 6: span 1: bays 1 to 6; span 2: bays 7 to 12"
    assert spanned["Hot spare"] == "bays 23 to 24, for this array"
    assert spanned["Strip"].startswith("256 KiB on each member")
    assert "1024 KiB" in spanned["Strip"]  # 256 KiB on 4 data members of a span of 6
    assert spanned["Initialisation"].startswith("full")
    pairs = {f.label: f.value for f in record("cache without protection").bench.settings}
    assert "1 + 2, 3 + 4, 5 + 6" in pairs["Spans"]
    words = record("cache without protection").bench.settings_words
    assert "whatever the maker's set-up utility calls them" in words


def test_pass_through_makes_no_array() -> None:
    bench = record("passed through").bench
    settings = {f.label: f.value for f in bench.settings}
    assert settings["Array"] == "none"
    assert bays_in(settings["Passed through"]) == set(range(1, 11))
    titles = {s.title for s in bench.steps}
    assert "Pass through" in titles
    assert not titles & {"Create the array", "Initialise", "Assign the spare"}
    assert "no array is made" in bench.settings_words


def test_the_customers_data_comes_first() -> None:
    bench = record("adapters, RAID 50, the customer's twelve drives, three builds").bench
    said = " ".join(bench.data_first)
    assert "erases all 12 of the customer's drives" in said
    assert "restoring it was tried" in said
    assert "may not read it" in said
    assert bench.steps[0].title == "Customer's data"
    assert record("card, RAID 5, twelve drives").bench.data_first == ()
    chassis = record("board, RAID 1, the customer's chassis").bench
    assert step(chassis, "Drives that are in it already").cautions[0].hazard == "data"
    assert "Shut the customer's server down" in step(chassis, "Shut down and disconnect").words


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
    held = quote(cells, date=DATE)
    assert held.outcome == "held"
    (reason,) = held.internal.hold_reasons
    assert reason.code == "erases_data"
    assert "must that data stay?" in reason.words
    bench = held.bench
    assert [s.title for s in bench.steps if ERASING.search(f"{s.title} {s.words}")] == []
    assert bench.checks == ()
    assert [f.label for f in bench.settings] == ["Array"]
    assert step(bench, "Stop and ask").cautions[0].hazard == "data"

    agreed = quote({**cells, "accept": f"{cells['accept']};erases_data"}, date=DATE)
    assert agreed.outcome == "quoted"
    assert any(ERASING.search(s.words) for s in agreed.bench.steps)
    assert agreed.bench.checks


def test_owned_parts_cost_nothing_and_are_still_checked() -> None:
    name = "adapters, RAID 50, the customer's twelve drives, three builds"
    made = record(name)
    assert "DRV-SSD-1920-SATA-RD" not in {line.sku for line in made.lines}
    (drives,) = [line for line in made.bench.pick if line.role == "drive"]
    assert drives.owned
    assert drives.bays
    # Nine of the customer's large drives do not fit eight bays, owned or not.
    cells = {"chassis": "CHS-2U-8L", "drive": "DRV-HDD-8T-SAS", "members": "9", "level": "5"}
    who = {"enquiry_id": "T", "customer": "Invented", "owned": "drive;chassis"}
    with pytest.raises(NoQuote, match="bays_full"):
        quote({**cells, **who}, date=DATE)


def test_minutes_are_those_of_the_services() -> None:
    # 50 assembly, 12 x 4 drives, 20 controller, 35 array, 25 burn-in, 15 packing.
    assert record("card, RAID 5, twelve drives").bench.minutes == 193
    # A board controller is not fitted, and no array is made: 50 + 4 + 25 + 15.
    assert record("board, no array").bench.minutes == 94
    three = record("adapters, RAID 50, the customer's twelve drives, three builds")
    assert three.bench.builds == 3
    assert three.bench_minutes == 3 * three.bench.minutes


def test_pick_list_is_what_the_quote_ships_and_what_is_the_customers() -> None:
    for name in ALL:
        made = record(name)
        lines = {x.sku: x.quantity for x in made.lines if x.kind != "service"}
        ours = {x.sku: x.quantity * made.bench.builds for x in made.bench.pick if not x.owned}
        assert ours == lines, name
        assert all(x.location for x in made.bench.pick)


def test_heavy_builds_ask_for_a_second_person() -> None:
    # The lifting constant of the revised NIOSH equation is 23 kg (memory; see references).
    for name in ALL:
        made = record(name)
        (mass,) = [c.words for c in made.bench.cautions if c.hazard == "lifting"]
        assert ("two people or a lift" in mass) == (made.mass_kg > 23), name


def test_random_builds_have_every_caution_and_every_bay(small: PriceList) -> None:
    rng = random.Random(7)
    seen = 0
    while seen < 400:
        facts = random_build(rng)
        if not can_be_built(facts):
            continue
        seen += 1
        build = build_of(facts)
        placement = place(build)
        bench = bench_facts(small, build, placement, 1, may_erase=True)
        assert uncautioned(bench) == [], facts
        filled = {b.bay for b in placement.bays if b.use != "empty"}
        pushed = [bays_in(s.words) for s in bench.steps if "Push" in s.words]
        assert set().union(*pushed) == filled
        assert bool(bench.data_first) == bool(facts["owned"])
        drawn = re.findall(r">Bay (\d+)<", bench_plan(placement).svg())
        assert len(drawn) == facts["chassis"]["bays"]
