"""What comes of one enquiry: its rows of the summary, and its files in the stage."""

import datetime as dt
import errno
import traceback
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NamedTuple

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.batch.files import write_new
from quotelib.documents.batch.summary import FILES, record_rows
from quotelib.documents.batch.workers import Died
from quotelib.enquiry.reading import Asked
from quotelib.errors import NotExported
from quotelib.promise.record import QuoteRecord
from quotelib.register.kept import Kept

OUTCOMES = ("quoted", "held", "refused", "invalid")
FAULT = "fault"
"""In place of an outcome: the program failed, and nothing is known of the enquiry."""
_NOTHING = "nothing was written for this enquiry"

Rows = list[dict[str, str]]
"""Of a summary: one a row of a quote."""


class Task(NamedTuple):
    """What to do: an enquiry, and the safe name that its files have.

    Where it has been given into a register, with the number it has there and its record's text;
    where it was given before, with the text of that record.
    """

    asked: Asked
    stem: str
    number: str = ""
    text: str = ""
    before: str = ""

    @property
    def asks(self) -> tuple[str, str]:
        """Give the number of an enquiry that can be read, and its customer."""
        assert self.asked.request is not None
        first = self.asked.request.first
        return first.enquiry_id, first.customer

    @property
    def nothing(self) -> str:
        """Say what there is of it where something failed."""
        if not self.number:
            return _NOTHING
        return f"no document was written; it is given as {self.number}, and can be reopened"

    def rows(self, outcome: str, reasons: Mapping[int, str], what: str) -> Rows:
        """Give each row the outcome and its own reason, or that of being beside one that has."""
        numbers = [row.row for row in self.asked.rows]
        first = next((number for number, reason in reasons.items() if reason), None)
        beside = f"with row {first}, which {what}"
        name = {"enquiry_id": self.asked.enquiry_id, "outcome": outcome}
        return [{**name, "reason": reasons.get(number) or beside} for number in numbers]


class Job(NamedTuple):
    """What all tasks have in common; the price list as a value, since its folder may change.

    Parameters
    ----------
    exports
        What to make beside the pages.
    scratch
        Folder for what a browser writes meanwhile; it goes when the run ends.
    kept
        What quotes of a register keep of the stock; None: there is no register.
    anew
        Which enquiries are asked together.
    """

    price_list: PriceList
    stage: Path
    date: dt.date
    exports: frozenset[str] = frozenset()
    scratch: Path | None = None
    kept: Kept | None = None
    anew: frozenset[tuple[str, str]] = frozenset()

    def prices(self, task: Task) -> PriceList:
        """Give the price list with only such stock as no other quote of a register keeps."""
        if self.kept is None:
            return self.price_list
        return self.price_list.with_less_stock(self.kept.but_for(task.asks, self.anew))


class Done(NamedTuple):
    """Rows of the summary, and the SHA-256 of every file by its name in the stage."""

    rows: Rows
    files: dict[str, str]


def unreadable(task: Task) -> Done | None:
    """Say what is wrong with the rows of an enquiry; None where it can be answered."""
    if task.asked.request is not None:
        return None
    wrong = {row.row: "; ".join(map(str, row.problems)) for row in task.asked.rows}
    return Done(task.rows("invalid", wrong, "cannot be read"), {})


def answered(job: Job, task: Task) -> Done:
    """Answer an enquiry that can be read, and make its documents in the stage.

    Raises
    ------
    OSError
        Where the stage cannot be written.
    MemoryError
        Where there is not enough.
    """
    return _kept_up(_answered, job, task)


def answered_first(job: Job, task: Task) -> Done:
    """Answer an enquiry as `answered`, and leave its record in the stage, to be given a number."""
    return _kept_up(_answered_first, job, task)


def documented(job: Job, task: Task) -> Done:
    """Make the documents of an enquiry that has been given a number, as `answered`."""
    return _kept_up(_documented, job, task)


def _kept_up(do: Callable[[Job, Task], Done], job: Job, task: Task) -> Done:
    try:
        return do(job, task)
    except MemoryError:
        raise
    except OSError as error:
        if error.errno == errno.ENOMEM:
            raise MemoryError from error
        raise
    except NotExported as error:
        return _fault(job, task, f"not exported: {error}, {_NOTHING}", "")
    except (Exception, SystemExit) as error:
        what = f"program fault ({type(error).__name__}), {task.nothing}"
        return _fault(job, task, what, traceback.format_exc())


def died(job: Job, task: Task, how: Died) -> Done:
    """Say that an enquiry cost the process that worked at it."""
    if how.why == "memory":
        what = f"out of memory, {task.nothing}: {how.how}; run it again with fewer jobs"
    else:
        what = f"program fault ({how.how}), {task.nothing}"
    return _fault(job, task, what, how.said)


def _fault(job: Job, task: Task, what: str, more: str) -> Done:
    """Note a fault of ours: it must not cost the other customers their quotes, nor hide."""
    file = f"fault-{task.stem}.txt"
    digest = write_new(job.stage / file, f"{what}\n{more}")
    reason = f"{what}; please report it with the file {file}"
    reasons = {row.row: reason for row in task.asked.rows}
    return Done(task.rows(FAULT, reasons, ""), {file: digest})


def _answered(job: Job, task: Task) -> Done:
    record, done = _record(job, task)
    return done if record is None else _made(job, task, record)


def _answered_first(job: Job, task: Task) -> Done:
    record, done = _record(job, task)
    if record is not None:
        write_new(first_file(job, task), record.to_json())
    return done


def _documented(job: Job, task: Task) -> Done:
    return _made(job, task, QuoteRecord.model_validate_json(task.text))


def first_file(job: Job, task: Task) -> Path:
    """Say where a record stands that has no number yet."""
    # No stem begins with a full stop; in there it is private.
    return job.stage / f"records/.first-{task.stem}.json"


def _record(job: Job, task: Task) -> tuple[QuoteRecord | None, Done]:
    """Answer; give the record, or what there is to say where there is none."""
    # Heavy, and needed only where the work is done.
    from quotelib.promise.answer import answer, in_one_line

    request = task.asked.request
    assert request is not None
    if task.before:
        from quotelib.register.revising import answer_again

        before = QuoteRecord.model_validate_json(task.before)
        answered = answer_again(before, request, job.prices(task), job.date).answer
    else:
        answered = answer(job.prices(task), request, job.date)
    if answered.record is None:
        places = zip(task.asked.rows, request.places(), strict=True)
        own = {
            row.row: in_one_line(answered.refused[server])
            for row, (server, _) in places
            if server is not None and answered.refused
        }
        own = own or {row.row: answered.reason for row in task.asked.rows}
        return None, Done(task.rows("refused", own, "is refused"), {})
    return answered.record, Done([], {})


def _made(job: Job, task: Task, record: QuoteRecord) -> Done:
    """Make the documents of a record."""
    from quotelib.documents.making import make_documents
    from quotelib.promise.answer import in_one_line

    made = make_documents(
        record, job.stage, task.stem, task.text, exports=job.exports, scratch=job.scratch
    )
    rows = record_rows(record)
    rows[0] |= {column: name for column, (name, _) in made.items() if column in FILES}
    reason = in_one_line(record.internal.hold_reasons)
    name = {"enquiry_id": record.enquiry_id, "outcome": record.outcome, "reason": reason}
    return Done([{**name, **row} for row in rows], dict(made.values()))
