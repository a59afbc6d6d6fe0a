"""Options of every kind in record, offer and bench sheet: all follows from what each part is."""

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList, load_price_list, read_folder
from quotelib.choose.search import choose
from quotelib.documents.sections import section
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord, Server
from tests.asking import ask, order
from tests.small_list import OPTIONS, TABLES, TERMS, change, copy, price_list, write

DATE = dt.date(2026, 3, 2)
PINS = {"chassis": "BOX-12", "controller": "MEZZ", "drive": "DISK-8T", "members": "4", "level": "5"}
EVERY = "CPU-16*2;MEM-16*4;PSU-600;BOOT;BOOT-CARD;SYSTEM;BELL"
STATED = {"processor_sockets": 2, "memory_slots": 6, "supply_bays": 2}


@pytest.fixture
def prices() -> PriceList:
    return price_list(change(copy({**TABLES, "options.csv": OPTIONS}), "BOX-12", **STATED))


def quoted(prices: PriceList, **cells: str) -> QuoteRecord:
    record = answer(prices, order(prices, **{**PINS, **cells}), DATE, alternatives=False).record
    assert record is not None
    return record


def server(prices: PriceList, **cells: str) -> Server:
    (found,) = quoted(prices, **cells).servers
    return found


def test_watts_heat_mass_price_and_lead_time(prices: PriceList) -> None:
    bare, full = server(prices), server(prices, options=EVERY)
    # 2 x 150 + 4 x 4 + 6 + 3 + 5 + 0 + 1 W; 140 + 160 + 900 + 30 + 80 + 0 + 25 g
    assert full.watts - bare.watts == 331
    assert full.mass_kg - bare.mass_kg == Decimal("1.335")
    heat = [
        next(e.high for e in one.estimates if e.key == "heat_btu_h") or 0 for one in (bare, full)
    ]
    assert heat[1] - heat[0] == pytest.approx(331 * 3.412, rel=1e-3)
    # 1280 + 264 + 120 + 95 + 110 + 390 + 6
    extra = sum(line.amount for line in full.lines) - sum(line.amount for line in bare.lines)
    assert extra == 2265
    assert {line.share for line in full.lines if line.sku in EVERY} == {"Options"}
    # Both processors are in stock; with two servers four are wanted, and take four days more.
    assert (server(prices, options="CPU-16*2", builds="2").lead_days, bare.lead_days) == (4, 0)


def test_the_offer_names_each_part(prices: PriceList) -> None:
    found = server(prices, options=EVERY)
    roles = {part.sku: (part.role, part.quantity) for part in found.parts}
    assert roles["CPU-16"] == ("processor", 2)
    assert roles["SYSTEM"] == ("software licence", 1)
    facts = {part.sku: [f"{f.label} {f.value}" for f in part.facts] for part in found.parts}
    assert [facts[sku] for sku in ("CPU-16", "MEM-16", "PSU-600", "BELL")] == [
        ["Cores 16"],
        ["Size 16 GB"],
        ["Gives 600 W"],
        [],
    ]
    for words in (
        "The 2 processors CPU-16 (Processor) go into processor sockets.",
        "The 4 memory modules MEM-16 (Memory) go into memory slots.",
        "The supply unit PSU-600 (Supply) goes into a supply bay.",
        "The boot card BOOT-CARD (Boot) is a card in a slot.",
        "The software licence SYSTEM (Licence) comes with it.",
    ):
        assert words in found.proposal
    free = found.placement.free.words
    assert "no processor sockets; 2 memory slots; no supply bays" in free


def test_the_bench_fits_and_checks_each_part(prices: PriceList) -> None:
    bench = server(prices, options=EVERY, redundant_supply="yes").bench
    picked = {line.sku: line.quantity for line in bench.pick}
    assert {**picked, "CPU-16": 2, "MEM-16": 4, "SYSTEM": 1, "BELL": 1} == picked
    assert [x.location for x in bench.pick if x.sku == "SYSTEM"] == ["with the paperwork"]
    steps = {step.title: step for step in bench.steps}
    hurts = {title: {c.hazard for c in step.cautions} for title, step in steps.items()}
    assert "static" in hurts["Set 2 × CPU-16 into the processor sockets"]
    assert "static" in hurts["Press 4 × MEM-16 into the memory slots"]
    supply = "Push 1 × PSU-600 into the supply bays"
    assert "supply" in hurts[supply]
    assert "work of those licensed, as local codes say" in steps[supply].words
    assert hurts["Put 1 × SYSTEM with the paperwork"] == set()
    assert "Seat BOOT-CARD in slot 2" in steps
    assert "As the maker's manual says" in steps["Fit 1 × BELL"].words
    plan = {fact.label: fact.value for fact in bench.plan}
    assert plan["Processor sockets"] == "2 × CPU-16; 0 stay free"
    assert plan["Memory slots"] == "4 × MEM-16; 2 stay free"
    checks = {check.what: check.must for check in bench.checks}
    assert checks["Processors, memory"].startswith("2 × CPU-16 and 4 × MEM-16")
    assert "each supply's cord out in turn" in checks["One supply less"]
    plain = server(prices).bench
    assert not {"Processors, memory", "One supply less"} & {check.what for check in plain.checks}
    assert "Processor sockets" not in {fact.label for fact in plain.plan}


