"""What came of the enquiries of a day: what each customer says, and what is offered."""

import datetime as dt
from pathlib import Path

from quotelib import resources
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.quoting import read_date
from quotelib.documents.sections import Html, table
from quotelib.enquiry.reading import Asked, read_enquiries
from quotelib.promise.answer import answer
from quotelib.text import money

BY_COMMAND = {
    "DAY-27": ("Same as last time.", "quotelib again NUMBER"),
    "DAY-28": ("Please raise it to 80 TB.", "quotelib revise NUMBER ENQUIRIES.csv"),
    "DAY-30": ("A tender: the quote as a structured document.", "quotelib batch ... --ubl"),
}
"""What is asked of a quote that was given, or of its papers, and what answers it."""


def day_table(enquiries: str | Path = "", prices: str = "", date: str = "") -> Html:
    """Answer every enquiry of a file, by default those of the day, without writing a document."""
    price_list = load_price_list(prices or None)
    day = read_date(date)
    asked = read_enquiries(Path(enquiries or resources.a_day()), price_list, day)
    rows = [_row(price_list, one, day) for one in asked]
    there = {one.enquiry_id for one in asked}
    rows += [(number, said, f"by command: {command}", "")
             for number, (said, command) in BY_COMMAND.items()
             if number not in there and not enquiries]  # fmt: skip
    heads = ("Number", "What they say", "What came of it", "Without tax")
    return table(sorted(rows), heads, heads[3:4], caption="Enquiries of a day")


def _row(price_list: PriceList, asked: Asked, day: dt.date) -> tuple[str, str, str, str]:
    number, said = asked.enquiry_id, asked.rows[0].cells.get("note", "")
    if asked.request is None:
        wrong = "; ".join(problem.words for row in asked.rows for problem in row.problems)
        return number, said, f"invalid: {wrong}", ""
    answered = answer(price_list, asked.request, day, alternatives=False)
    record = answered.record
    if record is None:
        return number, said, f"refused: {answered.reason}", ""
    came = f"{record.outcome}: {record.in_short()}"
    if answered.reasons:
        came += f". To settle: {'; '.join(reason.what for reason in answered.reasons)}"
    return number, said, came, money(record.totals.net, record.currency)
