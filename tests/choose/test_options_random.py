"""Options out of the table against trying every build with each, on random lists and rows.

A run looks at some lists; for three hundred:

    OPTION_LISTS=300 .venv/bin/python -m pytest -q tests/choose/test_options_random.py
"""

import datetime as dt
import os
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose import demanded
from quotelib.choose.options import judge_all, values
from quotelib.enquiry.columns import PINS
from quotelib.enquiry.enquiry import Enquiry
from tests.choose.options_by_trying import try_all
from tests.choose.rows import random_prices, random_row, second_hand, with_bench

LISTS = int(os.environ.get("OPTION_LISTS", "24"))
MONDAY = dt.date(2026, 11, 30)


def rows(start: int, *, dated: bool = False) -> Iterator[tuple[PriceList, Enquiry]]:
    for seed in range(start, start + LISTS):
        rng = random.Random(seed)
        prices = random_prices(rng)
        if rng.random() < 0.5:
            prices = second_hand(rng, prices)
        if dated:
            prices = with_bench(rng, prices)
        for _ in range(3):
            row = random_row(rng, prices)
            if row is None:
                continue
            if rng.random() < 0.2:
                row = row.change(condition="any")
            if dated:
                day = MONDAY + dt.timedelta(days=rng.randrange(0, 20))
                row = replace(row.change(ship_by=day), ordered=MONDAY)
            yield prices, row


@pytest.mark.parametrize("dated", [False, True], ids=["", "to be shipped by a day"])
def test_states_and_words_are_those_of_trying_everything(dated: bool) -> None:
    seen: Counter[tuple[str, str]] = Counter()
    for prices, row in rows(700 + 5000 * dated, dated=dated):
        judged, tried = judge_all(prices, row), try_all(prices, row)
        for pin in PINS:
            assert list(judged[pin]) == values(prices, pin)
            for value, found in tried[pin].items():
                assert judged[pin][value] == found, (row.cells(), pin, value)
                seen[pin, found[0]] += 1
    for pin in PINS:
        for state in ("", "unmet", "impossible"):
            assert seen[pin, state] > 3, (pin, state)


def test_demands_that_no_table_knows_are_asked_of_each_build(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawn = [one for one in list(rows(40))[:24] if one[1].asked(one[0])]
    known = [judge_all(*one) for one in drawn]
    monkeypatch.setattr(demanded, "_FORMS", {})
    assert [judge_all(*one) for one in drawn] == known
    assert len(drawn) > 10
