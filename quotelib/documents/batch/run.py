"""What comes of a whole file of enquiries: a folder of documents and a summary."""

import datetime as dt
import gc
import multiprocessing
import os
import sys
import traceback
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.batch.files import file_stems, write_aside
from quotelib.documents.batch.summary import FILES, record_rows, to_csv
from quotelib.enquiry.reading import Asked, read_enquiries
from quotelib.enquiry.request import Request

_EVERY = 25
OUTCOMES = ("quoted", "held", "refused", "invalid")
Told = Callable[[int, int, str, str], None]
"""Told after each enquiry: how many are done, of how many, which one, and its outcome."""


@dataclass(frozen=True, slots=True)
class BatchResult:
    """What a batch gave: the rows of ``summary.csv`` in input order, where it was written.

    In `left_over` are the documents of earlier batches that are still in the folder.
    """

    folder: Path
    rows: tuple[dict[str, str], ...]
    left_over: tuple[str, ...]

    def count(self, outcome: str) -> int:
        """Count the quotes of an outcome, of however many rows."""
        return sum(row["outcome"] == outcome for row in self._firsts())

    def _firsts(self) -> Iterator[dict[str, str]]:
        before = ""
        for row in self.rows:
            if not before or row["enquiry_id"] != before:
                yield row
            before = row["enquiry_id"]

    @property
    def told(self) -> list[dict[str, str]]:
        """Give the first row of each quote, and each that was refused or could not be read."""
        firsts = {id(row) for row in self._firsts()}
        answered = {"quoted", "held"}
        return [r for r in self.rows if id(r) in firsts or r["outcome"] not in answered]

    @property
    def all_answered(self) -> bool:
        """Tell whether every enquiry was quoted or held."""
        return all(row["outcome"] in {"quoted", "held"} for row in self.rows)


class Progress(ExitStack):
    """A bar where somebody watches, a quiet line now and then elsewhere.

    Use it as a context and hand ``told`` to the batch.
    """

    _bar: Any = None

    def told(self, done: int, total: int, enquiry_id: str, outcome: str) -> None:
        """Take note of one more enquiry."""
        from IPython.core.getipython import get_ipython

        if sys.stderr.isatty() or get_ipython() is not None:
            from tqdm.auto import tqdm

            if self._bar is None:
                bar = tqdm(total=total, unit="enquiry", desc="enquiries")
                self._bar = self.enter_context(bar)
            self._bar.update(1)
        elif done == total or done % _EVERY == 0:
            print(f"{done} of {total} enquiries answered", file=sys.stderr)


Rows = list[dict[str, str]]
"""Of a summary: one a row of a quote."""


class _Task(NamedTuple):
    asked: Asked
    stem: str

    @property
    def fault(self) -> str:
        return f"fault-{self.stem}.txt"

    def rows(self, outcome: str, reasons: Mapping[int, str], what: str) -> Rows:
        """Give each row the outcome and its own reason, or that of being beside one that has."""
        numbers = [row.row for row in self.asked.rows]
        first = next((number for number, reason in reasons.items() if reason), None)
        beside = f"with row {first}, which {what}"
        name = {"enquiry_id": self.asked.enquiry_id, "outcome": outcome}
        return [{**name, "reason": reasons.get(number) or beside} for number in numbers]

    def invalid(self, reason: str) -> Rows:
        """Give all rows the same reason."""
        return self.rows("invalid", {row.row: reason for row in self.asked.rows}, "")


class _Job(NamedTuple):
    """What all tasks have in common; the price list as a value, since its folder may change."""

    price_list: PriceList
    folder: Path
    date: dt.date


def run_batch(
    enquiries: str | Path,
    folder: str | Path,
    *,
    prices: str | Path | None = None,
    date: dt.date | None = None,
    jobs: int = 1,
    progress: Told | None = None,
) -> BatchResult:
    """Answer every enquiry of a file and write all documents.

    Parameters
    ----------
    enquiries : path
        A CSV file.
    folder : path
        Made where it is missing.
    prices : path, optional
        Folder of the price list; the starter list by default.
    date : date, optional
        Of the quotes; today by default.
    jobs : int
        Processes to use.

    Returns
    -------
    BatchResult
        The same files, whatever the number of jobs.

    Raises
    ------
    InputError
        Where the price list or the file of enquiries cannot be used at all.
    OSError
        Where the folder cannot be written.
    """
    price_list = load_price_list(prices)
    asked = read_enquiries(Path(enquiries), price_list)
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    job = _Job(price_list, out, date or dt.date.today())
    tasks = list(map(_Task, asked, file_stems([one.enquiry_id for one in asked])))
    done: dict[int, Rows] = {}
    for place, rows in _work(job, tasks, jobs):
        done[place] = rows
        if progress is not None:
            progress(len(done), len(tasks), tasks[place].asked.enquiry_id, rows[0]["outcome"])
    ordered = tuple(row for place in range(len(tasks)) for row in done[place])
    write_aside(out / "summary.csv", to_csv(ordered))
    return BatchResult(out, ordered, tuple(_left_over(out, ordered)))


