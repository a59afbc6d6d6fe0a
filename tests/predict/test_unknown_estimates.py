"""Is what is not known said in words, and never shown as a program's word for nothing."""

import json
from functools import cache
from pathlib import Path

import pytest

from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents import charts
from quotelib.documents.batch.summary import ESTIMATED, record_rows
from quotelib.documents.making import annex_page
from quotelib.promise.record import QuoteRecord
from tests.predict.outlooks import (
    UNFIT,
    all_estimates,
    array,
    assert_clean,
    estimate,
    of_build,
    record,
    sections_text,
)
from tests.small_list import TABLES, TERMS, Tables, build, change, copy, price_list, write

DISKS = {"chassis": "BOX-12", "controller": "CARD", "drive": "DISK-8T", "members": "6",
         "level": "6", "workload": "files"}  # fmt: skip
FLASH = {"chassis": "BOX-8", "controller": "MEZZ", "drive": "FLASH-1T", "members": "4",
         "level": "5", "workload": "files"}  # fmt: skip

# What is missing, the enquiry, what is then not known, and a part of the reason given.
Missing = tuple[dict[str, dict[str, object]], dict[str, str], tuple[str, ...], str]
SECTORS = ("loss_pct", "strips_lost", "tb_lost", "mttdl_years")
RISK = ("array_loss_pct", *SECTORS, "hours_without_data_year")
ALONE = ("lone_read_ms", "day_response_ms", "day_p95_ms", "day_p99_ms")
CASES: dict[str, Missing] = {
    "no bit_error_rate": (
        {"DISK-8T": {"bit_error_rate": ""}}, DISKS, (*SECTORS, "unreadable_pct"),
        "no rate of unreadable sectors is stated for the drive",
    ),
    "MTTF below the repair": (
        {"DISK-8T": {"mttf_hours": 30}}, DISKS, RISK,
        "the drive's MTTF is no longer than a replacement and rebuild take",
    ),
    "MTTF above the repair on a usual day, below it with busy drives": (
        {"DISK-8T": {"mttf_hours": 60}}, DISKS, RISK,
        "the drive's MTTF is no longer than a replacement and rebuild take",
    ),
    "no writes_per_day": (
        {"FLASH-1T": {"writes_per_day": ""}}, FLASH, ("wear_years",),
        "no rated writes a day are stated for the drive",
    ),
    "warranty of no years": (
        {"FLASH-1T": {"warranty_years": 0}}, FLASH, ("wear_years",),
        "the drive has no warranty years its rating would be for",
    ),
    "no workload": (
        {}, {k: v for k, v in FLASH.items() if k != "workload"}, ("wear_years",),
        "the enquiry names no workload, so nobody said how much is written",
    ),
    "a workload that writes nothing": (
        {"files": {"writes_gb_per_day": 0}}, FLASH, ("wear_years",),
        "The workload writes nothing, so the drives do not wear",
    ),
    "no tariff": ({}, DISKS, ("energy_cost_year",), "no electricity price is stated"),
    "blank rate of a disk": (
        {"DISK-8T": {"seek_ms": ""}}, DISKS,
        ("host_iops", "response_ms", "host_mb_s", "knee_outstanding", "read_iops", "write_iops",
         "degraded_iops", "rebuilding_iops", "rebuild_hours", "exposed_hours", *ALONE, *RISK),
        "rate of the drive is not stated",
    ),
    "blank rate of flash": (
        {"FLASH-1T": {"write_iops": ""}}, FLASH,
        ("host_iops", "response_ms", "host_mb_s", "knee_outstanding", "write_iops", "read_iops",
         "degraded_iops", "rebuilding_iops", "write_ms", *ALONE),
        "rate of the drive is not stated",
    ),
}  # fmt: skip


def changed(changes: dict[str, dict[str, object]]) -> Tables:
    tables = copy(TABLES)
    for sku, cells in changes.items():
        if sku == "files":
            tables["workloads.csv"][0].update({k: str(v) for k, v in cells.items()})
        else:
            change(tables, sku, **cells)
    return tables


@cache
def record_of(case: str) -> QuoteRecord:
    """Give the record of a case; nobody changes it."""
    changes, cells, _, _ = CASES[case]
    return record(price_list(changed(changes)), **cells)


def charts_of(made: QuoteRecord) -> str:
    drawn = (
        charts.response_chart(array(made)),
        charts.time_chart(array(made)),
        charts.loss_chart(array(made)),
        charts.rebuild_chart(array(made)),
    )
    return " ".join(f"{chart.words} {chart.svg()}" for chart in drawn if chart)


@pytest.mark.parametrize("case", CASES)
def test_what_is_missing_is_said_in_words(case: str) -> None:
    _, _, keys, reason = CASES[case]
    made = record_of(case)
    unknown = {e.key: e for e in all_estimates(made) if e.value is None}
    # The small list has no tariff, so the cost of energy is never known here.
    assert set(keys) <= set(unknown)
    for key in keys:
        assert reason in unknown[key].basis
        assert unknown[key].shown == "not known"
    text = sections_text(made)
    assert reason in text
    assert_clean(made)
    assert not UNFIT.search(charts_of(made))
    (row,) = record_rows(made)
    for column in ESTIMATED:
        assert bool(row.get(column)) == (column not in unknown), column


