"""What does the customer get to sign: the two-page offer, each thing as it is shown.

Made of the record alone, so that a record of before renders too, and in the language it names.
"""

from collections.abc import Iterator
from itertools import count
from typing import Literal

from quotelib.catalogue.work import Customer
from quotelib.facts import Fact, Frozen
from quotelib.pricing.lines import Line
from quotelib.promise.offer_asked import Answered, answered, server_names
from quotelib.promise.offer_figures import FigureRow, figures, loads
from quotelib.promise.offer_said import (
    Known,
    Term,
    cautions,
    left_out,
    next_steps,
    terms,
    to_know,
)
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.texts import Texts, texts


class Party(Frozen):
    """Seller or customer: the name, then address, ways to reach them and numbers."""

    name: str
    lines: tuple[str, ...]


class LineShown(Frozen):
    """An order line, numbered through; what the customer owns has no price."""

    number: int | None
    description: str
    sku: str
    quantity: str
    unit_price: str
    amount: str


class LineGroup(Frozen):
    """The lines of an item; name and sub-total are blank where they say nothing new."""

    name: str
    lines: tuple[LineShown, ...]
    total: str


class SumShown(Frozen):
    """One of the sums below the lines; `why` is a reason for it in words, or blank."""

    kind: Literal["lines", "discount", "freight", "net", "tax", "gross"]
    label: str
    amount: str
    why: str = ""


class Offer(Frozen):
    """Everything that stands on the offer, but for headings.

    Parameters
    ----------
    title, running
        Of the page, and what stands at the foot of each sheet.
    caption
        Over the lines: in which currency.
    answers
        What was asked, and what is offered for it.
    """

    language: str
    title: str
    running: str
    seller: Party
    customer: Party
    references: tuple[Fact, ...]
    answers: tuple[Answered, ...]
    left_out: tuple[str, ...]
    caption: str
    groups: tuple[LineGroup, ...]
    sums: tuple[SumShown, ...]
    figures: tuple[FigureRow, ...]
    loads: tuple[str, ...]
    to_know: tuple[Known, ...]
    terms: tuple[Term, ...]
    cautions: tuple[str, ...]
    next_steps: tuple[str, ...]
    accepts: str

    @property
    def rows(self) -> int:
        """Count what stands in tables, which says how closely it has to be set."""
        lines = sum(len(group.lines) + bool(group.name) for group in self.groups)
        return lines + len(self.answers) + len(self.figures)


def offer_of(record: QuoteRecord) -> Offer:
    """Put the offer of a record into its customer's language."""
    t = texts(record.language)
    what = t("head.draft" if record.draft else "head.offer")
    number = record.quote_number
    gross = t.money(record.totals.gross, record.currency)
    return Offer(
        language=t.language,
        title=t("head.title", what=what, number=number, customer=record.customer),
        running=t("head.running", what=what, number=number, seller=record.seller.name),
        seller=_seller(record, t),
        customer=_customer(record.customer, record.buyer, t),
        references=tuple(_references(record, t)),
        answers=tuple(answered(record, t)),
        left_out=left_out(record, t),
        caption=t("costs.caption", currency=t.currency(record.currency), code=record.currency),
        groups=tuple(_groups(record, t)),
        sums=tuple(_sums(record, t)),
        figures=figures(record, t),
        loads=tuple(loads(record, t)),
        to_know=tuple(to_know(record, t)),
        terms=tuple(terms(record, t)),
        cautions=cautions(record, t),
        next_steps=tuple(next_steps(record, t)),
        accepts=t("sign.accepts", number=number, date=t.date(record.date), money=gross),
    )


def _seller(record: QuoteRecord, t: Texts) -> Party:
    seller = record.seller
    numbers = []
    if seller.tax_id:
        numbers.append(t("head.tax_id", number=seller.tax_id))
    if seller.company_number:
        numbers.append(t("head.company_number", number=seller.company_number))
    return Party(
        name=seller.name,
        lines=tuple(filter(None, (seller.address, seller.contact, " · ".join(numbers)))),
    )


