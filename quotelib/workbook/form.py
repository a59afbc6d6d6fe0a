"""What can be typed: the enquiry, a field a column, and the numbers of its workload, to try."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from markupsafe import escape

from quotelib.build.findings import ABOUT
from quotelib.catalogue.parts import Chassis
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import parse_row
from quotelib.catalogue.work import Workload
from quotelib.choose.options import Judged
from quotelib.documents.batch.files import csv_text
from quotelib.enquiry.column import Column
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.errors import Problem, shown
from quotelib.facts import Reason
from quotelib.text import count, runs, sentence, spoken
from quotelib.units import plain
from quotelib.workbook.widgets import Field, box, button, fill, html, option, show

_FIRST = ("customer", "enquiry_id", "usable_tb", "survive")
"""What everybody says first; all other columns find their place by what they are."""


class Form:
    """The fields of one enquiry; `changed` is told the column that somebody has changed.

    `store` and `session` say where, and for which opening of the page, the browser keeps what is
    typed.
    """

    def __init__(
        self, price_list: PriceList, changed: Callable[[str], None], store: str, session: str
    ) -> None:
        self._changed = changed
        years = plain(price_list.terms.risk.years)
        self.fields = {}
        for name, column in COLUMNS.items():
            self.fields[name] = Field(
                name=name,
                kind=column.kind,
                label=column.label,
                help=column.help.format(years=years),
                options=_options(column, price_list),
                store=store,
                session=session,
            )
            self.fields[name].observe(self._told, "value")

    def _told(self, change: Mapping[str, Any]) -> None:
        self._changed(change["owner"].name)

    def cells(self) -> dict[str, str]:
        """Give every cell as it stands, blank ones too."""
        return {name: field.value for name, field in self.fields.items()}

    def given(self) -> dict[str, str]:
        """Give the cells that are filled."""
        return {name: value for name, value in self.cells().items() if value.strip()}

    def fill(self, cells: Mapping[str, str], *, only: Iterable[str] = COLUMNS) -> None:
        """Put cells into the fields, blank where there is none; nobody is told."""
        fill(self.fields, {name: str(cells.get(name, "")) for name in only}, self._told)

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
        field, help_text = self.fields[pin], COLUMNS[pin].help
        if field.kind == "pick":
            states = [judged.get(item["value"], ("", "")) for item in field.options]
            field.options = [
                {**item, "state": state, "reason": reason}
                for item, (state, reason) in zip(field.options, states, strict=True)
            ]
        else:
            field.help = f"{help_text}; possible: {counts(judged)}" if judged else help_text

    def label(self, name: str) -> str:
        """Give a field's label; its name where there is no such field."""
        return str(self.fields[name].label) if name in self.fields else spoken(name)

    def new_session(self, session: str) -> None:
        """Keep what is typed from now on under another opening of the page."""
        for field in self.fields.values():
            field.session = session

    def block(self, names: Iterable[str], layout: str = "ql-fields") -> Any:
        """Lay fields out side by side."""
        return box([self.fields[name] for name in names], layout)


def groups() -> dict[str, list[str]]:
    """Sort the columns into the parts of a conversation; each is in one of them.

    They are ``first``, ``need``, ``limits`` (what takes a price or an estimate to judge), ``terms``
    (of the whole quote), ``parts`` and ``numbers`` (pins), ``yes`` (what may be ticked).
    """
    found: dict[str, list[str]] = {"first": list(_FIRST)}
    found |= {group: [] for group in ("need", "limits", "terms", "parts", "numbers", "yes")}
    for name, column in COLUMNS.items():
        if name not in _FIRST:
            found[_group(column)].append(name)
    return found


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


def counts(judged: Mapping[str, Judged]) -> str:
    """Say which numbers are left: ``2 to 6, 8``; ``none`` where none is."""
    left = sorted(int(value) for value, (state, _) in judged.items() if state != "impossible")
    return runs(left) or "none"


def _options(column: Column, price_list: PriceList) -> list[dict[str, str]]:
    if column.kind not in {"select", "pick", "ticks"}:
        return []
    known: Collection[str] = column.known(price_list)[0] if column.known else ()
    things = known if isinstance(known, Mapping) else dict.fromkeys(known)
    offered = [option(value, *words) for value, words in column.offers.items()]
    offered += [option(value, *_words(value, thing)) for value, thing in things.items()]
    if column.kind == "ticks":
        return offered
    return [option("", "Left to us" if column.name in PINS else sentence(column.blank)), *offered]


