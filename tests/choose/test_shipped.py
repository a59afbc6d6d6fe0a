"""When builds can leave, out of the table, against each build taken to the bench by itself."""

import datetime as dt
import random
from dataclasses import replace

import numpy as np

from quotelib.choose import shipped
from quotelib.choose.asking import Asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import choose
from tests.choose.one_by_one import buildable, try_everything
from tests.choose.rows import random_prices, random_row, with_bench

MONDAY = dt.date(2026, 11, 30)


def test_every_build_leaves_when_its_own_bench_says() -> None:
    looked_at = never = refused = 0
    for seed in range(300, 420):
        rng = random.Random(seed)
        prices = with_bench(rng, random_prices(rng))
        row = random_row(rng, prices)
        if row is None:
            continue
        day = MONDAY + dt.timedelta(days=rng.randrange(0, 16))
        row = replace(row.change(ship_by=day), ordered=MONDAY)
        asked = Asking(prices, row)
        (demand,) = (one for one in asked.asked if one.column == "ship_by")
        selection = asked.some(without=[one.column for one in asked.asked])
        table = asked.table
        most = shipped.in_time(table, demand, row.spares or 0)
        for band in selection.bands():
            days = shipped.leaves(table, demand, band.rows, band.plans)
            for at, row_at, plan in zip(days, band.rows.tolist(), band.plans.tolist(), strict=True):
                build = table.build(row_at, plan)
                known = demand.demand.got(Candidate(build, 0), demand.setting)
                assert at == (np.inf if known is None else known), (seed, build)
                kind, drives = table.plans.is_array[plan], table.plans.drives[plan]
                assert (drives <= most[kind, row_at]) == (at <= demand.limit), (seed, build)
                looked_at += 1
                never += known is None
        choice = choose(prices, row)
        if choice.best is None and buildable(prices, row):
            assert choice.refused == try_everything(prices, row).refused, (seed, row.cells())
            refused += any(one.code == "ship_by" for one in choice.refused)
    assert looked_at > 2000 and never > 100 and refused > 3, (looked_at, never, refused)
