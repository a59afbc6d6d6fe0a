"""What do the charts of a page look like: from what is drawn to a `Drawing`."""

from quotelib.documents.charts.considered import front_chart
from quotelib.documents.charts.controllers import controller_chart, drawable
from quotelib.documents.charts.drawing import Drawing, each
from quotelib.documents.charts.quote import (
    capacity_chart,
    level_chart,
    loss_chart,
    price_chart,
    rebuild_chart,
    response_chart,
    time_chart,
)  # fmt: skip

__all__ = [
    "Drawing", "capacity_chart", "controller_chart", "drawable", "each", "front_chart",
    "level_chart", "loss_chart", "price_chart", "rebuild_chart", "response_chart", "time_chart",
]  # fmt: skip
