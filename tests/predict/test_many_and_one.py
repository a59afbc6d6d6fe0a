"""Does the choice see the same figures as the quote."""

import random

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.predict.forecast import forecast
from tests.asking import ask
from tests.small_list import only_array


# With the members pinned there still is every drive, controller and chassis among the many.
@pytest.mark.parametrize(
    ("workload", "members"),
    [(None, "6"), ("ledger_database", "4"), ("backup_target", "12"), ("video_edit", "8")],
)
def test_screening_many_equals_looking_at_each(
    starter: PriceList, workload: str | None, members: str
) -> None:
    cells = {"usable_tb": "2", "members": members} | ({"workload": workload} if workload else {})
    feasible = list(choose(starter, ask(starter, **cells)).feasible)
    assert len(feasible) > 3000
    load = starter.workloads[workload] if workload else None
    for candidate in random.Random(4).sample(feasible, 100):
        array = only_array(candidate.build)
        ahead = forecast(candidate.build, array, load, starter.terms)
        # Rounding alone: sums over one build and over many go in another order.
        near = {"rel": 1e-12, "abs": 0}
        block = float(ahead.workload.block_kib) * 1024 / 1e6
        assert candidate.host_iops == pytest.approx(ahead.mixed.iops[0], **near)
        assert candidate.host_mb_s == pytest.approx(ahead.mixed.iops[0] * block, **near)
        assert candidate.loss_pct == pytest.approx(100 * ahead.risk.loss.any_data[0], **near)
