"""What comes of one enquiry: its rows of the summary, and its files in the stage."""

import datetime as dt
import errno
import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.batch.files import write_new
from quotelib.documents.batch.summary import FILES, record_rows
from quotelib.documents.batch.workers import Died
from quotelib.enquiry.reading import Asked
from quotelib.enquiry.request import Request
from quotelib.errors import NotExported

OUTCOMES = ("quoted", "held", "refused", "invalid")
FAULT = "fault"
"""In place of an outcome: the program failed, and nothing is known of the enquiry."""
_NOTHING = "nothing was written for this enquiry"

Rows = list[dict[str, str]]
"""Of a summary: one a row of a quote."""


class Task(NamedTuple):
    """What to do: an enquiry, and the safe name that its files have."""

    asked: Asked
    stem: str

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
    """

    price_list: PriceList
    stage: Path
    date: dt.date
    exports: frozenset[str] = frozenset()
    scratch: Path | None = None


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
    assert task.asked.request is not None
    try:
        return _answered(job, task.asked.request, task)
    except MemoryError:
        raise
    except OSError as error:
        if error.errno == errno.ENOMEM:
            raise MemoryError from error
        raise
    except NotExported as error:
        return _fault(job, task, f"not exported: {error}, {_NOTHING}", "")
    except (Exception, SystemExit) as error:
        what = f"program fault ({type(error).__name__}), {_NOTHING}"
        return _fault(job, task, what, traceback.format_exc())


def died(job: Job, task: Task, how: Died) -> Done:
    """Say that an enquiry cost the process that worked at it."""
    if how.why == "memory":
        what = f"out of memory, {_NOTHING}: {how.how}; run it again with fewer jobs"
    else:
        what = f"program fault ({how.how}), {_NOTHING}"
    return _fault(job, task, what, how.said)


def _fault(job: Job, task: Task, what: str, more: str) -> Done:
    """Note a fault of ours: it must not cost the other customers their quotes, nor hide."""
    file = f"fault-{task.stem}.txt"
    digest = write_new(job.stage / file, f"{what}\n{more}")
    reason = f"{what}; please report it with the file {file}"
    reasons = {row.row: reason for row in task.asked.rows}
    return Done(task.rows(FAULT, reasons, ""), {file: digest})


def _answered(job: Job, request: Request, task: Task) -> Done:
    # Heavy, and needed only where the work is done.
    from quotelib.documents.quoting import make_documents
    from quotelib.promise.answer import answer, in_one_line

    answered = answer(job.price_list, request, job.date)
    record = answered.record
    if record is None:
        places = zip(task.asked.rows, request.places(), strict=True)
        own = {
            row.row: in_one_line(answered.refused[server])
            for row, (server, _) in places
            if server is not None
        }
        return Done(task.rows("refused", own, "is refused"), {})
    made = make_documents(record, job.stage, task.stem, job.exports, job.scratch)
    rows = record_rows(record)
    rows[0] |= {column: name for column, (name, _) in made.items() if column in FILES}
    name = {"enquiry_id": record.enquiry_id, "outcome": answered.outcome}
    return Done([{**name, "reason": answered.reason, **row} for row in rows], dict(made.values()))