def _work(job: _Job, tasks: list[_Task], jobs: int) -> Iterator[tuple[int, Rows]]:
    """Do every task, in whatever order; a worker that dies costs only its own enquiry."""
    workers = min(jobs, len(tasks), os.cpu_count() or 1)
    left = dict(enumerate(tasks))
    if workers < 2:
        yield from ((place, _one(job, task)) for place, task in left.items())
        return
    for place, rows in _together(job, left, workers):
        del left[place]
        yield place, rows
    # A worker died and took the pool with it: which enquiry it was shows one at a time.
    for place, task in left.items():
        alone = dict(_together(job, {place: task}, 1))
        yield place, alone.get(place) or _fault(job, task, "the process died", "")


def _together(job: _Job, tasks: Mapping[int, _Task], workers: int) -> Iterator[tuple[int, Rows]]:
    """Do tasks in processes of their own; those that a dying process takes along are left out."""
    # A fresh interpreter each: a forked one would inherit locks of threads it lacks.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, context, _begin, (job,)) as pool:
        futures = {pool.submit(_next, task): place for place, task in tasks.items()}
        for future in as_completed(futures):
            try:
                rows = future.result()
            except BrokenProcessPool:
                continue
            yield futures[future], rows


_jobs: list[_Job] = []


def _begin(job: _Job) -> None:
    """Take a job along into a process, once for all its tasks."""
    # nbformat imports jsonschema, which offers no way to leave out this optional checker: it would
    # spend two seconds on a grammar of addresses that no notebook's schema asks for.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    _jobs[:] = [job]
    # What is loaded by now lives to the end: looking through it again and again costs a tenth.
    gc.freeze()
    gc.set_threshold(50_000)


def _next(task: _Task) -> Rows:
    return _one(_jobs[0], task)


def _one(job: _Job, task: _Task) -> Rows:
    """Answer one enquiry and write its documents."""
    asked = task.asked
    if asked.request is None:
        wrong = {row.row: "; ".join(map(str, row.problems)) for row in asked.rows}
        return task.rows("invalid", wrong, "cannot be read")
    try:
        rows = _answered(job, asked.request, task)
    except OSError:
        raise
    except Exception as error:
        return _fault(job, task, type(error).__name__, traceback.format_exc())
    (job.folder / task.fault).unlink(missing_ok=True)  # of an earlier batch
    return rows


def _fault(job: _Job, task: _Task, what: str, trace: str) -> Rows:
    """Note a fault of ours: it must not cost the other customers their quotes, nor hide."""
    write_aside(job.folder / task.fault, f"{what}\n{trace}")
    fault = f"program fault ({what}), nothing was written for this enquiry"
    return task.invalid(f"{fault}; please report it with the file {task.fault}")


def _answered(job: _Job, request: Request, task: _Task) -> Rows:
    # Heavy, and needed only where the work is done.
    from quotelib.documents.quoting import write_documents
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
        return task.rows("refused", own, "is refused")
    rows = record_rows(record)
    rows[0] |= write_documents(record, job.folder, task.stem)
    name = {"enquiry_id": record.enquiry_id, "outcome": answered.outcome}
    return [{**name, "reason": answered.reason, **row} for row in rows]


def _left_over(out: Path, rows: tuple[dict[str, str], ...]) -> Iterator[str]:
    """Find documents that this batch did not write."""
    ours = {row.get(column) for row in rows for column in FILES}
    for kind in ("quotes", "bench", "records"):
        for path in sorted((out / kind).glob("*.*")):
            name = f"{kind}/{path.name}"
            if name not in ours and not path.name.startswith(".part-"):
                yield name
