"""Where everything stands on the page: what is asked on one side, the answer on the other."""

import datetime as dt
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import ipywidgets
from markupsafe import escape

from quotelib.text import date, mark
from quotelib.workbook.form import groups
from quotelib.workbook.sources import Prices
from quotelib.workbook.widgets import (
    Field,
    Fold,
    Jumps,
    box,
    button,
    front,
    html,
    option,
    show,
    warning,
)

if TYPE_CHECKING:
    from quotelib.workbook.page import Workbook

_Called = Callable[[], object]
_SELLER = (
    '<p class="ql-help">Shows cost and margin; turn it off when the customer can see the screen</p>'
)
_FITS = (
    '<p class="ql-lead">Each may be left to us. What cannot be built with the other choices stays '
    "on its list, struck out, with the reason.</p>"
)
PARTS = {
    "asked": "What was asked",
    "choices": "What may be chosen",
    "terms": "Limits and terms",
    "fits": "What fits",
    "does": "What it does",
    "costs": "What it costs",
    "if": "What if",
    "next": "What happens next",
}
"""The parts of the page, as the conversation goes, by their ids."""


class Blocks:
    """The small widgets of a page, what each calls when it is used, and how all are laid out."""

    def __init__(
        self, seen: _Called, restore: Callable[[int], object], clear: _Called, clear_pins: _Called
    ) -> None:
        self.seller = ipywidgets.Checkbox(description="Seller's view", indent=False)
        self.seller.observe(lambda _: seen(), "value")
        self._restore = Field(name="restore", kind="select", label="What was typed before")
        tip = "Put what was typed before back into the fields"
        again = button("Restore it", tip, lambda: restore(int(self._restore.value or 0)))
        again.add_class("ql-afresh")
        self._restore_row = box([self._restore, again], "ql-restore")
        self.told = html()
        self._saved = html()
        label = "Rows for a file of enquiries"
        tip = "A header and what is asked; leave the header out below rows that are there already"
        self.copy = Field(name="copy_row", kind="copy", label=label, help=tip)
        tip = "Empty every field; it can be restored"
        self._fresh = button("Start afresh", tip, clear, "ql-afresh")
        self._free = button("Leave all choices to us", "Blank every pin", clear_pins)
        self._pins = box([], "ql-stack")
        labels = {"there": "An array that is there already", "more": "More of this server"}
        self._folded = {group: box([], "ql-stack") for group in labels}
        self.folds = {g: Fold(self._folded[g], label=label) for g, label in labels.items()}
        there = [{"id": _id(part), "title": title} for part, title in PARTS.items()]
        self._jumps = Jumps(parts=there)

    def lay_out(self, parts: "Workbook") -> list[Any]:
        """Put all parts of a page in order."""
        return [
            html(f"<style>{front('page.css')}</style>"),
            box(self._head(parts), "ql-head"),
            box(self._asks(parts), "ql-asks"),
            box(self._now(parts), "ql-now"),
            box(self._details(parts), "ql-details"),
        ]

    def _head(self, parts: "Workbook") -> list[Any]:
        tools = [box([self.seller, html(_SELLER)], "ql-seen"), parts.loader.block, self._fresh]
        return [
            box([html("<h1>Quote one customer</h1>", "ql-title"), *tools], "ql-tools"),
            html(_lead(parts.prices, parts.date)),
            self._restore_row,
            self.told,
            parts.prices.notice,
            self._jumps,
        ]

    def _asks(self, parts: "Workbook") -> list[Any]:
        """Lay out what can be asked; what is said first on the telephone fits one screen."""
        form, names = parts.form, groups()
        for group, block in self._folded.items():
            block.children = [form.block(names[group])]
        folded = [one for g, fold in self.folds.items() for one in (fold, self._folded[g])]
        self._pins.children = [
            _part("choices"),
            html(_FITS),
            form.block([*names["parts"], *names["numbers"]]),
        ]
        first = [form.fields[name] for name in (*names["who"], *names["first"])]
        note = ["note"]
        need = [name for name in names["need"] if name not in note]
        return [
            _part("asked"),
            box([parts.rows.list, *first], "ql-fields"),
            parts.workload.block,
            self._pins,
            _part("terms"),
            form.block([*names["limits"], *need, *names["terms"], *note]),
            form.block(names["yes"], "ql-wide"),
            box([self._free], "ql-row"),
            *folded,
            parts.rows.add,
        ]

    def _now(self, parts: "Workbook") -> list[Any]:
        """Lay out what is always in sight: how things stand, and what happens next."""
        results = parts.results
        return [
            box([results.line, results.busy], "ql-sticky"),
            box(
                [
                    results.short,
                    parts.found.counted,
                    results.margin,
                    parts.nearest.block,
                    box([parts.writer.button, parts.comparison.keep], "ql-row"),
                    parts.writer.told,
                    parts.writer.after.block,
                    parts.targets.block,
                ],
                "ql-stack",
                "ql-card",
            ),
        ]

    def _details(self, parts: "Workbook") -> list[Any]:
        results = parts.results
        return [
            _part("fits"),
            results.proposal,
            parts.found.block,
            parts.starts.block,
            _part("does"),
            results.does,
            _part("costs"),
            results.costing,
            _part("if"),
            parts.comparison.block,
            _part("next"),
            html(f'<p class="ql-lead">Files go to <code>{escape(parts.folder)}</code>.</p>'),
            self.copy,
            self._saved,
        ]

    def show_row(self, parts: "Workbook") -> None:
        """Show the parts of the form that the row in it has, and open what is filled."""
        kind, form = parts.order.at.kind, parts.form
        form.show(kind, parts.order.named(), seller=self.seller.value)
        for group, fold in self.folds.items():
            if kind == "array":
                fold.unfolded = fold.unfolded or form.filled(group)
            fold.show(kind == "array")
        show(self._pins, kind == "array")
        show(parts.targets.block, self.seller.value)

    def offer_restore(self, words: Sequence[str]) -> None:
        """Offer what earlier pages had typed; nothing is offered where there is nothing."""
        self._restore.options = [option(str(n), text) for n, text in enumerate(words)]
        self._restore.value = "0" if words else ""
        show(self._restore_row, bool(words))

    def tell(self, words: str) -> None:
        """Say what has just happened to the enquiry as a whole."""
        self.told.value = f'<p role="status">{escape(words)}</p>'

    def saved(self, problem: str) -> None:
        """Say that what is typed cannot be kept; blank: it can."""
        self._saved.value = warning(problem)


def _lead(prices: Prices, day: dt.date) -> str:
    """Say which prices the page quotes from, as HTML."""
    where = escape("the starter list" if prices.starter else prices.folder)
    starter = " This is the starter price list: invented demo data." if prices.starter else ""
    listed = f"{where} (price list {escape(mark(prices.list.fingerprint))})"
    said = f"Prices in {prices.list.terms.currency} from {listed}, dated {date(day)}.{starter}"
    return f'<p class="ql-lead">{said}</p>'


def _id(part: str) -> str:
    return f"ql-part-{part}"


def _part(part: str) -> Any:
    return html(f'<h2 class="ql-part" id="{_id(part)}" tabindex="-1">{PARTS[part]}</h2>')
