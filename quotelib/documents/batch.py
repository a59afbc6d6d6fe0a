"""What comes of a whole file of enquiries: a folder of documents and a summary."""

import datetime as dt
import multiprocessing
import os
import traceback
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents import summary
from quotelib.documents.files import file_stems, write_aside
from quotelib.quote.answer import answer
from quotelib.quote.enquiry import EnquiryRow, read_enquiries

OUTCOMES = ("quoted", "held", "refused", "invalid")
Progress = Callable[[int, int, str, str], None]
"""Told after each enquiry: how many are done, of how many, which one, and its outcome."""


@dataclass(frozen=True, slots=True)
class BatchResult:
    """What a batch gave.

    Parameters
    ----------
    folder : Path
        Where it was written.
    rows : tuple of dict
        The rows of ``summary.csv``, in input order.
    left_over : tuple of str
        Documents of earlier batches that are still in the folder.
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


@dataclass(frozen=True, slots=True)
class _Task:
    row: EnquiryRow
    stem: str
    folder: Path
    prices: str
    date: dt.date


def run_batch(
    enquiries: str | Path,
    folder: str | Path,
    *,
    prices: str | Path | None = None,
    date: dt.date | None = None,
    jobs: int = 1,
    progress: Progress | None = None,
) -> BatchResult:
    """Answer every enquiry of a file and write all documents.

    Parameters
    ----------
    enquiries : path
        A CSV file.
    folder : path
        Output folder; made where it is missing.
    prices : path, optional
        Folder of the price list; the starter list by default.
    date : date, optional
        Of the quotes; today by default.
    jobs : int
        Processes to use.
    progress : callable, optional
        Told after each enquiry.

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
    stems = file_stems([row.enquiry_id for row in rows])
    where = str(Path(prices).resolve()) if prices else ""
    when = date or dt.date.today()
    tasks = [_Task(row, stem, out, where, when) for row, stem in zip(rows, stems, strict=True)]
    done: dict[int, dict[str, str]] = {}
    for place, cells in _work(tasks, jobs):
        done[place] = cells
        if progress is not None:
            progress(len(done), len(tasks), tasks[place].row.enquiry_id, cells["outcome"])
    ordered = tuple(done[place] for place in range(len(tasks)))
    write_aside(out / "summary.csv", summary.to_csv(ordered))
    return BatchResult(out, ordered, tuple(_left_over(out, ordered)))


def _work(tasks: list[_Task], jobs: int) -> Iterator[tuple[int, dict[str, str]]]:
    """Do every task, in whatever order; a worker that dies costs only its own enquiry."""
    workers = min(jobs, len(tasks), os.cpu_count() or 1)
    left = dict(enumerate(tasks))
    if workers < 2:
        for place, task in left.items():
            yield place, _one(task)
        return
    for place, cells in _together(left, workers):
        del left[place]
        yield place, cells
    # A worker died and took the pool with it: which enquiry it was shows one at a time.
    for place, task in left.items():
        alone = dict(_together({place: task}, 1))
        yield place, alone.get(place) or _fault(task, "the process died", "")


def _together(tasks: Mapping[int, _Task], workers: int) -> Iterator[tuple[int, dict[str, str]]]:
    """Do tasks in processes of their own; those that a dying process takes along are left out."""
    # A fresh interpreter each: a forked one would inherit locks of threads it lacks.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        futures: dict[Future[dict[str, str]], int] = {
            pool.submit(_one, task): place for place, task in tasks.items()
        }
        for future in as_completed(futures):
            try:
                cells = future.result()
            except BrokenProcessPool:
                continue
            yield futures[future], cells


def _one(task: _Task) -> dict[str, str]:
    """Answer one enquiry and write its documents."""
    row = task.row
    base = {"enquiry_id": row.enquiry_id}
    if row.enquiry is None:
        reason = "; ".join(str(problem) for problem in row.problems)
        return {**base, "outcome": "invalid", "reason": reason}
    try:
        cells = _answered(task, load_price_list(task.prices or None))
    except OSError:
        raise
    except Exception as error:
        return _fault(task, type(error).__name__, traceback.format_exc())
    _fault_file(task).unlink(missing_ok=True)  # of an earlier batch
    return {**base, **cells}


def _fault_file(task: _Task) -> Path:
    return task.folder / f"fault-{task.stem}.txt"


def _fault(task: _Task, what: str, trace: str) -> dict[str, str]:
    """Note a fault of ours: it must not cost the other customers their quotes, nor hide."""
    file = _fault_file(task)
    write_aside(file, f"{what}\n{trace}")
    reason = (
        f"program fault ({what}), nothing was written for this enquiry; please report it with the "
        f"file {file.name}"
    )
    return {"enquiry_id": task.row.enquiry_id, "outcome": "invalid", "reason": reason}


def _answered(task: _Task, price_list: PriceList) -> dict[str, str]:
    from quotelib.documents.writing import write_documents

    assert task.row.enquiry is not None
    answered = answer(price_list, task.row.enquiry, task.date)
    cells = {"outcome": answered.outcome, "reason": answered.reason}
    record = answered.record
    if record is None:
        return cells
    names = write_documents(record, task.folder, task.stem, task.prices)
    return {**cells, **summary.record_cells(record), **names}


def _left_over(out: Path, rows: tuple[dict[str, str], ...]) -> Iterator[str]:
    """Find documents that this batch did not write."""
    columns = ("quote_file", "bench_file", "record_file")
    ours = {row[column] for row in rows for column in columns if row.get(column)}
    for kind in ("quotes", "bench", "records"):
        for path in sorted((out / kind).glob("*.*")):
            name = f"{kind}/{path.name}"
            if name not in ours and not path.name.startswith(".part-"):
                yield name
