"""What would be if: builds side by side, and sliders that change the build above."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.charts.drawing import BLUE, GREEN, ORANGE, PURPLE, SKY, bar, bars
from quotelib.documents.sections import section
from quotelib.enquiry.columns import demand_columns
from quotelib.errors import InputError
from quotelib.levels import LEVELS
from quotelib.predict.estimate import Estimate
from quotelib.promise.answer import Answer
from quotelib.promise.record import QuoteRecord, Server
from quotelib.text import both, count, money, sentence, size, tb
from quotelib.units import TB, plain
from quotelib.workbook.results import Pins, answer_line, chart
from quotelib.workbook.widgets import Charts, Field, box, button, caption, fill, html, option, show

Rows = Sequence[Mapping[str, str]]
MOST = 4
_COMPARED = {
    "host_iops", "response_ms", "host_mb_s", "read_mb_s", "write_mb_s", "rebuilding_iops",
    "rebuild_hours", "exposed_hours", "array_loss_pct", "loss_pct", "wear_years", "mean_watts",
    "energy_cost_year",
}  # fmt: skip
"""Keys of the estimates that tell builds apart; the rest stands with each build."""
_COLOURS = (BLUE, ORANGE, SKY, GREEN, PURPLE)
_MOVE = '<p class="ql-quiet">Move a slider to see what would be.</p>'
_ONE = '<p class="ql-quiet">A row whose server has one array can be changed here by sliders.</p>'
_NONE = '<p class="ql-quiet">There is no build above to start from.</p>'


@dataclass(frozen=True, slots=True)
class Column:
    """A build in the comparison: its name, its record and what is said of it."""

    name: str
    record: QuoteRecord
    facts: Mapping[str, str]


class Comparison:
    """Up to four kept builds, and one that the sliders make of the build above.

    `use` is told the pins (and the workload) to start from, by row of the record; `ask` answers
    rows, without a look for other builds, or raises InputError.
    """

    def __init__(
        self, price_list: PriceList, use: Callable[[Pins], None], ask: Callable[[Rows], Answer]
    ) -> None:
        self._use, self._ask = use, ask
        self._kept: list[Column] = []
        self._base: Column | None = None
        self._tried: Column | None = None
        self._place: int | None = None
        most = max(chassis.bays for chassis in price_list.chassis.values())
        self.drives = Field(name="if_members", kind="range", label="Member drives", unit="drives")
        self.drives.limits = [1, most, 1]
        levels = [option(name, level.label) for name, level in LEVELS.items()]
        self.level = Field(name="if_level", kind="select", label="RAID level", options=levels)
        names = [option("", "none named"), *(option(name, name) for name in price_list.workloads)]
        self.workload = Field(name="if_workload", kind="select", label="Workload", options=names)
        self._fields = {"members": self.drives, "level": self.level, "workload": self.workload}
        for field in self._fields.values():
            field.observe(self._try, "value")
        self._says, self._table, self._full = html("", "ql-line"), html(), html()
        self.charts = Charts()
        tip = "Put the pins of the what-if into the enquiry above"
        self._take = button("Use the what-if", tip, self._used)
        tip = "Put the build above into a column of the comparison"
        self.keep = button("Keep for comparison", tip, self._keep)
        tip = "Take this build out of the comparison"
        self._drop = [button("", tip, partial(self._remove, n)) for n in range(MOST)]
        row = box([self._take, *self._drop], "ql-row")
        self._sliders = box(self._fields.values(), "ql-fields")
        self.block = box(
            [self._sliders, self._says, row, self._full, self._table, self.charts], "ql-stack"
        )
        self.forget()

    def base(self, record: QuoteRecord, place: int | None) -> None:
        """Start the what-if from a build; one that is there already is left as it is.

        `place` is the row whose array the sliders change; None: they change none.
        """
        base = _column("The build above", record)
        same = self._base is not None and self._base.facts == base.facts and self._place == place
        self._base, self._place = base, place
        for widget in (self._sliders, self._take):
            show(widget, place is not None)
        if same:
            return
        self._tried = None
        if place is not None:
            pins = {
                "workload": record.rows[place].cells.get("workload", ""),
                **_pins(record, place),
            }
            fill(self._fields, {name: pins[name] for name in self._fields}, self._try)
        self._says.value = _ONE if place is None else _MOVE
        self._draw()

    def forget(self) -> None:
        """Have no build to start from; what is kept stays."""
        self._base = self._tried = None
        self._says.value = _NONE
        self._draw()

    def drop(self) -> int:
        """Drop every kept build; tell how many there were."""
        dropped, self._kept = len(self._kept), []
        self._draw()
        return dropped

    def _try(self, _: object) -> None:
        if self._base is None or self._place is None:
            return
        pins = self._changed()
        try:
            answered = self._ask(self._rows(pins))
            if answered.record is None:
                # Another size or level may need another chassis and controller: see which.
                owned = self._base.record.rows[self._place].cells.get("owned", "")
                free = {r: "" for r in ("chassis", "controller") if r not in owned}
                other = self._ask(self._rows({**pins, **free}))
                answered = answered if other.record is None else other
        except InputError as error:
            self._says.value = answer_line(
                "wrong", "Not yet:", reasons=[str(problem) for problem in error.problems]
            )
            return
        record = answered.record
        if record is None:
            self._tried = None
            words = [sentence(reason.words) for reason in answered.reasons]
            self._says.value = answer_line("refused", "Not possible:", reasons=words)
        else:
            self._tried = _column("What if", record)
            self._says.value = answer_line("quoted", "What if:", record=record)
        self._draw()

    def _changed(self) -> dict[str, str]:
        """Give the pins of the build above as the sliders change them."""
        assert self._base is not None and self._place is not None
        level, members = LEVELS[self.level.value], self.drives.value
        spans = level.spans_for(int(members)) if level.spanned else []
        cell = str(spans[0]) if spans else ""
        changed = {"members": members, "level": level.name, "spans": cell}
        base = _pins(self._base.record, self._place)
        return {**base, **changed, "workload": self.workload.value}

    def _rows(self, pins: Mapping[str, str]) -> Rows:
        """Give all rows, pinned; sliders ask what a build would do, not whether it was asked for.

        What is said of the server is said in each of its rows.
        """
        assert self._base is not None and self._place is not None
        asked = self._base.record.rows
        rows = []
        for n, row in enumerate(asked):
            cells = dict(row.cells)
            if row.server == asked[self._place].server:
                for column in demand_columns():
                    cells.pop(column.name, None)
                cells |= pins if n == self._place else {"chassis": pins["chassis"]}
            rows.append(cells)
        return rows

    def _used(self) -> None:
        column = self._tried or self._base
        if column is not None and self._place is not None:
            pins = _pins(column.record, self._place)
            self._use({self._place: {**pins, "workload": self.workload.value}})

    def _keep(self) -> None:
        column = self._tried or self._base
        if column is None or _among(column, self._kept):
            return
        if len(self._kept) == MOST:
            self._full.value = "<p>Four builds are kept already: remove one first.</p>"
            return
        number = max((int(kept.name.split()[-1]) for kept in self._kept), default=0) + 1
        self._kept.append(Column(f"Build {number}", column.record, column.facts))
        self._draw()

    def _remove(self, place: int) -> None:
        del self._kept[place]
        self._draw()

    def _draw(self) -> None:
        shown = list(self._kept)
        if self._tried is not None and not _among(self._tried, shown):
            shown.append(self._tried)
        if self._base is not None and shown and not _among(self._base, shown):
            shown.insert(0, self._base)
        rows = list(dict.fromkeys(name for column in shown for name in column.facts))
        self._table.value = section("workbook_compare", columns=shown, rows=rows).html
        caption(self._drop, [f"Remove {column.name}" for column in self._kept])
        if len(self._kept) < MOST:
            self._full.value = ""
        self.charts.charts = _charts(shown) if len(shown) > 1 else []


def _pins(record: QuoteRecord, place: int) -> dict[str, str]:
    """Give the pins of the server that a row asks for, which has one array."""
    server = record.rows[place].server
    assert server is not None
    return record.servers[server].pins()


def _among(column: Column, others: list[Column]) -> bool:
    return any(column.facts == other.facts for other in others)


def _column(name: str, record: QuoteRecord) -> Column:
    loads = dict.fromkeys(row.cells.get("workload", "") for row in record.rows)
    facts = {"Workload": both(filter(None, loads)) or "none named"}
    for server in record.servers:
        facts |= _named(server.name, _server(server))
    facts["Net"] = money(record.totals.net, record.currency)
    return Column(name, record, facts)


def _server(server: Server) -> dict[str, str]:
    facts = {"Chassis": server.chassis}
    for array in server.arrays:
        told = {
            "Layout": array.words,
            "Drive": array.drive,
            "Controller": array.controller,
            "Usable": size(array.capacity.usable_bytes),
            "Survives any": count(array.survives, "drive failure"),
        }
        facts |= _named(array.name, told | _estimates(array.estimates))
    facts |= _estimates(server.estimates)
    facts["Draw, all drives active"] = f"{plain(server.watts)} W"
    facts["Lead time"] = count(server.lead_days, "day") if server.lead_days else "all in stock"
    return facts


def _named(name: str, facts: Mapping[str, str]) -> dict[str, str]:
    return {f"{name}: {label}" if name else label: value for label, value in facts.items()}


def _estimates(estimates: Iterable[Estimate]) -> dict[str, str]:
    told = [estimate for estimate in estimates if estimate.key in _COMPARED]
    return {sentence(e.name): e.shown + (e.shown_range and f" ({e.shown_range})") for e in told}


def _charts(shown: list[Column]) -> list[dict[str, Any]]:
    colours = dict(zip((column.name for column in shown), _COLOURS, strict=False))
    records = [column.record for column in shown]
    sizes = [(size / TB, f"{tb(size)} TB") for size in (r.usable_bytes() for r in records)]
    nets = [(float(r.totals.net), money(r.totals.net, r.currency)) for r in records]
    drawn = {
        "sizes": ("Usable capacity of the builds", "TB (10¹² bytes)", sizes),
        "prices": ("Net price of the builds", records[0].currency, nets),
    }
    made = []
    for key, (title, axis, figures) in drawn.items():
        rows = [bar(name, *figure, name) for name, figure in zip(colours, figures, strict=True)]
        made.append(chart(key, bars(rows, title, axis, colours=colours, room=1.4)))
    return made
