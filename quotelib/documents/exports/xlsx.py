"""How are the lines of a quote written as a workbook: from its record, and from nothing else.

Sums are formulas that round where the record does, and carry the record's own figures as their
last results, so that a reader that works nothing out shows the same.
"""

import datetime as dt
import io
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

from quotelib.documents.exports.characters import for_xml
from quotelib.documents.exports.money import places
from quotelib.errors import NotExported
from quotelib.pricing.lines import Line
from quotelib.promise.record import QuoteRecord
from quotelib.text import sentence
from quotelib.units import plain

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

_CELL = 32_767
"""Most characters of a cell, as spreadsheets have it."""
_A4 = 9
_WIDTHS = (22, 24, 62, 10, 16, 18)
_HEADER_ROOM = 60


class _Group(NamedTuple):
    name: str
    lines: tuple[Line, ...]
    total: Decimal


def items(record: QuoteRecord) -> bytes:
    """Write the workbook of a record; the same record gives the same bytes.

    Raises
    ------
    NotExported
        Where an amount has more digits than a spreadsheet's cell holds, or the currency is none.
    """
    import xlsxwriter

    data = io.BytesIO()
    kept_as_text = dict.fromkeys(
        ("strings_to_formulas", "strings_to_numbers", "strings_to_urls"), False
    )
    with xlsxwriter.Workbook(data, {"in_memory": True, **kept_as_text}) as book:
        book.set_properties(
            {
                "title": _cell(_title(record)),
                "author": _cell(record.seller.name),
                # Of the record, not of the clock: the same record gives the same bytes.
                "created": dt.datetime.combine(record.date, dt.time()),
            }
        )
        _Items(book, record).write()
        _about(book, record)
    return data.getvalue()


def _title(record: QuoteRecord) -> str:
    what = "Draft quote" if record.draft else "Quote"
    return f"{what} {record.quote_number} for {record.customer}"


def _cell(text: str) -> str:
    return for_xml(text)[:_CELL]


def _number(amount: Decimal) -> float:
    """Give an amount as spreadsheets hold it, unless that would be another one."""
    number = float(amount)
    if Decimal(repr(number)) != amount or len(amount.normalize().as_tuple().digits) > 15:
        right = "leave out --xlsx for it"
        raise NotExported(f"{amount:f} has more digits than a spreadsheet holds; {right}")
    return number


def _groups(record: QuoteRecord) -> Iterator[_Group]:
    for of, server in record.by_server():
        alike = f", {server.builds} alike" if server.builds > 1 else ""
        yield _Group(sentence(of or "server") + alike, server.lines, server.lines_total)
    for item in record.items:
        yield _Group(item.name, item.lines, item.lines_total)


class _Items:
    """The sheet with the lines, row by row."""

    def __init__(self, book: "Workbook", record: QuoteRecord) -> None:
        self.record, self.sheet, self.row = record, book.add_worksheet("Items"), 0
        self.places = places(record)
        money = "#,##0" + (f".{'0' * self.places}" if self.places else "")
        top = {"valign": "top"}
        sum_, total = {"bold": True, "top": 1}, {"bold": True, "top": 1, "bottom": 6}
        self.head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True})
        self.head_right = book.add_format(
            {"bold": True, "bottom": 2, "text_wrap": True, "align": "right"}
        )
        self.text = book.add_format({"text_wrap": True, **top})
        self.whole = book.add_format({"num_format": "#,##0", **top})
        self.money = book.add_format({"num_format": money, **top})
        self.sum_text, self.sum = (book.add_format({**sum_, **f}) for f in ({}, _as(money)))
        self.all_text, self.all = (book.add_format({**total, **f}) for f in ({}, _as(money)))
        self.rate = {
            pct: book.add_format({"num_format": _percent(pct), **top})
            for pct in (record.totals.discount_pct, record.totals.tax_pct)
        }

    def write(self) -> None:
        sheet, currency = self.sheet, self.record.currency
        for column, width in enumerate(_WIDTHS):
            sheet.set_column(column, column, width)
        names = ("For", "Sku", "Description", "Quantity", "Unit price", "Amount")
        for column, name in enumerate(names):
            of = f", {currency}" if column > 3 else ""
            sheet.write_string(0, column, name + of, self.head_right if column > 2 else self.head)
        self._print()
        groups = list(_groups(self.record))
        sums, once = [], []
        for group in groups:
            first = self.row + 2
            for line in group.lines:
                self._line(group.name, line)
                if line.once:
                    once.append(self.row + 1)
            if not group.lines:
                continue
            last = f"F{self.row + 1}"
            sums.append(f"SUM(F{first}:{last})")
            if len(groups) > 1:
                self._sum(f"Sub-total, {group.name}", sums[-1], group.total)
                sums[-1] = f"F{self.row + 1}"
        self._totals("+".join(sums) or "0", _less(once))

    def _line(self, of: str, line: Line) -> None:
        self.row += 1
        for column, text in enumerate((of, line.sku, line.description)):
            if text:
                self.sheet.write_string(self.row, column, _cell(text), self.text)
        self.sheet.write_number(self.row, 3, line.quantity, self.whole)
        self.sheet.write_number(self.row, 4, _number(line.unit_price), self.money)
        number = self.row + 1
        self._formula(f"D{number}*E{number}", line.amount, self.money)

    def _totals(self, lines: str, less_once: str) -> None:
        totals = self.record.totals
        self._sum("Sum of lines", lines, totals.lines_total)
        net = [f"F{self.row + 1}"]
        if totals.discount:
            self._labelled(f"Less {self.record.discount_words}", totals.discount_pct)
            taken = f"-({net[0]}{less_once})*D{self.row + 1}"
            self._formula(taken, -totals.discount, self.money)
            net.append(f"F{self.row + 1}")
        self._labelled("Freight")
        self.sheet.write_number(self.row, 5, _number(totals.freight), self.money)
        net.append(f"F{self.row + 1}")
        self._sum("Total without tax", "+".join(net), totals.net)
        before = self.row + 1
        code = totals.tax_code
        if code:
            self._labelled(f"Tax, code {code}", totals.tax_pct)
            self._formula(f"F{before}*D{self.row + 1}", totals.tax, self.money)
        else:
            self._labelled("Tax: none included")
            self.sheet.write_number(self.row, 5, _number(totals.tax), self.money)
        words = f"To pay, {self.record.currency}" + ("" if code else ", without tax")
        self._sum(words, f"F{before}+F{self.row + 1}", totals.gross, last=True)
        if self.record.draft:
            self.row += 1
            self._labelled("Draft, not yet an offer: figures may change")

    def _labelled(self, label: str, pct: Decimal | None = None) -> None:
        self.row += 1
        self.sheet.write_string(self.row, 2, _cell(sentence(label)), self.text)
        if pct is not None:
            self.sheet.write_number(self.row, 3, float(pct / 100), self.rate[pct])

    def _sum(self, label: str, formula: str, result: Decimal, *, last: bool = False) -> None:
        self.row += 1
        text, money = (self.all_text, self.all) if last else (self.sum_text, self.sum)
        for column in (0, 1, 3, 4):
            self.sheet.write_blank(self.row, column, None, text)
        self.sheet.write_string(self.row, 2, _cell(label), text)
        self._formula(formula, result, money)

    def _formula(self, formula: str, result: Decimal, how: Any) -> None:
        """Write a sum, rounded to the minor unit, with the record's figure as its last result."""
        rounded = f"=ROUND({formula},{self.places})"
        self.sheet.write_formula(self.row, 5, rounded, how, _number(result))

    def _print(self) -> None:
        sheet = self.sheet
        sheet.freeze_panes(1, 0)
        sheet.set_landscape()
        sheet.set_paper(_A4)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        what = "Draft quote" if self.record.draft else "Quote"
        number = f"{what} {self.record.quote_number}"[:_HEADER_ROOM]
        # An ampersand starts a command there.
        sheet.set_header("&L" + for_xml(number).replace("&", "&&"))
        sheet.set_footer("&R&P / &N")


