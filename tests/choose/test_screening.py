"""Does the choice obey the demands on estimates, and what is shown beside it."""

import math
from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.alternatives import MOST_PRICE, Other, find_alternatives
from quotelib.choose.candidate import Candidate, rank
from quotelib.choose.search import Choice, choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.predict.inputs import behind
from quotelib.predict.screening import array_loss_pct
from tests.asking import ask, named
from tests.small_list import TABLES, TERMS, change, copy, only_array, price_list

# The many and the one


def test_a_candidate_does_not_depend_on_those_beside_it(starter: PriceList) -> None:
    # Every chassis, drive and layout that goes with one controller.
    cells = {"usable_tb": "4", "workload": "sensor_log", "controller": "CTL-RB2-12G-CD"}
    every = choose(starter, ask(starter, **cells))
    fewer = choose(starter, ask(starter, **cells, survive="2"))
    known = {named(c.build): c for c in every.feasible}
    assert len(fewer.feasible) < len(every.feasible)
    assert len(fewer.feasible) > 1000
    for candidate in fewer.feasible[::2]:
        twin = known[named(candidate.build)]
        assert candidate.loss_pct == pytest.approx(twin.loss_pct, rel=1e-12)
        assert candidate.host_iops == pytest.approx(twin.host_iops, rel=1e-12)


# Demands


@pytest.mark.parametrize(
    ("column", "attribute"), [("host_iops", "host_iops"), ("host_mb_s", "host_mb_s")]
)
@pytest.mark.parametrize("workload", ["", "files"])
def test_a_demand_for_speed_takes_part_in_the_choice(
    small: PriceList, column: str, attribute: str, workload: str
) -> None:
    cells = {"usable_tb": "4", "accept": "loss_over_limit"}
    cells |= {"workload": workload} if workload else {}
    free_choice = choose(small, ask(small, **cells))
    assert free_choice.best is not None
    speeds = sorted({getattr(c, attribute) for c in free_choice.feasible})
    slow = getattr(free_choice.best, attribute)
    # Something between the cheapest build's speed and the fastest one's.
    wanted = str(round((slow + speeds[-1]) / 2, 3))
    found = choose(small, ask(small, **cells, **{column: wanted}))
    assert found.best is not None
    assert getattr(found.best, attribute) >= float(wanted) > slow
    assert found.best.net > free_choice.best.net  # type: ignore[operator]
    left = [c for c in free_choice.feasible if getattr(c, attribute) >= float(wanted)]
    assert len(found.feasible) == len(left)
    assert rank(found.best, ("loss_over_limit",)) == min(
        rank(c, ("loss_over_limit",)) for c in left
    )


@pytest.mark.parametrize(
    ("column", "unit"), [("host_iops", "operations a second"), ("host_mb_s", "MB/s")]
)
@pytest.mark.parametrize(
    ("workload", "words"),
    [
        ("files", "under the workload files"),
        ("", "under small random operations, as no workload is named,"),
    ],
)
def test_a_refusal_names_speed_nearest_build_and_load(
    small: PriceList, column: str, unit: str, workload: str, words: str
) -> None:
    cells = {"usable_tb": "4", "survive": "1", column: "9999999"}
    cells |= {"workload": workload} if workload else {}
    choice = choose(small, ask(small, **cells))
    assert choice.best is None
    (reason,) = choice.refused
    code, told = reason.code, reason.words
    assert code == column
    assert told.startswith(f"at least 9,999,999 {unit} {words} asked; nearest ")
    fastest = max(
        getattr(c, column) for c in choose(small, ask(small, **{**cells, column: "1"})).feasible
    )
    assert f"is about {fastest:,.0f} {unit}: " in told


def test_a_demand_for_safety_takes_part_in_the_choice(small: PriceList) -> None:
    cheap = choose(small, ask(small, usable_tb="8")).best
    assert cheap is not None and cheap.loss_pct is not None
    wanted = f"{cheap.loss_pct / 10:.4f}"
    safe = choose(small, ask(small, usable_tb="8", max_loss_pct=wanted)).best
    assert safe is not None and safe.loss_pct is not None
    assert safe.loss_pct <= float(wanted)
    assert safe.net > cheap.net  # type: ignore[operator]


