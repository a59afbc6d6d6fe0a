"""Where everything stands on the page, top to bottom, as a conversation."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import escape

from quotelib.quote.record import QuoteRecord
from quotelib.workbook.compare import Comparison, pins_of
from quotelib.workbook.form import Form
from quotelib.workbook.handover import Loader
from quotelib.workbook.results import Results, start_words
from quotelib.workbook.widgets import Engine, Field, box, button, html, option, style
from quotelib.workbook.workload import WorkloadNumbers

if TYPE_CHECKING:
    from quotelib.workbook.page import Workbook

_MOST_STARTS = 12


class Blocks:
    """The widgets of a workbook page and how they are laid out.

    Parameters
    ----------
    workbook : Workbook
        Told what is pressed and typed.
    """

    def __init__(self, workbook: "Workbook") -> None:
        price_list, folder = workbook.price_list, workbook.folder
        store = f"quotelib:{folder}"
        self.form = Form(price_list, workbook.changed, store, workbook.autosave.session)
        self.workload = WorkloadNumbers(price_list, lambda: workbook.changed("workload_numbers"))
        self.results = Results()
        self.comparison = Comparison(
            workbook.use_pins,
            workbook.read,
            workbook.date,
            list(price_list.workloads),
            max(chassis.bays for chassis in price_list.chassis.values()),
        )
        self.loader = Loader(price_list, workbook.load)
        self._engine = Engine(store=store)
        self._engine.observe(lambda change: workbook.found_in_browser(change["new"]), "kept")
        self._seller = Field(
            name="seller",
            kind="check",
            label="Seller's view",
            help="Shows cost and margin; turn it off when the customer can see the screen",
        )
        self._seller.observe(lambda _: workbook.seller_view(), "value")
        self._restore = Field(name="restore", kind="select", label="What was typed before")
        tip = "Put what was typed before back into the fields"
        self._restoring = button(
            "Restore it", tip, lambda: workbook.restore(int(self._restore.value or 0))
        )
        self._restore_row = box([self._restore, self._restoring], "ql-fields", "ql-restore")
        self.told = html()
        self._saved = html()
        self.copy = Field(
            name="copy_row",
            kind="copy",
            label="Row for a file of enquiries",
            help="A header and a row; leave the header out below rows that are there already",
        )
        self._starts = [
            button("", "Pin this build, to change it from there", partial(workbook.start_from, n))
            for n in range(_MOST_STARTS)
        ]
        for made in self._starts:
            made.layout.display = "none"
        self._written = html()
        self.page = self._page(workbook, folder)

    @property
    def sees_margin(self) -> bool:
        """Tell whether the seller's view is on."""
        return bool(self._seller.value)

    def _page(self, workbook: "Workbook", folder: Path) -> Any:
        form, results = self.form, self.results
        fresh = button("Start afresh", "Empty every field; it can be restored", workbook.clear)
        free = button("Leave all choices to us", "Blank every pin", workbook.clear_pins)
        tip = "Write the documents of the enquiry above into the folder"
        write = button(
            "Write quote, bench sheet and record", tip, workbook.write, "ql-main", "ql-write"
        )
        starter = "" if workbook.prices else " This is the starter price list: invented demo data."
        where = escape(workbook.prices or "the starter list")
        lead = (
            f'<p class="ql-lead">Prices in {workbook.price_list.terms.currency} from {where}, '
            f"dated {workbook.date:%d %B %Y}.{starter}</p>"
        )
        return box(
            [
                style(),
                self._engine,
                html(f"<h1>Quote one customer</h1>{lead}"),
                box([self._seller, self.loader.file, self.loader.row], "ql-fields"),
                self._restore_row,
                self.told,
                box([results.line, results.busy], "ql-sticky"),
                _part("What was asked"),
                form.block("customer", "enquiry_id", "usable_tb", "survive"),
                form.block("workload", "media", "builds", "free_slots"),
                self.workload.block,
                html("<h3>Limits and terms</h3>"),
                form.block("host_iops", "host_mb_s", "max_loss_pct", "max_price"),
                form.block("discount_pct", "tax_code", "currency", "note"),
                box([fresh], "ql-row"),
                _part("What fits"),
                html(
                    '<p class="ql-lead">Each choice may be left to us. What cannot be built with '
                    "the other choices stays on the list, struck out, with the reason.</p>"
                ),
                form.block("chassis", "controller", "drive", "level", layout="ql-pins"),
                form.block("members", "spans", "spares"),
                form.block("owned", "accept", layout="ql-pins"),
                box([free], "ql-row"),
                results.proposal,
                html("<h3>Start from one of these</h3>"),
                box(self._starts, "ql-starts"),
                _part("What it does"),
                results.does_block(),
                html("<h3>What if</h3>"),
                self.comparison.block,
                _part("What it costs"),
                results.costs_block(),
                _part("What happens next"),
                html(f'<p class="ql-lead">Files go to <code>{escape(folder)}</code>.</p>'),
                box([write], "ql-row"),
                self._written,
                self.copy,
                self._saved,
            ],
            "ql-page",
        )

    def offer_starts(self, record: QuoteRecord) -> list[dict[str, str]]:
        """Offer the proposal and its alternatives; give the pins of each."""
        others = record.alternatives[: _MOST_STARTS - 1]
        words = start_words(record, others)
        for place, made in enumerate(self._starts):
            there = place < len(words)
            made.layout.display = None if there else "none"
            made.description = words[place] if there else ""
        return [pins_of(record), *map(_pins, others)]

    def offer_restore(self, words: list[str]) -> None:
        """Offer what earlier pages had typed; nothing is offered where there is nothing."""
        self._restore.options = [option(str(n), text) for n, text in enumerate(words)]
        self._restore.value = "0" if words else ""
        self._restore_row.layout.display = None if words else "none"

    def say_written(self, words: str) -> None:
        """Say how the writing goes."""
        self.show_written(f"<p>{escape(words)}</p>")

    def show_written(self, text: str) -> None:
        """Show what was written, as HTML."""
        self._written.value = f'<div class="ql-written" role="status">{text}</div>'

    def saved(self, problem: str) -> None:
        """Say that what is typed cannot be kept; blank: it can."""
        self._saved.value = f'<p class="ql-warn">{escape(problem)}</p>' if problem else ""


def _part(title: str) -> Any:
    return html(f'<h2 class="ql-part">{title}</h2>')


def _pins(other: Any) -> dict[str, str]:
    from quotelib.build.levels import LEVELS

    return {
        "chassis": other.chassis,
        "controller": other.controller,
        "drive": other.drive,
        "members": str(other.members),
        "level": other.level,
        "spans": str(other.spans) if LEVELS[other.level].spanned else "",
        "spares": str(other.spares) if other.spares else "",
    }
