"""What does the register look like in a notebook: quotes, what became of them, and how often.

For a try of it there is one made up for the purpose.
"""

import datetime as dt
import shutil
from collections.abc import Sequence
from pathlib import Path

from quotelib import resources
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.batch.files import file_stems
from quotelib.documents.charts.drawing import Drawing
from quotelib.documents.charts.given import hit_chart, margin_over_time
from quotelib.documents.making import write_documents
from quotelib.documents.sections import Html, table
from quotelib.enquiry.reading import read_enquiries, read_request
from quotelib.promise.answer import answer
from quotelib.promise.difference import lines
from quotelib.promise.record import numbered
from quotelib.register.book import Register
from quotelib.register.outcomes import OPEN, OUTCOMES
from quotelib.register.revising import answer_again, says_the_same
from quotelib.register.standing import Standing, Wanted
from quotelib.text import date as day_words
from quotelib.text import money

_NOTHING = Html("<p>Nothing to draw yet: no quote has been decided.</p>")
_HEADS = ("Quote", "Date", "Customer", "Net", "Margin", "What became of it", "Ask after it on")
_DEMO = (
    ("BSW-1001", 150, "5", "delivered"), ("BSW-1002", 141, "", "declined"),
    ("BSW-1003", 118, "", "delivered"), ("BSW-1004", 112, "3", "lapsed"),
    ("BSW-1005", 90, "", "ordered"), ("BSW-1006", 84, "2", "declined"),
    ("BSW-1007", 55, "", "ordered"), ("BSW-1008", 49, "1", "ordered"),
    ("BSW-1009", 24, "", ""), ("BSW-1010", 20, "4", "ordered"), ("BSW-1012", 6, "", ""),
)  # fmt: skip
"""Example enquiry, how many days ago, discount in percent, what became of it."""


def quotes(
    register: str,
    *,
    customer: str = "",
    outcome: str = "",
    due: dt.date | None = None,
    caption: str = "Quotes given",
) -> Html:
    """List quotes: of a customer, with an outcome, or to be asked after by a day."""
    wanted = Wanted(customer=customer, outcome=outcome, due=due)
    rows = [_row(one) for one in Register(register).find(wanted)]
    return table(rows, _HEADS, _HEADS[3:5], caption=caption, fine="There is no such quote.")


def _row(one: Standing) -> Sequence[str]:
    held = one.state == "held" and one.outcome == OPEN
    return (
        numbered(one.number, one.revision),
        one.date.isoformat(),
        f"{one.customer} ({one.enquiry_id})",
        money(one.net, one.currency),
        "" if one.margin_pct is None else f"{one.margin_pct} %",
        "open, held" if held else one.outcome,
        one.follow_up.isoformat() if one.follow_up and one.outcome == OPEN else "",
    )


def history(register: str, number: str) -> Html:
    """Show all that was done to a quote, and what each revision changed."""
    book = Register(register)
    rows = []
    for event in book.history(number):
        what = f"{event.kind} {event.value}"
        if event.kind == "revision":
            what = f"{numbered(number, event.revision)}, {event.value}"
            changes = book.revision(number, event.revision).record.changes
            said = (change.line for change in changes if change.group != "price")
            what = "; ".join([what, *said])
        rows.append((f"{event.moment:%Y-%m-%d %H:%M}", what, event.note, event.done_by))
    return table(rows, ("When (UTC)", "What", "Why", "Who"), caption=f"What was done to {number}")


def became(register: str, number: str, outcome: str, by: str, note: str = "") -> Html:
    """Say what has become of a quote, and show how it stands."""
    rows = [_row(Register(register).became(number, outcome, by, note))]
    return table(rows, _HEADS, _HEADS[3:5], caption="Now")


def follow(register: str, number: str, day: dt.date, by: str) -> Html:
    """Say when to ask after a quote, and show how it stands."""
    rows = [_row(Register(register).follow(number, day, by))]
    return table(rows, _HEADS, _HEADS[3:5], caption="Now")


def reopen(register: str, number: str, folder: str, revision: int | None = None) -> Html:
    """Write a quote's documents again, exactly as given, and list them."""
    found = Register(register).revision(number, revision)
    (stem,) = file_stems([found.record.enquiry_id])
    names = write_documents(found.record, Path(folder), stem, found.text)
    rows = [(f"{folder}/{name}",) for name in names.values()]
    return table(rows, ("File",), caption=f"{found.record.numbered}, as given")


def revise(
    register: str, number: str, by: str, date: dt.date, prices: str = "", **asked: str
) -> Html:
    """Answer a quote anew with some cells of its first row otherwise; show what changed.

    Its parts are kept as far as can be.
    """
    book, price_list = Register(register), load_price_list(prices or None)
    before = book.revision(number)
    rows = [dict(row.cells) for row in before.record.rows]
    rows[0] |= asked
    request = read_request(rows, price_list)
    own = (before.standing.enquiry_id, before.standing.customer)
    left = price_list.with_less_stock(book.kept(date).but_for(own))
    came = answer_again(before.record, request, left, date)
    if came.record is None or came.difference is None:
        said = [f"{reason.code}: {reason.words}" for reason in came.answer.reasons]
        return table([(one,) for one in said], ("Why not",), caption="It cannot be revised so")
    if says_the_same(before.record, came.record) and date <= before.record.valid_until:
        return Html("<p>Nothing is otherwise: it stays as it is.</p>")
    made = book.revise(before, came.record, by)
    said = list(lines(came.difference))
    caption = f"{made.record.numbered} of {day_words(made.record.date)}: what changed"
    return table([(one,) for one in said], ("Against the revision before",), caption=caption)


def hits(register: str) -> Drawing | Html:
    """Draw how many of those decided are ordered, month by month."""
    return hit_chart(Register(register).find()) or _NOTHING


def margins(register: str) -> Drawing | Html:
    """Draw the margin of quotes over time; for the seller's eyes."""
    return margin_over_time(Register(register).find()) or _NOTHING


def demo(folder: str, date: dt.date) -> str:
    """Make a register of some months from the starter list and the example enquiries.

    All is invented; what an earlier demo left in the folder is replaced.
    """
    root = Path(folder)
    shutil.rmtree(root, ignore_errors=True)
    price_list = load_price_list(None)
    asked = {one.enquiry_id: one for one in read_enquiries(resources.demo_enquiries(), price_list)}
    people = ("Kim Example", "Lou Sample")
    for place, (name, ago, discount, outcome) in enumerate(_DEMO):
        day = date - dt.timedelta(days=ago)
        moment = dt.datetime.combine(day, dt.time(9 + place % 8), dt.UTC)
        cells = dict(asked[name].rows[0].cells)
        cells = {key: cell for key, cell in cells.items() if cell} | {"currency": "GBP"}
        request = read_request(
            [cells | ({"discount_pct": discount} if discount else {})], price_list
        )
        record = answer(price_list, request, day, alternatives=False).record
        assert record is not None and outcome in ("", *OUTCOMES)
        given = Register(root, make=True, now=lambda moment=moment: moment)  # type: ignore[misc]
        (made,) = given.give([record], people[place % 2])
        if outcome:
            later = moment + dt.timedelta(days=min(9, ago - 1))
            then = Register(root, now=lambda later=later: later)  # type: ignore[misc]
            if outcome == "delivered":
                then.became(made.number, "ordered", people[place % 2])
            then.became(made.number, outcome, people[place % 2])
        else:
            given.follow(made.number, day + dt.timedelta(days=21), people[place % 2])
    assert set(asked) >= {name for name, *_ in _DEMO}
    return str(root)
