"""What can be typed: a row of the enquiry, a field a column."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import Any

from quotelib.build.findings import ABOUT
from quotelib.catalogue.parts import Chassis
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.options import Judged
from quotelib.enquiry.column import Column
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.there import THERE
from quotelib.errors import Problem, shown
from quotelib.facts import Reason
from quotelib.text import count, runs, sentence, spoken
from quotelib.units import plain
from quotelib.workbook.order import LOOSE, NAMES, Kind, of
from quotelib.workbook.typed import currency_of, read
from quotelib.workbook.widgets import Field, box, fill, option, show

_WHO = ("customer", "enquiry_id")
_FIRST = ("usable_tb", "survive", "builds", "max_price", "workload", "media")
"""What is said first on the telephone; all other columns find their place by what they are."""
_MOST_SHORT = 64
FOR_SELLER = ("line_cost",)
_ALWAYS = ("note", *of("quote"))
_SEVERAL = "Type and press Enter; “3 disk” adds three"


class Form:
    """The fields of one row; `changed` is told the column that somebody has changed.

    `store` and `session` say where, and for which opening of the page, the browser keeps what is
    typed; `opens` is told the column whose list somebody opens.
    """

    def __init__(
        self,
        price_list: PriceList,
        changed: Callable[[str], None],
        store: str,
        session: str,
        opens: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._changed = changed
        self.opened: set[str] = set()
        self._possible: dict[str, str] = {}
        self._proposed: dict[str, str] = {}
        years = plain(price_list.terms.risk.years)
        self.fields = {}
        for name, column in COLUMNS.items():
            self.fields[name] = Field(
                name=name,
                kind="several" if column.many else column.kind,
                label=column.label,
                help=_SEVERAL if column.many else column.help.format(years=years),
                options=_options(column, price_list),
                store=store,
                session=session,
                asks=True,
            )
            self.fields[name].observe(self._told, "value")
            if column.kind == "pick":
                self.fields[name].on_msg(partial(self._opens, opens, name))

    def _opens(self, opens: Callable[[str], None], name: str, _: Any, said: Any, __: Any) -> None:
        if said.get("opened"):
            self.opened.add(name)
            opens(name)
        else:
            self.opened.discard(name)

    def _told(self, change: Mapping[str, Any]) -> None:
        self._changed(change["owner"].name)

    def cells(self) -> dict[str, str]:
        """Give every cell as it stands, blank ones too."""
        return {name: field.value for name, field in self.fields.items()}

    def given(self) -> dict[str, str]:
        """Give the cells that are filled."""
        return {name: value for name, value in self.cells().items() if value.strip()}

    def fill(self, cells: Mapping[str, str], row: Callable[[str], str]) -> None:
        """Put the cells of a row into the fields, nobody is told; `row` says what keeps each."""
        for name, field in self.fields.items():
            field.row = row(name)
        fill(self.fields, cells, self._told)

    def show(self, kind: Kind, named: Collection[str], *, seller: bool) -> None:
        """Show the fields that a row of a kind has, those of `NAMES` if `named`, and any filled.

        What a line costs us is for the seller's eyes only.
        """
        given = self.given()
        for name, field in self.fields.items():
            loose = next((of for of, names in LOOSE.items() if name in names), None)
            if kind == "array":
                mine = name == "services" or (
                    loose is None and (name in named or name not in NAMES)
                )
            else:
                mine = loose == kind or name in _ALWAYS
            asked = loose and any(other in given for other in LOOSE[loose])
            there = bool(mine or name in given or asked)
            show(field, there and (seller or name not in FOR_SELLER))

    def filled(self, group: str) -> bool:
        """Tell whether anything stands in a part of the form."""
        return any(self.fields[name].value.strip() for name in groups()[group])

    def wrong(self, group: str) -> bool:
        """Tell whether anything is wrong in a part of the form."""
        return any(self.fields[name].error for name in groups()[group])

    def focus(self, kind: Kind) -> None:
        """Go to the first field of a row, its own name before that of its server."""
        names = [*LOOSE.get(kind, ()), *reversed(NAMES), *_FIRST]
        there = (self.fields[n] for n in names if self.fields[n].layout.display != "none")
        next(there).focus()

    def say(self, problems: Sequence[Problem]) -> None:
        """Put each problem beside its field, and clear those that are mended."""
        why = [f"{shown(p.value)!r} {p.why}" if p.value else sentence(p.why) for p in problems]
        self._errors((p.column, f"{w}; {p.right}.") for p, w in zip(problems, why, strict=True))

    def refuse(self, reasons: Sequence[Reason]) -> None:
        """Tell beside the fields why nothing can be built or nothing meets what was asked."""
        self._errors((ABOUT.get(r.code, r.code), f"{sentence(r.words)}.") for r in reasons)

    def _errors(self, told: Iterable[tuple[str, str]]) -> None:
        words: dict[str, list[str]] = {}
        for name, text in told:
            words.setdefault(name, []).append(text)
        for name, field in self.fields.items():
            field.error = " ".join(words.get(name, []))

    def choices(self, pin: str, judged: Mapping[str, Judged]) -> None:
        """Strike out the options of a pin judged impossible, and say which numbers are left."""
        field = self.fields[pin]
        if field.kind == "pick":
            states = [judged.get(item["value"], ("", "")) for item in field.options]
            field.options = [
                {**item, "state": state, "long": reason, "short": in_few_words(reason)}
                for item, (state, reason) in zip(field.options, states, strict=True)
            ]
        else:
            self._possible[pin] = f"possible: {counts(judged)}" if judged else ""
            self._help(pin)

    def price(self, pin: str, scope: str, prices: Mapping[str, str]) -> None:
        """Put what each option would cost beside it; `scope` says of what."""
        field = self.fields[pin]
        with field.hold_sync():
            field.scope, field.prices = scope, dict(prices)

    def propose(self, pins: Mapping[str, str]) -> None:
        """Say beside what is left to us what the answer takes; nothing where there is none."""
        self._proposed = {pin: f"we take {pins[pin]}" for pin in PINS if pins.get(pin)}
        for pin in PINS:
            self._help(pin)

    def _help(self, pin: str) -> None:
        field, column = self.fields[pin], COLUMNS[pin]
        taken = "" if field.value.strip() else self._proposed.get(pin, "")
        said = [words for words in (taken, self._possible.get(pin, "")) if words]
        if field.kind == "pick" and field.value:
            said = [o["name"] or o["detail"] for o in field.options if o["value"] == field.value]
        field.help = sentence("; ".join(said)) or column.help

    def label(self, name: str) -> str:
        """Give a field's label; its name where there is no such field."""
        return str(self.fields[name].label) if name in self.fields else spoken(name)

    def notice(self, cells: Mapping[str, str], price_list: PriceList) -> None:
        """Say beside the fields how they are read; `cells` are those of the first row."""
        currency = currency_of(cells, price_list)
        for name, field in self.fields.items():
            field.notice = read(COLUMNS[name], field.value, currency, price_list.currencies).said
        known = price_list.customers.get(cells.get("customer", "").strip())
        if known is not None:
            listed = {"tax_code": known.tax_code, "customer_ref": known.reference}
            for name, text in listed.items():
                if text and not self.fields[name].value.strip():
                    self.fields[name].notice = f"From the list of customers: {text}."

    def new_session(self, session: str) -> None:
        """Keep what is typed from now on under another opening of the page."""
        for field in self.fields.values():
            field.session = session

    def block(self, names: Iterable[str], *layout: str) -> Any:
        """Lay fields out side by side."""
        return box([self.fields[name] for name in names], "ql-fields", *layout)