def _as(money: str) -> dict[str, Any]:
    return {"num_format": money}


def _percent(pct: Decimal) -> str:
    _, point, decimals = plain(pct).partition(".")
    return f"0{point}{'0' * len(decimals)}%"


def _less(rows: list[int]) -> str:
    """Take the amounts of some rising rows off a sum: no discount is taken from them."""
    found: list[list[int]] = []
    for row in rows:
        if found and row == found[-1][-1] + 1:
            found[-1].append(row)
        else:
            found.append([row])
    return "".join(f"-SUM(F{some[0]}:F{some[-1]})" for some in found)


def _about(book: "Workbook", record: QuoteRecord) -> None:
    """Write the sheet that says whose quote it is, for whom and until when."""
    sheet = book.add_worksheet("Quote")
    label = book.add_format({"bold": True, "valign": "top"})
    text = book.add_format({"text_wrap": True, "valign": "top", "align": "left"})
    day = book.add_format({"num_format": "yyyy-mm-dd", "align": "left"})
    sheet.set_column(0, 0, 24)
    sheet.set_column(1, 1, 80)
    sheet.set_landscape()
    sheet.set_paper(_A4)
    sheet.fit_to_pages(1, 0)
    for row, (name, value) in enumerate(_facts(record)):
        sheet.write_string(row, 0, name, label)
        if isinstance(value, dt.date):
            sheet.write_datetime(row, 1, dt.datetime.combine(value, dt.time()), day)
        else:
            sheet.write_string(row, 1, _cell(value), text)


def _facts(record: QuoteRecord) -> Iterator[tuple[str, str | dt.date]]:
    seller, buyer, terms, totals = record.seller, record.buyer, record.offer_terms, record.totals
    known = (buyer.address, buyer.contact, buyer.tax_id) if buyer else (None, None, None)
    address, contact, tax_id = known
    given: list[tuple[str, str | dt.date | None]] = [
        ("Draft quote" if record.draft else "Quote", record.quote_number),
        ("Revision", str(record.revision) if record.revision > 1 else None),
        ("Date", record.date),
        ("Valid until", record.valid_until),
        ("Your reference", record.customer_ref),
        ("Customer", record.customer),
        ("Customer's address", address),
        ("Customer's contact", contact),
        ("Customer's tax number", tax_id),
        ("Seller", seller.name),
        ("Seller's address", seller.address),
        ("Seller's contact", seller.contact),
        ("Seller's tax number", seller.tax_id),
        ("Seller's company number", seller.company_number),
        ("Seller's bank", seller.bank),
        ("Currency", record.currency),
        ("Why no tax", terms.tax_reasons.get(totals.tax_code or "") if not totals.tax else None),
        ("Leaves us on", record.ship_date),
        ("Delivery", terms.delivery),
        ("Payment", terms.payment),
        ("Warranty", terms.warranty),
    ]
    for name, value in given:
        if value:
            yield name, value
