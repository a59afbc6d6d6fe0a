"""How does the page answer: every change goes through the same functions as a batch."""

import traceback
from collections.abc import Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from markupsafe import escape

from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.files import write_aside
from quotelib.documents.quoting import read_date
from quotelib.errors import InputError, Problem
from quotelib.quote.answer import Answer, answer
from quotelib.quote.enquiry import COLUMNS, PINS, Enquiry, read_enquiry
from quotelib.workbook import handover, options
from quotelib.workbook.autosave import Autosave
from quotelib.workbook.background import Background, Step, soon
from quotelib.workbook.blocks import Blocks

_PIECES = 2
_NEEDED = ("customer", "enquiry_id")
_FOR_NOW = {"customer": "(no name yet)", "enquiry_id": "(no number yet)"}


class Workbook:
    """One page on which one quote is made.

    Parameters
    ----------
    prices : str
        Folder of the price list; the starter list where blank.
    date : str
        Of the quotes, YYYY-MM-DD; today where blank.
    folder : path, optional
        Where files are written; the current one by default.

    Raises
    ------
    InputError
        With every problem of the price list, or where the date is none.
    """

    def __init__(self, prices: str = "", date: str = "", folder: str | Path | None = None) -> None:
        self.prices = str(Path(prices).resolve()) if prices else ""
        self.price_list = load_price_list(prices or None)
        self.date = read_date(date)
        self.folder = Path(folder or Path.cwd()).resolve()
        self.autosave = Autosave(self.folder)
        self._waiting: list[bool] = []
        self._background = Background(self._fault)
        self._writing = Background(self._fault)
        self._replace = ""
        self._judged: dict[str, dict[str, tuple[options.State, str]]] = {}
        self._starts: list[dict[str, str]] = []
        self.blocks = Blocks(self)
        self.form = self.blocks.form
        self.results = self.blocks.results
        self.offer_restore()

    def _repr_mimebundle_(self, **more: Any) -> Any:
        data = self.blocks.page._repr_mimebundle_(**more)
        there = self.price_list
        text = (
            f"A page to quote one customer from {len(there.chassis)} chassis, "
            f"{len(there.controllers)} controllers and {len(there.drives)} drives, in "
            f"{there.terms.currency}"
        )
        return {**data, "text/plain": text}

    def changed(self, name: str) -> None:
        """Take note that somebody has changed a field."""
        if name == "workload":
            self.blocks.workload.show(self.form.fields["workload"].value)
        self._replace = ""
        soon(self.recompute, self._waiting)

    def recompute(self) -> None:
        """Answer the enquiry as it stands, then keep it, then see to what takes longer."""
        self._background.drop()
        try:
            self._answer()
        except Exception as error:
            self._fault(error)
        self._keep()

    def read(self, cells: Mapping[str, str]) -> tuple[PriceList, Enquiry]:
        """Read an enquiry against the price list, changed workload numbers and all.

        Raises
        ------
        InputError
            With every problem.
        """
        price_list, sound = self.blocks.workload.price_list()
        given = {**_FOR_NOW, **{name: text for name, text in cells.items() if text.strip()}}
        enquiry = read_enquiry(given, price_list)
        if not sound:
            why, right = "a number of the workload cannot be read", "see beside it"
            raise InputError([Problem("workload", None, "workload_numbers", "", why, right)])
        return price_list, enquiry

    def _answer(self) -> None:
        given = self.form.given()
        self.blocks.copy.value = handover.csv_row(self.form.cells())
        asked = [name for name in given if name not in _NEEDED]
        if not asked:
            self.form.say([])
            self.results.working("")
            if self.results.record is None:
                self.results.empty(None)
            return
        try:
            price_list, enquiry = self.read(given)
        except InputError as error:
            self._say(error.problems)
            return
        self.form.say([])
        if options.pinned(enquiry):
            self._show(answer(price_list, enquiry, self.date, alternatives=False), whole=False)
            self.results.working("Looking for other builds and at the choices left …")
        else:
            self.results.working("Trying every build that agrees with what is given …")
        steps = self._steps(price_list, enquiry)
        self._background.start(steps, partial(self.results.working, ""))

    def _say(self, problems: tuple[Problem, ...]) -> None:
        """Show what is wrong; what is merely not there yet is asked for, not complained of."""
        nothing_yet = [p for p in problems if p.column == "usable_tb" and not p.value]
        wrong = [p for p in problems if p not in nothing_yet]
        self.form.say(wrong)
        self.results.working("")
        if wrong:
            fields = dict.fromkeys(self.form.label(problem.column) for problem in wrong)
            self.results.stale(f"see beside {', '.join(fields)}.")
        elif self.results.record is None:
            self.results.empty(
                "Still needed: the usable capacity, or the drive, how many of them and the level."
            )
        else:
            self.results.stale("say the usable capacity, or the drive, how many and the level.")

    def _steps(self, price_list: PriceList, enquiry: Enquiry) -> Iterator[Step]:
        whole = partial(self._show, whole=True)
        yield from self._following()
        yield partial(answer, price_list, enquiry, self.date, alternatives=True), whole
        yield from self._following()
        for pin in PINS:
            if pin == "spans" and not (enquiry.level and LEVELS[enquiry.level].spanned):
                continue
            yield partial(options.judge_all, price_list, enquiry, pin), partial(self._choices, pin)

    def _following(self) -> Iterator[Step]:
        """Show the rest of an answer piece by piece, so that typing comes between."""
        for _ in range(_PIECES):
            yield lambda: None, lambda _: self.results.follow()

    def _show(self, answered: Answer, *, whole: bool) -> None:
        self.results.show(answered, seller=self.blocks.sees_margin)
        record = answered.record
        if record is None:
            self.form.refuse(answered.reasons)
            return
        self.blocks.comparison.base(record)
        if whole:
            self._starts = self.blocks.offer_starts(record)

    def _choices(self, pin: str, judged: dict[str, tuple[options.State, str]]) -> None:
        self._judged[pin] = judged
        self.form.choices(pin, judged)

    def start_from(self, place: int) -> None:
        """Take the proposal or one of its alternatives as the pins."""
        self.use_pins(self._starts[place])

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
        self.form.fill(cells)
        self.blocks.told.value = f"<p>Loaded from {escape(source)}.</p>"
        self.changed("workload")

    def clear(self) -> None:
        """Start afresh; what was typed stays to be restored."""
        self._keep()
        self.autosave = Autosave(self.folder)
        self.form.fill({}, only=COLUMNS)
        self.form.new_session(self.autosave.session)
        self.blocks.told.value = "<p>A fresh enquiry. The one before can be restored.</p>"
        self.offer_restore()
        self.changed("workload")

    def offer_restore(self) -> None:
        """Offer what earlier pages had typed."""
        self.blocks.offer_restore([typed.words for typed in self.autosave.earlier])

    def restore(self, place: int) -> None:
        """Put what an earlier page had typed back into the fields."""
        typed = self.autosave.earlier[place]
        self.form.fill(typed.cells)
        self.blocks.told.value = f"<p>Restored: {escape(typed.words)}.</p>"
        self.changed("workload")

    def seller_view(self) -> None:
        """Show or hide the margin; an answer says more or less with it."""
        self.results.seller(self.blocks.sees_margin)
        soon(self.recompute, self._waiting)

    def write(self) -> None:
        """Write quote, bench sheet and record of the enquiry as it stands."""
        say = self.blocks.say_written
        missing = [name for name in _NEEDED if not self.form.given().get(name)]
        if missing:
            problems = [
                Problem("", None, name, "", "is needed to write the files", "fill it in")
                for name in missing
            ]
            self.form.say(problems)
            say(f"Not written: {' and '.join(map(self.form.label, missing))} still missing.")
            return
        if self.blocks.workload.edited:
            say("Not written: the workload's numbers are not those of the price list.")
            return
        try:
            enquiry = read_enquiry(self.form.given(), self.price_list)
        except InputError as error:
            self._say(error.problems)
            say("Not written: the enquiry has a problem, see beside its fields.")
            return
        there = handover.earlier_quote(self.folder, enquiry.enquiry_id)
        if there and self._replace != enquiry.enquiry_id:
            self._replace = enquiry.enquiry_id
            say(f"There is {there} already. Press again to replace it, or change the number.")
            return
        self._replace = ""
        say("Writing …")
        work = partial(self._written, enquiry)
        self._writing.start([(work, self.blocks.show_written)], lambda: None)

    def _written(self, enquiry: Enquiry) -> str:
        answered = answer(self.price_list, enquiry, self.date)
        if answered.record is None:
            return "<p>Not written: no build meets the enquiry.</p>"
        try:
            names = handover.write(answered.record, self.folder, self.prices)
        except OSError as error:
            why = escape(error.strerror or str(error))
            return f"<p>Not written: {escape(self.folder)}: {why}. Nothing typed is lost.</p>"
        return handover.written_words(answered.record, self.folder, names)

    def found_in_browser(self, text: str) -> None:
        """Take what the browser had kept of an earlier page."""
        self.autosave.found_in_browser(text)
        self.offer_restore()

    def _keep(self) -> None:
        cells = self.form.cells()
        if not any(cells.values()):
            return
        try:
            self.autosave.save(cells)
            self.blocks.saved("")
        except OSError as error:
            why = error.strerror or str(error)
            self.blocks.saved(f"What is typed cannot be kept in {self.folder}: {why}.")

    def _fault(self, error: Exception) -> None:
        """Say that we failed; the details go to a file, the page goes on."""
        self.results.working("")
        text = "".join(traceback.format_exception(error))
        try:
            write_aside(self.folder / "fault-workbook.txt", text)
            where = "; please report it with the file fault-workbook.txt"
        except OSError:
            where = ""
        kind = type(error).__name__
        self.results.stale(f"a fault of the program ({kind}){where}. Nothing typed is lost.")
