"""What would be if: builds side by side, and sliders that change the build above."""

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.documents import charts
from quotelib.documents.sections import section
from quotelib.errors import InputError
from quotelib.quote.answer import Answer, answer
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.record import QuoteRecord
from quotelib.quote.words import count
from quotelib.units import TB, TIB
from quotelib.workbook.widgets import Charts, Field, box, button, html, option

MOST = 4
_COMPARED = {
    "host_iops",
    "response_ms",
    "host_mb_s",
    "read_mb_s",
    "write_mb_s",
    "rebuilding_iops",
    "rebuild_hours",
    "exposed_hours",
    "loss_pct",
    "wear_years",
    "mean_watts",
    "energy_cost_year",
}
"""Keys of the estimates that tell builds apart; the rest stands with each build."""
_DEMANDS = (
    "usable_tb",
    "survive",
    "host_iops",
    "host_mb_s",
    "max_loss_pct",
    "max_price",
    "free_slots",
    "media",
)
_COLOURS = (charts.BLUE, charts.ORANGE, charts.SKY, charts.GREEN, charts.PURPLE)


def pins_of(record: QuoteRecord) -> dict[str, str]:
    """Give the pins that lead to the build of a record."""
    layout = record.layout
    return {
        "chassis": record.part("chassis").sku,
        "controller": record.part("controller").sku,
        "drive": record.part("drive").sku,
        "members": str(layout.members),
        "level": layout.level,
        "spans": str(layout.spans) if LEVELS[layout.level].spanned else "",
        "spares": str(layout.spares) if layout.spares else "",
    }


class Comparison:
    """Up to four kept builds, and one that the sliders make of the build above.

    Parameters
    ----------
    use : callable
        Told the pins (and the workload) to start from.
    read : callable
        Makes an enquiry and its price list of cells.
    date : date
        Of the quotes.
    workloads : list of str
        Their names.
    most_drives : int
        Where the slider ends.
    """

    def __init__(
        self,
        use: Callable[[Mapping[str, str]], None],
        read: Callable[[Mapping[str, str]], tuple[PriceList, Enquiry]],
        date: dt.date,
        workloads: list[str],
        most_drives: int,
    ) -> None:
        self._use, self._read, self._date = use, read, date
        self._kept: list[tuple[str, QuoteRecord]] = []
        self._base: QuoteRecord | None = None
        self._tried: QuoteRecord | None = None
        self._quiet = False
        self.drives = Field(name="if_members", kind="range", label="Member drives", unit="drives")
        levels = [option(name, level.label) for name, level in LEVELS.items()]
        self.level = Field(name="if_level", kind="select", label="RAID level", options=levels)
        names = [option("", "none named"), *(option(name, name) for name in workloads)]
        self.workload = Field(name="if_workload", kind="select", label="Workload", options=names)
        self.drives.limits = [1, most_drives, 1]
        for field in (self.drives, self.level, self.workload):
            field.observe(lambda _: self._try(), "value")
        self._says = html("", "ql-line")
        self._table = html()
        self.charts = Charts()
        tip = "Put the pins of the what-if into the enquiry above"
        self._take = button("Use the what-if", tip, self._used)
        keep_tip = "Put the build above into a column of the comparison"
        self.keep = button("Keep for comparison", keep_tip, self._keep)
        self._drop = [
            button(f"Remove build {place + 1}", "Take this build out of the comparison", drop)
            for place, drop in enumerate(map(self._dropper, range(MOST)))
        ]
        self._full = html()
        fields = box([self.drives, self.level, self.workload], "ql-fields")
        row = box([self.keep, self._take, *self._drop], "ql-row")
        self.block = box(
            [fields, self._says, row, self._full, self._table, self.charts], "ql-stack"
        )
        self._draw()

    def base(self, record: QuoteRecord) -> None:
        """Start the what-if from a build."""
        self._base = record
        layout = record.layout
        self._quiet = True
        try:
            self.drives.value = str(layout.members)
            self.level.value = layout.level
            self.workload.value = record.enquiry.get("workload", "")
        finally:
            self._quiet = False
        self._tried = None
        self._says.value = '<p class="ql-quiet">Move a slider to see what would be.</p>'
        self._draw()

    def _try(self) -> None:
        if self._quiet or self._base is None:
            return
        pins = self._pins()
        cells = {**self._base.enquiry, **pins, "workload": self.workload.value}
        # Sliders ask what a build would do, not whether it is what was asked for.
        for demand in _DEMANDS:
            cells.pop(demand, None)
        try:
            answered = self._answer(cells)
            if answered.record is None:
                # Another size or level may need another chassis and controller: see which.
                owned = cells.get("owned", "")
                free = {r: "" for r in ("chassis", "controller") if r not in owned}
                other = self._answer({**cells, **free})
                answered = answered if other.record is None else other
        except InputError as error:
            self._say("wrong", "Not yet:", None, [str(p) for p in error.problems])
            return
        self._tried = answered.record
        if answered.record is None:
            words = [f"{r.words[:1].upper()}{r.words[1:]}" for r in answered.reasons]
            self._say("refused", "Not possible:", None, words)
        else:
            self._say("quoted", "What if:", answered.record, [])
        self._draw()

    def _answer(self, cells: Mapping[str, str]) -> Answer:
        price_list, enquiry = self._read(cells)
        return answer(price_list, enquiry, self._date, alternatives=False)

    def _pins(self) -> dict[str, str]:
        assert self._base is not None
        pins = {**pins_of(self._base), "members": self.drives.value, "level": self.level.value}
        level = LEVELS[self.level.value]
        spans = level.spans_for(int(self.drives.value))
        pins["spans"] = str(spans[0]) if level.spanned and spans else ""
        return pins

    def _say(
        self, outcome: str, title: str, record: QuoteRecord | None, reasons: list[str]
    ) -> None:
        self._says.value = section(
            "workbook_answer",
            outcome=outcome,
            title=title,
            record=record,
            reasons=reasons,
            words="",
        ).html

    def _used(self) -> None:
        record = self._tried or self._base
        if record is not None:
            self._use({**pins_of(record), "workload": self.workload.value})

    def _keep(self) -> None:
        record = self._tried or self._base
        if record is None or any(record == kept for _, kept in self._kept):
            return
        if len(self._kept) == MOST:
            self._full.value = "<p>Four builds are kept already: remove one first.</p>"
            return
        number = max((int(name.split()[-1]) for name, _ in self._kept), default=0) + 1
        self._kept.append((f"Build {number}", record))
        self._draw()

    def _dropper(self, place: int) -> Callable[[], None]:
        def drop() -> None:
            del self._kept[place]
            self._draw()

        return drop

    def _draw(self) -> None:
        shown = list(self._kept)
        if self._tried is not None and all(self._tried != record for _, record in shown):
            shown.append(("What if", self._tried))
        if self._base is not None and shown and all(self._base != r for _, r in shown):
            shown.insert(0, ("The build above", self._base))
        columns = [{"title": title, "cells": _facts(record)} for title, record in shown]
        rows = list(dict.fromkeys(name for column in columns for name in column["cells"]))
        self._table.value = section("workbook_compare", columns=columns, rows=rows).html
        for place, made in enumerate(self._drop):
            there = place < len(self._kept)
            made.layout.display = None if there else "none"
            if there:
                made.description = f"Remove {self._kept[place][0]}"
        if len(self._kept) < MOST:
            self._full.value = ""
        self.charts.charts = _charts(shown) if len(shown) > 1 else []