def test_a_refusal_for_safety_names_the_least_chance_there_is(small: PriceList) -> None:
    cells = {"usable_tb": "8", "level": "0"}
    least = min(c.loss_pct for c in choose(small, ask(small, **cells)).feasible)  # type: ignore[type-var]
    choice = choose(small, ask(small, **cells, max_loss_pct="0.001"))
    (reason,) = choice.refused
    code, told = reason.code, reason.words
    assert code == "max_loss_pct"
    assert told.startswith("a chance of data loss of at most 0.001 % asked; nearest ")
    assert f"is {least:.3g} %: RAID 0 over " in told


def test_what_is_not_known_meets_no_demand() -> None:
    tables = copy(TABLES)
    for sku in ("DISK-4T", "DISK-8T", "FLASH-1T", "FLASH-NV"):
        change(tables, sku, bit_error_rate="")
    prices = price_list(tables)
    assert choose(prices, ask(prices, usable_tb="8", level="5")).best is not None
    choice = choose(prices, ask(prices, usable_tb="8", level="5", max_loss_pct="99"))
    (reason,) = choice.refused
    code, told = reason.code, reason.words
    assert code == "max_loss_pct" and "is not known: " in told


# The limit from which we advise against


def array_pct(best: Candidate | None, prices: PriceList) -> float:
    """Chance of losing the only array, in per cent."""
    assert best is not None
    (array,) = best.build.arrays
    (pct,) = array_loss_pct([behind(best.build, array)], None, prices.terms)
    assert pct is not None
    return pct


PINNED = {"chassis": "BOX-12", "controller": "CARD", "drive": "DISK-4T", "members": "6",
          "level": "5"}  # fmt: skip


def limited(limit: Decimal) -> PriceList:
    return price_list(
        copy(TABLES), TERMS.replace("advise_loss_pct = 100", f"advise_loss_pct = {limit:f}")
    )


def test_over_the_limit_is_told_exactly_above_it(small: PriceList) -> None:
    loss = array_pct(choose(small, ask(small, **PINNED)).best, small)
    # The limit takes 30 digits, so that the very figure and its neighbours can be written.
    for limit, told in (
        (Decimal(math.nextafter(loss, 0)), True),
        (Decimal(loss), False),
        (Decimal(math.nextafter(loss, 100)), False),
    ):
        prices = limited(Decimal(f"{limit:.25g}"))
        best = choose(prices, ask(prices, **PINNED)).best
        assert best is not None
        assert [f.code for f in best.advice] == (["loss_over_limit"] if told else [])


def test_what_is_over_the_limit_is_chosen_last() -> None:
    prices = limited(Decimal("0.005"))
    found = choose(prices, ask(prices, usable_tb="8", survive="1"))
    assert found.best is not None and array_pct(found.best, prices) <= 0.005
    cheaper = [c for c in found.feasible if c.net < found.best.net]  # type: ignore[operator]
    assert cheaper and all(c.advice for c in cheaper)
    cells = {"usable_tb": "8", "survive": "1", "accept": "loss_over_limit"}
    accepted = choose(prices, ask(prices, **cells)).best
    assert accepted is not None and accepted.net < found.best.net  # type: ignore[operator]


def test_any_data_may_be_lost_more_often_than_the_limit_has_it() -> None:
    prices = limited(Decimal("0.01"))
    found = choose(prices, ask(prices, usable_tb="8", survive="1")).best
    assert found is not None and not found.advice
    assert array_pct(found, prices) <= 0.01
    assert found.loss_pct is not None and found.loss_pct > 1


def test_the_limit_holds_where_nobody_knows_what_can_be_read() -> None:
    tables = copy(TABLES)
    change(tables, "DISK-4T", bit_error_rate="")
    silent = price_list(copy(tables))
    loss = array_pct(choose(silent, ask(silent, **PINNED)).best, silent)
    told = []
    for limit in (0.9 * loss, 1.1 * loss):
        terms = TERMS.replace("advise_loss_pct = 100", f"advise_loss_pct = {limit:.6f}")
        prices = price_list(copy(tables), terms)
        best = choose(prices, ask(prices, **PINNED)).best
        assert best is not None and best.loss_pct is None
        told.append([found.code for found in best.advice])
    assert told == [["loss_over_limit"], []]


