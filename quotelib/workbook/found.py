"""What was the proposal chosen from: the count, the three side by side, what no other beats.

It is worked out when all else is shown, and said to be so until then.
"""

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from functools import partial

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.server import choose_server
from quotelib.documents.charts import front_chart
from quotelib.documents.charts.considered import named
from quotelib.documents.sections import section
from quotelib.enquiry.request import Request
from quotelib.promise.answer import chosen_from
from quotelib.promise.considered import Considered, Point
from quotelib.text import figure, money, percent, sentence, signed, tb
from quotelib.workbook.background import Step
from quotelib.workbook.results import Pins, chart
from quotelib.workbook.widgets import REST, Charts, Points, box, button, html, show

_MOST = 3
_WAITS = "ql-waits"
_COUNTING = "Being worked out: of how many builds it is chosen …"
_CLICK = "A click on a point of the chart takes that build, as does the list of them. "


class Found:
    """Says of how many builds one was chosen, and offers those that stand out.

    `use` is told the pins of the build that somebody takes, by row of the record.
    """

    def __init__(self, use: Callable[[Pins], None]) -> None:
        self._use = use
        self._row = 0
        self._three: list[Mapping[str, str]] = []
        self._points: tuple[Point, ...] = ()
        self.counted = html("", "ql-counted", REST)
        self._said = [html() for _ in range(_MOST)]
        tip = "Pin this build, to change it from there"
        self.takes = [button("", tip, partial(self.take_one, n)) for n in range(_MOST)]
        parts = zip(self._said, self.takes, strict=True)
        self._cards = [box(pair, "ql-one") for pair in parts]
        self._table = box([html("<h3>Side by side</h3>"), box(self._cards, "ql-three")], "ql-stack")
        self.charts = Charts(self._clicked).add_class("ql-points")
        self.list = Points("Builds that no other one beats", self._clicked)
        self._rule = html()
        beside = box([self._rule, self.list], "ql-stack")
        self._front = box([self.charts, beside], "ql-front")
        self.block = box([self._table, self._front], "ql-stack", REST)
        self.forget()

    def forget(self) -> None:
        """Take all of it off the page."""
        self.counted.value = ""
        self._show(None, 0)

    def begin(self) -> None:
        """Say that it is being worked out anew; what stands there is of an earlier answer."""
        self.counted.value = f'<p role="status">{_COUNTING}</p>'
        self.block.add_class(_WAITS)

    def steps(
        self, price_list: PriceList, request: Request, date: dt.date, row: int | None
    ) -> Iterator[Step]:
        """Work it out for the server of a row; None: of that row's server it is not known."""
        server = None if row is None else list(request.places())[row][0]
        if row is None or server is None:
            self.forget()
            return
        work = partial(_considered, price_list, request, date, server)
        yield work, partial(self._came, row)

    def _came(self, row: int, came: tuple[str, Considered | None]) -> None:
        words, considered = came
        self.counted.value = f"<p>{words}</p>" if words else ""
        self._show(considered, row)

    def _show(self, considered: Considered | None, row: int) -> None:
        self._row = row
        three = () if considered is None else considered.three[:_MOST]
        self._three = [one.pins for one in three]
        for n, (card, said) in enumerate(zip(self._cards, self._said, strict=True)):
            if n < len(three):
                found = section(
                    "workbook_one", one=three[n], first=n == 0, considered=considered
                )  # fmt: skip
                said.value = found.html
                title = three[n].title
                name = f"the {title[:1].lower()}{title[1:]}" if n else "our choice"
                self.takes[n].description = f"Take {name}"
            show(card, n < len(three))
        drawn = None if considered is None else front_chart(considered)
        points = considered.points if considered is not None and drawn is not None else ()
        self._points = points
        self.list.points = [
            {"words": _words(point, points[0], considered.currency), "build": point.words}
            for point in points
            if considered is not None
        ]
        self._rule.value = ""
        if considered is not None and drawn is not None:
            self._rule.value = f'<p class="ql-quiet">{_CLICK}{considered.points_words}</p>'
        self.charts.charts = [] if drawn is None else [chart("front", drawn)]
        show(self._table, len(three) > 1)
        show(self._front, bool(points))
        show(self.block, len(three) > 1 or bool(points))
        self.block.remove_class(_WAITS)

    def take_one(self, place: int) -> None:
        """Take one of the three as the pins."""
        if place < len(self._three):
            self._use({self._row: self._three[place]})

    def take_point(self, place: int) -> None:
        """Take a point of the chart as the pins."""
        if 0 <= place < len(self._points):
            self._use({self._row: self._points[place].pins})

    def _clicked(self, datum: Mapping[str, object]) -> None:
        """Take the point of a chart or list, unless that was an earlier one."""
        place = datum.get("point")
        if not isinstance(place, int) or not 0 <= place < len(self._points):
            return
        if datum.get("build") == self._points[place].words:
            self.take_point(place)


def _considered(
    price_list: PriceList, request: Request, date: dt.date, server: int
) -> tuple[str, Considered | None]:
    """Say of how many builds a server was chosen, and what stands out; blank: not known."""
    record = chosen_from(price_list, request, date)
    if record is not None:
        considered = record.servers[server].considered
        return ("" if considered is None else considered.words), considered
    counts = choose_server(price_list, request.servers[server]).counts
    return (f"{sentence(counts.words)}." if counts else ""), None


def _words(point: Point, first: Point, currency: str) -> str:
    """Say a point in one line of a list."""
    name = named(point)
    speed = "speed not known"
    if point.host_iops is not None:
        speed = f"about {figure(point.host_iops, 2)} operations a second"
    loss = "chance of loss not known"
    if point.loss_pct is not None:
        loss = f"chance of losing data about {percent(point.loss_pct)}"
    difference = "" if point is first else f" ({signed(point.net - first.net)})"
    start = f"{sentence(name)}: " if name else ""
    return (
        f"{start}{money(point.net, currency)}{difference}, {point.words}, {speed}, "
        f"{tb(point.usable_bytes)} TB, {loss}"
    )
