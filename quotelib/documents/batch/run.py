"""What comes of a whole file of enquiries: a folder of documents and a summary."""

import datetime as dt
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
from quotelib.documents.batch.summary import FILES, record_cells, to_csv
from quotelib.enquiry.enquiry import Enquiry, EnquiryRow, read_enquiries

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
        """Count the rows of an outcome."""
        return sum(row["outcome"] == outcome for row in self.rows)

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


class _Task(NamedTuple):
    row: EnquiryRow
    stem: str

    @property
    def fault(self) -> str:
        return f"fault-{self.stem}.txt"

    def invalid(self, reason: str) -> dict[str, str]:
        return {"enquiry_id": self.row.enquiry_id, "outcome": "invalid", "reason": reason}


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
    rows = read_enquiries(Path(enquiries), price_list)
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    job = _Job(price_list, out, date or dt.date.today())
    tasks = list(map(_Task, rows, file_stems([row.enquiry_id for row in rows])))
    done: dict[int, dict[str, str]] = {}
    for place, cells in _work(job, tasks, jobs):
        done[place] = cells
        if progress is not None:
            progress(len(done), len(tasks), tasks[place].row.enquiry_id, cells["outcome"])
    ordered = tuple(done[place] for place in range(len(tasks)))
    write_aside(out / "summary.csv", to_csv(ordered))
    return BatchResult(out, ordered, tuple(_left_over(out, ordered)))


def _work(job: _Job, tasks: list[_Task], jobs: int) -> Iterator[tuple[int, dict[str, str]]]:
    """Do every task, in whatever order; a worker that dies costs only its own enquiry."""
    workers = min(jobs, len(tasks), os.cpu_count() or 1)
    left = dict(enumerate(tasks))
    if workers < 2:
        yield from ((place, _one(job, task)) for place, task in left.items())
        return
    for place, cells in _together(job, left, workers):
        del left[place]
        yield place, cells
    # A worker died and took the pool with it: which enquiry it was shows one at a time.
    for place, task in left.items():
        alone = dict(_together(job, {place: task}, 1))
        yield place, alone.get(place) or _fault(job, task, "the process died", "")


def _together(
    job: _Job, tasks: Mapping[int, _Task], workers: int
) -> Iterator[tuple[int, dict[str, str]]]:
    """Do tasks in processes of their own; those that a dying process takes along are left out."""
    # A fresh interpreter each: a forked one would inherit locks of threads it lacks.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, context, _begin, (job,)) as pool:
        futures = {pool.submit(_next, task): place for place, task in tasks.items()}
        for future in as_completed(futures):
            try:
                cells = future.result()
            except BrokenProcessPool:
                continue
            yield futures[future], cells


_jobs: list[_Job] = []


def _begin(job: _Job) -> None:
    """Take a job along into a process, once for all its tasks."""
    # nbformat imports jsonschema, which offers no way to leave out this optional checker: it would
    # spend two seconds on a grammar of addresses that no notebook's schema asks for.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    _jobs[:] = [job]


def _next(task: _Task) -> dict[str, str]:
    return _one(_jobs[0], task)


def _one(job: _Job, task: _Task) -> dict[str, str]:
    """Answer one enquiry and write its documents."""
    row = task.row
    if row.enquiry is None:
        return task.invalid("; ".join(map(str, row.problems)))
    try:
        cells = _answered(job, row.enquiry, task.stem)
    except OSError:
        raise
    except Exception as error:
        return _fault(job, task, type(error).__name__, traceback.format_exc())
    (job.folder / task.fault).unlink(missing_ok=True)  # of an earlier batch
    return {"enquiry_id": row.enquiry_id, **cells}


def _fault(job: _Job, task: _Task, what: str, trace: str) -> dict[str, str]:
    """Note a fault of ours: it must not cost the other customers their quotes, nor hide."""
    write_aside(job.folder / task.fault, f"{what}\n{trace}")
    fault = f"program fault ({what}), nothing was written for this enquiry"
    return task.invalid(f"{fault}; please report it with the file {task.fault}")


def _answered(job: _Job, enquiry: Enquiry, stem: str) -> dict[str, str]:
    # Heavy, and needed only where the work is done.
    from quotelib.documents.quoting import write_documents
    from quotelib.promise.answer import answer

    answered = answer(job.price_list, enquiry, job.date)
    cells = {"outcome": answered.outcome, "reason": answered.reason}
    record = answered.record
    if record is None:
        return cells
    return {**cells, **record_cells(record), **write_documents(record, job.folder, stem)}


def _left_over(out: Path, rows: tuple[dict[str, str], ...]) -> Iterator[str]:
    """Find documents that this batch did not write."""
    ours = {row.get(column) for row in rows for column in FILES}
    for kind in ("quotes", "bench", "records"):
        for path in sorted((out / kind).glob("*.*")):
            name = f"{kind}/{path.name}"
            if name not in ours and not path.name.startswith(".part-"):
                yield name
