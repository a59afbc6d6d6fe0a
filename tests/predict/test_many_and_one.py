"""Does the choice see the same figures as the quote."""

import random

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.predict.forecast import forecast
from tests.asking import ask
from tests.small_list import only_array


# The same members on all parts, all layouts in a chassis, and all layouts on a controller.
@pytest.mark.parametrize(
    ("workload", "pin"),
    [
        (None, {"members": "6"}),
        ("ledger_database", {"chassis": "CHS-2U-24S"}),
        ("backup_target", {"chassis": "CHS-4U-24L"}),
        ("video_edit", {"controller": "CTL-RB2-12G-CD"}),
    ],
    ids=lambda value: "-".join(value.values()) if isinstance(value, dict) else value,
)
def test_screening_many_equals_looking_at_each(
    starter: PriceList, workload: str | None, pin: dict[str, str]
) -> None:
    cells = {"usable_tb": "2", **pin} | ({"workload": workload} if workload else {})
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
