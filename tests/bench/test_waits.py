"""Unattended time apart from bench minutes: hours by hand, in words and in the record."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.bench.sheet import bench_sheet
from quotelib.bench.shown import BenchSheet
from quotelib.bench.waits import change_of, time_words
from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Action
from quotelib.pricing.totals import Deal
from tests import small_list
from tests.ten_builds import ALL

from .test_sheet import STARTER, bench_of, record, server

CARD = "card, RAID 5, twelve drives"


def sheet_of(prices: PriceList, build: Build, *, may_erase: bool = True) -> BenchSheet:
    return bench_sheet(prices, build, place(build), Deal(), may_erase=may_erase)


def hours_of(bench: BenchSheet) -> dict[str, float]:
    return {wait.what: wait.hours for wait in bench.waits}


def test_hours_of_twelve_drives_by_hand() -> None:
    bench, (array,) = bench_of(CARD), server(CARD).arrays
    drive = STARTER.drives[array.drive]
    # Twelve drives on 6,200 MB/s have 516 MB/s each: their own rate is less.
    assert drive.write_mb_s < 6200 / 12
    by_hand = {
        "self_test": array.capacity.drive_bytes / (drive.read_mb_s * 1e6) / 3600,
        "initialisation": array.capacity.member_bytes / (drive.write_mb_s * 1e6) / 3600,
        "soak": 24.0,
    }
    assert hours_of(bench) == pytest.approx(by_hand)
    assert bench.unattended_hours == pytest.approx(sum(by_hand.values()))
    # The range: common practice, no source. A soak lasts as long as it is to last.
    assert bench.unattended_high_hours == pytest.approx(2 * sum(by_hand.values()) - 24)
    words = bench.time_words
    assert words.startswith(
        "Hands-on: 193 minutes (from services). Unattended: about 16 hours self"
    )
    assert "about 16 hours initialisation (up to 33), 24 hours soak." in words
    assert "idle machine" in words and "common practice" in words
    for wait in bench.waits[:2]:
        assert "idle machine" in wait.basis and "common practice" in wait.basis


@pytest.mark.parametrize("name", ALL)
def test_unattended_hours_are_numbers_in_the_record_and_no_minutes(name: str) -> None:
    made = json.loads(record(name).to_json())
    (shown,) = made["servers"]
    bench = shown["bench"]
    assert bench["unattended_hours"] == pytest.approx(sum(w["hours"] for w in bench["waits"]))
    assert bench["unattended_high_hours"] >= bench["unattended_hours"] >= 24
    assert [w["what"] for w in bench["waits"]][-1] == "soak"
    is_array = shown["arrays"][0]["layout"]["level"] != "none"
    assert ("initialisation" in {w["what"] for w in bench["waits"]}) == is_array
    # Minutes stay those of the services.
    assert float(bench["minutes"]) == sum(
        float(s["minutes"]) for s in bench["services"] if not s["once"]
    )


def test_arrays_on_one_controller_share_it_and_the_slowest_counts(small: PriceList) -> None:
    def hours(build: str, *layouts: Layout) -> float:
        made = sheet_of(small, small_list.build(small, build, *layouts))
        return hours_of(made)["initialisation"]

    card = small.controllers["CARD"].model_copy(update={"max_mb_s": 1000.0})
    small = replace(small, controllers={**small.controllers, "CARD": card})
    drive = small.drives["DISK-8T"]
    assert 1000 / 4 > drive.write_mb_s > 1000 / 8
    one = hours("BOX-12 CARD DISK-8T", Layout("5", 4))
    two = hours("BOX-12 CARD DISK-8T CARD DISK-8T", Layout("5", 4), Layout("5", 4))
    assert two == pytest.approx(one * drive.write_mb_s / (1000 / 8))
    # On controllers of their own they do not: the longer one is what takes long.
    apart = hours("BOX-12 CARD DISK-8T MEZZ DISK-4T", Layout("5", 4), Layout("5", 4))
    assert apart == pytest.approx(one)
    # Spares are assigned and not initialised.
    assert hours("BOX-12 CARD DISK-8T", Layout("5", 4, spares=2)) == pytest.approx(one)


def test_nothing_runs_where_nothing_may_be_written(small: PriceList) -> None:
    build = small_list.build(small, "BOX-12 CARD DISK-8T", Layout("5", 4))
    arrays = tuple(replace(one, their_drives=4) for one in build.arrays)
    bench = sheet_of(small, replace(build, arrays=arrays), may_erase=False)
    assert bench.waits == ()
    assert bench.unattended_hours == bench.unattended_high_hours == 0
    assert "Unattended: none before the customer has said" in bench.time_words


def test_nothing_that_runs_is_not_said_to_wait_for_the_customer(small: PriceList) -> None:
    build = small_list.build(small, "BOX-12 CARD DISK-8T", Layout("5", 4))
    words = time_words(build, Decimal(5), (), may_erase=True)
    assert words == "Hands-on: 5 minutes (from services). Unattended: none."


@pytest.mark.parametrize("action", ["grow", "replace"])
def test_a_change_of_unknown_length_is_not_left_out(small: PriceList, action: Action) -> None:
    build = small_list.build(small, "BOX-12 CARD DISK-8T", Layout("5", 4))
    (array,) = build.arrays
    changed = replace(build, arrays=(replace(array, action=action, their_drives=3),))
    words = time_words(changed, Decimal(5), (), may_erase=True)
    assert "a change of the array for which no time is known" in words
    assert change_of(changed.arrays[0], ()) is None


def test_the_soak_is_as_long_as_the_terms_say() -> None:
    prices = small_list.price_list(terms=small_list.TERMS + "[bench]\nsoak_hours = 48\n")
    bench = sheet_of(prices, small_list.build(prices, "BOX-12 CARD DISK-8T", Layout("5", 4)))
    assert hours_of(bench)["soak"] == 48
    assert "48 hours soak" in bench.time_words