def _facts(record: QuoteRecord) -> dict[str, str]:
    layout, totals = record.layout, record.totals
    facts = {
        "Layout": layout.words,
        "Drive": record.part("drive").sku,
        "Controller": record.part("controller").sku,
        "Chassis": record.part("chassis").sku,
        "Workload": record.enquiry.get("workload", "none named"),
        "Usable": f"{record.capacity.usable_bytes / TB:,.2f} TB "
        f"({record.capacity.usable_bytes / TIB:,.2f} TiB)",
        "Survives any": count(layout.survives, "drive failure"),
    }
    for estimate in record.estimates:
        if estimate.key in _COMPARED:
            shown_range = f" ({estimate.shown_range})" if estimate.shown_range else ""
            name = f"{estimate.name[:1].upper()}{estimate.name[1:]}"
            facts[name] = f"{estimate.shown}{shown_range}"
    facts["Net"] = f"{record.currency} {totals.net:,f}"
    facts["Draw, all drives active"] = f"{record.watts:f} W"
    facts["Lead time"] = f"{record.lead_days} days" if record.lead_days else "all in stock"
    return facts


def _charts(shown: list[tuple[str, QuoteRecord]]) -> list[dict[str, Any]]:
    colours = dict(zip((name for name, _ in shown), _COLOURS, strict=False))
    sizes = [
        {
            "name": name,
            "kind": name,
            "value": record.capacity.usable_bytes / TB,
            "label": f"{record.capacity.usable_bytes / TB:,.2f} TB",
        }
        for name, record in shown
    ]
    prices = [
        {
            "name": name,
            "kind": name,
            "value": float(record.totals.net),
            "label": f"{record.currency} {record.totals.net:,f}",
        }
        for name, record in shown
    ]
    made = []
    for key, rows, title, axis in (
        ("sizes", sizes, "Usable capacity of the builds", "TB (10¹² bytes)"),
        ("prices", prices, "Net price of the builds", shown[0][1].currency),
    ):
        words = f"{title}: " + "; ".join(f"{row['name']} {row['label']}" for row in rows)
        figure = charts.bars(rows, title, axis, colours=colours, words=words, room=1.4)
        made.append({"key": key, "words": figure.words, "spec": figure.spec()})
    return made