@pytest.mark.parametrize(
    ("options", "redundant", "words"),
    [
        ("", "", None),
        # 200 + 4 x 11 + 12 + 6 = 262 W: 131 W and 22 % each; 44 % of 600 W
        ("PSU-600", "", ("2 supplies of 600 W share the 262 W", "131 W from each feed", "22 % of",
                         "the other one carries all of it, at 44 %")),
        ("PSU-600", "yes", ("the other one carries all of it, at 44 %", "licensed")),
        # and 2 x 150 + 6 x 4 + 5 + 9 or 10 W: 600 W, which one just carries, or 601 W
        ("PSU-600;CPU-16*2;MEM-16*6;BOOT-CARD;BELL*9", "", ("all of it, at 100 %",)),
        ("PSU-600;CPU-16*2;MEM-16*6;BOOT-CARD;BELL*10", "",
         ("would give 600 W, too little: they are no redundancy",)),
    ],
)  # fmt: skip
def test_what_several_supplies_do_for_each_other(
    prices: PriceList, options: str, redundant: str, words: tuple[str, ...] | None
) -> None:
    record = quoted(prices, options=options, redundant_supply=redundant)
    (found,) = record.servers
    page = section("protection", record=record).html
    assert bool(found.supplies) == (words is not None)
    for said in words or ():
        assert said in found.supplies
        assert said in page


def test_four_supplies_share_by_four(prices: PriceList) -> None:
    tables = change(copy({**TABLES, "options.csv": OPTIONS}), "BOX-12", **STATED)
    change(tables, "BOX-12", supply_bays=4, supplies=3)
    words = server(price_list(tables), options="PSU-600").supplies
    assert "4 supplies of 600 W share the 262 W" in words
    assert "the other 3 carry all of it, at 15 %" in words


def test_the_share_of_the_supply_goes_by_what_counts(prices: PriceList) -> None:
    share = {}
    for redundant in ("", "yes"):
        found = server(prices, options="PSU-600", redundant_supply=redundant)
        share[redundant] = next(e.high for e in found.estimates if e.key == "supply_pct")
        assert found.supply_w == found.placement.free.supply_w == (600 if redundant else 1200)
    assert share["yes"] == pytest.approx(2 * (share[""] or 0))


def test_a_high_draw_is_noted_where_the_terms_say_so() -> None:
    for pct, noted in (("42", True), ("43", False)):  # 256 of 600 W: 42.7 %
        terms = f"{TERMS}\n[advice]\nsupply_pct = {pct}\n"
        codes = {f.code for f in server(price_list(terms=terms)).findings}
        assert ("supply_high" in codes) == noted
    assert "supply_high" not in {f.code for f in server(price_list()).findings}


def test_uneven_memory_holds_until_somebody_says_yes(prices: PriceList) -> None:
    asked = {"options": "CPU-8*2;MEM-16*3"}
    assert [r.code for r in quoted(prices, **asked).internal.hold_reasons] == ["memory_uneven"]
    assert quoted(prices, **asked, accept="memory_uneven").outcome == "quoted"


def test_a_limit_of_the_draw_binds(prices: PriceList) -> None:
    assert choose(prices, ask(prices, **PINS, max_watts="256")).best is not None
    (reason,) = choose(prices, ask(prices, **PINS, max_watts="255.9")).refused
    assert reason.code == "max_watts"
    assert reason.what == "a draw of at most 255.9 W asked"
    assert reason.change.startswith("nearest with all else as asked is 256 W: RAID 5")


def test_a_redundant_supply_takes_two(prices: PriceList) -> None:
    (reason,) = choose(prices, ask(prices, **PINS, redundant_supply="yes")).refused
    assert reason.code == "power"
    found = choose(prices, ask(prices, usable_tb="4", redundant_supply="yes", options="PSU-600"))
    assert found.best is not None
    assert {c.build.chassis.sku for c in found.feasible} == {"BOX-12"}
    asked = {fact.label: fact.asked for fact in server(prices, max_watts="300").asked}
    assert asked["Draw"] == "at most 300 W"


@pytest.mark.parametrize(
    ("sku", "changed", "words"),
    [
        ("PSU-600", {"supply_w": ""}, "is blank for a supply"),
        ("PSU-600", {"card": "yes", "brackets": "low"}, "is given for a supply"),
        ("BELL", {"kind": "gong"}, "'gong' is not known"),
        ("BOX-12", {"supplies": 2}, "are more than the supply_bays (1)"),
        ("BOX-12", {"supplies": 100, "supply_bays": 100}, "0 to 99"),
        ("BOX-12", {"processor_sockets": "two"}, "is not a number"),
        ("BOX-12", {"base_w": 601}, "is more than supply_w gives"),
    ],
)
def test_a_list_that_is_wrong(
    tmp_path: Path, sku: str, changed: dict[str, object], words: str
) -> None:
    tables = copy({**TABLES, "options.csv": OPTIONS})
    room = dict.fromkeys(("processor_sockets", "memory_slots", "supply_bays", "supplies"), "")
    for row in tables["chassis.csv"]:
        row.update(room)
    change(tables, sku, **changed)
    found, problems = read_folder(write(tmp_path / "list", tables))
    assert found is None
    assert any(words in str(problem) for problem in problems), problems


def test_the_starter_list_has_options_of_every_kind() -> None:
    options = load_price_list().options.values()
    kinds = [option.kind for option in options]
    assert kinds.count("processor") >= 10 and kinds.count("memory") >= 8
    assert {"supply", "boot", "software", "other"} <= set(kinds)
    nets = [o for o in options if o.kind == "network" and len(o.brackets) == 2]
    assert len(nets) >= 6 and len({o.connector_lanes for o in nets}) >= 3
    # Every supply goes beside those of a chassis that takes it.
    for option in options:
        if option.kind == "supply":
            homes = [load_price_list().chassis[sku] for sku in option.fits]
            assert homes and all(home.supply_w == option.supply_w for home in homes)
            assert all(home.supply_bays > home.supplies for home in homes)