def _words(value: str, thing: object) -> tuple[str, str]:
    """Say what a price list has under a name."""
    if isinstance(thing, Decimal):
        return f"{value}: {plain(thing)} %", ""
    detail = str(getattr(thing, "description", ""))
    if isinstance(thing, Chassis):
        detail += f"; {count(thing.bays, 'bay')}, {count(len(thing.slots), 'slot')}"
    return value, detail


_NUMBERS = {
    "read_pct": ("Reads, %", "The rest are writes"),
    "random_pct": ("Random, %", "The rest are in sequence"),
    "block_kib": ("Block, KiB", "Of one operation"),
    "outstanding": ("Outstanding", "Operations at a time"),
    "writes_gb_per_day": ("Written a day, GB", "By the customer's programs"),
}
_EDITED = (
    "<p class='ql-warn'><strong>What if:</strong> these numbers are not those of the price list. "
    "The figures below follow them, and no quote can be written on them.</p>"
)


class WorkloadNumbers:
    """The numbers of the chosen workload, which may be changed to see what would be.

    A quote names a workload of the price list, so that changed numbers show what would be and
    nothing is promised on them until they stand in the price list.
    """

    def __init__(self, price_list: PriceList, changed: Callable[[], None]) -> None:
        self._list, self._changed, self._name = price_list, changed, ""
        self._told: Callable[[object], None] = lambda _: changed()
        self.fields = {
            name: Field(name=f"workload_{name}", kind="number", label=label, help=tip)
            for name, (label, tip) in _NUMBERS.items()
        }
        for field in self.fields.values():
            field.observe(self._told, "value")
        self._says = html()
        label = "Row for workloads.csv"
        tip = "Put it into the price list to quote on these numbers; give it a name of its own"
        self._row = Field(name="workload_row", kind="copy", label=label, help=tip)
        tip = "Show the numbers of the price list again"
        back = button("Back to the list's numbers", tip, self.reset)
        self._edited = box([html(_EDITED), self._row, back], "ql-edited")
        numbers = box(self.fields.values(), "ql-fields", "ql-small")
        self.block = box([self._says, numbers, self._edited], "ql-workload")
        self.show("")

    @property
    def edited(self) -> bool:
        """Tell whether the numbers differ from the price list's."""
        return bool(self._name) and self._cells() != _cells_of(self._list.workloads[self._name])

    def show(self, name: str) -> None:
        """Show the numbers of a workload; blank hides them."""
        if name == self._name and name:
            return
        self._name = name if name in self._list.workloads else ""
        show(self.block, bool(self._name))
        self.reset(tell=False)

    def reset(self, tell: bool = True) -> None:
        """Go back to the numbers of the price list."""
        if self._name:
            workload = self._list.workloads[self._name]
            self._says.value = f"<p>{escape(workload.description)}</p>"
            fill(self.fields, _cells_of(workload), self._told)
        self._mark([])
        if tell:
            self._changed()

    def price_list(self) -> tuple[PriceList, bool]:
        """Give the price list with the numbers as they stand, and whether they can be read."""
        if not self.edited:
            self._mark([])
            return self._list, True
        old = self._list.workloads[self._name]
        row = {"name": old.name, "description": old.description, **self._cells()}
        workload, problems = parse_row(Workload, "workload", None, row)
        self._mark(problems)
        if workload is None or problems:
            return self._list, False
        workloads = MappingProxyType({**self._list.workloads, old.name: workload})
        # Another content, so another fingerprint: no answer is mistaken for another's.
        mark = f"{self._list.fingerprint} with {sorted(row.items())}"
        return replace(self._list, workloads=workloads, fingerprint=mark), True

    def _cells(self) -> dict[str, str]:
        return {name: field.value.strip() for name, field in self.fields.items()}

    def _mark(self, problems: list[Problem]) -> None:
        for name, field in self.fields.items():
            field.error = ". ".join(f"{p.why}; {p.right}" for p in problems if p.column == name)
        show(self._edited, self.edited)
        if self.edited:
            own = (f"{self._name}_2", "Numbers changed while quoting")
            self._row.value = csv_text([*own, *self._cells().values()])


def _cells_of(workload: Workload) -> dict[str, str]:
    return {name: plain(Decimal(getattr(workload, name))) for name in _NUMBERS}
