"""What is done with files once they are written: they are opened, and the customer is told."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from quotelib.promise.record import QuoteRecord
from quotelib.text import date, money, tb
from quotelib.workbook.widgets import Field, Files, box, html, show

_DRAFT = (
    '<p class="ql-warn">It is a draft: a person has to confirm it before a customer is written '
    "to.</p>"
)


class After:
    """Files to open, and words for an e-mail, of the quote that was written last."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.files = Files()
        label, tip = "Words for an e-mail", "Read them through; the offer goes with them"
        self.mail = Field(name="mail", kind="copy", label=label, help=tip)
        self._draft = html(_DRAFT)
        self.block = box([self.files, self.mail, self._draft], "ql-stack")
        self.forget()

    def show(self, record: QuoteRecord, names: Mapping[str, str]) -> None:
        """Offer what was written, each by what it is, and the words that go with it."""
        self.files.offer({title: self._folder / name for title, name in names.items()})
        self.mail.value = "" if record.draft else mail(record)
        show(self.mail, not record.draft)
        show(self._draft, record.draft)
        show(self.block, True)

    def forget(self) -> None:
        """Take all of it back: the enquiry is another one now."""
        self.files.offer({})
        self.mail.value = ""
        show(self.block, False)


def mail(record: QuoteRecord) -> str:
    """Write to the customer what is offered: nothing that is for the seller only."""
    return "\n".join(_lines(record))


def _lines(record: QuoteRecord) -> Iterator[str]:
    buyer, seller, totals = record.buyer, record.seller, record.totals
    yield f"Subject: Quote {record.quote_number}"
    yield ""
    contact = buyer.contact if buyer is not None else ""
    yield f"Dear {contact or record.customer},"
    yield ""
    ref = f" (your reference: {record.customer_ref})" if record.customer_ref else ""
    yield f"Thank you for your enquiry{ref}. With this comes our offer, {record.quote_number}:"
    yield ""
    for of, server in record.by_server():
        many = f"{server.builds} servers, each" if server.builds > 1 else "A server"
        held = sum(array.capacity.usable_bytes for array in server.arrays)
        arrays = ", ".join(array.words for array in server.arrays)
        words = f" with {arrays}: {tb(held)} TB usable" if arrays else ""
        yield f"- {f'{of}: ' if of else ''}{many}{words}"
    for item in record.items:
        yield f"- {item.name}"
    yield ""
    if record.each_words and totals.net_per_build is not None:
        yield f"Each server: {money(totals.net_per_build, record.currency)} without tax"
    yield f"In all: {money(totals.net, record.currency)} without tax"
    if totals.tax_code:
        yield f"With tax: {money(totals.gross, record.currency)}"
    if record.ship_date is not None:
        yield f"We can ship on {date(record.ship_date)}."
    yield f"The offer is valid until {date(record.valid_until)}."
    yield ""
    yield from record.next_steps[:1]
    yield ""
    yield "Kind regards,"
    yield seller.name
