"""How is what stands on the page answered: through the same functions as in a batch."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.options import Judged, judge_all, pinned
from quotelib.choose.server import single_array
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import Request
from quotelib.errors import InputError, Problem
from quotelib.levels import LEVELS
from quotelib.promise.answer import Answer, answer, laid_out
from quotelib.promise.record import QuoteRecord
from quotelib.workbook.background import Step
from quotelib.workbook.form import REQUIRED
from quotelib.workbook.nearest import WayOut, ways_out
from quotelib.workbook.order import NAMES, Cells, Row
from quotelib.workbook.typed import as_in_a_file
from quotelib.workbook.widgets import ANSWER, CHOICES, REST, SOON

if TYPE_CHECKING:
    from quotelib.workbook.page import Workbook

STILL = "Still needed: the usable capacity, or the drive, how many of them and the level."
_TRYING = "Trying every build that agrees with what is given …"
_LOOKING = "Looking for other builds and at the choices left …"
_NEAREST = "Looking for what comes nearest …"
_WRONG, _MORE, _REFUSED = "to be mended", "more is needed", "cannot be built as it stands"


class Answers:
    """Answers the rows on a page, piece by piece.

    Parameters
    ----------
    rows, shown : list of Row
        Those that ask for something, and those that the record on the page is of.
    marks : dict
        What is the matter with a row, by its key, in few words.
    """

    def __init__(self, page: "Workbook") -> None:
        self._page = page
        self.rows: list[Row] = []
        self.shown: list[Row] = []
        self.marks: dict[str, str] = {}
        self._told: dict[str, Callable[[], None]] = {}

    def read(self, rows: Sequence[Cells]) -> tuple[PriceList, Request]:
        """Read rows against the price list, or raise InputError."""
        price_list = self._page.prices.list
        label = self._page.form.label
        for_now = {name: f"(no {label(name).lower()} yet)" for name in REQUIRED}
        given = [{name: text for name, text in cells.items() if text.strip()} for cells in rows]
        given[0] = {**for_now, **given[0]}
        request = read_request(
            [{"enquiry_id": given[0]["enquiry_id"], **cells} for cells in given],
            price_list,
            date=self._page.date,
        )
        return self._page.book.left(price_list, request), request

    def try_out(self, rows: Sequence[Cells]) -> Answer:
        """Answer other rows, without a look for other builds; raise InputError."""
        price_list, request = self.read(rows)
        return answer(price_list, request, self._page.date, alternatives=False)

    def at_discount(self, pct: str) -> QuoteRecord | None:
        """Give the record of the very builds on the page at another discount; None: there is none.

        Raises InputError where it is no discount.
        """
        record = self._page.results.record
        if record is None:
            return None
        first, *others = record.as_quoted()
        return self.try_out([{**first, "discount_pct": pct}, *others]).record

    def texts(self) -> list[dict[str, str]]:
        """Give the rows on the page as a file would have them."""
        page = self._page
        return as_in_a_file(page.order.texts(self.rows), page.prices.list)

    def read_all(self) -> tuple[PriceList, Request]:
        """Read the rows on the page, or raise InputError."""
        if wrong := list(self._page.order.problems(self.rows)):
            raise InputError(wrong)
        return self.read(self.texts())

    def give(self) -> None:
        """Answer the rows on the page."""
        page = self._page
        page.differences.forget()
        self.rows = page.order.asked()
        texts = self.texts()
        page.form.notice(texts[0], page.prices.list)
        given = {name for cells in texts for name, text in cells.items() if text.strip()}
        if given <= {*REQUIRED, *NAMES}:
            self.say()
            return
        try:
            price_list, request = self.read_all()
        except InputError as error:
            self.say(error.problems, STILL)
            return
        self._tell({})
        arrays = [array for server in request.servers for array in server.arrays]
        page.results.first([(s.name, laid_out(price_list, s)) for s in request.servers])
        # What stands there is of the same customer's enquiry, and marked until it is replaced.
        quick = all(map(pinned, arrays))
        self._work(_LOOKING if quick else _TRYING, ANSWER, SOON, REST, CHOICES)
        (page.found.forget if quick else page.found.begin)()
        page.background.start(self._steps(price_list, request))

    def say(self, problems: Sequence[Problem] = (), *still: str) -> None:
        """Show what is wrong; what is merely not there yet is asked for, not complained of."""
        self.forget()
        wrong = [p for p in problems if p.column != "usable_tb" or p.value]
        told: dict[str, list[Problem]] = {row.key: [] for row in self.rows}
        for problem in wrong:
            told[self._of(problem).key].append(problem)
        self._tell({key: partial(self._page.form.say, found) for key, found in told.items()})
        for problem in problems:
            known = COLUMNS.get(problem.column)
            if known is None or known.of != "quote":
                said = _WRONG if problem in wrong else _MORE
                self.marks.setdefault(self._of(problem).key, said)
        if not wrong:
            self._page.results.empty(*still)
            return
        fields = dict.fromkeys(map(self._where, wrong))
        self._page.results.wrong(f"see beside {', '.join(fields)}.")

    def _of(self, problem: Problem) -> Row:
        return self.rows[(problem.row or 1) - 1]

    def _where(self, problem: Problem) -> str:
        row, label = self._of(problem), self._page.form.label(problem.column)
        if len(self._page.order.rows) == 1 or row is self._page.order.at:
            return label
        return f"{label} of row {self._page.order.rows.index(row) + 1}"

    def _tell(self, told: Mapping[str, Callable[[], None]]) -> None:
        """Keep what is to be said beside the fields of each row, by its key."""
        self._told = dict(told)
        self.marks.clear()
        self.beside()

    def beside(self) -> None:
        """Say beside the fields what is the matter with the row in the form."""
        key = self._page.order.at.key
        self._told.get(key, partial(self._page.form.say, []))()
        for group, fold in self._page.blocks.folds.items():
            fold.unfolded = fold.unfolded or self._page.form.wrong(group)

    def _work(self, words: str = "", *anew: str) -> None:
        """Say what is being worked out, and which blocks still show an earlier answer."""
        engine = self._page.engine
        self._page.results.working(words)
        with engine.hold_sync():
            engine.anew, engine.seen = list(anew), engine.typed

    def _single(self, request: Request) -> Enquiry | None:
        """Give the one array of the server of the row in the form; None where it has others."""
        at = self._page.order.at
        if at in self.rows:
            server, array = list(request.places())[self.rows.index(at)]
            if server is not None and array is not None:
                return single_array(request.servers[server])
        return None

    def _steps(self, price_list: PriceList, request: Request) -> Iterator[Step]:
        """Work out the answer first, then what can be seen of it at once, then what else."""
        page, enquiry = self._page, self._single(request)
        show = partial(self._show, request, single=enquiry is not None)
        yield partial(answer, price_list, request, page.date, alternatives=False), show
        if page.results.record is not None:
            self._work(_LOOKING, SOON, REST, CHOICES)
            yield from page.results.fitting()
            self._work(_LOOKING, REST, CHOICES)
            yield from page.results.rest()
        if enquiry is None:
            # Several arrays decide together what is left: unjudged is better than wrong.
            self._choices({pin: {} for pin in PINS})
        else:
            spanned = enquiry.level and LEVELS[enquiry.level].spanned
            pins = [pin for pin in PINS if pin != "spans" or spanned]
            # Of numbers the page says which are left, and not why.
            listed = [pin for pin in pins if COLUMNS[pin].kind == "pick"]
            yield partial(judge_all, price_list, enquiry, pins, listed), self._choices
        if page.results.record is not None:
            self._work(_LOOKING, REST)
            wider = partial(
                answer, price_list, request, page.date, controllers=False, considered=False
            )
            yield wider, partial(show, wide=True)
            yield from page.results.others()
        elif enquiry is not None:
            self._work(_NEAREST)
            yield partial(self._ways_out, price_list, request, enquiry), page.nearest.offer
        if enquiry is not None:
            page.differences.of(price_list, enquiry)
        self._work()
        row = None if enquiry is None or pinned(enquiry) else self.rows.index(page.order.at)
        yield from page.found.steps(price_list, request, page.date, row)

    def _ways_out(
        self, price_list: PriceList, request: Request, enquiry: Enquiry
    ) -> Sequence[WayOut]:
        """Find what comes nearest, where it is the server in the form that there is none of."""
        answered = answer(price_list, request, self._page.date, alternatives=False)
        for server, reasons in zip(request.servers, answered.refused, strict=True):
            if reasons and single_array(server) is enquiry:
                return ways_out(price_list, enquiry, reasons)
        return ()

    def _show(
        self, request: Request, answered: Answer, *, single: bool, wide: bool = False
    ) -> None:
        """Show an answer; a `wide` one has looked for other builds too."""
        page, record = self._page, answered.record
        if record is None:
            self.forget()
            told = {}
            for row, (server, _) in zip(self.rows, request.places(), strict=True):
                if server is not None and answered.refused[server]:
                    told[row.key] = partial(page.form.refuse, answered.refused[server])
            self._tell(told)
            self.marks.update(dict.fromkeys(told, _REFUSED))
            page.rows.draw(self.marks)
        if record is not None:
            page.nearest.offer(())
        page.results.show(answered, seller=page.blocks.seller.value)
        if record is not None:
            self.shown = self.rows
            page.comparison.base(record, self.rows.index(page.order.at) if single else None)
            if wide:
                page.starts.offer(record)
            page.targets.of(record)
            page.form.propose(self._taken(record))

    def _taken(self, record: QuoteRecord) -> dict[str, str]:
        """Give what the record takes for the row in the form."""
        at = self._page.order.at
        if at not in self.rows:
            return {}
        cells = record.as_quoted()[self.rows.index(at)]
        level = cells.get("level", "")
        return {**cells, "level": LEVELS[level].label if level else ""}

    def _choices(self, judged: Mapping[str, Mapping[str, Judged]]) -> None:
        for pin, options in judged.items():
            self._page.form.choices(pin, options)

    def forget_choices(self) -> None:
        """Take back which options are left: they were judged for another row."""
        self._choices({pin: {} for pin in PINS})
        self._page.differences.forget()
        self._page.form.propose({})

    def forget(self) -> None:
        """Take off the page whatever belongs to an answer that is not this enquiry's."""
        page = self._page
        page.results.forget()
        page.starts.offer(None)
        page.nearest.offer(())
        page.found.forget()
        page.targets.of(None)
        page.comparison.forget()
        page.writer.forget()
        self.forget_choices()
        self._work()
