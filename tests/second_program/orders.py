"""Puts the rows of an enquiries file together to quotes and their servers."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from itertools import groupby

from babel.numbers import get_currency_precision

from .enquiry import Ask, FreeLine, read_ask
from .reading import Part, Prices, Row, Service

OF_QUOTE = ("customer", "currency", "discount_pct", "tax_code", "ship_by", "customer_ref")
OF_SERVER = (
    "builds",
    "chassis",
    "free_slots",
    "max_price",
    "options",
    "cores",
    "memory_gb",
    "redundant_supply",
    "max_watts",
    "max_lead_days",
)
MOST_ARRAYS = 6


@dataclass(frozen=True)
class ServerAsk:
    """What is asked of one server: its first row says the server's own, others add arrays."""

    first: Ask
    rows: tuple[Ask, ...]
    places: tuple[int, ...]  # of the rows in the quote

    @property
    def arrays(self) -> list[Ask]:
        """The rows that ask for an array."""
        return [row for row in self.rows if row.asks_array]

    @property
    def chassis_owned(self) -> bool:
        """Whether any row says that the chassis is the customer's."""
        return any("chassis" in row.owned for row in self.rows)

    @property
    def any_condition(self) -> bool:
        """Whether any row lets refurbished chassis, processors and memory in."""
        return any(row.any_condition for row in self.rows)

    @property
    def accept(self) -> frozenset[str]:
        """What any row says yes to."""
        return frozenset().union(*(row.accept for row in self.rows))

    @property
    def services(self) -> tuple[tuple[Service, int], ...]:
        """The chosen services of all rows, added up."""
        return added_up(list(self.rows))


def added_up(rows: list[Ask]) -> tuple[tuple[Service, int], ...]:
    """Add up the chosen services of some rows."""
    found: dict[Service, int] = {}
    for row in rows:
        for service, count in row.services:
            found[service] = found.get(service, 0) + count
    return tuple(found.items())


@dataclass(frozen=True)
class QuoteAsk:
    """All rows of one enquiry id, or why some cannot be read (by place among the rows)."""

    enquiry_id: str
    raws: tuple[Row, ...]
    asks: tuple[Ask, ...] = ()
    servers: tuple[ServerAsk, ...] = ()
    wrong: dict[int, str] = field(default_factory=dict)

    @property
    def first(self) -> Ask:
        """The row that says what holds for the quote."""
        return self.asks[0]

    @property
    def builds(self) -> int:
        """Builds of all servers, which a volume discount counts."""
        return sum(server.first.builds for server in self.servers)

    @property
    def loose(self) -> list[tuple[Part, int]]:
        """Loose parts in row order."""
        return [part for row in self.asks for part in row.parts]

    @property
    def lines(self) -> list[FreeLine]:
        """Free lines in row order."""
        return [row.line for row in self.asks if row.line is not None]

    @property
    def services(self) -> tuple[tuple[Service, int], ...]:
        """Chosen services on rows without a server."""
        taken = {place for server in self.servers for place in server.places}
        return added_up([row for n, row in enumerate(self.asks) if n not in taken])


def _differing(ask: Ask, raw: Row, first: Ask, columns: tuple[str, ...]) -> str | None:
    """Name a column in which a later row says something else than the first."""
    for column in columns:
        if raw.get(column, "") and getattr(ask, column) != getattr(first, column):
            return f"{column}: differs from the first row"
    return None


def _finer(line: FreeLine, currency: str) -> bool:
    minor = Decimal(1).scaleb(-get_currency_precision(currency))
    return any(money % minor for money in (line.price, line.cost))


def _servers(asks: list[Ask], raws: tuple[Row, ...], wrong: dict[int, str]) -> list[ServerAsk]:
    """Gather the servers, and note which rows do not go with theirs.

    A row belongs to the server its cell names (blank is a name, too) if any row of that name
    asks for an array or for chassis and options; a row of another name has no server.
    """
    names = any(ask.server for ask in asks)
    for n, ask in enumerate(asks):
        if names and ask.asks_server and not ask.server:
            wrong.setdefault(n, "server: has to be named where others are")
    found = []
    for name in dict.fromkeys(ask.server for ask in asks):
        places = tuple(n for n, ask in enumerate(asks) if ask.server == name)
        rows = tuple(asks[n] for n in places)
        if not any(row.asks_server for row in rows):
            continue
        arrays: set[str] = set()
        for n, row in zip(places, rows, strict=True):
            if text := _differing(row, raws[n], rows[0], OF_SERVER):
                wrong.setdefault(n, text)
            if "chassis" in row.owned and rows[0].chassis is None:
                wrong.setdefault(n, "owned: chassis is not pinned")
            if row.action != "new" and not any("chassis" in one.owned for one in rows):
                wrong.setdefault(n, f"owned: chassis is required with {row.action}")
            if row.asks_array:
                if row.array in arrays or len(arrays) == MOST_ARRAYS:
                    wrong.setdefault(n, "array: one of that name is there already, or too many")
                arrays.add(row.array)
        found.append(ServerAsk(rows[0], rows, places))
    return found


def _quote(enquiry_id: str, raws: tuple[Row, ...], prices: Prices) -> QuoteAsk:
    wrong: dict[int, str] = {}
    asks: list[Ask] = []
    if not enquiry_id:
        return QuoteAsk("", raws, wrong=dict.fromkeys(range(len(raws)), "enquiry_id: is required"))
    for n, raw in enumerate(raws):
        try:
            asks.append(read_ask(raw, prices))
        except ValueError as error:
            wrong[n] = str(error)
    if not raws[0].get("customer", ""):
        wrong[0] = "customer: is required"
    if wrong:
        return QuoteAsk(enquiry_id, raws, wrong=wrong)
    for n, ask in enumerate(asks):
        if text := _differing(ask, raws[n], asks[0], OF_QUOTE):
            wrong[n] = text
        if ask.line is not None and _finer(ask.line, asks[0].currency):
            wrong.setdefault(n, "line_price: has more decimals than the currency")
    servers = _servers(asks, raws, wrong)
    return QuoteAsk(enquiry_id, raws, tuple(asks), tuple(servers), wrong)


def read_quotes(rows: list[Row], prices: Prices) -> list[QuoteAsk]:
    """Read all rows of a file, quote by quote in their order."""
    groups = [
        (enquiry_id, tuple(group))
        for enquiry_id, group in groupby(rows, key=lambda row: row.get("enquiry_id", ""))
    ]
    ids = [enquiry_id for enquiry_id, _ in groups]
    quotes = []
    for enquiry_id, raws in groups:
        if enquiry_id and ids.count(enquiry_id) > 1:
            apart = "enquiry_id: its rows do not stand together"
            quotes.append(QuoteAsk(enquiry_id, raws, wrong=dict.fromkeys(range(len(raws)), apart)))
        else:
            quotes.append(_quote(enquiry_id, raws, prices))
    return quotes
