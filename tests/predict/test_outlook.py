"""Does "What it will do" hold together: ranges, reasons, charts, findings, summary."""

import math
import random
from decimal import Decimal
from functools import partial
from inspect import signature
from typing import Any

import numpy as np
import pytest

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.documents.batch.summary import ESTIMATED, record_rows
from quotelib.estimate.running import mean_watts
from quotelib.predict import availability, exposure, running, speed
from quotelib.predict import estimate as estimate_module
from quotelib.predict.estimate import Estimate, made, one
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from quotelib.text import figure
from tests.asking import ask, order
from tests.predict.outlooks import (
    DATE,
    all_estimates,
    array,
    assert_clean,
    assert_whole,
    estimate,
    of_build,
    record,
    sections_text,
    server,
)
from tests.small_list import TABLES, TERMS, change, copy, price_list


def some_builds(starter: PriceList) -> list[tuple[Build, str | None]]:
    """Draw builds of every kind from the starter list, each with some workload."""
    rng = random.Random(7)
    workloads = [None, *starter.workloads]
    drawn: list[Build] = []
    # The members are pinned to have fewer builds to draw from, of no fewer parts and levels.
    for cells in (
        {"members": "2"},
        {"members": "12"},
        {"members": "6", "spares": "2"},
        {"members": "3", "level": "none"},
        {"members": "5", "level": "0"},
        {"members": "8", "survive": "2"},
    ):
        feasible = choose(starter, ask(starter, usable_tb="2", **cells)).feasible
        drawn += [c.build for c in rng.sample(list(feasible), 34)]
    return [(each, workloads[i % len(workloads)]) for i, each in enumerate(drawn)]


Ends = tuple[str, float, float, float]


@pytest.fixture(scope="module")
def looked_at(starter: PriceList) -> tuple[list[dict[str, Estimate]], list[Ends]]:
    """Give the estimates of some builds, and the name, low, value and high each was made of."""
    asked: list[Ends] = []

    def noted(*given: Any, **named: Any) -> object:
        call = signature(made).bind(*given, **named).arguments
        low, value, high = (one(v) for v in call["values"])
        asked.append((call["name"], low, value, high))
        return made(*given, **named)

    with pytest.MonkeyPatch.context() as patch:
        for module in (speed, exposure, running, availability):
            patch.setattr(module, "made", noted)
        row = speed._made
        assert row.func is made
        patch.setattr(speed, "_made", partial(noted, *row.args, **row.keywords))
        found = [of_build(starter, each, workload) for each, workload in some_builds(starter)]
    return found, asked


def test_every_estimate_says_what_it_rests_on_and_its_range_holds_it(
    looked_at: tuple[list[dict[str, Estimate]], list[Ends]],
) -> None:
    seen: set[str] = set()
    for found in looked_at[0]:
        assert len(found) >= 15
        for e in found.values():
            assert_whole(e)
        seen |= set(found)
    assert {"wear_years", "burst_seconds", "rebuild_hours", "unreadable_pct"} <= seen


def test_no_end_of_a_range_lies_on_the_wrong_side(
    looked_at: tuple[list[dict[str, Estimate]], list[Ends]],
) -> None:
    # `made` widens a range to hold its value; nothing but rounding may ever need that.
    asked = looked_at[1]
    for name, low, value, high in asked:
        if math.isfinite(value):
            assert not low > value * (1 + 1e-12), name
            assert not high < value * (1 - 1e-12), name
    assert len(asked) > 3000


def test_made_widens_a_range_by_rounding_only_so_far() -> None:
    def tried(*values: float) -> Estimate:
        return made(
            "risk", "x", "an x", "h", values, basis="basis", sources=("source",), missing="missing"
        )  # type: ignore[arg-type]

    found = tried(2.0000001, 2.0, 3.0)
    assert (found.low, found.value, found.high) == (2.0, 2.0, 3.0)
    assert tried(1, math.nan, 3).value is None
    assert tried(1, math.inf, 3).basis == "missing"


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"name": " "}, "needs a name"),
        ({"basis": ""}, "its basis in words"),
        ({"value": None}, "cannot have a range"),
        ({"value": math.inf}, "not a finite number"),
        ({"low": math.nan}, "not a finite number"),
        ({"low": 2.5}, "does not hold the value"),
        ({"high": 1.5}, "does not hold the value"),
    ],
)
def test_a_figure_that_would_mislead_is_refused(changed: dict[str, object], words: str) -> None:
    sound = made("risk", "x", "an x", "h", (1, 2, 3), basis="basis", sources=("source",))
    with pytest.raises(ValueError, match=words):
        Estimate(**{**sound.model_dump(), **changed})


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [
        (0, 3, "0"),
        (1234567, 3, "1,230,000"),
        (999.6, 3, "1,000"),
        (0.0123456, 2, "0.012"),
        (0.00012345, 2, "0.00012"),
        (0.000012345, 2, "1.2 × 10⁻⁵"),
        (3.14159e-11, 3, "3.14 × 10⁻¹¹"),
        (math.inf, 3, "without end"),
    ],
)
def test_figures_as_people_write_them(value: float, digits: int, shown: str) -> None:
    assert figure(value, digits) == shown


