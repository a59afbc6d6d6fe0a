"""What is shown of an answer: sections and charts as on the printed quote, and where to go on."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

from markupsafe import escape

from quotelib.documents import charts
from quotelib.documents.charts import Drawing
from quotelib.documents.offer import price_sections
from quotelib.documents.sections import section
from quotelib.enquiry.columns import PINS
from quotelib.promise.answer import Answer
from quotelib.promise.assemble import MARGIN_FLOOR
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import ArrayLaid, by_array
from quotelib.text import both, money, sentence, signed
from quotelib.workbook.background import Step
from quotelib.workbook.panel import panel
from quotelib.workbook.widgets import ANSWER, REST, SOON, Charts, box, button, caption, html, show

_MOST_STARTS = 12
Pins = Mapping[int, Mapping[str, str]]
_Record = QuoteRecord | None
_Made = tuple[str, list[dict[str, Any]]]
_Makers = Mapping[str, Callable[[Any, str], Drawing | None]]
_FIRST: _Makers = {"capacity": charts.capacity_chart, "levels": charts.level_chart}
_CURVES: _Makers = {"response": charts.response_chart}
_MORE: _Makers = {
    "rebuild": charts.rebuild_chart,
    "loss": charts.loss_chart,
    "time": charts.time_chart,
}
_TITLES = {"quoted": "Can be quoted:", "held": "Would be a draft:", "refused": "No build:"}
_FIRST_WORDS = "Say how much is needed, or which drives at which level: the answer comes here."
_AMONG_THREE = {"least_risk", "fastest"}
_BASIS = "<details><summary>What the estimates rest on</summary>{}</details>"
_DOT = '<span class="ql-dot" aria-hidden="true"></span>'


class Results:
    """The parts of the page that follow an answer."""

    def __init__(self) -> None:
        self.line = html("", "ql-line", ANSWER)
        self.short = html("", "ql-short", ANSWER)
        self.busy = html("", "ql-busy")
        first = [html("", SOON) for _ in range(4)]
        self.proposal, self.capacity, self.costs, self.margin = first
        self.estimates, self.basis = html("", REST), html("", REST)
        self._words = [self.short, *first, self.estimates, self.basis]
        self._pictures = [Charts().add_class(block) for block in (SOON, REST, REST, REST)]
        self.first_charts, self.curves, self.more_charts, self.costs_charts = self._pictures
        self.record: _Record = None
        parts = [self.capacity, self.first_charts, self.estimates, self.curves, self.more_charts]
        self.does = box([*parts, self.basis], "ql-stack")
        self.costing = box([self.costs, self.costs_charts], "ql-stack")
        self.empty()

    def forget(self) -> None:
        """Take everything of an answer off the page."""
        self.record = None
        for piece in (self.line, *self._words):
            piece.value = ""
        for drawn in self._pictures:
            drawn.charts = []

    def working(self, words: str) -> None:
        """Say that something is being worked out; blank: nothing is."""
        text = f"{_DOT}{escape(words)}" if words else "&nbsp;"
        self.busy.value = f'<p role="status">{text}</p>'

    def empty(self, words: str = _FIRST_WORDS) -> None:
        """Say that there is nothing to show yet."""
        self.line.value = answer_line("none", "", words)

    def wrong(self, words: str) -> None:
        """Say why there is no answer."""
        self.line.value = answer_line("wrong", "Not yet:", words)

    def first(self, servers: Sequence[tuple[str, Sequence[ArrayLaid]]]) -> None:
        """Show, before there is an answer, how arrays will be laid out, by names of servers.

        A server without any will have to wait for the answer, and all others with it.
        """
        if all(arrays for _, arrays in servers):
            self.first_charts.charts = list(_drawn(by_array(servers), _FIRST))

    def show(self, answered: Answer, *, seller: bool) -> None:
        """Show an answer: first what somebody watches while typing."""
        record = answered.record
        words = [sentence(r.words) for r in answered.reasons if seller or r.code != MARGIN_FLOOR]
        if len(words) < len(answered.reasons):
            words.append("A person has to confirm it: see the seller's view")
        title = _TITLES[answered.outcome]
        self.line.value = answer_line(answered.outcome, title, record=record, reasons=words)
        if record is not None and record != self.record:
            self.short.value = section("workbook_panel", parts=panel(record)).html
        self.record = record
        self.seller(seller)

    def fitting(self) -> Iterator[Step]:
        """Show in full what was answered."""
        if self.record is not None:
            yield partial(_fitting, self.record), self._fits

    def rest(self) -> Iterator[Step]:
        """Show the rest of an answer piece by piece, so that typing comes between."""
        if self.record is not None:
            estimates = partial(_put, self.estimates, self.costs_charts)
            yield partial(_estimates, self.record), estimates
            yield partial(_basis, self.record), partial(_put, self.basis, self.more_charts)

    def others(self) -> Iterator[Step]:
        """Show what other builds add, once they have been looked for."""
        if self.record is not None:
            yield partial(_beside, self.record), partial(_put, self.estimates, self.curves)

    def _fits(self, made: tuple[str, str, str, list[dict[str, Any]]]) -> None:
        self.proposal.value, self.capacity.value, self.costs.value = made[:3]
        self.first_charts.charts = made[3]

    def seller(self, on: bool) -> None:
        """Show or hide what is for the seller's eyes only."""
        shown = on and self.record is not None
        self.margin.value = section("workbook_margin", record=self.record).html if shown else ""


