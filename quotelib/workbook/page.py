"""What does the page do: every change goes through the same functions as a batch."""

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

from quotelib.documents.batch.files import csv_text
from quotelib.documents.quoting import read_date
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.load import name_of
from quotelib.errors import InputError, Problem
from quotelib.promise.answer import answer
from quotelib.text import both, count
from quotelib.workbook.answers import STILL, Answers
from quotelib.workbook.autosave import Autosave
from quotelib.workbook.background import Background, later, looped, report, soon
from quotelib.workbook.blocks import Blocks
from quotelib.workbook.book import Book
from quotelib.workbook.compare import Comparison
from quotelib.workbook.differences import Differences
from quotelib.workbook.form import REQUIRED, Form
from quotelib.workbook.found import Found
from quotelib.workbook.handover import Writer
from quotelib.workbook.library import library
from quotelib.workbook.nearest import Nearest
from quotelib.workbook.numbers import WorkloadNumbers
from quotelib.workbook.order import Cells, Order
from quotelib.workbook.results import Pins, Results, Starts
from quotelib.workbook.rows import Rows
from quotelib.workbook.side_by_side import beside
from quotelib.workbook.sources import Loader, Prices
from quotelib.workbook.targets import Targets
from quotelib.workbook.widgets import Engine, box


class Workbook:
    """One page on which one quote is made.

    Parameters
    ----------
    prices : str
        Folder of the price list, the starter list where blank; InputError tells its problems.
    date : str
        Of the quotes, YYYY-MM-DD; today where blank.
    folder : path, optional
        Where files are written; the current one by default.
    register : str
        Folder or address of a register to give the quotes into; blank: none.
    """

    def __init__(
        self,
        prices: str = "",
        date: str = "",
        folder: str | Path | None = None,
        register: str = "",
    ) -> None:
        self.date = read_date(date)
        self.folder = Path(folder or Path.cwd()).resolve()
        self.prices = Prices(prices, self.read_again)
        self.book = Book(register, self.date)
        self.autosave = Autosave(self.folder)
        self.order = Order()
        self._store = f"quotelib:{self.folder}"
        self._waiting: list[bool] = []
        self.background = Background(self._fault)
        self.writer = Writer(self.folder, self.write, self._fault, self.book)
        self.blocks = Blocks(self.seller_view, self.restore, self.clear, self.clear_pins)
        self.rows = Rows(self.order, self._to_row)
        self.answers = Answers(self)
        self.engine = Engine(store=self._store)
        self.engine.observe(lambda change: self.found_in_browser(change["new"]), "kept")
        self.engine.observe(lambda _: later(self._catch_up), "typed")
        self.page = box([], "ql-page")
        self.whole = box([self.page], "ql-room")
        self._open()
        self.offer_restore()
        if looped():
            # While a thread searches, the page must be heard: by default it waits 5 ms, many times.
            sys.setswitchinterval(0.0005)
            there = partial(setattr, self.engine, "library")
            Background(self._fault).start([(library, there)])

    def _open(self) -> None:
        """Make what depends on the price list, and lay the page out."""
        price_list = self.prices.list
        session = self.autosave.session
        self.differences = Differences(lambda: self.form, self._fault)
        self.form = Form(price_list, self.changed, self._store, session, self.differences.opened)
        self.workload = WorkloadNumbers(price_list, partial(self.changed, "workload_numbers"))
        self.results, self.starts = Results(), Starts(self.use_pins)
        self.nearest = Nearest(self.ask_instead)
        self.found = Found(self.use_pins)
        self.targets = Targets(self.answers.at_discount, self.ask_instead, self._fault)
        self.comparison = Comparison(
            price_list, self.use_pins, self.answers.try_out, self.take_back, self.kept_others,
            self.writer.forget,
        )  # fmt: skip
        self.loader = Loader(price_list, self.load)
        self.page.children = [self.engine, *self.blocks.lay_out(self)]
        self._fill()

    def _repr_mimebundle_(self, **more: Any) -> Any:
        there = self.prices.list
        kinds = ("chassis", "controllers", "drives")
        parts = both(f"{len(getattr(there, kind))} {kind}" for kind in kinds)
        text = f"A page to quote one customer from {parts}, in {there.terms.currency}"
        return {**self.whole._repr_mimebundle_(**more), "text/plain": text}

    def changed(self, name: str) -> None:
        """Take note that somebody has changed a field."""
        if name in COLUMNS:
            self.order.take({name: self.form.fields[name].value})
        if name == "workload":
            self.workload.show(self.form.fields["workload"].value)
        if name == "workload_numbers":
            self.order.take({"workload": self.workload.cell})
        self._answer_anew()

    def _answer_anew(self) -> None:
        self.writer.forget()
        soon(self.recompute, self._waiting)

    def _catch_up(self) -> None:
        """Say that all has been heard: a count may come after what it counts, or for nothing."""
        if not self._waiting:
            self.engine.seen = max(self.engine.seen, self.engine.typed)

    def recompute(self) -> None:
        """Answer the rows as they stand, then keep them, then see to what takes longer."""
        self.background.drop()
        try:
            self.answers.give()
            self.prices.look()
        except Exception as error:
            self._fault(error)
        self.rows.draw(self.answers.marks)
        texts = self.answers.texts()
        cells = [map(str.strip, row.values()) for row in texts]
        self.blocks.copy.value = csv_text(texts[0], *cells)
        self.save()

    def kept_others(self) -> None:
        """Take note that other builds are kept now: what goes into an annex may be otherwise."""
        if self.comparison.into_annex.value:
            self.writer.forget()
        self.save()

    def save(self) -> None:
        """Keep what stands on the page, so that no end of the program loses it."""
        self.blocks.saved(self.autosave.keep(self.order.kept(), self.comparison.kept()))

    def _fill(self) -> None:
        """Show in the fields the row that is edited."""
        cells = self.order.shown()
        self.workload.show(cells["workload"])
        self.form.fill({**cells, "workload": name_of(cells["workload"])}, self.order.keeper)
        self.blocks.show_row(self)

    def _to_row(self, done: str) -> None:
        """Have another row in the fields, or another list of rows; `done` says what was done."""
        self.answers.forget_choices()
        self._fill()
        self.blocks.tell(done)
        self._answer_anew()
        self.form.focus(self.order.at.kind)

    def _begin(self, words: str, rows: Sequence[Cells], *, anew: bool = False) -> None:
        """Put another enquiry into the fields: nothing of the one before stays."""
        self.background.drop()
        self.answers.forget()
        dropped = self.comparison.drop()
        self.order.load(rows)
        for fold in self.blocks.folds.values():
            fold.unfolded = False
        if anew:
            self._open()
        else:
            self._fill()
        self.engine.begun += 1
        self.blocks.tell(f"{words} {count(dropped, 'kept build')} dropped." if dropped else words)
        self._answer_anew()

    def use_pins(self, pins: Pins) -> None:
        """Put pins (and perhaps a workload) into rows of the record."""
        for place, cells in pins.items():
            self.order.take(cells, self.answers.shown[place])
        self._fill()
        self._answer_anew()

    def ask_instead(self, cells: Cells) -> None:
        """Ask for something else in the row in the form."""
        self.order.take(cells)
        self._fill()
        self._answer_anew()

    def clear_pins(self) -> None:
        """Leave every choice to us again."""
        self.ask_instead(dict.fromkeys((*PINS, "owned", "accept"), ""))

    def load(self, rows: Sequence[Cells], source: str) -> None:
        """Put a whole enquiry into the fields."""
        self._begin(f"Loaded from {source}.", rows)

    def clear(self) -> None:
        """Start afresh; what was typed stays to be restored."""
        self.save()
        self.autosave = Autosave(self.folder)
        self.form.new_session(self.autosave.session)
        self.offer_restore()
        self._begin("A fresh enquiry. The one before can be restored.", [{}])

    def offer_restore(self) -> None:
        """Offer what earlier pages had typed."""
        self.blocks.offer_restore([typed.words for typed in self.autosave.earlier])

    def restore(self, place: int) -> None:
        """Put what an earlier page had typed back into the fields."""
        typed = self.autosave.earlier[place]
        self._begin(f"Restored: {typed.words}.", list(typed.rows.values()))
        self.comparison.restore(typed.kept)
        self._answer_anew()

    def take_back(self, name: str, rows: Sequence[Cells]) -> None:
        """Put a build that was kept back into the fields; the others stay kept."""
        self.order.load(rows)
        self._fill()
        self.blocks.tell(f"{name} is in the fields again.")
        self._answer_anew()

    def read_again(self) -> None:
        """Quote from the price list as it is on disk now."""
        try:
            self.prices.read()
        except InputError as error:
            self.prices.say(f"The list on disk cannot be used: {error.problems[0]}.")
            return
        words = "The price list has been read again; what is typed is answered from it."
        self._begin(words, self.order.texts(self.order.rows), anew=True)

    def seller_view(self) -> None:
        """Show or hide the margin; an answer says more or less with it."""
        self.results.seller(self.blocks.seller.value)
        self.blocks.show_row(self)
        soon(self.recompute, self._waiting)

    def write(self) -> None:
        """Write quote, bench sheet and record of the enquiry as it stands."""
        say = self.writer.say
        missing = [name for name in REQUIRED if not self.order.quote.get(name, "").strip()]
        if missing:
            why, right = "is needed to write the files", "fill it in"
            self.form.say([Problem("", None, name, "", why, right) for name in missing])
            say(f"Not written: {both(map(self.form.label, missing))} still missing.")
            return
        try:
            shown, request = self.answers.read_all()
        except InputError as error:
            self.answers.say(error.problems, STILL)
            say("Not written: the enquiry has a problem, see beside its fields.")
            return
        try:
            self.book.look()
        except InputError as error:
            say(f"Not written: {error.problems[0]}. Nothing typed is lost.")
            return
        if self.book.left(self.prices.list, request) != shown:
            self._answer_anew()
            say("Not written: others' quotes keep parts of it by now. Look again, then press.")
            return
        make = partial(answer, shown, request, self.date)
        make = partial(beside, make, self.comparison.for_annex())
        self.writer.write(request.first.enquiry_id, make, self.prices.look())

    def found_in_browser(self, text: str) -> None:
        """Take what the browser had kept of an earlier page."""
        self.autosave.found_in_browser(text)
        self.offer_restore()

    def _fault(self, error: Exception) -> None:
        """Say that we failed; the details go to a file, the page goes on."""
        self.answers.forget()
        self.results.wrong(f"{report(error, self.folder)} Nothing typed is lost.")
