"""How does the page answer: every change goes through the same functions as a batch."""

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.options import Judged, judge_all, pinned
from quotelib.documents.batch.files import csv_text
from quotelib.documents.quoting import read_date
from quotelib.enquiry.columns import PINS
from quotelib.enquiry.enquiry import Enquiry, read_enquiry
from quotelib.enquiry.request import single
from quotelib.errors import InputError, Problem
from quotelib.levels import LEVELS
from quotelib.promise.answer import Answer, answer, laid_out
from quotelib.text import both, count
from quotelib.workbook.autosave import Autosave
from quotelib.workbook.background import Background, Step, report, soon
from quotelib.workbook.blocks import Blocks
from quotelib.workbook.compare import Comparison
from quotelib.workbook.form import REQUIRED, Form, WorkloadNumbers
from quotelib.workbook.handover import Writer
from quotelib.workbook.results import Results, Starts
from quotelib.workbook.sources import Loader, Prices
from quotelib.workbook.widgets import ANSWER, REST, Engine, box

_STILL = "Still needed: the usable capacity, or the drive, how many of them and the level."
_TRYING = "Trying every build that agrees with what is given …"
_LOOKING = "Looking for other builds and at the choices left …"


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
    """

    def __init__(self, prices: str = "", date: str = "", folder: str | Path | None = None) -> None:
        self.date = read_date(date)
        self.folder = Path(folder or Path.cwd()).resolve()
        self.prices = Prices(prices, self.read_again)
        self.autosave = Autosave(self.folder)
        self._store = f"quotelib:{self.folder}"
        self._waiting: list[bool] = []
        self._background = Background(self._fault)
        self.writer = Writer(self.folder, self.write, self._fault)
        self.blocks = Blocks(self.seller_view, self.restore, self.clear, self.clear_pins)
        self._engine = Engine(store=self._store)
        self._engine.observe(lambda change: self.found_in_browser(change["new"]), "kept")
        self.page = box([], "ql-page")
        self._open()
        self.offer_restore()

    def _open(self) -> None:
        """Make what depends on the price list, and lay the page out."""
        price_list = self.prices.list
        self.form = Form(price_list, self.changed, self._store, self.autosave.session)
        self.workload = WorkloadNumbers(price_list, partial(self.changed, "workload_numbers"))
        self.results, self.starts = Results(), Starts(self.use_pins)
        self.comparison = Comparison(price_list, self.use_pins, self._try)
        self.loader = Loader(price_list, self.load)
        self.page.children = [self._engine, *self.blocks.lay_out(self)]

    def _repr_mimebundle_(self, **more: Any) -> Any:
        there = self.prices.list
        kinds = ("chassis", "controllers", "drives")
        parts = both(f"{len(getattr(there, kind))} {kind}" for kind in kinds)
        text = f"A page to quote one customer from {parts}, in {there.terms.currency}"
        return {**self.page._repr_mimebundle_(**more), "text/plain": text}

    def changed(self, name: str) -> None:
        """Take note that somebody has changed a field."""
        if name == "workload":
            self.workload.show(self.form.fields["workload"].value)
        self.writer.forget()
        soon(self.recompute, self._waiting)

    def recompute(self) -> None:
        """Answer the enquiry as it stands, then keep it, then see to what takes longer."""
        self._background.drop()
        try:
            self._answer()
            self.prices.look()
        except Exception as error:
            self._fault(error)
        cells = self.form.cells()
        self.blocks.copy.value = csv_text(cells, map(str.strip, cells.values()))
        self.blocks.saved(self.autosave.keep(cells))

    def read(self, cells: Mapping[str, str]) -> tuple[PriceList, Enquiry]:
        """Read an enquiry against the price list, changed numbers and all, or raise InputError."""
        price_list, sound = self.workload.price_list()
        for_now = {name: f"(no {self.form.label(name).lower()} yet)" for name in REQUIRED}
        given = {name: text for name, text in cells.items() if text.strip()}
        enquiry = read_enquiry({**for_now, **given}, price_list)
        if not sound:
            why, right = "a number of the workload cannot be read", "see beside it"
            raise InputError([Problem("workload", None, "workload_numbers", "", why, right)])
        return price_list, enquiry

    def _try(self, cells: Mapping[str, str]) -> Answer:
        price_list, enquiry = self.read(cells)
        return answer(price_list, single(enquiry), self.date, alternatives=False)

    def _answer(self) -> None:
        given = self.form.given()
        if set(given) <= set(REQUIRED):
            self._say()
            return
        try:
            price_list, enquiry = self.read(given)
        except InputError as error:
            self._say(error.problems, _STILL)
            return
        self.form.say([])
        self.results.first(laid_out(price_list, enquiry))
        # What stands there is of the same customer's enquiry, and marked until it is replaced.
        self._work(_LOOKING if pinned(enquiry) else _TRYING, ANSWER, REST)
        self._background.start(self._steps(price_list, enquiry))

    def _work(self, words: str = "", *anew: str) -> None:
        self.results.working(words)
        self._engine.anew = list(anew)

    def _say(self, problems: Sequence[Problem] = (), *still: str) -> None:
        """Show what is wrong; what is merely not there yet is asked for, not complained of."""
        self.forget()
        wrong = [p for p in problems if p.column != "usable_tb" or p.value]
        self.form.say(wrong)
        if wrong:
            fields = dict.fromkeys(self.form.label(problem.column) for problem in wrong)
            self.results.wrong(f"see beside {', '.join(fields)}.")
        else:
            self.results.empty(*still)

    def _steps(self, price_list: PriceList, enquiry: Enquiry) -> Iterator[Step]:
        request = single(enquiry)
        if pinned(enquiry):
            yield partial(answer, price_list, request, self.date, alternatives=False), self._show
            yield from self.results.rest()
        yield partial(answer, price_list, request, self.date), self._show
        yield from self.results.rest()
        spanned = enquiry.level and LEVELS[enquiry.level].spanned
        pins = [pin for pin in PINS if pin != "spans" or spanned]
        # One look serves all pins that are left open; each of the others takes one of its own.
        left = [pin for pin in pins if enquiry.value(pin) is None and pin != "spares"]
        for group in (left, *([pin] for pin in pins if pin not in left)):
            yield partial(judge_all, price_list, enquiry, group), self._choices
        self._work()

    def _show(self, answered: Answer) -> None:
        record = answered.record
        if record is None:
            self.forget()
            self.form.refuse(answered.reasons)
        self.results.show(answered, seller=self.blocks.seller.value)
        if record is not None:
            self.comparison.base(record)
            self.starts.offer(record)

    def _choices(self, judged: Mapping[str, Mapping[str, Judged]]) -> None:
        for pin, options in judged.items():
            self.form.choices(pin, options)

    def forget(self) -> None:
        """Take off the page whatever belongs to an answer that is not this enquiry's."""
        self.results.forget()
        self.starts.offer(None)
        self.comparison.forget()
        self.writer.forget()
        self._choices({pin: {} for pin in PINS})
        self._work()

    def _begin(self, words: str, cells: Mapping[str, str], *, anew: bool = False) -> None:
        """Put another enquiry into the fields: nothing of the one before stays."""
        self._background.drop()
        self.forget()
        dropped = self.comparison.drop()
        if anew:
            self._open()
        self.form.fill(cells)
        self.workload.reset(tell=False)
        self.blocks.tell(f"{words} {count(dropped, 'kept build')} dropped." if dropped else words)
        self.changed("workload")

    def use_pins(self, cells: Mapping[str, str]) -> None:
        """Put pins (and perhaps a workload) into the fields."""
        self.form.fill(cells, only=[name for name in (*PINS, "workload") if name in cells])
        self.changed("workload")

    def clear_pins(self) -> None:
        """Leave every choice to us again."""
        self.form.fill({}, only=(*PINS, "owned", "accept"))
        self.changed("level")

    def load(self, cells: Mapping[str, str], source: str) -> None:
        """Put a whole enquiry into the fields."""
        self._begin(f"Loaded from {source}.", cells)

    def clear(self) -> None:
        """Start afresh; what was typed stays to be restored."""
        self.blocks.saved(self.autosave.keep(self.form.cells()))
        self.autosave = Autosave(self.folder)
        self.form.new_session(self.autosave.session)
        self.offer_restore()
        self._begin("A fresh enquiry. The one before can be restored.", {})

    def offer_restore(self) -> None:
        """Offer what earlier pages had typed."""
        self.blocks.offer_restore([typed.words for typed in self.autosave.earlier])

    def restore(self, place: int) -> None:
        """Put what an earlier page had typed back into the fields."""
        typed = self.autosave.earlier[place]
        self._begin(f"Restored: {typed.words}.", typed.cells)

    def read_again(self) -> None:
        """Quote from the price list as it is on disk now."""
        try:
            self.prices.read()
        except InputError as error:
            self.prices.say(f"The list on disk cannot be used: {error.problems[0]}.")
            return
        words = "The price list has been read again; what is typed is answered from it."
        self._begin(words, self.form.cells(), anew=True)

    def seller_view(self) -> None:
        """Show or hide the margin; an answer says more or less with it."""
        self.results.seller(self.blocks.seller.value)
        soon(self.recompute, self._waiting)

    def write(self) -> None:
        """Write quote, bench sheet and record of the enquiry as it stands."""
        say, given = self.writer.say, self.form.given()
        missing = [name for name in REQUIRED if name not in given]
        if missing:
            why, right = "is needed to write the files", "fill it in"
            self.form.say([Problem("", None, name, "", why, right) for name in missing])
            say(f"Not written: {both(map(self.form.label, missing))} still missing.")
            return
        if self.workload.edited:
            say("Not written: the workload's numbers are not those of the price list.")
            return
        try:
            enquiry = read_enquiry(given, self.prices.list)
        except InputError as error:
            self._say(error.problems, _STILL)
            say("Not written: the enquiry has a problem, see beside its fields.")
            return
        make = partial(answer, self.prices.list, single(enquiry), self.date)
        self.writer.write(enquiry.enquiry_id, make, self.prices.look())

    def found_in_browser(self, text: str) -> None:
        """Take what the browser had kept of an earlier page."""
        self.autosave.found_in_browser(text)
        self.offer_restore()

    def _fault(self, error: Exception) -> None:
        """Say that we failed; the details go to a file, the page goes on."""
        self.forget()
        self.results.wrong(f"{report(error, self.folder)} Nothing typed is lost.")
