"""What comes of a whole file of enquiries: a folder of documents and a summary."""

import datetime as dt
import multiprocessing
import os
import traceback
from collections.abc import Callable, Iterator
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
    if workers > 1:
        # A fresh interpreter each: a forked one would inherit locks of threads it lacks.
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(workers, mp_context=context) as pool:
            futures: dict[Future[dict[str, str]], int] = {
                pool.submit(_one, task): place for place, task in left.items()
            }
            for future in as_completed(futures):
                place = futures[future]
                try:
                    cells = future.result()
                except BrokenProcessPool:
                    continue  # done below, one by one
                del left[place]
                yield place, cells
    for place, task in left.items():
        yield place, _one(task)


def _one(task: _Task) -> dict[str, str]:
    """Answer one enquiry and write its documents."""
    row = task.row
    base = {"enquiry_id": row.enquiry_id}
    if row.enquiry is None:
        reason = "; ".join(str(problem) for problem in row.problems)
        return {**base, "outcome": "invalid", "reason": reason}
    try:
        return {**base, **_answered(task, load_price_list(task.prices or None))}
    except OSError:
        raise
    except Exception as error:
        # A fault of ours must not cost the other customers their quotes, nor hide.
        fault = task.folder / f"fault-{task.stem}.txt"
        write_aside(fault, traceback.format_exc())
        reason = (
            f"program fault ({type(error).__name__}), nothing was written for this enquiry; "
            f"please report it with the file {fault.name}"
        )
        return {**base, "outcome": "invalid", "reason": reason}


def _answered(task: _Task, price_list: PriceList) -> dict[str, str]:
    from quotelib.documents.quoting import quote_page

    assert task.row.enquiry is not None
    answered = answer(price_list, task.row.enquiry, task.date)
    cells = {"outcome": answered.outcome, "reason": answered.reason}
    record = answered.record
    if record is None:
        return cells
    files = {
        "quote_file": (f"quotes/{task.stem}.html", quote_page(record, task.prices)),
        "record_file": (f"records/{task.stem}.json", record.to_json()),
    }
    for name, text in files.values():
        write_aside(task.folder / name, text)
    names = {column: name for column, (name, _) in files.items()}
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