# The page

CELLS = {
    "RAID 6 of disks": {"drive": "DISK-8T", "members": "6", "level": "6", "workload": "files",
                        "controller": "CARD"},
    "RAID 10 of flash": {"drive": "FLASH-1T", "members": "4", "level": "10", "workload": "files",
                         "chassis": "BOX-8"},
    "RAID 50 and a spare": {"drive": "DISK-4T", "members": "6", "level": "50", "spares": "1"},
    "RAID 0": {"drive": "DISK-4T", "members": "3", "level": "0", "accept": "no_redundancy"},
    "passed through": {"drive": "FLASH-NV", "members": "4", "level": "none",
                       "accept": "no_redundancy", "workload": "files"},
    "one drive": {"drive": "DISK-4T", "members": "1", "level": "none",
                  "accept": "no_redundancy", "workload": "files"},
}  # fmt: skip
each_record = pytest.mark.parametrize("cells", CELLS.values(), ids=CELLS)


def value(made_record: QuoteRecord, key: str) -> float:
    found = estimate(made_record, key)
    assert found is not None and found.value is not None
    return found.value


@each_record
def test_the_page_shows_each_estimate_and_traces_it(
    small: PriceList, cells: dict[str, str]
) -> None:
    made_record = record(small, **cells)
    text = sections_text(made_record)
    for e in all_estimates(made_record):
        name = e.name[0].upper() + e.name[1:]
        # Once in the table, once in the appendix.
        assert text.count(f"{name} {e.shown}") >= 1 or text.count(name) >= 2
        assert e.shown in text and e.shown_range in text
        assert " ".join(e.basis.split()) in text
        for source in e.sources:
            assert source[0].upper() + source[1:] in text
        for fact in e.inputs:
            assert f"{fact.label} {fact.value}" in text
    assert_clean(made_record)


@each_record
def test_charts_and_figures_agree(small: PriceList, cells: dict[str, str]) -> None:
    made_record = record(small, **cells)
    ahead = array(made_record).outlook
    (own,) = [curve for curve in ahead.curves if curve.proposed]
    (here,) = [p for p in own.points if p.outstanding == ahead.outstanding]
    assert here.iops == pytest.approx(value(made_record, "host_iops"), rel=1e-5)
    assert here.response_ms == pytest.approx(value(made_record, "response_ms"), rel=1e-5)
    for curve in ahead.curves:
        for before, after in zip(curve.points, curve.points[1:], strict=False):
            assert after.outstanding > before.outstanding
            assert after.iops >= before.iops * (1 - 1e-5)
            assert after.response_ms >= before.response_ms * (1 - 1e-5)
    spent = sum(share.ms for share in ahead.time_shares)
    assert spent == pytest.approx(value(made_record, "response_ms"), rel=1e-4)
    (mine,) = [loss for loss in ahead.level_losses if loss.proposed]
    for key, chance in (("array_loss_pct", mine.array), ("loss_pct", mine.any_data)):
        loss = estimate(made_record, key)
        assert loss is not None and chance is not None
        for attribute in ("value", "low", "high"):
            assert getattr(chance, attribute) == pytest.approx(getattr(loss, attribute), rel=1e-5)
    for level in ahead.level_losses:
        assert level.any_data is not None
        assert level.array.low <= level.array.value <= level.array.high
        assert level.array.value <= level.any_data.value
    ends = {s.case: s.end_hours for s in ahead.rebuild_stages}
    if array(made_record).survives:
        (proposed,) = [end for case, end in ends.items() if case.endswith("(proposed)")]
        assert proposed == pytest.approx(value(made_record, "exposed_hours"), rel=1e-5)
        for case in ends:
            stages = [s for s in ahead.rebuild_stages if s.case == case]
            starts = [0.0, *(s.end_hours for s in stages[:-1])]
            assert [s.start_hours for s in stages] == starts
        with_spare, without = sorted(ends.values())
        assert without - with_spare == pytest.approx(24 - 0.25, rel=1e-3)
    else:
        assert not ends


