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

LATER = {
    "DAY-27": "the same again, at today's prices",
    "DAY-28": "a revision of the same number",
    "DAY-29": "the customer's tax number",
    "DAY-30": "the offer as a structured document",
}
"""What of an enquiry nothing answers yet."""


def day_table(enquiries: str | Path = "", prices: str = "", date: str = "") -> Html:
    """Answer every enquiry of a file, by default those of the day, without writing a document."""
    price_list = load_price_list(prices or None)
    day = read_date(date)
    asked = read_enquiries(Path(enquiries or resources.a_day()), price_list, day)
    rows = [_row(price_list, one, day) for one in asked]
    there = {one.enquiry_id for one in asked}
    rows += [(number, "", "not answered yet", "", f"{later}.") for number, later in LATER.items()
             if number not in there and not enquiries]  # fmt: skip
    heads = ("Number", "What they say", "What came of it", "Without tax", "Still to come")
    return table(sorted(rows), heads, heads[3:4], caption="Enquiries of a day")


def _row(price_list: PriceList, asked: Asked, day: dt.date) -> tuple[str, str, str, str, str]:
    number, said = asked.enquiry_id, asked.rows[0].cells.get("note", "")
    later = f"{LATER[number]}." if number in LATER else ""
    if asked.request is None:
        wrong = "; ".join(problem.words for row in asked.rows for problem in row.problems)
        return number, said, f"invalid: {wrong}", "", later
    answered = answer(price_list, asked.request, day, alternatives=False)
    record = answered.record
    if record is None:
        return number, said, f"refused: {answered.reason}", "", later
    came = f"{record.outcome}: {record.in_short()}"
    if answered.reasons:
        came += f". To settle: {'; '.join(reason.what for reason in answered.reasons)}"
    return number, said, came, money(record.totals.net, record.currency), later
