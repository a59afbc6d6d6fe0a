"""What has become of the quotes given, drawn: the figures that are counted, sound, never empty."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from importlib.resources import files

import jsonschema
import pytest

from quotelib.documents.charts.given import hit_chart, margin_over_time
from quotelib.register.standing import Standing


def quote(day: str, outcome: str, margin: str | None = "20.00") -> Standing:
    date = dt.date.fromisoformat(day)
    return Standing(
        number="2026-0001", enquiry_id="A", customer="Invented", outcome=outcome, follow_up=None,
        revision=1, date=date, valid_until=date, state="quoted", net=Decimal(100), currency="GBP",
        margin_pct=None if margin is None else Decimal(margin), given_by="Kim",
        moment=dt.datetime.combine(date, dt.time(), dt.UTC),
    )  # fmt: skip


QUOTES = [
    quote("2026-02-03", "declined", "16.20"),
    quote("2026-01-05", "ordered", "20.00"),
    quote("2026-01-30", "delivered", "22.10"),
    quote("2026-01-31", "lapsed", "10.00"),
    quote("2026-01-31", "open", None),
    quote("2025-12-31", "open", "30.00"),
]


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    schema = files("altair.vegalite.v5.schema").joinpath("vega-lite-schema.json")
    return jsonschema.Draft7Validator(json.loads(schema.read_text("utf-8")))


def test_how_many_are_ordered(judge: jsonschema.Draft7Validator) -> None:
    drawn = hit_chart(QUOTES)
    assert drawn is not None
    judge.validate(drawn.spec)
    assert drawn.words == (
        "Quotes ordered, of those decided: Jan 2026 2 of 3 (67 %); Feb 2026 0 of 1 (0 %)"
    )
    assert drawn.svg().startswith("<svg")


def test_at_which_margin(judge: jsonschema.Draft7Validator) -> None:
    drawn = margin_over_time(QUOTES)
    assert drawn is not None
    judge.validate(drawn.spec)
    # (20.00 + 22.10 + 10.00) / 3 = 17.37; (20.00 + 22.10) / 2 = 21.05, half away from zero
    assert drawn.words == (
        "Margin over time (for the seller only): Dec 2025, all given: 30.0 %;"
        " Jan 2026, all given: 17.4 %; Jan 2026, ordered: 21.1 %; Feb 2026, all given: 16.2 %"
    )
    assert drawn.svg().startswith("<svg")


def test_figures_of_a_month_do_not_meet() -> None:
    drawn = margin_over_time([quote("2026-01-05", "ordered", "20.00"), quote("2026-01-06", "open")])
    assert drawn is not None
    assert [row["above"] for row in drawn.spec["data"]["values"]] == [False, True]


def test_nothing_decided_is_no_chart() -> None:
    assert hit_chart([quote("2026-01-05", "open")]) is None
    assert hit_chart([]) is None and margin_over_time([]) is None
    assert margin_over_time([quote("2026-01-05", "open", None)]) is None
