"""What holds at a limit to the last digit, and what is not known at one end only."""

from decimal import Decimal

import numpy as np
import pytest

from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import Terms
from quotelib.predict import losing
from quotelib.predict.forecast import Forecast, forecast
from quotelib.predict.inputs import behind
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.predict.running import server_estimates
from quotelib.predict.screening import array_loss_pct, screen
from quotelib.text import figure
from tests.small_list import build, change, copy, price_list

PRICES = price_list()
FILES = PRICES.workloads["files"]
RAID5 = Layout("5", 4)


def ahead(prices: PriceList = PRICES, layout: Layout = RAID5) -> Forecast:
    made = build(prices, "BOX-12 CARD DISK-8T", layout)
    return forecast(made, made.arrays[0], FILES, prices.terms)


def advised(limit_pct: str) -> Terms:
    risk = PRICES.terms.risk.model_copy(update={"advise_loss_pct": Decimal(limit_pct)})
    return PRICES.terms.model_copy(update={"risk": risk})


def test_a_loss_at_the_limit_is_not_over_it() -> None:
    made = build(PRICES, "BOX-12 CARD DISK-8T", RAID5)
    one = behind(made, made.arrays[0])
    (lost,) = array_loss_pct([one], FILES, PRICES.terms)
    assert lost is not None
    (at,) = screen([one], FILES, advised(repr(lost)))
    assert at.loss_pct is not None and at.loss_pct > lost  # any data is lost more often
    assert at.array_over_pct is None
    (over,) = screen([one], FILES, advised(repr(lost * (1 - 1e-9))))
    assert over.array_over_pct == pytest.approx(lost)


def test_a_chance_is_known_where_its_value_is() -> None:
    assert losing.chance(0.0, np.nan, 0.5) is None
    found = losing.chance(0.0, 0.25, 0.5)
    assert found is not None and (found.low, found.value, found.high) == (0, 25, 50)


def test_states_after_a_failure_rest_on_the_load_alone() -> None:
    found = {e.key: e for e in array_estimates(ahead())}
    for key in ("degraded_iops", "rebuilding_iops"):
        assert [i.label for i in found[key].inputs] == ["workload"]


@pytest.mark.parametrize(("active", "more"), [("7.2", 0.2), ("7", 0.0), ("8.5", 1.5)])
def test_drives_that_draw_hardly_more_when_they_work(active: str, more: float) -> None:
    prices = price_list(change(copy(), "DISK-8T", idle_w="7", active_w=active))
    made = build(prices, "BOX-12 CARD DISK-8T", RAID5)
    one = forecast(made, made.arrays[0], FILES, prices.terms)
    found = {e.key: e for e in server_estimates(made, [one], prices.terms)}["mean_watts"]
    assert found.low is not None and found.high is not None
    idle = {i.label: i.value for i in found.inputs}["drives idle"]
    assert idle == f"{figure(float(made.watts) - 4 * more)} W"
    assert found.low >= float(made.watts) - 4 * more - 1e-9
    assert found.high <= float(made.watts) + 1e-9


def test_a_curve_begins_with_a_single_operation() -> None:
    (own,) = (curve for curve in outlook(ahead()).curves if curve.proposed)
    assert own.points[0].outstanding == 1
    lone = FILES.model_copy(update={"outstanding": 1})
    made = build(PRICES, "BOX-12 CARD DISK-8T", RAID5)
    alone = forecast(made, made.arrays[0], lone, PRICES.terms)
    assert own.points[0].iops == pytest.approx(float(alone.mixed.iops[0]), rel=1e-5)