class Starts:
    """The proposal and what else would meet the enquiry, as buttons that pin a build.

    `use` is told the pins by row of the record, to change the build from there.
    """

    def __init__(self, use: Callable[[Pins], None]) -> None:
        self._use = use
        self._pins: list[Pins] = []
        tip = "Pin this build, to change it from there"
        self._buttons = [button("", tip, partial(self.start_from, n)) for n in range(_MOST_STARTS)]
        heading = html("<h3>Start from one of these</h3>")
        self.block = box([heading, box(self._buttons, "ql-starts")], "ql-stack", REST)
        self.offer(None)

    def offer(self, record: _Record) -> None:
        """Offer the builds of a record; without one nothing is offered."""
        offered = [] if record is None else list(_starts(record))[:_MOST_STARTS]
        self._pins = [pins for pins, _ in offered]
        caption(self._buttons, [words for _, words in offered])
        show(self.block, bool(offered))

    def start_from(self, place: int) -> None:
        """Take a build on offer as the pins."""
        self._use(self._pins[place])


def _starts(record: QuoteRecord) -> Iterator[tuple[Pins, str]]:
    if not record.servers:
        return
    words = both(array.words for _, array in record.by_array()) or record.servers[0].proposal
    net = money(record.totals.net, record.currency)
    yield _proposed(record), f"The proposal: {words}, {net}"
    rows = {row.server: n for n, row in enumerate(record.rows) if row.array == 0}
    for place, (name, server) in enumerate(record.by_server()):
        for other in server.alternatives:
            if not _AMONG_THREE.isdisjoint(other.kinds):
                continue  # it is offered beside the proposal
            net = f"{money(other.net, record.currency)} ({signed(other.net_difference)})"
            title = sentence(f"{name}: {other.title}") if name else other.title
            yield {rows[place]: other.pins}, f"{title}: {other.words}, {net}"


def _proposed(record: QuoteRecord) -> Pins:
    """Give the pins of each row; of a server whose options were chosen, these too."""
    pins = {}
    for n, (row, quoted) in enumerate(zip(record.rows, record.as_quoted(), strict=True)):
        if row.server is not None:
            chosen = ("options",) if row.cells.keys() & {"cores", "memory_gb"} else ()
            names = ("chassis", *chosen) if row.array is None else (*PINS, *chosen)
            pins[n] = {name: quoted.get(name, "") for name in names}
    return pins


def answer_line(
    outcome: str, title: str, words: str = "", reasons: Sequence[str] = (), record: _Record = None
) -> str:
    """Say in one line how things stand, as HTML."""
    said = section(
        "workbook_answer", outcome=outcome, title=title, words=words, reasons=reasons, record=record
    )
    return said.html


def _put(words: Any, drawn: Charts, made: _Made) -> None:
    words.value, drawn.charts = made


def _fitting(record: QuoteRecord) -> tuple[str, str, str, list[dict[str, Any]]]:
    proposal = _sections(record, "proposal", "upgrade", "findings")
    capacity = _sections(record, "capacity", "protection")
    costs = price_sections(record)
    return proposal, capacity, costs, list(_drawn(record.by_array(), _FIRST))


def _beside(record: QuoteRecord) -> _Made:
    text = _sections(record, "outlook", "estimates", "room")
    return text, list(_drawn(record.by_array(), _CURVES))


def _estimates(record: QuoteRecord) -> _Made:
    text = _sections(record, "outlook", "estimates", "room")
    drawing = charts.price_chart(record)
    return text, [] if drawing is None else [chart("price", drawing)]


def _basis(record: QuoteRecord) -> _Made:
    text = _sections(record, "appendix", heading=False)
    return _BASIS.format(text), list(_drawn(record.by_array(), _MORE))


def _sections(record: QuoteRecord, *names: str, **more: Any) -> str:
    return "".join(section(name, record=record, level=3, **more).html for name in names)


def _drawn(arrays: Iterable[tuple[str, Any]], makers: _Makers) -> Iterator[dict[str, Any]]:
    """Draw charts of each array, given with what to call it, ready for the page."""
    named = list(arrays)
    for key, make in makers.items():
        for number, (of, array) in enumerate(named):
            drawing = make(array, of)
            if drawing is not None:
                yield chart(f"{key}-{number}" if number else key, drawing)


def chart(key: str, drawing: Drawing) -> dict[str, Any]:
    """Give a chart as the page takes it."""
    return {"key": key, "words": drawing.words, "spec": drawing.spec}
