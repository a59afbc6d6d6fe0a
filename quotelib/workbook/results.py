"""What is shown of an answer: the same sections and charts as on the printed quote."""

import re
from collections.abc import Callable, Sequence
from typing import Any

from markupsafe import escape

from quotelib.documents import charts, charts_outlook, quote_page
from quotelib.documents.sections import section
from quotelib.quote.answer import Answer
from quotelib.quote.assemble import MARGIN_FLOOR
from quotelib.quote.record import QuoteRecord
from quotelib.workbook.widgets import Charts, box, html

FIRST_CHARTS = {"capacity": charts.capacity_chart, "levels": charts.level_chart}
MORE_CHARTS = {
    "response": charts_outlook.response_chart,
    "rebuild": charts_outlook.rebuild_chart,
    "loss": charts_outlook.loss_chart,
    "time": charts_outlook.time_chart,
}
COSTS_CHARTS = {"price": charts.price_chart}
_TITLES = {"quoted": "Can be quoted:", "held": "Would be a draft:", "refused": "No build:"}


class Results:
    """The parts of the page that follow an answer."""

    def __init__(self) -> None:
        self.line = html("", "ql-line")
        self.busy = html("", "ql-busy")
        self.proposal = html()
        self.capacity = html()
        self.first_charts = Charts()
        self.estimates = html()
        self.more_charts = Charts()
        self.basis = html()
        self.costs = html()
        self.margin = html()
        self.costs_charts = Charts()
        self.record: QuoteRecord | None = None
        self._later: list[Callable[[QuoteRecord], None]] = []
        self.empty(None)

    def empty(self, words: str | None) -> None:
        """Show that there is nothing to show yet."""
        first = "Say how much is needed, or which drives at which level: the answer comes here."
        self.line.value = section(
            "workbook_answer",
            outcome="none",
            title="",
            words=words or first,
            record=None,
            reasons=(),
        ).html

    def working(self, words: str) -> None:
        """Say that something is being worked out; blank: nothing is."""
        text = f'<span class="ql-dot" aria-hidden="true"></span>{escape(words)}' if words else ""
        self.busy.value = f'<p role="status">{text or "&nbsp;"}</p>'

    def stale(self, words: str) -> None:
        """Say that the figures below are of an earlier enquiry."""
        again = " The figures below are of the last one that could be read." if self.record else ""
        self.line.value = section(
            "workbook_answer",
            outcome="wrong",
            title="Not yet:",
            words=words + again,
            record=None,
            reasons=(),
        ).html

    def show(self, answered: Answer, *, seller: bool) -> None:
        """Show an answer; a refused one leaves the figures of the last build standing."""
        record = answered.record
        reasons = [
            reason.words for reason in answered.reasons if seller or reason.code != MARGIN_FLOOR
        ]
        if len(reasons) < len(answered.reasons):
            reasons.append("a person has to confirm it: see the seller's view")
        title = _TITLES[answered.outcome]
        words = ""
        if record is None and self.record is not None:
            words = "The figures below are of the last build there was."
        self.line.value = section(
            "workbook_answer",
            outcome=answered.outcome,
            title=title,
            words=words,
            record=record,
            reasons=[f"{reason[:1].upper()}{reason[1:]}" for reason in reasons],
        ).html
        if record is None:
            return
        same = record == self.record
        self.record = record
        if not same:
            # The first charts go first: they are what somebody watches while typing.
            self.first_charts.charts = drawn(record, FIRST_CHARTS)
            self.capacity.value = _joined(
                quote_page.capacity(record), quote_page.protection(record)
            )
            self.proposal.value = _joined(quote_page.proposal(record), quote_page.findings(record))
            self.costs.value = _without_heading(_joined(quote_page.costs(record)))
            self._later = [self._follow_estimates, self._follow_charts]
        self.seller(seller)

    def follow(self) -> bool:
        """Show one more of what may follow; tell whether there was any."""
        if not self._later or self.record is None:
            return False
        self._later.pop(0)(self.record)
        return True

    def _follow_estimates(self, record: QuoteRecord) -> None:
        self.estimates.value = _joined(
            quote_page.outlook(record), quote_page.estimates(record), quote_page.room(record)
        )
        self.costs_charts.charts = drawn(record, COSTS_CHARTS)

    def _follow_charts(self, record: QuoteRecord) -> None:
        self.more_charts.charts = drawn(record, MORE_CHARTS)
        basis = _without_heading(_joined(quote_page.appendix(record)))
        title = "What the estimates rest on"
        self.basis.value = f"<details><summary>{title}</summary>{basis}</details>"

    def seller(self, on: bool) -> None:
        """Show or hide what is for the seller's eyes only."""
        shown = on and self.record is not None
        self.margin.value = section("workbook_margin", record=self.record).html if shown else ""

    def does_block(self) -> Any:
        """Lay out what it does."""
        parts = [self.capacity, self.first_charts, self.estimates, self.more_charts, self.basis]
        return box(parts, "ql-stack")

    def costs_block(self) -> Any:
        """Lay out what it costs."""
        return box([self.costs, self.margin, self.costs_charts], "ql-stack")


def drawn(record: QuoteRecord, makers: dict[str, Any]) -> list[dict[str, Any]]:
    """Make the charts of a record, ready for the page."""
    made = []
    for key, make in makers.items():
        figure = make(record)
        if figure is not None:
            made.append({"key": key, "words": figure.words, "spec": figure.spec()})
    return made


def _joined(*pieces: Any) -> str:
    """Put sections of the printed quote one after the other, one heading level further down."""
    text = "".join(piece.html for piece in pieces)
    for level in (3, 2):
        text = text.replace(f"<h{level}>", f"<h{level + 1}>").replace(
            f"</h{level}>", f"</h{level + 1}>"
        )
    return text


def _without_heading(text: str) -> str:
    """Leave out the first heading where the page has one of its own."""
    return re.sub(r"<h3>.*?</h3>", "", text, count=1)


def start_words(record: QuoteRecord, others: Sequence[Any]) -> list[str]:
    """Say in one line what each starting point is: the proposal first."""
    net = f"{record.currency} {record.totals.net:,f}"
    words = [f"The proposal: {record.layout.words}, {net}"]
    for other in others:
        sign = "+" if other.net_difference > 0 else "−" if other.net_difference < 0 else "±"
        away = f"{sign}{abs(other.net_difference):,f}"
        name = {"least_risk": "Least risk", "fastest": "Fastest"}.get(other.kind, other.title)
        words.append(f"{name}: {other.words}, {record.currency} {other.net:,f} ({away})")
    return words
