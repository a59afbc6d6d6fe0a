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

_MOST_CHANGES = 10
"""Lines of changes; the annex has them all."""
_FOLLOWS = {"figure", "place", "service", "validity", "tax", "rest"}
"""Changes that follow from others, and are left to the annex."""


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
    note: str = ""


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


class ByMonth(Frozen):
    """What paying by the month comes to: a caption, rows under their heads, on what it rests."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str


class Changed(Frozen):
    """What is otherwise than in the offer before: a heading, and lines."""

    heading: str
    lines: tuple[str, ...]


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
    changed: Changed | None
    answers: tuple[Answered, ...]
    left_out: tuple[str, ...]
    caption: str
    groups: tuple[LineGroup, ...]
    sums: tuple[SumShown, ...]
    by_month: ByMonth | None
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
        changed = len(self.changed.lines) + 1 if self.changed else 0
        months = len(self.by_month.rows) + 3 if self.by_month else 0
        return lines + len(self.answers) + len(self.figures) + changed + months


def offer_of(record: QuoteRecord) -> Offer:
    """Put the offer of a record into its customer's language."""
    t = texts(record.language)
    what = t("head.draft" if record.draft else "head.offer")
    number = _number(record, t)
    gross = t.money(record.totals.gross, record.currency)
    return Offer(
        language=t.language,
        title=t("head.title", what=what, number=number, customer=record.customer),
        running=t("head.running", what=what, number=number, seller=record.seller.name),
        seller=_seller(record, t),
        customer=_customer(record.customer, record.buyer, t),
        references=tuple(_references(record, t)),
        changed=_changed(record, t),
        answers=tuple(answered(record, t)),
        left_out=left_out(record, t),
        caption=t("costs.caption", currency=t.currency(record.currency), code=record.currency),
        groups=tuple(_groups(record, t)),
        sums=tuple(_sums(record, t)),
        by_month=_by_month(record, t),
        figures=figures(record, t),
        loads=tuple(loads(record, t)),
        to_know=tuple(to_know(record, t)),
        terms=tuple(terms(record, t)),
        cautions=cautions(record, t),
        next_steps=tuple(next_steps(record, t)),
        accepts=t("sign.accepts", number=number, date=t.date(record.date), money=gross),
    )


def _number(record: QuoteRecord, t: Texts) -> str:
    """Give the number of the offer, and which revision it is where there was one before."""
    if record.revision == 1:
        return record.quote_number
    return t("head.revised", number=record.quote_number, n=t.whole(record.revision))


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


def _changed(record: QuoteRecord, t: Texts) -> Changed | None:
    """Say what changed since the offer before, by name in the language that changes have."""
    since = record.since
    if since is None or not record.changes:
        return None
    date = t.date(since.date)
    if since.quote_number == record.quote_number:
        heading = t("changed.revision", n=t.whole(since.revision), date=date)
    else:
        heading = t("changed.offer", number=since.quote_number, date=date)
    told = [change for change in record.changes if change.kind not in _FOLLOWS]
    lines = [c.line for c in told[:_MOST_CHANGES]] if t.language == "en" else []
    if since.currency == record.currency:
        now, was = (t.money(net, record.currency) for net in (record.totals.net, since.net))
        lines.append(t("changed.net", now=now, was=was))
    return Changed(heading=heading, lines=(*lines, t("changed.annex")))


def _by_month(record: QuoteRecord, t: Texts) -> ByMonth | None:
    plans = record.instalments
    if plans is None:
        return None
    heads = ("months", "monthly", "last", "total", "interest")
    return ByMonth(
        caption=t("months.caption", money=t.money(plans.amount, plans.currency)),
        heads=tuple(t(f"months.{head}") for head in heads),
        rows=tuple(
            (
                t.whole(plan.months),
                *map(t.amount, (plan.monthly, plan.last, plan.total, plan.interest)),
            )
            for plan in plans.rows
        ),
        note=t("months.note", pct=t.plain(plans.yearly_rate_pct)),
    )


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
        note=t("costs.taken") if line.amount < 0 else "",
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
