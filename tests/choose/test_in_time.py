"""The choice of what can be shipped by a day, against trying everything."""

import datetime as dt
import random
from dataclasses import replace

import pytest

from quotelib.bench.waits import waits
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import BenchTerms
from quotelib.choose.server import best_of, choose_server
from quotelib.enquiry.request import ServerAsked
from tests.choose.trying import Tried, every, meeting, named, random_list, random_rows, read
from tests.ready.test_working_days import DAY, walked

MONDAY = dt.date(2026, 11, 30)
EACH = 150
HOLIDAYS = (dt.date(2026, 12, 4),)


def leaves(one: Tried, builds: int) -> dt.date:
    """Add up by the services of the small list, each as often as it is done."""
    build = one.whole.build
    arrays = sum(array.layout.rule.is_array for array in build.arrays)
    cards = sum(piece.part.takes != "board" for piece, _ in build.controllers())
    minutes = builds * (50 + 4 * build.drives + 20 * cards + 35 * arrays)
    hours = sum(wait.high_hours for wait in waits(build, 24, may_erase=True))
    parts = walked(MONDAY + build.lead_days(builds) * DAY, HOLIDAYS, 0)
    bench = walked(parts, HOLIDAYS, -(-minutes // EACH))
    return walked(bench + int(-(-hours // 24)) * DAY, HOLIDAYS, 0)


def timely(prices: PriceList, asked: ServerAsked, tried: list[Tried], day: dt.date) -> list[Tried]:
    return [t for t in meeting(prices, asked, tried) if leaves(t, asked.base.builds) <= day]


@pytest.mark.parametrize(
    ("arrays", "seeds", "bays", "controllers"),
    [(1, range(10), 8, "BOARD CARD MEZZ"), (2, range(12), 4, "BOARD CARD")],
    ids=["one", "two"],
)
def test_against_trying_everything(arrays: int, seeds: range, bays: int, controllers: str) -> None:
    found, dearer, late = 0, 0, 0
    for seed in seeds:
        prices = random_list(seed, bays, controllers)
        bench = BenchTerms.model_construct(minutes_per_day=EACH, holidays=HOLIDAYS, soak_hours=None)
        terms = prices.terms.model_copy(update={"bench": bench})
        prices = replace(prices, terms=terms, fingerprint=f"{prices.fingerprint}{seed}")
        rows = random_rows(seed, arrays)
        day = MONDAY + random.Random(seed).randrange(3, 14) * DAY
        rows[0]["ship_by"] = day.isoformat()
        _, asked = read(prices, rows)
        tried = every(prices, asked)
        left, whatever = timely(prices, asked, tried, day), meeting(prices, asked, tried)
        on = asked.on(MONDAY)
        best = choose_server(prices, on).best
        assert (best is None) == (not left), rows
        if best is None:
            late += bool(whatever)
            continue
        found += 1
        dearer += left[0].name != whatever[0].name
        assert named(best.build) == left[0].name, rows
        other = best_of(prices, on)
        assert other is not None and named(other.build) == left[0].name, rows
    assert found >= 3 and dearer and late, (found, dearer, late)