@pytest.mark.parametrize("level", ["0", "none"])
def test_without_redundancy_nothing_is_said_of_rebuilds(small: PriceList, level: str) -> None:
    pins = {"drive": "DISK-4T", "members": "3", "level": level, "accept": "no_redundancy"}
    made_record = record(small, **pins, workload="files")
    keys = {e.key for e in all_estimates(made_record)}
    gone = {"rebuild_hours", "exposed_hours", "degraded_iops", "rebuilding_iops", "unreadable_pct"}
    assert not keys & gone
    assert not any("whole again" in words for words in array(made_record).outlook.words)
    assert "rebuild_hours" not in record_rows(made_record)[0]
    # Three drives, none may fail: 1 - exp(-3 x years / mean life), at the field's 3.01 % a year.
    wanted = 100 * -math.expm1(-3 * 5 * 0.0301)
    assert value(made_record, "loss_pct") == pytest.approx(wanted, rel=1e-9)
    # An array goes as a whole; of drives passed through, each with what it holds.
    usable = array(made_record).capacity.usable_bytes / 1e12
    share = wanted / 100 if level == "0" else -math.expm1(-5 * 0.0301)
    assert value(made_record, "tb_lost") == pytest.approx(usable * share, rel=1e-9)


# Summary


@each_record
def test_the_summary_has_the_same_figures(small: PriceList, cells: dict[str, str]) -> None:
    made_record = record(small, **cells)
    (row,) = record_rows(made_record)
    for column in ESTIMATED:
        found: Estimate | None = estimate(made_record, column)
        if found is None or found.value is None:
            assert column not in row
        else:
            assert float(row[column]) == pytest.approx(found.value, rel=5e-4)
            assert "e" not in row[column].lower()
    assert Decimal(row["watts"]) == server(made_record).watts


# Findings


def limited(pct: str) -> PriceList:
    return price_list(
        copy(TABLES), TERMS.replace("advise_loss_pct = 100", f"advise_loss_pct = {pct}")
    )


def test_a_loss_over_the_limit_holds_the_quote_unless_accepted() -> None:
    prices = limited("0.001")
    pins = {"drive": "DISK-4T", "members": "6", "level": "5", "workload": "files"}
    held = answer(prices, order(prices, **pins), DATE)
    assert held.outcome == "held" and held.record is not None and held.record.draft
    (reason,) = held.reasons
    assert reason.code == "loss_over_limit"
    loss = value(held.record, "array_loss_pct")
    words = f"losing the array over 5 years is {loss:.2g} %, above the 0.001 %"
    assert words in reason.words
    accepted = answer(prices, order(prices, **pins, accept="loss_over_limit"), DATE)
    assert accepted.outcome == "quoted" and accepted.record is not None
    (told,) = [f for f in server(accepted.record).findings if f.code == "loss_over_limit"]
    assert told.accepted and told.severity == "advise"
    under = limited("99")
    assert answer(under, order(under, **pins), DATE).outcome == "quoted"


def codes(made_record: QuoteRecord) -> set[str]:
    return {found.code for found in server(made_record).findings}


def test_a_cap_on_speed_is_noted_only_where_there_is_one(small: PriceList) -> None:
    pins = {"drive": "DISK-8T", "controller": "CARD", "level": "6", "members": "8"}
    assert "speed_capped" not in codes(record(small, **pins))
    slow = price_list(change(copy(TABLES), "CARD", max_mb_s=1500))
    capped = record(slow, **pins)
    assert "speed_capped" in codes(capped)
    # Eight drives of 250 MB/s, six of them data: the estimate is held back by the same figure.
    long = estimate(capped, "read_mb_s")
    assert long is not None and long.value == 1500 and long.high == 1500
    free = estimate(record(small, **pins), "read_mb_s")
    assert free is not None and free.value == 1500 and free.high == 2000


def test_weight_is_noted_above_the_lifting_constant(small: PriceList) -> None:
    pins = {"drive": "DISK-4T", "chassis": "BOX-12", "level": "5"}
    heavy, light = (record(small, **pins, members=n) for n in ("12", "4"))
    assert server(heavy).mass_kg > 23 > server(light).mass_kg
    assert "heavy" in codes(heavy) and "heavy" not in codes(light)


# Much at once


def test_the_most_operations_under_way_that_a_price_list_may_say() -> None:
    tables = copy(TABLES)
    tables["workloads.csv"][0]["outstanding"] = "10000"
    made_record = record(price_list(tables), drive="DISK-4T", members="6", level="5",
                         workload="files")  # fmt: skip
    iops, bound = value(made_record, "host_iops"), estimate(made_record, "host_iops")
    # So much load leaves the drives without a pause: throughput is the bound itself.
    assert bound is not None and iops == pytest.approx(bound.high, rel=1e-3)
    assert_clean(made_record)
    tables["workloads.csv"][0]["outstanding"] = "10001"
    with pytest.raises(ValueError, match="1 to 10000"):
        price_list(tables)


def test_power_between_equal_ends_stays_there() -> None:
    # Found with random price lists: 12 W x 0.3 + 12 W x 0.7 came out a hair under 12 W, and the
    # range no longer held its value.
    watts, share = np.arange(100.0, 400.0)[:, None], np.linspace(0, 1, 101)
    assert (mean_watts(watts, watts, share) == watts).all()


def test_the_names_the_estimates_share_are_the_modules_own() -> None:
    # The stand-in above must take the place of the real one.
    for module in (speed, exposure, running):
        assert module.made is estimate_module.made
