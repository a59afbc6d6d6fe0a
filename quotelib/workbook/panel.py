"""What of an answer is always in sight: what fits, what it does and costs, what is against it.

It says in few words what the record says; the record's own sections say the rest further down.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from quotelib.enquiry.columns import COLUMNS
from quotelib.pricing.money import to_minor
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown, arrays_called
from quotelib.text import count, date, money, percent, sentence, size
from quotelib.units import TB

_MOST_PARTS = 8


class Said(NamedTuple):
    """One line: what it is about, what is said, something smaller beside it, and what sort it is.

    The sort is blank, ``good``, ``bad`` or ``note``.
    """

    label: str
    words: str
    more: str = ""
    sort: str = ""


class Part(NamedTuple):
    """One part of the conversation."""

    title: str
    said: tuple[Said, ...]


def panel(record: QuoteRecord) -> list[Part]:
    """Say a record in short, part by part; what has nothing to say is left out."""
    parts = {
        "What fits": _fits(record),
        "What it does": _does(record),
        "What it costs": _costs(record),
        "When": _when(record),
        "What stands against it": _against(record),
    }
    found = ((title, tuple(said)) for title, said in parts.items())
    return [Part(title, said) for title, said in found if said]


def _fits(record: QuoteRecord) -> Iterator[Said]:
    for of, server in record.by_server():
        if of:
            yield Said(sentence(of), f"{server.builds} alike" if server.builds > 1 else "one")
        for own, array in arrays_called(server.arrays):
            yield Said(sentence(own or "layout"), array.words)
        for part in server.parts[:_MOST_PARTS]:
            many = f"{part.quantity} × " if part.quantity > 1 else ""
            owned = ", the customer's own" if part.owned else ""
            words = f"{many}{part.description}{owned}"
            yield Said(sentence(part.role.replace("_", " ")), words, part.sku)
        if (more := len(server.parts) - _MOST_PARTS) > 0:
            yield Said("And", f"{count(more, 'more part')}, listed below")
    for item in record.items:
        yield Said("Also", item.name)


def _does(record: QuoteRecord) -> Iterator[Said]:
    for server, asked in _with_cells(record):
        for (own, array), cells in zip(arrays_called(server.arrays), asked, strict=True):
            of = f" ({own})" if own else ""
            yield Said(f"Holds{of}", size(array.capacity.usable_bytes), _spare(array, cells))
            yield Said(f"Survives{of}", _survives(array))
            told = {estimate.key: estimate for estimate in array.estimates}
            speed = [told[key].shown for key in ("host_iops", "response_ms") if key in told]
            if speed:
                ranged = told["host_iops"].shown_range if "host_iops" in told else ""
                each = ", ".join([f"about {speed[0]}", *(f"{s} each" for s in speed[1:])])
                yield Said(f"Speed{of}", each, ranged)
            if "loss_pct" in told:
                loss = told["loss_pct"]
                words = f"chance of any: {loss.shown} over {array.outlook.years} years"
                yield Said(f"Loss{of}", words, loss.shown_range)


def _survives(array: ArrayShown) -> str:
    if not array.survives:
        return "no drive failure"
    return f"any {count(array.survives, 'drive failure')}"


def _spare(array: ArrayShown, cells: dict[str, str]) -> str:
    """Say how much more it holds than was asked, where that is worth a word."""
    asked = _number(cells, "usable_tb")
    if not asked:
        return ""
    over = Decimal(array.capacity.usable_bytes) / (asked * TB) * 100 - 100
    return f"{percent(float(over))} more than asked" if over >= 1 else "as much as asked"


def _costs(record: QuoteRecord) -> Iterator[Said]:
    totals, currency = record.totals, record.currency
    each = totals.net_per_build
    if each is not None and totals.builds > 1:
        yield Said("Each", money(each, currency), "a server, without tax")
    scope = f"all {totals.builds}" if totals.builds > 1 else "in all"
    yield Said(sentence(scope), money(totals.net, currency), "without tax")
    if totals.tax_code:
        yield Said("With tax", money(totals.gross, currency), f"code {totals.tax_code}")
    if totals.discount:
        yield Said("Taken off", money(totals.discount, currency), record.discount_words)
    if each is not None:
        cells = (row.cells for row in record.rows if row.server is not None)
        budgets = [b for b in (_number(each, "max_price") for each in cells) if b is not None]
        if budgets:
            yield _budget(budgets[0], each, currency)


def _budget(budget: Decimal, each: Decimal, currency: str) -> Said:
    left = to_minor(currency, budget - each)
    words = f"{money(abs(left), currency)} {'above' if left < 0 else 'below'} it for each server"
    return Said("Budget", words if left else "just met", "", "bad" if left < 0 else "good")


def _when(record: QuoteRecord) -> Iterator[Said]:
    days = [server.lead_days for server in record.servers]
    days += [item.lead_days for item in record.items if item.pick]
    if record.ship_date is not None:
        yield Said("Ships", date(record.ship_date))
    if days:
        late = max(days)
        words = f"here in {count(late, 'day')}" if late else "all in stock today"
        yield Said("Parts", words)


def _against(record: QuoteRecord) -> Iterator[Said]:
    notes = 0
    for of, server in record.by_server():
        for found in server.findings:
            if found.severity == "advise":
                label = "Accepted" if found.accepted else "Advised against"
                named = f"{of}: {found.what}" if of else found.what
                yield Said(label, sentence(named), "", "note" if found.accepted else "bad")
        notes += sum(found.severity == "note" for found in server.findings)
    if notes:
        yield Said("To know", f"{count(notes, 'note')}, see below", "", "note")


def _with_cells(record: QuoteRecord) -> Iterable[tuple[Server, list[dict[str, str]]]]:
    """Give each server with the cells of the rows that ask for its arrays."""
    for place, server in enumerate(record.servers):
        found: list[dict[str, str]] = [{} for _ in server.arrays]
        for row in record.rows:
            if row.server == place and row.array is not None:
                found[row.array] = row.cells
        yield server, found


def _number(cells: dict[str, str], name: str) -> Decimal | None:
    text = cells.get(name, "")
    value = COLUMNS[name].parse(text) if text.strip() else None
    return value if isinstance(value, Decimal) else None
