"""What do the charts of a page look like: from what is drawn to a `Drawing`."""

from quotelib.documents.charts.build import capacity_chart, level_chart, price_chart
from quotelib.documents.charts.controllers import controller_chart, drawable
from quotelib.documents.charts.drawing import Drawing, bars
from quotelib.documents.charts.outlook import loss_chart, rebuild_chart, response_chart, time_chart
from quotelib.documents.charts.several import by_array, by_server

__all__ = [
    "Drawing", "bars", "by_array", "by_server", "capacity_chart", "controller_chart", "drawable",
    "level_chart", "loss_chart", "price_chart", "rebuild_chart", "response_chart", "time_chart",
]  # fmt: skip
