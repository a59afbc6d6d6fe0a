"""What does a choice look like in a notebook: of how many builds, which stand out, what is near."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from quotelib.catalogue.price_list import load_price_list
from quotelib.choose.candidate import Candidate, describe
from quotelib.choose.search import Choice
from quotelib.choose.server import choose_server
from quotelib.documents import charts
from quotelib.documents.charts import Drawing
from quotelib.documents.charts.considered import named
from quotelib.documents.quoting import read_date
from quotelib.documents.sections import Html, section, table
from quotelib.enquiry.reading import read_request
from quotelib.notebook.aligned import words_left
from quotelib.promise.answer import Answer, answer
from quotelib.promise.considered import Considered
from quotelib.text import amount, figure, percent, sentence, signed, spoken, tb

_NUMBERS = ("Net", "Difference", "Operations a second", "Loss of data, %", "TB")


@dataclass(frozen=True)
class Found:
    """What came of an enquiry about one server: the choice, and the answer in words."""

    choice: Choice
    answer: Answer
    currency: str

    @property
    def considered(self) -> Considered | None:
        """Give what it was chosen from; None: nothing was left to choose, or there is none."""
        record = self.answer.record
        return None if record is None else record.servers[0].considered


def look(cells: Mapping[str, str], prices: str = "", date: str = "") -> Found:
    """Choose a server for an enquiry from a price list (the starter's where blank).

    Blank cells are not given; without an id and a customer it gets stand-ins. Raises InputError
    where something cannot be read, of which a notebook shows the words only.
    """
    price_list, day = load_price_list(prices or None), read_date(date)
    given = {column: str(cell) for column, cell in cells.items() if str(cell).strip()}
    named = {"enquiry_id": "FIND", "customer": "not named", **given}
    request = read_request([named], price_list, date=day)
    choice = choose_server(price_list, request.servers[0])
    currency = request.first.currency or price_list.terms.currency
    return Found(choice, answer(price_list, request, day), currency)


def words(found: Found) -> Html:
    """Say what came of it, and of how many builds."""
    counts = found.choice.counts
    counted = f"{sentence(counts.words)}." if counts is not None else ""
    return section("notebook_found", answer=found.answer, counted=counted)


def three(found: Found) -> Html:
    """Set the choice beside the least risk and the fastest."""
    record = found.answer.record
    if record is None or found.considered is None or not found.considered.three:
        return Html("<p>There is nothing to set side by side.</p>")
    shown = section("considered", record=record, level=3, heading=False, counted=False)
    return words_left(shown)


def chart(found: Found) -> Drawing | Html:
    """Draw what no other build beats."""
    drawn = None if found.considered is None else charts.front_chart(found.considered)
    return Html("<p>There is nothing to draw.</p>") if drawn is None else drawn


def points(found: Found) -> Html:
    """List what the chart shows, from the cheapest on."""
    considered = found.considered
    if considered is None or not considered.points:
        return Html("<p>There is nothing to list.</p>")
    least = considered.points[0].net
    rows = [
        [
            amount(point.net),
            signed(point.net - least),
            "not known" if point.host_iops is None else figure(point.host_iops, 2),
            "not known" if point.loss_pct is None else percent(point.loss_pct).removesuffix(" %"),
            tb(point.usable_bytes),
            f"{named(point)}: {point.words}" if point.kinds else point.words,
        ]
        for point in considered.points
    ]
    heads = (*_NUMBERS, "Build")
    listed = table(rows, heads, _NUMBERS, caption="Builds that no other one beats")
    return Html(f"<p>{considered.points_words}</p>\n{listed.html}")


def wishes(found: Found) -> Html:
    """Say what each wish takes away, and what it costs."""
    record = found.answer.record
    if record is None:
        return _removed(found)
    shown = section("savings", record=record, level=3, heading=False)
    return words_left(shown)


def _removed(found: Found) -> Html:
    rows = [[one.demand.words, f"{one.builds:,}"] for one in found.choice.removed]
    heads = ("Wish", "Builds that meet all the others")
    return table(rows, heads, heads[1:], caption="Wishes", fine="Nothing was demanded.")


def nearest(found: Found) -> Html:
    """List the sound builds that come nearest to what cannot be had, and the largest."""
    rows = [
        [
            one.demand.words,
            "only that" if one.alone else "with others",
            *_build(one.candidate),
        ]
        for one in found.choice.nearest
    ]
    largest = found.choice.largest
    if largest is not None:
        rows.append(["the most capacity, at any price", "", *_build(largest)])
    heads = ("What gives way", "Missed", "Build", "TB", "Net", "We advise against")
    fine = "Something meets every demand." if found.answer.record else "Nothing comes near."
    return table(rows, heads, ("TB", "Net"), caption="What comes nearest", fine=fine)


def _build(candidate: Candidate) -> Iterator[str]:
    net = candidate.net
    yield describe(candidate.build)
    yield tb(candidate.usable_bytes)
    yield "" if net is None else amount(net)
    yield ", ".join(spoken(one.code) for one in candidate.advice) or "nothing"