def groups() -> dict[str, list[str]]:
    """Sort the columns into the parts of a conversation; each is in one of them.

    They are ``who``, ``first``, ``need``, ``there`` (of an array that is there already), ``more``
    (of the server, and loose), ``limits`` (what
    takes a price or an estimate to judge), ``terms`` (of the whole quote), ``parts`` and
    ``numbers`` (pins), ``yes`` (what may be ticked).
    """
    found: dict[str, list[str]] = {"who": list(_WHO), "first": [*NAMES, *_FIRST]}
    found |= {"need": [], "there": [column.name for column in THERE], "more": list(_MORE)}
    found |= {group: [] for group in ("limits", "terms", "parts", "numbers", "yes")}
    for name, column in COLUMNS.items():
        if name not in (*_WHO, *NAMES, *_FIRST, *_MORE, *found["there"]):
            found[_group(column)].append(name)
    return found


_MORE = ("parts", "options", "services", *LOOSE["line"], "cores", "memory_gb", "redundant_supply",
         "max_watts", "max_lead_days", "condition")  # fmt: skip
"""What not everybody asks for: it does not crowd the page."""


def _group(column: Column) -> str:
    if column.kind == "ticks":
        return "yes"
    if column.name in PINS:
        return "parts" if column.kind == "pick" else "numbers"
    if column.of == "quote":
        return "terms"
    return "limits" if column.demand and column.demand.needs != "build" else "need"


REQUIRED = tuple(n for names in groups().values() for n in names if COLUMNS[n].required)
"""What a quote needs before it can be written, in the order of the conversation."""


def in_few_words(reason: str) -> str:
    """Cut a reason to what can be read in a list."""
    first = reason.split(";")[0]
    if len(first) <= _MOST_SHORT:
        return first
    return f"{first[:_MOST_SHORT].rsplit(' ', 1)[0]} …"


def counts(judged: Mapping[str, Judged]) -> str:
    """Say which numbers are left: ``2 to 6, 8``; ``none`` where none is."""
    left = sorted(int(value) for value, (state, _) in judged.items() if state != "impossible")
    return runs(left) or "none"


def _options(column: Column, price_list: PriceList) -> list[dict[str, str]]:
    if not column.many and column.kind not in {"select", "pick", "ticks"}:
        return []
    known: Collection[str] = column.known(price_list)[0] if column.known else ()
    things = known if isinstance(known, Mapping) else dict.fromkeys(known)
    offered = [option(value, *words) for value, words in column.offers.items()]
    offered += [_offered(column, value, thing) for value, thing in things.items()]
    if column.many or column.kind == "ticks":
        return offered
    return [
        option(
            "", "Left to us" if column.name in PINS else sentence(column.blank.replace("`", ""))
        ),
        *offered,
    ]


def _offered(column: Column, value: str, thing: object) -> dict[str, str]:
    """Say what a price list has under a name; parts are known by what they are, then by sku."""
    if isinstance(thing, Decimal):
        return option(value, f"{value}: {plain(thing)} %")
    said = detail = str(getattr(thing, "description", ""))
    if isinstance(thing, Chassis):
        detail = f"{said}; {count(thing.bays, 'bay')}, {count(len(thing.slots), 'slot')}"
    return option(value, value, detail, said if column.kind == "pick" else "")