def test_the_cases_leave_known_what_does_not_depend_on_them() -> None:
    for case, (_, _, keys, _) in CASES.items():
        made = record_of(case)
        unknown = {e.key for e in all_estimates(made) if e.value is None} - set(keys)
        assert unknown <= {"energy_cost_year"}, unknown
        assert estimate(made, "rebuild_hours") is not None
        assert estimate(made, "mean_watts") is not None


def test_what_a_cache_answers_is_known_though_the_disk_is_not() -> None:
    """0.03 ms of controller and 0.04 ms of cache; how long a full cache takes is not known."""
    found = estimate(record_of("blank rate of a disk"), "write_ms")
    assert found is not None
    assert (found.low, found.value) == pytest.approx((0.03, 0.07))
    assert found.high is None and found.shown_range == "from 0.0300 ms"


# Stated assumptions


def test_no_mttf_leaves_the_field_rates_and_says_so() -> None:
    made = record(price_list(changed({"DISK-8T": {"mttf_hours": ""}})), **DISKS)
    loss = estimate(made, "loss_pct")
    assert loss is not None and loss.value is not None
    assert "The data sheet states no lifetime" in loss.basis
    assert ("MTTF on the data sheet", "not stated") in {(i.label, i.value) for i in loss.inputs}
    # A data sheet that promises just what the field shows gives the same figure.
    same = record(price_list(changed({"DISK-8T": {"mttf_hours": 8760 / 0.0301}})), **DISKS)
    twin = estimate(same, "loss_pct")
    assert twin is not None and loss.value == pytest.approx(twin.value, rel=1e-9)
    assert "The data sheet states no lifetime" not in twin.basis
    assert_clean(made)


def test_an_error_rate_of_nothing_is_taken_at_its_word() -> None:
    made = record(price_list(changed({"DISK-8T": {"bit_error_rate": 0}})), **DISKS)
    unreadable, loss = estimate(made, "unreadable_pct"), estimate(made, "loss_pct")
    assert unreadable is not None and loss is not None
    assert unreadable.value == 0 and unreadable.shown == "0 %"
    assert loss.value is not None and loss.value > 0
    assert ("unreadable sectors on the data sheet", "0 a bit") in {
        (i.label, i.value) for i in loss.inputs
    }
    assert_clean(made)


@pytest.mark.parametrize(
    "changes",
    [
        {"CARD": {"max_mb_s": "", "max_iops": ""}},
        {"CARD": {"host_gen": ""}},
        {"CARD": {"max_mb_s": "", "max_iops": "", "host_gen": "", "host_lanes": ""}},
    ],
    ids=["no max_mb_s", "no host_gen", "neither"],
)
def test_a_limit_nobody_states_does_not_hold_back(changes: dict[str, dict[str, object]]) -> None:
    prices = price_list(changed(changes))
    made = record(prices, **DISKS)
    free, held = (
        of_build(p, build(p, "BOX-12 CARD DISK-8T", Layout("6", 6)), "files")
        for p in (prices, price_list())
    )
    for key in ("host_iops", "read_mb_s", "write_mb_s"):
        assert free[key].value is not None and held[key].value is not None
        assert free[key].value >= held[key].value
    assert_clean(made)


def test_without_a_workload_the_load_assumed_is_said(small_record: QuoteRecord) -> None:
    words = array(small_record).outlook.workload_words
    assert words.startswith("No workload was named, so these estimates are for small random")
    assert "67 % reads, 100 % random, blocks of 4 KiB, 32 operations outstanding" in words
    assert words in sections_text(small_record)
    for key in ("host_iops", "response_ms", "write_iops"):
        found = estimate(small_record, key)
        assert found is not None
        inputs = {i.label: i.value for i in found.inputs}
        assert inputs["workload"] == "none named, so a neutral one"


@pytest.fixture
def small_record() -> QuoteRecord:
    """Give the record of an enquiry without a workload."""
    return record(price_list(), usable_tb="8", survive="1")


# The whole page and the whole record


def test_a_page_with_much_unknown_reads_like_any_other(tmp_path: Path) -> None:
    tables = changed(
        {
            "FLASH-1T": {"bit_error_rate": "", "mttf_hours": "", "writes_per_day": "",
                         "warranty_years": 0},
            "MEZZ": {"max_mb_s": "", "max_iops": "", "host_gen": "", "host_lanes": ""},
        }
    )  # fmt: skip
    folder = write(tmp_path / "prices", tables, TERMS)
    cells = {k: v for k, v in FLASH.items() if k != "workload"}
    made = record(load_price_list(folder), **cells)
    file = tmp_path / "record.json"
    file.write_text(made.to_json(), "utf-8")
    page = annex_page(file)
    text = page[page.index("<body") :]
    assert not UNFIT.search(text), UNFIT.search(text)
    assert "not known" in text
    assert_clean(made)


def test_the_record_as_json_has_only_numbers_json_knows() -> None:
    for case in CASES:
        made = record_of(case)

        def refuse(word: str) -> None:
            raise AssertionError(word)

        json.loads(made.model_dump_json(), parse_constant=refuse)