def _customer(name: str, buyer: Customer | None, t: Texts) -> Party:
    if buyer is None:
        return Party(name=name, lines=())
    tax_id = t("head.tax_id", number=buyer.tax_id) if buyer.tax_id else None
    return Party(name=name, lines=tuple(filter(None, (buyer.address, buyer.contact, tax_id))))


def _references(record: QuoteRecord, t: Texts) -> Iterator[Fact]:
    yield Fact(label=t("head.number"), value=record.quote_number)
    if record.revision > 1:
        yield Fact(label=t("head.revision"), value=t.whole(record.revision))
    yield Fact(label=t("head.date"), value=t.date(record.date))
    yield Fact(label=t("head.valid_until"), value=t.date(record.valid_until))
    if record.customer_ref:
        yield Fact(label=t("head.your_reference"), value=record.customer_ref)


def _groups(record: QuoteRecord, t: Texts) -> Iterator[LineGroup]:
    several = len(record.servers) + len(record.items) > 1
    numbers = count(1)
    for name, server in zip(server_names(record, t), record.servers, strict=True):
        alike = t("costs.alike", server.builds, name=name)
        yield LineGroup(
            name=alike if len(record.servers) > 1 else "",
            lines=(*(_line(next(numbers), line, t) for line in server.lines), *_owned(server, t)),
            total=t.amount(server.lines_total) if several and len(server.lines) > 1 else "",
        )
    for item in record.items:
        yield LineGroup(
            name=t(f"items.{item.kind}"),
            lines=tuple(_line(next(numbers), line, t) for line in item.lines),
            total=t.amount(item.lines_total) if several and len(item.lines) > 1 else "",
        )


def _owned(server: Server, t: Texts) -> Iterator[LineShown]:
    """Give the customer's own parts, which have no price."""
    for part in (part for part in server.parts if part.owned):
        quantity = t.whole(part.quantity_all)
        yield LineShown(
            number=None, description=part.description, sku=part.sku, quantity=quantity,
            unit_price="", amount="",
        )  # fmt: skip


def _line(number: int, line: Line, t: Texts) -> LineShown:
    return LineShown(
        number=number,
        description=line.description,
        sku=line.sku,
        quantity=t.whole(line.quantity),
        unit_price=t.amount(line.unit_price),
        amount=t.amount(line.amount),
    )


def _sums(record: QuoteRecord, t: Texts) -> Iterator[SumShown]:
    totals = record.totals
    yield SumShown(kind="lines", label=t("sums.lines"), amount=t.amount(totals.lines_total))
    if totals.discount:
        pct = t.plain(totals.discount_pct)
        volume = totals.volume_discount
        said = t("sums.volume", totals.builds, pct=pct) if volume else t("sums.discount", pct=pct)
        why = t("sums.not_once") if totals.once_total else ""
        yield SumShown(kind="discount", label=said, amount=t.amount(-totals.discount), why=why)
    yield SumShown(kind="freight", label=t("sums.freight"), amount=t.amount(totals.freight))
    each = ""
    if record.each_words and totals.net_per_build is not None:
        key = "sums.each_apart" if len(record.items) else "sums.each"
        each = t(key, amount=t.amount(totals.net_per_build))
    yield SumShown(kind="net", label=t("sums.net"), amount=t.amount(totals.net), why=each)
    yield _tax(record, t)
    label = t("sums.gross" if totals.tax_code else "sums.gross_no_tax", currency=record.currency)
    yield SumShown(kind="gross", label=label, amount=t.amount(totals.gross))


def _tax(record: QuoteRecord, t: Texts) -> SumShown:
    """Show the tax; where its rate is zero, why."""
    totals, why = record.totals, ""
    if totals.tax_code is None:
        label = t("sums.no_tax")
    else:
        label = t("sums.tax", pct=t.plain(totals.tax_pct))
        if not totals.tax_pct:
            why = record.offer_terms.tax_reasons.get(totals.tax_code, "")
    return SumShown(kind="tax", label=label, amount=t.amount(totals.tax), why=why)
