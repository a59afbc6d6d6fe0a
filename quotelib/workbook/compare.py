"""What would be if: builds side by side, and sliders that change the build above."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial

import ipywidgets

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.sections import section
from quotelib.enquiry.columns import demand_columns
from quotelib.errors import InputError
from quotelib.levels import LEVELS
from quotelib.promise.answer import Answer
from quotelib.promise.record import QuoteRecord
from quotelib.text import sentence
from quotelib.workbook.results import Pins, answer_line
from quotelib.workbook.side_by_side import Column, among, charts_of, column_of, spelled
from quotelib.workbook.widgets import Charts, Field, box, button, caption, fill, html, option, show

Rows = Sequence[Mapping[str, str]]
MOST = 4
_MOVE = '<p class="ql-quiet">Move a slider to see what would be.</p>'
_ONE = '<p class="ql-quiet">A row whose server has one array can be changed here by sliders.</p>'
_ANNEX = (
    '<p class="ql-help">The customer then reads of the kept builds what the table says, with net '
    "prices, beside what is offered</p>"
)
_NONE = '<p class="ql-quiet">There is no build above to start from.</p>'


class Comparison:
    """Up to four kept builds, and one that the sliders make of the build above.

    `use` is told the pins (and the workload) to start from, by row of the record; `ask` answers
    rows, without a look for other builds, or raises InputError. `take` is told the name and rows of
    a kept build that somebody wants back, `changed` that other builds are kept now, `ticked` that
    what is to be written of them is otherwise now.
    """

    def __init__(
        self,
        price_list: PriceList,
        use: Callable[[Pins], None],
        ask: Callable[[Rows], Answer],
        take: Callable[[str, Rows], None],
        changed: Callable[[], None],
        ticked: Callable[[], None],
    ) -> None:
        self._use, self._ask, self._take_back, self._changed_kept = use, ask, take, changed
        self._kept: list[Column] = []
        self._base: Column | None = None
        self._tried: Column | None = None
        self._place: int | None = None
        most = max(chassis.bays for chassis in price_list.chassis.values())
        self.drives = Field(name="if_members", kind="range", label="Member drives", unit="drives")
        self.drives.limits = [1, most, 1]
        levels = [option(name, level.label) for name, level in LEVELS.items()]
        self.level = Field(name="if_level", kind="select", label="RAID level", options=levels)
        self._loads = ["", *price_list.workloads]
        self.workload = Field(name="if_workload", kind="select", label="Workload")
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
        tip = "Put this build back into the enquiry above"
        self._back = [button("", tip, partial(self._wanted, n)) for n in range(MOST)]
        words = "Put this comparison into the annex"
        self.into_annex = ipywidgets.Checkbox(description=words, indent=False)
        self.into_annex.observe(lambda _: ticked(), "value")
        self._annex = box([self.into_annex, html(_ANNEX)], "ql-seen")
        row = box([self._take, *self._back, *self._drop], "ql-row")
        self._sliders = box(self._fields.values(), "ql-fields")
        self.block = box(
            [
                self._sliders,
                self._says,
                row,
                self._full,
                self._annex,
                self._table,
                self.charts,
            ],
            "ql-stack",
        )
        self.forget()

    def base(self, record: QuoteRecord, place: int | None) -> None:
        """Start the what-if from a build; one that is there already is left as it is.

        `place` is the row whose array the sliders change; None: they change none.
        """
        base = column_of("The build above", record)
        same = self._base is not None and self._base.facts == base.facts and self._place == place
        self._base, self._place = base, place
        show(self.keep, True)
        for widget in (self._sliders, self._take):
            show(widget, place is not None)
        if same:
            return
        self._tried = None
        if place is not None:
            load = record.rows[place].cells.get("workload", "")
            pins = {"workload": load, **_pins(record, place)}
            loads = dict.fromkeys([*self._loads, load])
            self.workload.options = [option(name, spelled(name) or "none named") for name in loads]
            fill(self._fields, {name: pins[name] for name in self._fields}, self._try)
        self._says.value = _ONE if place is None else _MOVE
        self._draw()

    def forget(self) -> None:
        """Have no build to start from; what is kept stays."""
        self._base = self._tried = None
        self._says.value = _NONE
        for widget in (self._sliders, self._take, self.keep):
            show(widget, False)
        self._draw()

    def drop(self) -> int:
        """Drop every kept build; tell how many there were."""
        dropped, self._kept = len(self._kept), []
        self.into_annex.value = False
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
            self._tried = column_of("What if", record)
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
        if column is None or among(column, self._kept):
            return
        if len(self._kept) == MOST:
            self._full.value = "<p>Four builds are kept already: remove one first.</p>"
            return
        number = max((int(kept.name.split()[-1]) for kept in self._kept), default=0) + 1
        self._kept.append(Column(f"Build {number}", column.record, column.facts))
        self._draw()
        self._changed_kept()

    def _remove(self, place: int) -> None:
        del self._kept[place]
        self._draw()
        self._changed_kept()

    def _wanted(self, place: int) -> None:
        self._take_back(self._kept[place].name, self._kept[place].rows())

    def for_annex(self) -> tuple[Column, ...]:
        """Give the kept builds that the annex is to show."""
        return tuple(self._kept) if self.into_annex.value else ()

    def kept(self) -> list[list[dict[str, str]]]:
        """Give the rows that ask for each kept build."""
        return [column.rows() for column in self._kept]

    def restore(self, kept: Sequence[Rows]) -> None:
        """Keep builds again, as far as they can still be had."""
        for rows in kept[:MOST]:
            try:
                record = self._ask(rows).record
            except InputError:
                continue
            if record is not None:
                self._kept.append(column_of(f"Build {len(self._kept) + 1}", record))
        self._draw()

    def _draw(self) -> None:
        shown = list(self._kept)
        if self._tried is not None and not among(self._tried, shown):
            shown.append(self._tried)
        if self._base is not None and shown and not among(self._base, shown):
            shown.insert(0, self._base)
        rows = list(dict.fromkeys(name for column in shown for name in column.facts))
        self._table.value = section("workbook_compare", columns=shown, rows=rows).html
        caption(self._back, [f"Take {column.name} back" for column in self._kept])
        caption(self._drop, [f"Remove {column.name}" for column in self._kept])
        if len(self._kept) < MOST:
            self._full.value = ""
        show(self._annex, bool(self._kept))
        self.charts.charts = charts_of(shown) if len(shown) > 1 else []


def _pins(record: QuoteRecord, place: int) -> dict[str, str]:
    """Give the pins of the server that a row asks for, which has one array."""
    server = record.rows[place].server
    assert server is not None
    return record.servers[server].pins()