# What is shown beside it


def strengths(prices: PriceList, enquiry: Enquiry) -> tuple[Choice, Candidate, list[Other]]:
    choice = choose(prices, enquiry)
    assert choice.best is not None
    found = find_alternatives(prices, enquiry, choice, choice.best)
    return choice, choice.best, [o for o in found if "level" not in o.kinds]


@pytest.mark.parametrize(
    "cells",
    [
        {"usable_tb": "6", "media": "ssd", "workload": "ledger_database",
         "controller": "CTL-RB2-12G-CD"},
        {"usable_tb": "9", "chassis": "CHS-2U-16S", "workload": "video_edit"},
        {"drive": "DRV-SSD-960-SATA-RD", "usable_tb": "3", "controller": "CTL-RB2-12G-CD"},
        {"usable_tb": "20", "controller": "CTL-RB2-12G-CD", "workload": "sensor_log",
         "max_price": "2900"},
        {"usable_tb": "5", "level": "5", "workload": "catalogue_search", "currency": "JPY",
         "controller": "CTL-RB2-12G-MZ"},
        # One with nothing pinned.
        {"usable_tb": "6", "accept": "no_redundancy;loss_over_limit"},
    ],
    ids=lambda cells: "-".join(f"{k}={v}" for k, v in cells.items()),
)  # fmt: skip
def test_alternatives_keep_to_pins_demands_and_price(
    starter: PriceList, cells: dict[str, str]
) -> None:
    enquiry = ask(starter, **cells)
    choice, best, others = strengths(starter, enquiry)
    assert others, "a case without any shows nothing"
    feasible = {named(c.build): c for c in choice.feasible}
    # What the enquiry itself says it may cost stands in for our own limit.
    limit = enquiry.value("max_price") or best.net * MOST_PRICE  # type: ignore[operator]
    near = [
        c
        for c in choice.feasible
        if c.net <= limit and not rank(c, enquiry.accept)[0]  # type: ignore[operator]
    ]
    for other in others:
        build, array = other.candidate.build, only_array(other.candidate.build)
        # Feasible holds what agrees with the pins and meets every demand; check some by hand.
        mine = feasible[named(build)]
        assert enquiry.chassis in (None, build.chassis.sku)
        for pin in ("controller", "drive"):
            assert getattr(enquiry, pin) in (None, getattr(array, pin).sku)
        assert enquiry.level in (None, array.layout.level)
        assert mine.net is not None
        assert other.candidate.net == mine.net <= limit
        assert other.candidate.open_advice(enquiry.accept) == ()
        if "least_risk" in other.kinds:
            assert mine.loss_pct == min(c.loss_pct for c in near)  # type: ignore[type-var]
            assert mine.loss_pct < best.loss_pct  # type: ignore[operator]
        if "fastest" in other.kinds:
            assert mine.host_iops == max(c.host_iops for c in near)  # type: ignore[type-var]
            assert mine.host_iops > best.host_iops  # type: ignore[operator]


def test_what_we_advise_against_is_no_strength(starter: PriceList) -> None:
    # Without redundancy more of the same drives' writes are left for the host.
    cells = {"usable_tb": "6", "workload": "sensor_log", "chassis": "CHS-2U-8L"}
    choice, best, others = strengths(starter, ask(starter, **cells))
    assert not best.advice
    affordable = [c for c in choice.feasible if c.net <= best.net * MOST_PRICE]  # type: ignore[operator]
    fastest = max(affordable, key=lambda c: c.host_iops or 0)
    assert not only_array(fastest.build).layout.rule.survives
    assert any("fastest" in o.kinds for o in others)
    assert all(only_array(o.candidate.build).layout.rule.survives for o in others)


def test_it_may_be_where_the_quote_itself_is_advised_against(starter: PriceList) -> None:
    cells = {"usable_tb": "6", "level": "0", "workload": "sensor_log", "chassis": "CHS-2U-8L"}
    _, best, others = strengths(starter, ask(starter, **cells))
    assert "no_redundancy" in {f.code for f in best.advice}
    assert others and all(o.candidate.open_advice(()) for o in others)
