"""Are the estimates of the choice the same, worked out in parts and without their queues?"""

import random

import numpy as np
import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import asking
from quotelib.predict import workings
from quotelib.predict.inputs import behind, inputs
from quotelib.predict.screening import columns_of, risk_of, speed_at_best, speed_of
from tests.asking import ask


@pytest.mark.parametrize("name", ["", "ledger_database", "video_edit", "backup_target"])
def test_parts_give_what_the_whole_gives(starter: PriceList, name: str) -> None:
    asked = asking(starter, ask(starter, usable_tb="2", controller="CTL-RB2-12G-CD"))
    bands = list(asked.some().bands())
    builds = [
        asked.table.build(int(row), int(plan))
        for band in bands
        for row, plan in random.Random(3).sample(
            list(zip(band.rows, band.plans, strict=True)), min(len(band), 60)
        )
    ]
    f = inputs([behind(build, build.arrays[0]) for build in builds])
    load = starter.workloads[name] if name else workings.NEUTRAL
    terms = starter.terms.risk
    whole = columns_of(f, load, terms)
    for one, part in zip(whole, [*speed_of(f, load), *risk_of(f, load, terms)], strict=True):
        assert np.array_equal(one, part, equal_nan=True)
    mixed = workings.throughput(f, workings.load_of(load))
    iops, mb_s, response = speed_at_best(f, load)
    assert np.allclose(iops, mixed.iops_bound, rtol=2e-9)
    assert (whole[0] <= iops).all() and (whole[1] <= mb_s).all() and (whole[2] >= response).all()
    assert (whole[0] < iops * 0.99).any(), "a bound that is always met proves nothing"
